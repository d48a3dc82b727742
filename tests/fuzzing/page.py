"""Requests to the bench page that no page makes: what is asked, and what must hold whatever it is.

Each try is a folder of its own with a job that may be faulty, and one browser that was let in. Whatever is asked: no
status of a fault of tallstack's own, nothing of a traceback, no typed text as markup; a file is another only where the
answer says that it was taken, still reads then, and nothing outside the folder is read or written.
"""

from __future__ import annotations

import asyncio
import json
import random
import tomllib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

from tallstack.cli.bench import beginning
from tallstack.cli.bench.door import Door
from tallstack.cli.bench.guard import KEY, Guard
from tallstack.cli.bench.screens import SCREENS, Way
from tallstack.cli.bench.site import application
from tallstack.cli.record.recordkinds import CHANGES, CONVENTIONS_OF, STATES, TURNED_FROM, kinds

from tests.cli.bench.asgi import HOST, Answered, asked
from tests.fuzzing import cases
from tests.fuzzing.grammar import ODD, entered, leaves, mutated_job

SECRET = "what-stands-outside-4711"
MARKUP = "<fz onload=x>"
OUTSIDE = {"outside.toml": f'format = 1\ntitle = "{SECRET}"\n', "outside.csv": f"{SECRET},1\n"}
ODD_JSON: tuple[Any, ...] = (
    *(None, True, 0, -1, 10**30, 1.5, 1e308, "", "x", [], {}, [[]], "\ud800", "a\ud800b", "\x00", MARKUP),
    *(f'"{MARKUP}', "x" * 12_001, "\u202e", "../outside", "../outside.toml", "/etc/hostname", "\r\nX: y"),
)
ODD_BODIES = (
    *(b"", b"{", b"null", b"[]", b'"x"', b"1", b"\xff\xfe", b"{}" * 9, b"[" * 15_000, b'{"a":' * 3_000),
    *(
        b'{"loc":["stack","cylinder"],"typed":"1"',
        b'{"loc":[1e999],"typed":NaN}',
        b"\xef\xbb\xbf{}",
        b"0" * 16_384,
    ),
    *(b'{"number":' + b"9" * 5_000 + b',"note":"x"}', b'{"loc":["stack","cylinder"],"typed":"\\ud800"}'),
)
ODD_PATHS = (
    *(
        "/jobs/..%2foutside",
        "/jobs/../outside",
        "/jobs/%2e%2e",
        "/static/..%2f..%2fsite.py",
        "/static/page.js%00",
    ),
    *(
        "/jobs/outside",
        "/jobs/" + "a" * 6_000,
        "/jobs/job%00/stack",
        "/jobs/job/stack/%F0%9F%98%80",
        "/jobs/job/%3Cfz%3E",
    ),
    *(
        "/jobs/link",
        "/jobs/away%2Foutside",
        "/jobs/job.toml/stack",
        "/parts/job",
        "/enter/job",
        "/code",
        "/start?token=x",
    ),
    *(
        "/door.css",
        "/begin",
        "/copy",
        "//",
        "/?find=" + "%00" * 50,
        "/parts/folder",
        "/jobs/job/sheet.pdf",
        "*",
        "",
    ),
)


class Asking(NamedTuple):
    """One request."""

    method: str
    target: str
    headers: tuple[tuple[str, str], ...]  # those of our own page but for what stands here
    body: bytes = b""
    let_in: bool = True

    def __str__(self) -> str:
        return f"{self.method} {self.target} {dict(self.headers)} {self.body[:3_000]!r} {'' if self.let_in else 'not let in'}"


class Failed(NamedTuple):
    """A request that something went wrong with, those before it, and the folder's files as they were."""

    asked: tuple[Asking, ...]
    files: dict[str, str]
    why: str


class Page:
    """A folder behind its door, with one browser that was let in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.said: list[str] = []
        self.door = Door(HOST, told=self.said.append)
        session = self.door.admit(self.door.token(), "127.0.0.1")
        assert session is not None
        self.session = session
        self.guard = Guard(application(folder), self.door)

    def ask(self, one: Asking) -> Answered:
        """Return the answer to a request."""
        headers = {"host": HOST}
        if one.let_in:
            headers |= {
                "cookie": f"{self.door.cookie_name}={self.session.cookie}",
                KEY: self.session.key,
                "sec-fetch-site": "same-origin",
            }
        if one.method == "POST":
            headers |= {
                "origin": f"http://{HOST}",
                "content-type": "application/json",
                "content-length": str(len(one.body)),
            }
        headers |= dict(one.headers)
        parts = [one.body[:7], one.body[7:]] if one.body else []
        return asyncio.run(asked(self.guard, one.method, one.target, headers.items(), parts))


def a_folder(rng: random.Random, found: Sequence[dict[str, str]]) -> dict[str, str]:
    """Return a folder of inputs, its job sound more often than not."""
    files = {**rng.choice(found), "job.record.csv": cases.RECORD}
    if rng.random() < 0.3:
        files["job.toml"] = mutated_job(rng, files["job.toml"])
    if rng.random() < 0.2:
        del files["job.record.csv"]
    return files


def requests(rng: random.Random, files: dict[str, str], count: int) -> tuple[Asking, ...]:
    """Return so many requests of a folder."""
    try:
        document = tomllib.loads(files["job.toml"])
    except (ValueError, RecursionError):
        document = {}
    return tuple(_request(rng, document) for _ in range(count))


def _request(rng: random.Random, document: dict[str, Any]) -> Asking:
    way = rng.random()
    if way < 0.12:
        return Asking(rng.choice(("GET", "GET", "HEAD", "POST", "PUT", "get", "")), rng.choice(ODD_PATHS), ())
    if way < 0.3:
        return Asking("GET", _address(rng, document), ())
    target, said = rng.choice(SAID)(rng, document)
    body = _body(rng, said)
    asking = Asking("POST", target, (), body)
    if way > 0.95:
        headers = rng.choice(
            (
                *(("host", "evil.example"), ("origin", "null"), ("content-type", "text/plain"), (KEY, "x")),
                *(
                    ("cookie", "a=b"),
                    ("content-length", "1e3"),
                    ("transfer-encoding", "chunked"),
                    ("sec-fetch-site", "cross-site"),
                ),
            )
        )
        return asking._replace(headers=(headers,))
    return asking._replace(let_in=False) if way > 0.9 else asking


def _address(rng: random.Random, document: dict[str, Any]) -> str:
    screen = rng.choice((*SCREENS, "nothing", "sheet.pdf"))
    owner = quote(rng.choice(("", "", *_owners(document), "nobody", "front", "%", MARKUP)), safe="")
    first = rng.choice(("jobs", "parts"))
    find = rng.choice(
        ("", "", f"?find={quote(rng.choice((MARKUP, 'stack', 'a' * 2_000, chr(0), '%', '(')))}")
    )
    return f"/{first}/job/{screen}{'/' if owner else ''}{owner}{find}"


def _owners(document: dict[str, Any]) -> list[str]:
    rows = document.get("train", ())
    rows = rows if isinstance(rows, list) else []
    gears = [f"{row.get('cylinder')}.{row.get('port')}" for row in rows if isinstance(row, dict)]
    return [*gears, *{one.partition(".")[0] for one in gears}, "intake"]


def _page(rng: random.Random, document: dict[str, Any]) -> dict[str, Any]:
    """Return what every request says of the page that it comes from."""
    return {"screen": rng.choice((*SCREENS, "x")), "owner": rng.choice(("", *_owners(document), "x"))}


def _typed(rng: random.Random) -> Any:
    number = round(rng.uniform(-5, 200), 3)
    return rng.choice(
        (
            *(
                str(number),
                f"{number} +/- 0.05",
                f"{number} in",
                f"{number} mm +/- 0.1 mm",
                "",
                "same",
                "yes",
                MARKUP,
            ),
            *(
                str(rng.choice(ODD)),
                rng.choice(ODD_JSON),
                "hydraulic",
                "overall",
                "job.toml",
                "intake.csv",
                "../outside.csv",
            ),
        )
    )


def _loc(rng: random.Random, document: dict[str, Any]) -> Any:
    way = rng.random()
    places = list(leaves(document, ()))
    if way < 0.5 and places:
        return list(rng.choice(places))
    if way < 0.9:
        return list(entered(rng, document)[0])
    loc = list(rng.choice(places)) if places else ["stack"]
    loc[rng.randrange(len(loc))] = rng.choice((-1, 10**30, 3, "", "x", "0", None, "\ud800", ["x"], 1.0))
    return loc


def _enter(rng: random.Random, document: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    loc = _loc(rng, document)
    was: Any = document
    try:
        for step in loc:
            was = was[step]
    except (LookupError, TypeError):
        was = None
    was = was if rng.random() < 0.85 else rng.choice(ODD_JSON)
    return "/enter/job", {"loc": loc, "typed": _typed(rng), "was": was, **_page(rng, document)}


def _choose(rng: random.Random, document: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    page = _page(rng, document)
    screen = SCREENS.get(page["screen"])
    ways = [
        one
        for part in (() if screen is None else screen.parts)
        for one in part.entries
        if isinstance(one, Way)
    ]
    if not ways:
        return "/choose/job", {"way": rng.choice(ODD_JSON), "option": "x", **page}
    one = rng.choice(ways)
    whose = rng.choice(("", "", f"-{rng.choice(_owners(document))}"))
    return "/choose/job", {"way": f"{one.key}{whose}", "option": rng.choice(one.options).word, **page}


def _record(rng: random.Random, document: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    values = {rng.choice(list(kinds())): _typed(rng) for _ in range(rng.choice((0, 1, 1, 2, 4)))}
    conventions = [one for each in CONVENTIONS_OF.values() for one in each]
    said: dict[str, Any] = {"values": values, **_page(rng, document)}
    more: dict[str, Sequence[Any]] = {
        "convention": conventions,
        "turned_from": TURNED_FROM,
        "by": (MARKUP, "=1+1", "Ann", "a,b\nc"),
        "tool": ("mic", "\x00", '"'),
        "note": (MARKUP, "x" * 12_000, "\r\n1,2,3", "@x"),
        "visit": ("500 mi", "0", "-1", "1e400 km", "x"),
        "temperature": ("20 C", "-400", "nan"),
        "lift": ("9 mm", "inf"),
        "changed": (*CHANGES, "x"),
        "found": (True, False, "yes"),
        "left": (True, False, 1),
        **dict.fromkeys(("state", "values"), STATES),
    }
    for name in rng.sample(list(more), rng.choice((0, 1, 2, 5))):
        said[name] = rng.choice((*more[name], *more[name], rng.choice(ODD_JSON)))
    return "/record/job", said


def _begin(rng: random.Random, document: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    said: dict[str, Any] = {}
    for one in beginning.asked():
        words = [word for word, _ in one.options] or [one.default, "a, b", "2", "1, 2", "0", "13", "other"]
        said[one.key] = rng.choice((one.default, one.default, rng.choice(words), _typed(rng)))
    return "/begin", said


def _other(rng: random.Random, document: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    page = _page(rng, document)
    name = rng.choice(("other", "job", "../x", "a.toml", "", *map(str, ODD_JSON)))
    return rng.choice(
        (
            ("/undo/job", page),
            ("/sheet/job", page),
            ("/read-on/job", {"loc": _loc(rng, document), "typed": _typed(rng), **page}),
            ("/withdraw/job", {"number": rng.choice((1, 2, 3, 4, -1, 0)), "note": "wrong", **page}),
            ("/withdraw/job", {"number": rng.choice(ODD_JSON), "note": rng.choice(ODD_JSON), **page}),
            ("/copy", {"of": rng.choice(("job", "before", "outside", "../outside")), "name": name}),
        )
    )


SAID: tuple[Callable[[random.Random, dict[str, Any]], tuple[str, dict[str, Any]]], ...] = (
    *(_enter, _enter, _enter, _choose, _record, _begin, _other),
)


def _body(rng: random.Random, said: dict[str, Any]) -> bytes:
    """Return what is sent, now and then with something odd in it, and now and then no JSON."""
    way = rng.random()
    if way < 0.1:
        return rng.choice(ODD_BODIES)
    if way < 0.2 and said:
        said = {**said, rng.choice(list(said)): rng.choice(ODD_JSON)}
    elif way < 0.25 and said:
        said = {key: value for key, value in said.items() if key != rng.choice(list(said))}
    body = json.dumps(said).encode()
    if way > 0.97:
        return body[: rng.randrange(len(body))]
    return body


def tried(asking: Sequence[Asking], files: dict[str, str], around: Path) -> Failed | None:
    """Ask one thing after the other of a folder; return what went wrong first, if anything did.

    around : an empty folder, in which the folder goes
    """
    page = Page(laid_out(files, around))
    typed = "\n".join(files.values())
    for place, one in enumerate(asking, 1):
        before = _held(page.folder)
        try:
            with cases.within(cases.SECONDS * cases.slowness()):
                answer = page.ask(one)
        except cases.HangError:
            return Failed(tuple(asking[:place]), files, "too long")
        except BaseException as error:  # noqa: BLE001  whatever comes out is what we look for
            return Failed(tuple(asking[:place]), files, f"{type(error).__name__}: {error}")
        typed += f"\n{one.target}\n{one.body.decode('latin-1')}"
        why = "; ".join(wrong(one, answer, before, _held(page.folder), page.said[-1])) or _strayed(around)
        if not why and not cases.BAD.search(typed) and cases.BAD.search(answer.body):
            why = "no number in the answer"
        if why:
            return Failed(tuple(asking[:place]), files, why)
    return None


def laid_out(files: dict[str, str], around: Path) -> Path:
    """Write a folder of files, and what stands outside it; return the folder."""
    folder = around / "jobs"
    folder.mkdir(parents=True)
    for name, text in OUTSIDE.items():
        (around / name).write_text(text, encoding="utf-8")
    for name, text in files.items():
        (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    (folder / "link.toml").symlink_to(around / "outside.toml")
    (folder / "away").symlink_to(around)
    return folder


def _held(folder: Path) -> dict[str, bytes]:
    return {one.name: one.read_bytes() for one in folder.iterdir() if one.is_file() and not one.is_symlink()}


def _strayed(around: Path) -> str:
    """Say what is another outside the folder, or nothing."""
    there = {one.name: one.read_text(encoding="utf-8") for one in around.iterdir() if one.is_file()}
    return "" if there == OUTSIDE else f"outside the folder: {sorted(there)}"


def wrong(
    one: Asking, answer: Answered, before: dict[str, bytes], after: dict[str, bytes], said_last: str
) -> Iterator[str]:
    """Yield what is wrong with an answer, and with what it left; said_last : by the terminal."""
    if answer.status >= 500:
        yield f"status {answer.status}: {said_last}"
    if "Traceback" in answer.body:
        yield "a traceback"
    if SECRET in answer.body:
        yield "what stands outside was read"
    said = _json(answer)
    pieces = [answer.body] if said is None else [str(each) for each in said.get("parts", {}).values()]
    if any(MARKUP in each for each in pieces):
        yield "typed text as markup"
    if said is None and dict(answer.headers).get("content-type", "").startswith("application/json"):
        yield "no JSON"
    changed = {name for name in {*before, *after} if before.get(name) != after.get(name)}
    if changed and (answer.status != 200 or one.method != "POST" or not one.let_in):
        yield f"status {answer.status} to {one.method}, and another file: {sorted(changed)}"
    told = (said or {}).get("told") or {}
    if changed and (told.get("fault") or told.get("conflict") or (said or {}).get("faults")):
        yield f"refused, and another file all the same: {sorted(changed)}"
    for name in changed:
        if name not in after or (
            name.endswith(".toml") and _reads(before.get(name)) and not _reads(after[name])
        ):
            yield f"{name} does not read any more"


def _json(answer: Answered) -> dict[str, Any] | None:
    def none(word: str) -> None:
        message = f"{word} in it"
        raise ValueError(message)

    try:
        found = json.loads(answer.body, parse_constant=none)
    except ValueError:
        return None
    return found if isinstance(found, dict) else None


def _reads(content: bytes | None) -> bool:
    if content is None:
        return True
    try:
        tomllib.loads(content.decode("utf-8"))
    except (ValueError, RecursionError):
        return False
    return True


def kept(found: Failed, folder: Path) -> None:
    """Keep requests that failed, with what was wrong."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in found.files.items():
        (folder / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    said = "\n".join((found.why, *map(str, reversed(found.asked))))
    (folder / "why.txt").write_text(f"{said}\n", encoding="utf-8", errors="replace")
    print(f"{folder}: {found.asked[-1]}"[:400] + f": {found.why}", flush=True)
