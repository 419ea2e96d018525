"""Lanes of work: a process each, one job at a time, the urgent ones first.

A job that is abandoned stops at its next report of progress; one that takes longer than
its limit is ended with its process, and a new process takes over. The page never waits
for either.
"""

import asyncio
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from importlib import import_module
from multiprocessing import get_context
from threading import Thread
from typing import Any

from ..charts.processes import quiet_start, ready_process
from ..text.errors import CaseError, ThermoError

MOST_WAITING = 256  # jobs of one lane; more are refused
FIRST_WITHIN = 600.0  # s for the first job of a process, which may compile the solver


class Abandoned(Exception):
    """Nobody wants the answer any more."""


class LaneError(Exception):
    """The work could not be done: cut off, or too much of it."""


@dataclass(order=True)
class Job:
    """One piece of work: a function by name, and what it is given."""

    urgency: int  # lower goes first
    number: int
    name: str = field(compare=False)
    given: dict[str, Any] = field(compare=False)
    limit: float = field(compare=False)  # s
    answer: asyncio.Future[Any] = field(compare=False)


@dataclass(eq=False)
class Lane:
    """A process and what waits for it; start it inside a running event loop."""

    waiting: asyncio.PriorityQueue[Job] = field(
        default_factory=lambda: asyncio.PriorityQueue(MOST_WAITING)
    )
    count: int = 0
    process: Any = None
    pipe: Any = None
    dropped: Any = None  # number of the job to abandon, seen by the process
    first: bool = True  # its next job is the first of its process
    runner: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Begin to work."""
        self.runner = asyncio.create_task(_run(self))

    def stop(self) -> None:
        """End the process at once."""
        if self.runner:
            self.runner.cancel()
        _end_process(self)

    def ask(
        self, name: str, given: dict[str, Any], *, urgency: int = 1, limit: float = 60.0
    ) -> asyncio.Future[Any]:
        """Queue a job; the future is cancelled to abandon it.

        Raises
        ------
        LaneError
            Too many wait already.
        """
        self.count += 1
        answer: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        job = Job(urgency, self.count, name, given, limit, answer)
        try:
            self.waiting.put_nowait(job)
        except asyncio.QueueFull:
            msg = "too much work is waiting; try again in a moment"
            raise LaneError(msg) from None
        return answer


async def _run(lane: Lane) -> None:
    """Take one job after the other."""
    while True:
        job = await lane.waiting.get()
        if job.answer.cancelled():
            continue
        if lane.process is None or not lane.process.is_alive():
            _end_process(lane)
            await asyncio.to_thread(_new_process, lane)
        await _do(lane, job)


async def _do(lane: Lane, job: Job) -> None:
    """Have one job done, within its limit; an abandoned one is waited for, briefly."""
    reply = _reply(lane.pipe)
    job.answer.add_done_callback(
        lambda future: _drop(lane, job.number) if future.cancelled() else None
    )
    limit = max(job.limit, FIRST_WITHIN) if lane.first else job.limit
    try:
        lane.pipe.send((job.number, job.name, job.given))
        kind, found = await asyncio.wait_for(reply, limit)
        lane.first = False
    except TimeoutError:
        _end_process(lane)
        kind, found = (
            "cut off",
            f"given up after {limit:.0f} s: too much for this machine",
        )
    except (OSError, EOFError):
        _end_process(lane)
        kind, found = "cut off", "the process that computed it ended; try again"
    if not job.answer.done():
        _settle(job.answer, kind, found)


def _settle(answer: asyncio.Future[Any], kind: str, found: Any) -> None:
    if kind == "answer":
        answer.set_result(found)
    elif kind == "error":
        answer.set_exception(found)
    elif kind == "abandoned":
        answer.cancel()
    else:
        answer.set_exception(LaneError(str(found)))


def _drop(lane: Lane, number: int) -> None:
    if lane.dropped is not None:
        lane.dropped.value = number


def _reply(pipe: Any) -> asyncio.Future[Any]:
    """Wait for one message of a pipe in a thread that the program need not wait for."""
    loop = asyncio.get_running_loop()
    future: asyncio.Future[Any] = loop.create_future()

    def settle(call: Callable[[Any], None], value: Any) -> None:
        if not future.done():
            call(value)

    def read() -> None:
        with suppress(RuntimeError):  # the loop is closed: nobody waits any more
            try:
                message = pipe.recv()
            except (OSError, EOFError) as error:
                loop.call_soon_threadsafe(settle, future.set_exception, error)
            else:
                loop.call_soon_threadsafe(settle, future.set_result, message)

    Thread(target=read, daemon=True).start()
    return future


def _new_process(lane: Lane) -> None:
    context = get_context("spawn")
    ours, theirs = context.Pipe()
    lane.dropped = context.Value("q", 0)
    lane.process = context.Process(target=_work, args=(theirs, lane.dropped), daemon=True)
    with quiet_start():
        lane.process.start()
    theirs.close()
    lane.pipe, lane.first = ours, True


def _end_process(lane: Lane) -> None:
    if lane.process is not None:
        lane.process.kill()
        lane.process.join(1.0)
        lane.pipe.close()
    lane.process = lane.pipe = lane.dropped = None


def _work(pipe: Any, dropped: Any) -> None:
    """Do what comes through the pipe, until it closes."""
    ready_process()
    while True:
        try:
            number, name, given = pipe.recv()
            pipe.send(_attempt(number, name, given, dropped))
        except (OSError, EOFError):
            return


def _function(name: str) -> Callable[..., Any]:
    """Find a function of `jobs`, loaded on first use."""
    return getattr(import_module(".jobs", __package__), name)


def _attempt(
    number: int, name: str, given: dict[str, Any], dropped: Any
) -> tuple[str, Any]:
    """Do one job; what went wrong is an answer too."""

    def progress(_share: float, _what: str) -> None:
        if dropped.value == number:
            raise Abandoned

    try:
        return "answer", _function(name)(progress, **given)
    except Abandoned:
        return "abandoned", ""
    except CaseError as error:
        return "answer", {"mistakes": [vars(m) for m in error.mistakes]}
    except ThermoError as error:
        return "answer", {"trouble": str(error)}
    except Exception as error:  # noqa: BLE001 - a bug must not take the lane down
        return "bug", f"this is a bug of the program: {type(error).__name__}: {error}"
