"""The page itself: which address shows what, what a request does, and who is told that something changed.

One folder of jobs. It computes on one thread, so that nothing is worked out twice at once; what takes long goes to a process
beside it. Who may ask is not decided here.
"""

from __future__ import annotations

import asyncio
import json
import os
from collections.abc import AsyncGenerator, AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from ..commands import folder as jobs_of
from ..files import sweep
from ..job.faults import Loc
from . import beginning, looks, pages, setting
from .desk import OpenJob, Told
from .fields import asked_of
from .places import owners, placed
from .screens import ALL, SCREENS, STACK, Part, Screen, Way
from .view import Answers, address, begun_with, place_of
from .working import FOLDER, SHEET, Asked, Working
from .working import Told as Worked

LOOK_S = 0.5  # between two looks at the files
MOMENT_S = 0.05  # without another entry before what takes long is begun
STATIC = {
    "page.css": "text/css",
    "page.js": "text/javascript",
    "forms.js": "text/javascript",
    "keys.js": "text/javascript",
    "icon.svg": "image/svg+xml",
}
NOT_FOUND = 404


class Site:
    """One folder, the jobs that lie open, and the pages that look at them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.open: dict[str, OpenJob] = {}
        self.answers: dict[str, Answers] = {}
        self.states: dict[str, Any] = {}  # name → how a job of the folder stands, as it was last told
        self.listening: set[asyncio.Queue[dict[str, Any]]] = set()
        self.seen: dict[str, tuple[int, ...]] = {}  # name → what its file looked like
        self.working: Working | None = None
        self.waiting: dict[str, asyncio.TimerHandle] = {}  # name → when it is worked out
        self.loop: asyncio.AbstractEventLoop | None = None

    def names(self) -> list[str]:
        """Return the jobs of the folder by name."""
        return [path.name.removesuffix(".toml") for path in jobs_of.jobs(self.folder)[0]]

    def job(self, name: str) -> OpenJob:
        """Return a job that lies open, opened where it does not yet.

        Raises:
            HTTPException: where the folder lists none of that name.
        """
        path = self.folder / f"{name}.toml"
        if name not in self.open:
            if name not in self.names():
                raise HTTPException(NOT_FOUND, "no such job in this folder")
            self.open[name] = OpenJob(path)
            self.answers[name] = Answers()
            self.seen[name] = looks_of(self.open[name])
            self.work(name)
        return self.open[name]

    def work(self, name: str) -> None:
        """Have a job worked out as it stands, once nobody has entered more for a moment: that goes first."""
        if self.loop is None:
            return
        waiting = self.waiting.pop(name, None)
        if waiting is not None:
            waiting.cancel()
        self.waiting[name] = self.loop.call_later(MOMENT_S, self._work, name)

    def _work(self, name: str) -> None:
        self.waiting.pop(name, None)
        found = self.open[name]
        if self.working is not None and found.job is not None and not found.broken:
            self.working.ask(Asked(found.path, found.job.source, found.hash))

    def told(self, found: Worked) -> None:
        """Take over what was worked out beside; called in another thread."""
        if self.loop is not None:
            self.loop.call_soon_threadsafe(self._told, found)

    def _told(self, found: Worked) -> None:
        name = found.path.name.removesuffix(".toml")
        if found.stage == FOLDER:
            if found.found is not None:
                self.states[found.found.name.removesuffix(".toml")] = found.found
                self.publish({"folder": True})
            return
        answers = self.answers.get(name)
        if answers is None or found.last:
            return
        answers.found[found.stage] = (found.hash, found.found)
        if found.stage == SHEET:
            self.work(name)
        self.publish({"job": name, "stage": found.stage, "hash": found.hash})

    def publish(self, told: dict[str, Any]) -> None:
        """Tell every page."""
        for queue in self.listening:
            queue.put_nowait(told)

    async def watch(self) -> None:
        """Look at the files that lie open, and tell when somebody else has written to one."""
        while True:
            await asyncio.sleep(LOOK_S)
            for name, found in list(self.open.items()):
                now = looks_of(found)
                if now == self.seen.get(name):
                    continue
                self.seen[name] = now
                if found.refresh():
                    self.work(name)
                    self.publish({"job": name, "stage": "file", "hash": found.version})

    def wrote(self, name: str) -> None:
        """Note that this page itself has written, and have it worked out."""
        found = self.open[name]
        self.seen[name] = looks_of(found)
        found.refresh()
        self.work(name)
        self.publish({"job": name, "stage": "file", "hash": found.version})


def look_of(path: Path) -> tuple[int, ...]:
    """Return what tells whether a file was written to: when, how long it is, and which it is."""
    try:
        there = os.lstat(path)
    except OSError:
        return ()
    return there.st_mtime_ns, there.st_size, there.st_ino


def looks_of(found: OpenJob) -> tuple[int, ...]:
    """Return what tells whether a job or its record was written to."""
    return *look_of(found.path), *look_of(found.record.path)


def application(folder: Path) -> Starlette:
    """Return the page of a folder, for whoever may ask."""
    folder = folder.resolve()
    site = Site(folder)

    @asynccontextmanager
    async def lasting(_: Starlette) -> AsyncGenerator[None]:
        sweep(folder)
        site.loop = asyncio.get_running_loop()
        site.working = Working(site.told)
        watcher = asyncio.create_task(site.watch())
        try:
            yield
        finally:
            watcher.cancel()
            site.working.close()

    app = Starlette(routes=_routes(site), lifespan=lasting, exception_handlers={HTTPException: _refused})
    app.state.site = site
    return app


def _routes(site: Site) -> list[Route]:
    def bound(handler: Callable[[Site, Request], Any]) -> Callable[[Request], Any]:
        async def answer(request: Request) -> Response:
            found: Response = await handler(site, request)
            return found

        return answer

    return [
        Route("/", bound(_folder)),
        Route("/begin", bound(_begin_page)),
        Route("/begin", bound(_begin), methods=["POST"]),
        Route("/copy", bound(_copy), methods=["POST"]),
        Route("/static/{file}", bound(_static)),
        Route("/stream", bound(_stream)),
        Route("/parts/folder", bound(_folder_parts)),
        Route("/parts/{name}/{screen}", bound(_parts)),
        Route("/parts/{name}/{screen}/{owner}", bound(_parts)),
        Route("/jobs/{name}", bound(_screen)),
        Route("/jobs/{name}/sheet.pdf", bound(_sheet_file)),
        Route("/jobs/{name}/{screen}", bound(_screen)),
        Route("/jobs/{name}/{screen}/{owner}", bound(_screen)),
        Route("/enter/{name}", bound(_enter), methods=["POST"]),
        Route("/choose/{name}", bound(_choose), methods=["POST"]),
        Route("/read-on/{name}", bound(_read_on), methods=["POST"]),
        Route("/undo/{name}", bound(_undo), methods=["POST"]),
        Route("/record/{name}", bound(_record), methods=["POST"]),
        Route("/withdraw/{name}", bound(_withdraw), methods=["POST"]),
        Route("/sheet/{name}", bound(_sheet), methods=["POST"]),
    ]


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    if request.method == "POST" or request.url.path.startswith("/parts/"):
        return JSONResponse({"refused": error.detail}, error.status_code)
    return HTMLResponse(pages.page("refused", key="", why=error.detail), error.status_code)


def _key(request: Request) -> str:
    session = request.scope.get("state", {}).get("session")
    return "" if session is None else str(session.key)


async def _folder(site: Site, request: Request) -> Response:
    if site.working is not None:
        site.working.ask(Asked(site.folder, "", "folder"))
    return HTMLResponse(pages.page("folder", key=_key(request), **looks.folder(site.folder, site.states)))


async def _folder_parts(site: Site, request: Request) -> Response:
    return JSONResponse({"parts": {"jobs": pages.piece("jobs", **looks.folder(site.folder, site.states))}})


async def _begin_page(site: Site, request: Request) -> Response:
    return HTMLResponse(pages.page("begin", key=_key(request), asked=beginning.asked()))


async def _begin(site: Site, request: Request) -> Response:
    said = await _said(request)
    try:
        name = beginning.begin(site.folder, {str(key): str(value) for key, value in said.items()})
    except beginning.NotBegunError as refused:
        return JSONResponse({"faults": refused.faults})
    return JSONResponse({"go": address(name, STACK)})


async def _copy(site: Site, request: Request) -> Response:
    said = await _said(request)
    found = site.job(str(said.get("of", "")))
    try:
        name = beginning.copy(site.folder, found.path, str(said.get("name", "")))
    except beginning.NotBegunError as refused:
        return JSONResponse({"faults": refused.faults})
    return JSONResponse({"go": address(name, STACK)})


async def _static(site: Site, request: Request) -> Response:
    name = request.path_params["file"]
    if name not in STATIC:
        raise HTTPException(NOT_FOUND, "no such file")
    content = (files("tallstack.cli.bench") / "static" / name).read_bytes()
    return Response(content, media_type=STATIC[name])


def _of(site: Site, request: Request) -> tuple[OpenJob, Screen, str]:
    """Return which job, screen and owner an address names.

    Raises:
        HTTPException: where there is none of that name.
    """
    asked = request.path_params
    found = site.job(asked["name"])
    screen = SCREENS.get(asked.get("screen", STACK.key))
    if screen is None:
        raise HTTPException(NOT_FOUND, "no such screen")
    shown = found.shown
    every = ("",) if shown is None else owners(screen, shown.plain)
    owner = asked.get("owner", every[0] if every else "")
    if owner not in every and every:
        raise HTTPException(NOT_FOUND, "no such cylinder, valve gear or lobe in this job")
    return found, screen, owner


async def _screen(site: Site, request: Request) -> Response:
    found, screen, owner = _of(site, request)
    name = request.path_params["name"]
    seen = looks.screen(name, found, screen, owner, site.answers[name], request.query_params.get("find", ""))
    return HTMLResponse(looks.whole(seen, _key(request)))


async def _parts(site: Site, request: Request) -> Response:
    found, screen, owner = _of(site, request)
    return JSONResponse(
        _pieces(site, request.path_params["name"], found, screen, owner, request.query_params.get("find", ""))
    )


def _pieces(
    site: Site, name: str, found: OpenJob, screen: Screen, owner: str, find: str = ""
) -> dict[str, Any]:
    """Return the pieces of a page as they are now."""
    return looks.pieces(looks.screen(name, found, screen, owner, site.answers[name], find))


async def _stream(site: Site, request: Request) -> Response:
    queue: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
    site.listening.add(queue)

    async def events() -> AsyncIterator[str]:
        try:
            yield "retry: 1000\n\n"
            while True:
                try:
                    told = await asyncio.wait_for(queue.get(), 15.0)
                    yield f"data: {json.dumps(told)}\n\n"
                except TimeoutError:
                    yield ": still here\n\n"
        finally:
            site.listening.discard(queue)

    return StreamingResponse(events(), media_type="text/event-stream")


async def _said(request: Request) -> Mapping[str, Any]:
    """Return what a request holds.

    Raises:
        HTTPException: where it is no object of JSON, is too deep, or holds what no file and no answer can: a number that is none,
            half a letter.
    """
    try:
        said = json.loads(await request.body())
        json.dumps(said, ensure_ascii=False, allow_nan=False).encode()
    except (ValueError, RecursionError):
        said = None
    if not isinstance(said, dict):
        raise HTTPException(400, "no object of JSON")
    return said


def _place(said: Mapping[str, Any]) -> Loc:
    """Return the place in the document that a request names.

    Raises:
        HTTPException: where it is none.
    """
    loc = said.get("loc")
    right = (
        isinstance(loc, list)
        and loc
        and all(isinstance(one, str) or (type(one) is int and one >= 0) for one in loc)
    )
    if not right or not isinstance(loc[0], str):  # type: ignore[index]
        raise HTTPException(400, "no place in a job")
    return tuple(loc)  # type: ignore[arg-type]


def _here(site: Site, request: Request, said: Mapping[str, Any]) -> tuple[str, OpenJob, Screen, str]:
    """Return the job of a request, and the page that it comes from."""
    name = request.path_params["name"]
    found = site.job(name)
    screen = SCREENS.get(str(said.get("screen", "")), ALL)
    return name, found, screen, str(said.get("owner", ""))


def _answer(
    site: Site, name: str, found: OpenJob, told: Told, screen: Screen, owner: str, find: str, **more: Any
) -> Response:
    pieces = _pieces(site, name, found, screen, owner, find)
    return JSONResponse({**pieces, "told": told._asdict(), **more})


async def _enter(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    loc, before = _place(said), found.version
    begins = () if found.shown is None else begun_with(found.shown, screen, owner, loc)
    told = found.enter(loc, str(said.get("typed", "")), said.get("was"), begins)
    if found.version != before:
        site.wrote(name)
    now = None if found.document is None else found.document.get(loc)
    return _answer(site, name, found, told, screen, owner, _find(said), now=now if told.conflict else None)


async def _choose(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    shown, before = found.shown, found.hash
    told = Told("nothing can be chosen as the file stands")
    if shown is not None:
        way, part, whose = _way(screen, owner, shown.plain, str(said.get("way", "")))
        option = next((one for one in way.options if one.word == said.get("option")), None)
        if option is None:
            raise HTTPException(400, "no such choice")
        place = place_of(part, whose, shown.plain)
        asked = tuple(map(str, asked_of(option.entries, part, shown, place)))
        told = found.choose(way, option._replace(entries=asked), place)
    if found.hash != before:
        site.wrote(name)
    return _answer(site, name, found, told, screen, owner, _find(said))


def _way(screen: Screen, owner: str, plain: Mapping[str, Any], key: str) -> tuple[Way, Part, str]:
    """Return a choice of a screen by its key.

    Raises:
        HTTPException: where there is none.
    """
    for part, whose in placed(screen, owner, plain):
        for one in part.entries:
            if isinstance(one, Way) and key == (f"{one.key}-{whose}" if whose else one.key):
                return one, part, whose
    raise HTTPException(400, "no such choice")


async def _read_on(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    before = found.hash
    told = found.read_on(_place(said), str(said.get("typed", "")))
    if found.hash != before:
        site.wrote(name)
    return _answer(site, name, found, told, screen, owner, _find(said))


async def _undo(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    told = found.undo()
    site.wrote(name)
    return _answer(site, name, found, told, screen, owner, _find(said))


async def _record(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    if found.job is None or found.broken:
        wrote = setting.Wrote(faults={"": setting.NOT_WHILE_WRONG})
    else:
        try:
            wrote = found.write_down(setting.given(said, found.job))
        except setting.NotGivenError as wrong:
            raise HTTPException(400, str(wrong)) from None
    site.wrote(name)
    told = Told(wrote.faults.get("", ""), said=wrote.said)
    return _answer(site, name, found, told, screen, owner, _find(said), faults=dict(wrote.faults))


async def _withdraw(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    number, note = said.get("number", 0), said.get("note")
    is_line = isinstance(number, int) and not isinstance(number, bool)
    if not is_line or not isinstance(note, str) or len(note) > setting.LONGEST:
        raise HTTPException(400, "no line of a record")
    faults = dict(found.withdraw_line(number, note))
    site.wrote(name)
    told = Told(faults.get("", ""), said="" if faults else f"line {number} is withdrawn")
    return _answer(site, name, found, told, screen, owner, _find(said), faults=faults)


def _find(said: Mapping[str, Any]) -> str:
    return str(said.get("find", ""))


def sheet_of(job: Path) -> Path:
    """Return where the sheet of a job goes."""
    return job.with_name(f"{job.name.removesuffix('.toml')}.sheet.pdf")


async def _sheet(site: Site, request: Request) -> Response:
    said = await _said(request)
    name, found, screen, owner = _here(site, request, said)
    if site.working is not None and found.job is not None:
        site.answers[name].found[SHEET] = (found.hash, looks.BEING_SET)
        site.working.ask(Asked(found.path, found.job.source, found.hash, sheet_of(found.path)))
    return _answer(site, name, found, Told(), screen, owner, "")


async def _sheet_file(site: Site, request: Request) -> Response:
    found = site.job(request.path_params["name"])
    out = sheet_of(found.path)
    if os.path.islink(out) or not out.is_file():
        raise HTTPException(NOT_FOUND, "no sheet was written yet")
    return Response(
        out.read_bytes(),
        media_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{SHEET}.pdf"'},
    )
