"""The server: routes of the desk, and how it starts and stops.

One event loop answers; two lanes compute: a quick one for the form and the arc averaged,
so that typing never waits, and a full one for rings, bands, fits and reviews.
"""

import asyncio
import json
import socket
from collections import OrderedDict
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import (
    JSONResponse,
    PlainTextResponse,
    RedirectResponse,
    Response,
)
from starlette.routing import Route

from ..pages.templates import page_file, templates
from ..text.errors import ThermoError
from .door import (
    BENCH,
    Application,
    Door,
    cookie_for,
    cookie_name,
    guarded,
    is_key,
    keep_key,
)
from .lanes import Lane, LaneError

SCRIPTS = ("shell", "curve", "section", "joint", "new", "weld", "booth", "phone", "teach")
PARTS = {"desk.css": "text/css"} | {f"desk_{s}.js": "text/javascript" for s in SCRIPTS}
"""Parts of the page, by the name in their address."""

KEPT_ANSWERS = 64

SOLVE = {  # step: lane, urgency, limit [s]
    "averaged": ("quick", 1, 15.0),
    "ring": ("full", 2, 45.0),
    "bands": ("full", 4, 60.0),
}


@dataclass(eq=False)
class Desk:
    """What the server has in hand."""

    door: Door
    text: str  # of the case it was opened with
    file: str  # its name, without folders
    units: str = "si"
    phone: bool = False  # phones of the local network are let in
    keep_in: Path | None = None  # folder of the welds, where the key is kept
    lesson: str | None = None  # its page, once somebody asked for it
    quick: Lane = field(default_factory=Lane)
    full: Lane = field(default_factory=Lane)
    answers: OrderedDict[tuple[str, str], Any] = field(default_factory=OrderedDict)

    def keep(self) -> None:
        """Keep the key for the desk after a crash: a weld is under way."""
        if self.keep_in is not None:
            keep_key(self.keep_in, self.door)


Handler = Callable[[Request], Awaitable[Response]]


def desk_application(desk: Desk, more: tuple[Route, ...] = ()) -> Application:
    """Put routes, lanes and door together."""

    @asynccontextmanager
    async def life(_: Starlette) -> AsyncIterator[None]:
        desk.quick.start()
        warm = asyncio.create_task(_warm(desk))
        yield
        warm.cancel()
        desk.quick.stop()
        desk.full.stop()

    routes = desk_routes(desk, more)
    return guarded(Starlette(routes=routes, lifespan=life), desk.door)


def desk_routes(desk: Desk, more: tuple[Route, ...] = ()) -> list[Route]:
    """List every route there is."""
    return [
        Route("/open/{key}", _opener(desk), methods=["GET"]),
        Route("/", for_bench(page_of(desk, "desk.html")), methods=["GET"]),
        Route("/part/{name}", _part, methods=["GET"]),
        Route("/describe", for_bench(_describe(desk)), methods=["POST"]),
        Route("/change", for_bench(_change(desk)), methods=["POST"]),
        Route("/new", for_bench(_new(desk)), methods=["POST"]),
        Route("/solve", for_bench(_solve(desk)), methods=["POST"]),
        Route("/section", for_bench(_asked(desk, "section", "quick")), methods=["POST"]),
        Route("/remedies", for_bench(_asked(desk, "remedies", "full")), methods=["POST"]),
        Route("/report", for_bench(_asked(desk, "report", "full")), methods=["POST"]),
        Route("/variants", for_bench(_variants(desk)), methods=["POST"]),
        Route("/lesson", for_bench(_lesson(desk)), methods=["GET"]),
        *more,
    ]


async def _warm(desk: Desk) -> None:
    """Load the solver before anybody asks; the first run of all compiles it, once."""
    with suppress(LaneError, ThermoError, asyncio.CancelledError):
        given = {"text": desk.text, "file": desk.file}
        await desk.quick.ask("describe", given, urgency=0)
        given["step"] = "averaged"
        desk.full.start()
        found = await desk.full.ask("solve", given, urgency=0)
        desk.answers["averaged", desk.text] = found
        await desk.quick.ask("solve", given, urgency=5)


def for_bench(handler: Handler) -> Handler:
    """Answer the bench alone; a phone gets 403."""

    async def only(request: Request) -> Response:
        if request.scope.get("role") != BENCH:
            return PlainTextResponse("this is for the bench, not for a phone\n", 403)
        return await handler(request)

    return only


def _opener(desk: Desk) -> Handler:
    async def answer(request: Request) -> Response:
        if not is_key(desk.door, BENCH, request.path_params["key"]):
            await asyncio.sleep(0.5)  # guessing is slow
            return PlainTextResponse("this is not the key\n", 403)
        return let_in(desk.door, BENCH, "/")

    return answer


def let_in(door: Door, role: str, to: str) -> Response:
    """Give the cookie of a role and lead on."""
    response = RedirectResponse(to, 303)
    response.set_cookie(
        cookie_name(door), cookie_for(door, role), httponly=True, samesite="strict"
    )
    return response


def page_of(desk: Desk, name: str, **more: str) -> Handler:
    """Answer with a page."""

    async def answer(_: Request) -> Response:
        words = {"file": desk.file, "units": desk.units, **more}
        text = templates().get_template(name).render(**words)
        return Response(text, media_type="text/html")

    return answer


async def _part(request: Request) -> Response:
    """Scripts and style, by the names of a list."""
    name = request.path_params["name"]
    if name not in PARTS:
        return PlainTextResponse("there is no such part\n", 404)
    return Response(page_file(name), media_type=PARTS[name])


async def told(request: Request, **kinds: type) -> dict[str, Any] | Response:
    """Read the object a request brings: these keys, of these kinds, and no others."""
    try:
        given = json.loads(await request.body())
    except (ValueError, RecursionError):
        return PlainTextResponse("this is not JSON\n", 400)
    if not isinstance(given, dict) or set(given) != set(kinds):
        return PlainTextResponse(f"give {', '.join(kinds) or 'nothing'}\n", 400)
    if any(type(given[name]) is not kind for name, kind in kinds.items()):
        return PlainTextResponse("a value is of the wrong kind\n", 400)
    if any(isinstance(v, str) and _is_broken(v) for v in given.values()):
        return PlainTextResponse("a text holds what no text may\n", 400)
    return given


def _is_broken(text: str) -> bool:
    """Whether a text holds half a letter or a zero."""
    return "\0" in text or any("\ud800" <= letter <= "\udfff" for letter in text)


async def done(request: Request, work: "asyncio.Future[Any]") -> Response:
    """Wait for work, and abandon it when nobody waits for the answer any more."""
    watch = asyncio.create_task(_left(request))
    try:
        await asyncio.wait({work, watch}, return_when=asyncio.FIRST_COMPLETED)
        if not work.done():
            return Response(status_code=499)
        return JSONResponse(work.result())
    except asyncio.CancelledError:
        if asyncio.current_task() and work.cancelled():
            return PlainTextResponse("abandoned\n", 409)
        raise
    except LaneError as error:
        return JSONResponse({"trouble": str(error)}, 503)
    finally:
        watch.cancel()
        work.cancel()


async def _left(request: Request) -> None:
    """Return when the one who asked has gone."""
    while (await request.receive())["type"] != "http.disconnect":
        pass


def _describe(desk: Desk) -> Handler:
    async def answer(request: Request) -> Response:
        given = await told(request, text=str)
        if isinstance(given, Response):
            return given
        text = given["text"] or desk.text
        return await lane_answer(
            request, desk.quick, "describe", {"text": text, "file": desk.file}
        )

    return answer


def _change(desk: Desk) -> Handler:
    async def answer(request: Request) -> Response:
        given = await told(request, text=str, key=str, value=str)
        if isinstance(given, Response):
            return given
        return await lane_answer(
            request, desk.quick, "change", {**given, "file": desk.file}
        )

    return answer


def _new(desk: Desk) -> Handler:
    """Answer with the questions of a new joint."""

    async def answer(request: Request) -> Response:
        given = await told(request, answers=dict, units=str)
        if isinstance(given, Response):
            return given
        words = given["answers"].values()
        if any(not isinstance(one, str) or _is_broken(one) for one in words):
            return PlainTextResponse("an answer is no text\n", 400)
        if given["units"] not in ("si", "us"):
            return PlainTextResponse("units are si or us\n", 400)
        return await lane_answer(request, desk.quick, "new_joint", given)

    return answer


async def lane_answer(
    request: Request,
    lane: Lane,
    name: str,
    given: dict[str, Any],
    *,
    urgency: int = 0,
    limit: float = 10.0,
) -> Response:
    """Have a job done and answer with what it found."""
    try:
        work = lane.ask(name, given, urgency=urgency, limit=limit)
    except LaneError as error:
        return JSONResponse({"trouble": str(error)}, 503)
    return await done(request, work)


def _solve(desk: Desk) -> Handler:
    async def answer(request: Request) -> Response:
        given = await told(request, text=str, step=str)
        if isinstance(given, Response):
            return given
        if given["step"] not in SOLVE:
            return PlainTextResponse(f"steps are {', '.join(SOLVE)}\n", 400)
        key = (given["step"], given["text"])
        if key in desk.answers:
            desk.answers.move_to_end(key)
            return JSONResponse(desk.answers[key])
        lane, urgency, limit = SOLVE[given["step"]]
        job = {**given, "file": desk.file}
        try:
            work = getattr(desk, lane).ask("solve", job, urgency=urgency, limit=limit)
        except LaneError as error:
            return JSONResponse({"trouble": str(error)}, 503)
        work.add_done_callback(lambda w: _keep(desk, key, w))
        return await done(request, work)

    return answer


def _keep(desk: Desk, key: tuple[str, str], work: "asyncio.Future[Any]") -> None:
    """Keep an answer for whoever asks the same."""
    if work.cancelled() or work.exception():
        return
    desk.answers[key] = work.result()
    while len(desk.answers) > KEPT_ANSWERS:
        desk.answers.popitem(last=False)


def _asked(desk: Desk, name: str, lane: str) -> Handler:
    """Answer a question about a text."""

    async def answer(request: Request) -> Response:
        more = {"units": str} if name == "report" else {}
        given = await told(request, text=str, **more)
        if isinstance(given, Response):
            return given
        if given.get("units", "si") not in ("si", "us"):
            return PlainTextResponse("units are si or us\n", 400)
        job = {**given, "file": desk.file}
        return await lane_answer(
            request, getattr(desk, lane), name, job, urgency=3, limit=60.0
        )

    return answer


def _variants(desk: Desk) -> Handler:
    async def answer(request: Request) -> Response:
        given = await told(request, text=str, preset=str)
        if isinstance(given, Response):
            return given
        job = {**given, "file": desk.file}
        return await lane_answer(
            request, desk.quick, "variants", job, urgency=3, limit=30.0
        )

    return answer


def _lesson(desk: Desk) -> Handler:
    """Answer with the lesson, which brings its style with it and has no script."""

    async def answer(_: Request) -> Response:
        if desk.lesson is None:
            job = {"units": desk.units}
            try:
                found = await desk.full.ask("lesson", job, urgency=3, limit=120.0)
            except LaneError as error:
                return PlainTextResponse(f"{error}\n", 503)
            desk.lesson = found["page"]
        policy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
        headers = {"content-security-policy": policy}
        return Response(desk.lesson, media_type="text/html", headers=headers)

    return answer


def listening(host: str, port: int) -> socket.socket:
    """Socket on a port, or on a free one for 0; a port in use is told by the system."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    found.bind((host, port))
    return found


def file_name(path: Path | None) -> str:
    """Name of a case without its folders."""
    return path.name if path else "case.toml"


def serve(application: Application, at: socket.socket, ready: Callable[[], None]) -> None:
    """Answer until Ctrl-C; ``ready`` is called once the address answers."""
    import uvicorn

    config = uvicorn.Config(
        application,  # type: ignore[arg-type]
        log_level="critical",
        access_log=False,
        server_header=False,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=0,
        limit_concurrency=256,
        h11_max_incomplete_event_size=16 * 1024,
        lifespan="on",
    )
    server = uvicorn.Server(config)

    async def run() -> None:
        told_ready = asyncio.create_task(_when_started(server, ready))
        await server.serve(sockets=[at])
        told_ready.cancel()

    asyncio.run(run())


async def _when_started(server: Any, ready: Callable[[], None]) -> None:
    while not server.started:
        await asyncio.sleep(0.01)
    ready()
