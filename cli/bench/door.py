"""Who was let in to the bench page, and by what.

A browser is let in by a start address that works once, or, over a network, by eight digits that are read off the
terminal. From then on it shows a cookie, and a page's own requests a key beside it: cookies do not know ports, so that
any other server on this machine is sent ours. Nothing here knows the web; everything runs in one thread.
"""

from __future__ import annotations

import hmac
import re
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import Enum

BYTES = 32  # of a secret: 256 bits
TOKEN_LASTS = 120.0  # s
CODE_LASTS = 300.0  # s
DIGITS = 8
TRIES = 5  # wrong codes, then there is a new one
WAIT = 60.0  # s, and nobody is let in meanwhile
LONGEST = 40  # characters of what a browser says it runs on


class Refused(Enum):
    """Why a code let nobody in."""

    WRONG = "That is not the code. Read it off the terminal once more."
    OLD = "That code is used or too old. The terminal shows a new one."
    WAIT = "Too many wrong codes. Wait a minute, then read the new code off the terminal."


@dataclass(frozen=True)
class Session:
    """A browser that was let in."""

    cookie: str = field(repr=False)
    key: str = field(repr=False)  # what its pages send beside the cookie
    address: str  # who asked
    agent: str  # what it says it runs on
    since: float  # s, by the door's clock

    def has(self, key: str) -> bool:
        """Say whether this is the key of its pages."""
        return _same(key, self.key)


class Door:
    """The browsers that were let in, and what lets in the next.

    host   : "127.0.0.1:PORT", the one name that the page is asked for by
    opens  : the path that a browser is led to first
    told   : takes each sentence that the terminal has to say
    clock  : seconds that only go forward
    """

    def __init__(
        self,
        host: str,
        opens: str = "/",
        *,
        by_code: bool = False,
        told: Callable[[str], None] = lambda sentence: None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.host = host
        self.origin = f"http://{host}"
        self.opens = opens
        self.by_code = by_code
        self.told = told
        self.cookie_name = f"t{secrets.token_hex(8)}"  # two of these on one machine do not take each other's
        self.sessions: tuple[Session, ...] = ()
        self._clock = clock
        self._token, self._token_ends = "", 0.0
        self._code, self._code_ends = "", 0.0
        self._wrong, self._waits_until = 0, float("-inf")
        self._tried: list[float] = []  # when a start address was tried that let nobody in
        self._leaving: list[Callable[[], None]] = []

    def token(self) -> str:
        """Return a new token, good for two minutes and once; the former one is good for nothing."""
        self._token, self._token_ends = secrets.token_urlsafe(BYTES), self._clock() + TOKEN_LASTS
        return self._token

    def start_address(self) -> str:
        """Return the address that lets in whoever opens it first, with a new token."""
        return f"{self.origin}/start?token={self.token()}"

    def admit(self, token: str, address: str, agent: str = "") -> Session | None:
        """Let in who shows the token, or nobody."""
        live = bool(self._token) and self._clock() < self._token_ends
        if not (_same(token, self._token) and live):
            self._tell_of_a_try(address)
            return None
        self._token = ""
        return self._let_in(address, agent)

    def _tell_of_a_try(self, address: str) -> None:
        """Tell of the first few tries in a minute: of thousands the terminal would show nothing else, and wait for its reader."""
        now = self._clock()
        self._tried = [one for one in self._tried if one > now - WAIT]
        if len(self._tried) == TRIES:
            return
        self._tried.append(now)
        more = "; of more in this minute nothing is said" if len(self._tried) == TRIES else ""
        self.told(f"{address} tried a start address that is used up or too old: nobody was let in{more}.")

    def code(self) -> str:
        """Return a new code, good for five minutes and once; the former one is good for nothing."""
        self._code = f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"
        self._code_ends = self._clock() + CODE_LASTS
        self._wrong = 0
        return self._code

    def asked_for_code(self, address: str) -> None:
        """Have the terminal show a code where none is good any more."""
        if not self._has_code():
            self.told(f"{address} asks to be let in. {spoken_code(self.code())}")

    def admit_code(self, code: str, address: str, agent: str = "") -> Session | Refused:
        """Let in who types the code, or say why not."""
        if self._clock() < self._waits_until:
            return Refused.WAIT
        if not self._has_code():
            self.asked_for_code(address)
            return Refused.OLD
        if _same(re.sub(r"[\s-]", "", code), self._code):
            self._code = ""
            return self._let_in(address, agent)
        self._wrong += 1
        if self._wrong < TRIES:
            self.told(f"A wrong code from {address}, {self._wrong} of {TRIES}.")
            return Refused.WRONG
        self._waits_until = self._clock() + WAIT
        self.told(
            f"A wrong code from {address}, {TRIES} of {TRIES}: nobody is let in for a minute. "
            f"{spoken_code(self.code())}"
        )
        return Refused.WAIT

    def session_of(self, cookie: str) -> Session | None:
        """Return who shows this cookie."""
        found = None
        for one in self.sessions:  # all of them, however soon it is found
            if _same(cookie, one.cookie):
                found = one
        return found

    def let_all_out(self) -> None:
        """Let everybody out, end what still runs for them, and say so."""
        out = self.sessions
        self.end_all()
        if out:
            self.told(f"All were let out: {_named(out)}.")

    def end_all(self) -> None:
        """Let everybody out; neither token nor code is good any more."""
        self.sessions = ()
        self._token = self._code = ""
        for leave in tuple(self._leaving):
            leave()

    def when_out(self, leave: Callable[[], None]) -> Callable[[], None]:
        """Have something done when all are let out; returns what forgets that again."""
        self._leaving.append(leave)
        return lambda: self._leaving.remove(leave)

    def _has_code(self) -> bool:
        return bool(self._code) and self._clock() < self._code_ends

    def _let_in(self, address: str, agent: str) -> Session:
        cookie, key = secrets.token_urlsafe(BYTES), secrets.token_urlsafe(BYTES)
        session = Session(cookie, key, address, _device(agent), self._clock())
        self.sessions = (*self.sessions, session)
        others = f" In are now: {_named(self.sessions)}." if len(self.sessions) > 1 else ""
        self.told(f"A browser was let in: {_named([session])}.{others}")
        return session


def spoken_code(code: str) -> str:
    """Return a code as the terminal shows it, with how long it is good for."""
    return f"The code is {code[:4]} {code[4:]}, good once and for {CODE_LASTS / 60:.0f} minutes."


def _same(typed: str, secret: str) -> bool:
    """Say whether a secret was shown, in a time that tells nothing about it."""
    return hmac.compare_digest(typed.encode("utf-8", "replace"), secret.encode())


def _device(agent: str) -> str:
    """Return what a browser says that it runs on, as far as one line takes it."""
    found = re.search(r"\(([^()]*)\)", agent)
    plain = "".join(one for one in (found[1] if found else "") if " " <= one <= "~")
    return plain[:LONGEST].strip()


def _named(sessions: tuple[Session, ...] | list[Session]) -> str:
    return "; ".join(f"{one.address} ({one.agent})" if one.agent else one.address for one in sessions)
