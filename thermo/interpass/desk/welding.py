"""Routes of the welds: start, arc on and off, readings, the wait that follows, the review.

An event is on disk before its answer is sent. What it means for the wait is computed
after, by the full lane; a page asks for the state every second and counts in between.
"""

import asyncio
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from ..text.errors import CaseError, ThermoError, said
from .bench import BenchWeld, add_event, begin_weld, open_bench, state_of
from .door import BENCH, is_key, key_for
from .events import LONGEST_VALUE, WHAT_HAPPENS, Event, RefusedEvent, east_now, seen
from .lanes import LaneError
from .server import Desk, Handler, for_bench, lane_answer, let_in, page_of, told

PLANNED = {"after_pass": 0, "off_at": None}  # waits that know of no arc yet
OLDEST = 6 * 3600.0  # s; a phone that was away longer has nothing to add


def weld_routes(desk: Desk, folder: Path) -> tuple[Route, ...]:
    """Take up the joints of a folder, and answer for them."""
    bench = open_bench(folder)
    joint = "/joints/{joint}"
    return (
        Route("/joints", for_bench(_list(bench)), methods=["GET"]),
        Route("/joints/start", for_bench(_start(desk, bench, folder)), methods=["POST"]),
        Route(f"{joint}/state", _of(desk, bench, _state), methods=["GET"]),
        Route(f"{joint}/event", _of(desk, bench, _event), methods=["POST"]),
        Route(f"{joint}/review", for_bench(_of(desk, bench, _review)), methods=["POST"]),
        Route(f"{joint}/log.csv", for_bench(_of(desk, bench, _log)), methods=["GET"]),
        Route(f"{joint}/case.toml", for_bench(_of(desk, bench, _case)), methods=["GET"]),
        Route(f"{joint}/phone", for_bench(_of(desk, bench, _phone)), methods=["GET"]),
        Route(f"{joint}/qr.svg", for_bench(_of(desk, bench, _code)), methods=["GET"]),
        Route("/open/{joint}/{key}", _phone_opener(desk, bench), methods=["GET"]),
        Route("/phone", _phone_page(desk), methods=["GET"]),
    )


def _of(desk: Desk, bench: dict[str, BenchWeld], answer: Any) -> Handler:
    """Find the joint of an address, for the bench and for its own phone."""

    async def handler(request: Request) -> Response:
        weld = bench.get(request.path_params["joint"])
        if weld is None:
            return PlainTextResponse("there is no such joint\n", 404)
        if request.scope.get("role") not in (BENCH, weld.name):
            return PlainTextResponse("this phone belongs to another joint\n", 403)
        found: Response = await answer(desk, weld, request)
        return found

    return handler


def _list(bench: dict[str, BenchWeld]) -> Handler:
    async def answer(_: Request) -> Response:
        now = time.time()
        return JSONResponse([state_of(weld, now) for weld in bench.values()])

    return answer


def _start(desk: Desk, bench: dict[str, BenchWeld], folder: Path) -> Handler:
    async def answer(request: Request) -> Response:
        given = await told(request, text=str)
        if isinstance(given, Response):
            return given
        try:
            weld = begin_weld(bench, folder, given["text"])
        except CaseError as error:
            words = "; ".join(said(m.problem, m.remedy) for m in error.mistakes)
            return JSONResponse({"refused": words}, 422)
        except (ThermoError, OSError) as error:
            return JSONResponse({"refused": str(error)}, 507)
        with suppress(OSError):  # it is for the desk after a crash; the weld has begun
            desk.keep()
        _work_out(desk, weld)
        return JSONResponse({"joint": weld.name})

    return answer


async def _state(desk: Desk, weld: BenchWeld, _: Request) -> Response:
    if weld.answer_of != len(weld.events) and weld.work is None:
        _work_out(desk, weld)
    return JSONResponse({**state_of(weld, time.time()), "has_phone": desk.phone})


async def _event(desk: Desk, weld: BenchWeld, request: Request) -> Response:
    """Write an event down, then say so."""
    given = await told(request, name=str, kind=str, value=str, number=int, age_ms=int)
    if isinstance(given, Response):
        return given
    if words := _misshapen(given):
        return PlainTextResponse(words, 400)
    at = round(max(time.time() - given["age_ms"] / 1e3, _latest(weld)), 1)
    east = east_now(weld.events, at)
    event = Event(given["name"], given["kind"], at, given["number"], given["value"], east)
    try:
        add_event(weld, event)
    except RefusedEvent as error:
        return JSONResponse({"refused": str(error)}, 422)
    except OSError as error:
        return JSONResponse({"refused": f"Not on disk: {error.strerror}"}, 507)
    if event.kind != "note":
        _work_out(desk, weld)
    return JSONResponse({**state_of(weld, time.time()), "has_phone": desk.phone})


def _misshapen(given: dict[str, Any]) -> str:
    """Say what no page of ours would send; "" when it could be."""
    name, value = given["name"], given["value"]
    if not 0 <= given["age_ms"] <= 1e3 * OLDEST or given["kind"] not in WHAT_HAPPENS:
        return "no such event\n"
    if not (8 <= len(name) <= 64 and name.isalnum() and name.isascii()):
        return "an event has a name of 8 to 64 letters\n"
    if len(value) > LONGEST_VALUE or not value.isprintable():
        return "the value is too long, or no text\n"
    return ""


def _latest(weld: BenchWeld) -> float:
    """When an arc last went on or off: nothing happens before what is known."""
    arcs = seen(weld.events).arcs
    return (arcs[-1].off or arcs[-1].on) if arcs else 0.0


def _work_out(desk: Desk, weld: BenchWeld) -> None:
    """Have the waits computed for what is known now; older work is abandoned."""
    if weld.work is not None:
        weld.work.cancel()
    weld.work = asyncio.create_task(_worked_out(desk, weld))


async def _worked_out(desk: Desk, weld: BenchWeld) -> None:
    count, arcs = len(weld.events), seen(weld.events).arcs
    log = weld.log if any(a.off for a in arcs) else ""
    if arcs and arcs[-1].off is None:
        return  # while the arc is on there is nothing to wait for
    given = {"text": weld.text, "file": f"{weld.name}.toml", "log": log}
    try:
        found = await desk.full.ask("next_waits", given, urgency=0, limit=90.0)
    except LaneError as error:
        found = {"trouble": str(error)}
    if "rows" in found:  # what the waits know of: a later arc makes them void
        found |= (
            {"after_pass": arcs[-1].number, "off_at": arcs[-1].off} if arcs else PLANNED
        )
    weld.answer, weld.answer_of = _answered(weld, found), count
    weld.work = None


def _answered(weld: BenchWeld, found: dict[str, Any]) -> dict[str, Any]:
    """Answer of the lanes; where there is none the last one stays, with what is wrong."""
    if "rows" in found:
        return found
    wrong = [said(m["problem"], m["remedy"]) for m in found.get("mistakes", [])]
    words = found.get("trouble") or " ".join(wrong)
    return {
        "by": "",
        "rows": [],
        "left_out": 0,
        **PLANNED,
        **(weld.answer or {}),
        "trouble": words,
    }


async def _review(desk: Desk, weld: BenchWeld, request: Request) -> Response:
    given = await told(request, units=str)
    if isinstance(given, Response):
        return given
    if given["units"] not in ("si", "us"):
        return PlainTextResponse("units are si or us\n", 400)
    if not any(arc.off for arc in seen(weld.events).arcs):
        return JSONResponse({"refused": "no arc was on yet"}, 422)
    job = {"text": weld.text, "log": weld.log, "units": given["units"]}
    job["file"] = f"{weld.name}.toml"
    return await lane_answer(request, desk.full, "reviewed", job, urgency=1, limit=120.0)


async def _log(_desk: Desk, weld: BenchWeld, _: Request) -> Response:
    return _download(weld.log, f"{weld.name}-log.csv", "text/csv")


async def _case(_desk: Desk, weld: BenchWeld, _: Request) -> Response:
    return _download(weld.text, f"{weld.name}.toml", "application/toml")


def _download(text: str, name: str, kind: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type=kind, headers=headers)


async def _phone(desk: Desk, weld: BenchWeld, _: Request) -> Response:
    """Tell the address for a phone, where phones are answered."""
    if not desk.phone:
        words = "start the desk with --phone to let phones in"
        return JSONResponse({"refused": words}, 409)
    return JSONResponse({"address": _phone_address(desk, weld)})


def _phone_address(desk: Desk, weld: BenchWeld) -> str:
    key = key_for(desk.door, weld.name)
    return f"http://{desk.door.hosts[-1]}:{desk.door.port}/open/{weld.name}/{key}"


async def _code(desk: Desk, weld: BenchWeld, _: Request) -> Response:
    """Draw the address as a QR code."""
    import io

    import segno

    if not desk.phone:
        return PlainTextResponse("start the desk with --phone to let phones in\n", 409)
    out = io.BytesIO()
    code = segno.make(_phone_address(desk, weld), error="m", micro=False)
    code.save(out, kind="svg", scale=6, border=4, light="#ffffff")
    return Response(out.getvalue(), media_type="image/svg+xml")


def _phone_opener(desk: Desk, bench: dict[str, BenchWeld]) -> Handler:
    async def answer(request: Request) -> Response:
        joint, key = request.path_params["joint"], request.path_params["key"]
        right = is_key(desk.door, joint, key)
        if not right or joint not in bench or not desk.phone:
            await asyncio.sleep(0.5)
            return PlainTextResponse("this is not the key\n", 403)
        return let_in(desk.door, joint, "/phone")

    return answer


def _phone_page(desk: Desk) -> Handler:
    """Show a phone its joint; the bench has no joint of its own here."""

    async def answer(request: Request) -> Response:
        role = request.scope.get("role", "")
        if role == BENCH:
            return PlainTextResponse("open this with the QR code of a joint\n", 403)
        return await page_of(desk, "desk_phone.html", joint=role)(request)

    return answer
