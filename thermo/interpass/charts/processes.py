"""Many runs at once: a function applied to many items, here or in other processes.

The answer to an item does not depend on where or in what order it is computed; each
process computes on one thread. Items are handed out a few at a time, so that memory does
not grow with their number.
"""

import logging
import os
import signal
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sized
from concurrent.futures import (
    FIRST_COMPLETED,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from itertools import islice
from multiprocessing import get_context, parent_process
from threading import Thread
from typing import Any

from ..text.errors import ExitStatus, ThermoError
from ..text.progress import Progress

Answer = tuple[int, Any]
Answers = Generator[Answer, None, None]
Try = tuple[int, Any, int]  # place, item, how often it was tried before
IN_FLIGHT = 3  # items per process, so that none waits for the next
TRIES = 3  # the first, and twice again after a process died under the item
CONNECT = 10.0  # s to wait for a cluster's scheduler

DIED = (
    f"the process that computed it ended without an answer, {TRIES} times; is there "
    "enough memory?"
)

ONE_THREAD = dict.fromkeys(
    (
        "OMP_NUM_THREADS",
        "NUMBA_NUM_THREADS",
        "OPENBLAS_NUM_THREADS",
        "MKL_NUM_THREADS",
    ),
    "1",
)


class WorkerError(ThermoError):
    """The processes that should do the work cannot be reached or started."""

    status = ExitStatus.RUN


@dataclass(frozen=True)
class Failed:
    """What became of an item that has no answer.

    ``kind`` is the name of the error ("CaseError", "RunError"), ``words`` its message,
    ``status`` the exit status it would end the program with.
    """

    kind: str
    words: str
    status: int = int(ExitStatus.RUN)


def run_all(
    function: Callable[[Any], Any],
    items: Iterable[Any],
    *,
    workers: int = 1,
    cluster: str = "",
    progress: Progress | None = None,
) -> Answers:
    """Apply a function to every item; yield each item's place and its answer.

    Parameters
    ----------
    function : callable
        Of one item; a function of a module, so that other processes find it.
    items : iterable
        Anything that can be pickled; taken one by one as there is room.
    workers : int
        Processes; 1 computes in this one, in order.
    cluster : str
        Address of a dask scheduler, "tcp://host:port", whose processes work instead.
    progress : callable, optional
        Told the share that is done, 0 to 1, and the same in words.

    Yields
    ------
    tuple of int and object
        Place of the item, from 0, and what the function returned: in the order in which
        they finish. A ``ThermoError`` of the function is returned as `Failed`, and so is
        an item under which a process died three times.

    Raises
    ------
    WorkerError
        The cluster cannot be reached, or was lost.
    Exception
        Whatever else the function raised; the work is stopped.

    Notes
    -----
    Use it in ``with contextlib.closing(run_all(...)) as answers``: leaving the block ends
    the processes, Ctrl-C included.
    """
    answers = _answers(function, items, workers, cluster)
    total = len(items) if isinstance(items, Sized) else 0
    with closing(answers):
        for done, answer in enumerate(answers, 1):
            if progress and total:
                progress(done / total, f"{done} of {total}")
            yield answer


def _answers(
    function: Callable[[Any], Any], items: Iterable[Any], workers: int, cluster: str
) -> Answers:
    """Choose where the work is done."""
    if cluster:
        return _on_cluster(function, items, cluster)
    if workers > 1:
        return _in_processes(function, items, workers)
    return ((n, attempt(function, item)) for n, item in enumerate(items))


def attempt(function: Callable[[Any], Any], item: Any) -> Any:
    """Apply the function; a user's mistake becomes an answer."""
    try:
        return function(item)
    except ThermoError as error:  # told in words: its history may be large
        return Failed(type(error).__name__, str(error), int(error.status))


@dataclass(eq=False)
class _Work:
    """What is handed out, what waits to be done again, and how often it was tried."""

    function: Callable[[Any], Any]
    fresh: Iterator[tuple[int, Any]]
    room: int  # items in flight at most
    fatal: tuple[type[Exception], ...] = ()  # say that processes died under one item
    given: dict[Future[Any], Try] = field(default_factory=dict)
    again: deque[Try] = field(default_factory=deque)

    def hand_out(self, pool: Executor) -> None:
        """Fill the pool; after a death, one item alone, so that the guilty one shows."""
        while len(self.given) < (1 if self.again else self.room):
            if not self.again:
                self.again.extend((n, item, 0) for n, item in islice(self.fresh, 1))
            if not self.again:
                return
            with quiet_start():
                future = pool.submit(attempt, self.function, self.again[0][1])
            self.given[future] = self.again.popleft()

    def answer(self, future: Future[Any]) -> Any:
        """Answer of one item in flight, which then is no longer."""
        try:
            found = future.result()
        except self.fatal:
            found = Failed("WorkerError", DIED)
        return found


def _in_processes(
    function: Callable[[Any], Any], items: Iterable[Any], workers: int
) -> Answers:
    """Work in processes of this machine; a pool that broke is replaced."""
    work = _Work(function, iter(enumerate(items)), IN_FLIGHT * workers)
    while True:
        pool = ProcessPoolExecutor(workers, get_context("spawn"), ready_process)
        try:
            yield from _finished(pool, work)
            return
        except BrokenProcessPool:
            yield from _condemned(work)
        finally:
            _end(pool)


def _finished(pool: Executor, work: _Work) -> Answers:
    """Hand out and collect until nothing is left."""
    work.hand_out(pool)
    while work.given:
        done, _ = wait(work.given, return_when=FIRST_COMPLETED)
        for future in done:
            answer = work.answer(future)
            yield work.given.pop(future)[0], answer
        work.hand_out(pool)


def _condemned(work: _Work) -> Answers:
    """Put back what was in flight when a process died; give up what died too often."""
    for future, (n, item, tries) in work.given.items():
        if future.done() and not future.cancelled() and future.exception() is None:
            yield n, future.result()
        elif tries + 1 < TRIES:
            work.again.append((n, item, tries + 1))
        else:
            yield n, Failed("WorkerError", DIED)
    work.given.clear()


@contextmanager
def quiet_start() -> Iterator[None]:
    """Let processes start here with one thread each, and deaf to Ctrl-C from the first.

    Ctrl-C is held back meanwhile and comes right after.
    """
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    os.environ.update(ONE_THREAD)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)


def ready_process() -> None:
    """Ready a process: deaf to Ctrl-C, and gone when the one that started it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_leave_with_parent, daemon=True).start()


def _leave_with_parent() -> None:
    """End this process once its parent has ended, even by SIGKILL."""
    if (parent := parent_process()) is not None:
        parent.join()
        os._exit(1)


def _end(pool: ProcessPoolExecutor) -> None:
    """End the processes at once; what they were doing is not wanted any more."""
    for process in list((pool._processes or {}).values()):
        process.kill()
    pool.shutdown(wait=True, cancel_futures=True)


def _on_cluster(
    function: Callable[[Any], Any], items: Iterable[Any], address: str
) -> Answers:
    """Work in the processes of a dask cluster, which replaces those that die."""
    client, killed = _client(address)
    try:
        room = IN_FLIGHT * sum(client.nthreads().values())
        work = _Work(function, iter(enumerate(items)), room, (killed,))
        yield from _finished(client.get_executor(pure=False), work)
    except CancelledError:
        msg = f"the cluster at {address} was lost"
        raise WorkerError(msg, "what was finished is kept") from None
    except ModuleNotFoundError as error:
        msg = f"a process of the cluster says: {error}"
        raise WorkerError(msg, "install the same interpass there") from None
    finally:
        with suppress(Exception):  # whatever became of the cluster, we are leaving
            client.close(timeout=1)


def _client(address: str) -> tuple[Any, type[Exception]]:
    """Connect to a scheduler with workers; the error that says a task killed several."""
    try:
        from distributed import Client, KilledWorker  # noqa: PLC0415 - optional, slow
    except ImportError:
        msg = "a cluster needs dask"
        raise WorkerError(msg, "pip install 'interpass[cluster]'") from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # told in our words
    try:
        client = Client(address, timeout=CONNECT, set_as_default=False)
    except (OSError, ValueError) as error:
        msg = f"no dask scheduler answers at {address!r} ({error})"
        raise WorkerError(msg, "give its address like tcp://host:8786") from None
    try:
        client.wait_for_workers(1, timeout=CONNECT)
    except TimeoutError:
        client.close(timeout=1)
        msg = f"the cluster at {address} has no workers"
        raise WorkerError(msg, "start some and try again") from None
    return client, KilledWorker
