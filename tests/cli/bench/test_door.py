"""Who is let in, by a token and by a code, at which moment by a clock that the test turns."""

from __future__ import annotations

import re

import pytest
from tallstack.cli.bench.door import CODE_LASTS, TOKEN_LASTS, TRIES, WAIT, Door, Refused, Session

AGENT = "Browser/5.0 (A tablet; of \x1b[2Jthe bench) Engine/1"


class Here:
    """A door, the time at it, and what its terminal said."""

    def __init__(self, *, by_code: bool = False) -> None:
        self.now = 1000.0
        self.said: list[str] = []
        self.door = Door("127.0.0.1:4000", by_code=by_code, told=self.said.append, clock=lambda: self.now)

    def shown(self) -> str:
        """Return the code that the terminal showed last."""
        return next(found[0] for one in reversed(self.said) if (found := re.search(r"\d{4} \d{4}", one)))


def test_a_token_lets_in_once_and_is_said() -> None:
    here = Here()
    token = here.door.token()
    session = here.door.admit(token, "127.0.0.1", AGENT)
    assert session is not None
    assert here.said == ["A browser was let in: 127.0.0.1 (A tablet; of [2Jthe bench)."]
    assert here.door.admit(token, "127.0.0.1") is None
    assert "nobody was let in" in here.said[-1]
    assert here.door.sessions == (session,)


def test_a_further_token_cancels_the_former_and_each_ends_after_two_minutes() -> None:
    here = Here()
    former, token = here.door.token(), here.door.token()
    assert here.door.admit(former, "127.0.0.1") is None
    here.now += TOKEN_LASTS
    assert here.door.admit(token, "127.0.0.1") is None
    late = here.door.token()
    here.now += TOKEN_LASTS - 0.1
    assert here.door.admit(late, "127.0.0.1") is not None


def test_without_a_token_nothing_lets_in() -> None:
    here = Here()
    assert here.door.admit("", "127.0.0.1") is None
    token = here.door.token()
    for near in ("", token[:-1], f"{token}x", token.swapcase(), "é", "\udc80"):
        assert here.door.admit(near, "127.0.0.1") is None
    assert here.door.admit(token, "127.0.0.1") is not None  # a wrong one did not use it up
    assert here.door.admit("", "127.0.0.1") is None  # there is none any more, nor is none a token


def test_the_terminal_is_not_flooded_by_tries() -> None:
    """Nor does it keep what was tried: of a thousand in a minute five are told, the fifth saying so."""
    here = Here()
    for _ in range(1_000):
        assert here.door.admit("x", "127.0.0.1") is None
        here.now += 0.01
    assert len(here.said) == TRIES
    assert here.said[-1].endswith("nobody was let in; of more in this minute nothing is said.")
    assert not here.said[-2].endswith("is said.")
    here.now += WAIT
    here.door.admit("x", "10.0.0.7")
    assert here.said[-1] == "10.0.0.7 tried a start address that is used up or too old: nobody was let in."


def test_every_secret_is_compared_in_a_time_that_tells_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    compared: list[tuple[bytes, bytes]] = []

    def noted(typed: bytes, secret: bytes) -> bool:
        compared.append((typed, secret))
        return typed == secret

    monkeypatch.setattr("hmac.compare_digest", noted)
    here = Here(by_code=True)
    first, second = (here.door.admit(here.door.token(), "127.0.0.1") for _ in range(2))
    assert first is not None
    assert second is not None
    assert len(compared) == 2  # each token once, right or wrong
    compared.clear()
    here.door.session_of(first.cookie)
    assert [secret for _, secret in compared] == [first.cookie.encode(), second.cookie.encode()]
    compared.clear()
    code = here.door.code()
    for typed in ("", "1", code):
        here.door.admit_code(typed, "127.0.0.1")
    assert [secret for _, secret in compared] == [code.encode()] * 3


def test_secrets_are_long_differ_and_are_not_shown_by_accident() -> None:
    here = Here()
    sessions = [here.door.admit(here.door.token(), "127.0.0.1") for _ in range(3)]
    secrets = {one for session in sessions if session for one in (session.cookie, session.key)}
    assert len(secrets) == 6
    assert all(len(one) >= 43 for one in secrets)  # 256 bits, six to a character
    assert not any(one in repr(sessions) for one in secrets)
    assert Door("a").cookie_name != Door("a").cookie_name


def test_a_cookie_is_known_and_one_character_off_is_not() -> None:
    here = Here()
    session, other = (here.door.admit(here.door.token(), "127.0.0.1") for _ in range(2))
    assert session is not None
    assert here.door.session_of(session.cookie) is session
    for near in ("", session.cookie[:-1], session.cookie[:-1] + "~", session.key, "ü"):
        assert here.door.session_of(near) is None
    assert session.has(session.key)
    assert other is not None
    assert not session.has(other.key)
    assert "In are now: 127.0.0.1; 127.0.0.1." in here.said[-1]


def test_all_are_let_out_with_their_streams_and_the_next_token() -> None:
    here = Here()
    session = here.door.admit(here.door.token(), "10.0.0.7")
    ended: list[str] = []
    here.door.when_out(lambda: ended.append("one"))
    forget = here.door.when_out(lambda: ended.append("another"))
    forget()
    token = here.door.token()
    here.door.let_all_out()
    assert ended == ["one"]
    assert here.said[-1] == "All were let out: 10.0.0.7."
    assert session is not None
    assert here.door.session_of(session.cookie) is None
    assert here.door.admit(token, "10.0.0.7") is None


@pytest.mark.parametrize("written", ["{0}", "{0[0]}{0[1]}{0[2]}{0[3]} {0[4]}{0[5]}{0[6]}{0[7]} ", "-{0}-"])
def test_a_code_lets_in_once_however_its_digits_are_parted(written: str) -> None:
    here = Here(by_code=True)
    code = here.door.code()
    assert re.fullmatch(r"\d{8}", code)
    assert isinstance(here.door.admit_code(written.format(code), "10.0.0.7"), Session)
    assert here.door.admit_code(code, "10.0.0.8") is Refused.OLD
    assert here.shown().replace(" ", "") != code
    assert "10.0.0.8 asks to be let in" in here.said[-1]


def test_five_wrong_codes_bring_a_new_one_and_a_minutes_wait() -> None:
    here = Here(by_code=True)
    code = here.door.code()
    wrong = f"{(int(code) + 1) % 10**8:08}"
    for count in range(1, TRIES):
        assert here.door.admit_code(wrong, "10.0.0.66") is Refused.WRONG
        assert here.said[-1] == f"A wrong code from 10.0.0.66, {count} of 5."
    assert here.door.admit_code(wrong, "10.0.0.66") is Refused.WAIT
    assert "nobody is let in for a minute" in here.said[-1]
    new, told = here.shown(), len(here.said)
    assert here.door.admit_code(code, "10.0.0.7") is Refused.WAIT
    assert (
        here.door.admit_code(new, "10.0.0.7") is Refused.WAIT
    )  # even the right one, and nothing is said of it
    assert len(here.said) == told
    here.now += WAIT
    assert here.door.admit_code(code, "10.0.0.7") is Refused.WRONG
    assert isinstance(here.door.admit_code(new, "10.0.0.7"), Session)


def test_a_code_ends_after_five_minutes_and_whoever_asks_then_has_a_new_one_shown() -> None:
    here = Here(by_code=True)
    code = here.door.code()
    here.now += CODE_LASTS - 0.1
    here.door.asked_for_code("10.0.0.7")
    assert here.said == []
    here.now += 0.1
    assert here.door.admit_code(code, "10.0.0.7") is Refused.OLD
    here.door.asked_for_code("10.0.0.7")
    assert len(here.said) == 1  # once, not at every asking
    assert isinstance(here.door.admit_code(here.shown(), "10.0.0.7"), Session)
