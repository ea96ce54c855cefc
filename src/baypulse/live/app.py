"""What the server answers: the page and its scripts, and questions about a case as JSON."""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable
from importlib import resources
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from baypulse.caution import CAUTION
from baypulse.errors import BaypulseError, CaseError
from baypulse.live.draft import Draft, Malformed, draft_of
from baypulse.live.guard import MOST_BYTES, TooLarge
from baypulse.live.presence import Presence
from baypulse.live.studying import STUDIES, add_shot, asked, sightings
from baypulse.live.task import KINDS as FILE_KINDS
from baypulse.live.task import Task
from baypulse.live.turns import Busy, Turns
from baypulse.live.workplace import Workplace
from baypulse.terminal import Refused

PAGE = "index.html"
"""The page."""

KINDS = {".js": "text/javascript", ".css": "text/css", ".html": "text/html"}
"""What a file of the page is."""

QUESTIONS = ("form", "answer", "more", "strip", "band")
"""Kinds of question, each a function of :mod:`baypulse.live.questions`."""

CHARTS = ("bokeh.min.js", "bokeh-api.min.js")
"""Scripts of the chart library, as its own package ships them."""


class Service:
    """Answers a page.

    Parameters
    ----------
    workplace : Workplace
        Where cases are opened and written.
    start : list of dict
        Bays that the page begins with; none for a bay without a file.
    gone : callable
        Called when the page has been closed.
    """

    def __init__(
        self, workplace: Workplace, start: list[dict[str, Any]], gone: Callable[[], None]
    ) -> None:
        self.workplace, self.start = workplace, start
        self.presence, self.turns = Presence(gone), Turns()
        self.task: Task | None = None

    def app(self) -> Starlette:
        """Return the application, behind the guard."""
        routes = [
            Route("/", self.page),
            Route("/page/{name}", self.part),
            Route("/charts/{name}", self.chart_script),
            Route("/here", self.here),
            Route("/start", self.begin),
            *(Route(f"/{kind}", self.answering(kind), methods=["POST"]) for kind in QUESTIONS),
            Route("/open", self.posted(self.open), methods=["POST"]),
            Route("/save", self.posted(self.save), methods=["POST"]),
            Route("/study", self.posted(self.begin_study), methods=["POST"]),
            Route("/task", self.progress),
            Route("/stop", self.posted(self.stop_study), methods=["POST"]),
            Route("/export", self.posted(self.export), methods=["POST"]),
            Route("/add-shot", self.posted(self.add_shot), methods=["POST"]),
            Route("/report/{name}", self.report),
        ]  # fmt: skip
        return Starlette(routes=routes, exception_handlers={TooLarge: _too_large, Busy: _busy})

    def end(self) -> None:
        """Let go of the page, and of what it asked for."""
        self.presence.ending = True
        if self.task is not None:
            self.task.stop()

    async def page(self, request: Request) -> Response:
        """Give the page."""
        return _file(PAGE)

    async def part(self, request: Request) -> Response:
        """Give a script or a sheet of styles of the page."""
        return _file(request.path_params["name"])

    async def chart_script(self, request: Request) -> Response:
        """Give a script of the chart library from its own package."""
        name = request.path_params["name"]
        if name not in CHARTS:
            return PlainTextResponse("there is nothing here", 404)
        return Response(chart_file(name).read_bytes(), media_type=KINDS[".js"])

    async def here(self, request: Request) -> Response:
        """Hold a connection for as long as the page is open."""
        return StreamingResponse(self.presence.beats(), media_type="text/event-stream")

    async def begin(self, request: Request) -> Response:
        """Give what the page begins with."""
        return JSONResponse(
            {
                "bays": self.start, "files": self.workplace.listed(), "caution": CAUTION,
                "sightings": sightings(),
            }
        )  # fmt: skip

    def answering(self, kind: str) -> Callable[..., Awaitable[Response]]:
        """Return what answers a kind of question about a case."""

        async def endpoint(request: Request) -> Response:
            body = await _body(request)
            number, page = body.get("number", 0), body.get("page", "")
            if not isinstance(number, int) or not isinstance(page, str):
                raise Malformed("a question has a number and a page")
            stale = self.turns.asked(page[:40], number)
            found = await self.turns.compute(_answered, kind, draft_of(body), stale)
            return JSONResponse({"number": number, **({"stale": True} if found is None else found)})

        return _guarded(endpoint)

    def posted(self, work: Callable[[dict[str, Any]], Any]) -> Callable[..., Awaitable[Response]]:
        """Return what does something with a file."""

        async def endpoint(request: Request) -> Response:
            return JSONResponse(await self.turns.compute(work, await _body(request)))

        return _guarded(endpoint)

    def open(self, body: dict[str, Any]) -> dict[str, Any]:
        """Open a case file of the folder."""
        place = self.workplace.place(str(body.get("file", "")))
        try:
            return {"bays": self.workplace.bays(place)}
        except CaseError as error:
            raise Refused(str(error)) from None

    def save(self, body: dict[str, Any]) -> dict[str, Any]:
        """Write the case of the page."""
        draft = draft_of(body)
        draft.case()
        text = draft.written()
        file = self.workplace.save(str(body.get("file", "")), text)
        name = Path(file).stem
        return {"file": file, "bays": [{"name": name, "text": text, "file": file}],
                "said": f"wrote {file}; baypulse run {file} computes the same"}  # fmt: skip

    def begin_study(self, body: dict[str, Any]) -> dict[str, Any]:
        """Begin a study of the case; one that still works makes way."""
        name = body.get("study")
        if name not in STUDIES:
            raise Malformed("there is no such study")
        question = asked(body, draft_of(body), self.workplace)
        question.draft.case()
        if self.task is not None:
            self.task.stop()
        self.task = Task(str(name), question)
        return self.task.told()

    async def progress(self, request: Request) -> Response:
        """Say how far the study is."""
        return JSONResponse({"state": "none"} if self.task is None else self.task.told())

    def stop_study(self, body: dict[str, Any]) -> dict[str, Any]:
        """Let go of the study."""
        if self.task is not None:
            self.task.stop()
        return {}

    async def report(self, request: Request) -> Response:
        """Give the page of the last report, or a file beside it."""
        name, task = request.path_params["name"], self.task
        if task is not None and name == PAGE and task.page():
            return Response(task.page(), media_type=KINDS[".html"])
        held = None if task is None else task.file(name)
        if held is None:
            return PlainTextResponse("there is nothing here", 404)
        return Response(held, media_type=FILE_KINDS[Path(name).suffix])

    def export(self, body: dict[str, Any]) -> dict[str, Any]:
        """Write the folder of the last report."""
        if self.task is None:
            raise Refused("there is no report yet")
        folder = self.task.export(self.workplace.folder)
        return {"said": f"wrote {folder.relative_to(self.workplace.folder).as_posix()}"}

    def add_shot(self, body: dict[str, Any]) -> dict[str, Any]:
        """Write a shot into the log beside the case."""
        return {"said": add_shot(asked(body, draft_of(body), self.workplace))}


def chart_file(name: str) -> Path:
    """Return a script of the chart library, without loading the library.

    Parameters
    ----------
    name : str
        One of :data:`CHARTS`.
    """
    found = find_spec("bokeh")
    assert found is not None and found.submodule_search_locations
    return Path(found.submodule_search_locations[0]) / "server" / "static" / "js" / name


def page_file(name: str) -> str | None:
    """Return a file of the page, None where there is none of that name."""
    known = {each.name for each in resources.files("baypulse.live").joinpath("page").iterdir()}
    if name not in known:
        return None
    return resources.files("baypulse.live").joinpath("page", name).read_text("utf-8")


def _file(name: str) -> Response:
    text = page_file(name)
    if text is None:
        return PlainTextResponse("there is nothing here", 404)
    return Response(text, media_type=KINDS[Path(name).suffix])


def _guarded(endpoint: Callable[[Request], Awaitable[Response]]) -> Callable[..., Any]:
    """Return what answers what is wrong with a sentence, beside its field where it has one."""

    async def answering(request: Request) -> Response:
        try:
            return await endpoint(request)
        except CaseError as error:
            problems = [
                {"key": each.key, "line": each.line, "text": each.text} for each in error.problems
            ]
            return JSONResponse({"problems": problems})
        except Malformed as error:
            return PlainTextResponse(str(error), 400)
        except (Refused, BaypulseError) as error:
            return JSONResponse({"refused": str(error)})

    return answering


async def _body(request: Request) -> dict[str, Any]:
    try:
        body = json.loads(await request.body())
    except (ValueError, RecursionError):
        raise Malformed("this is no JSON") from None
    if not isinstance(body, dict):
        raise Malformed("a question is an object of JSON")
    return body


async def _too_large(request: Request, error: Exception) -> Response:
    return PlainTextResponse(f"more than {MOST_BYTES // 1000} kB; a case needs a few", 413)


async def _busy(request: Request, error: Exception) -> Response:
    return PlainTextResponse("too much at once; ask again in a moment", 503)


def _answered(kind: str, draft: Draft, stale: Callable[[], bool]) -> dict[str, Any] | None:
    # the physics is loaded while the browser still reads the page
    from baypulse.live import questions

    return questions.answered(kind, draft, stale)
