"""Who computes the many answers of a long question: processes of this machine, or a cluster.

One seam, a `concurrent.futures` executor. Each answer rests on its task alone, so where it was
computed, and in what order, makes no difference.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from typing import Any, TypeVar

from harvestplan.errors import HarvestPlanError

Answer = TypeVar("Answer")
Hear = Callable[[Any], object]
Task = tuple[Any, ...]
Chain = Callable[[Any], Task | None]
"""From its last answer (None at first) to its next task; None at its end."""
BLINK = 0.2
"""Seconds between two looks at whether somebody pressed Ctrl-C."""
CONNECTS_IN = 10
"""Seconds in which a cluster must answer that it is there."""


class ClusterError(HarvestPlanError):
    """A cluster that cannot be reached, or that lost an answer."""


class Crew:
    """Workers behind an executor, and how questions are put to them."""

    def __init__(self, pool: Executor) -> None:
        self._pool = pool
        self.stopped = False
        """Whether Ctrl-C was pressed and what there was by then was given."""

    def each(
        self,
        work: Callable[..., Answer],
        tasks: Sequence[Task],
        hear: Hear = lambda answer: None,
    ) -> list[Answer]:
        """`work(*task)` of each task, in the order of the tasks; `hear` of each when it is there.

        `work` is a module's own function; it and its arguments go to other processes. Raises
        what the first failed task raised.
        """
        futures = [self._pool.submit(work, *task) for task in tasks]
        for answer in _as_they_come(futures):
            hear(answer)
        return [future.result() for future in futures]

    def until_stopped(
        self, work: Callable[..., Answer], tasks: Sequence[Task], hear: Hear
    ) -> list[Answer | None]:
        """Like `each`; after Ctrl-C the answers that are there, None for the others.

        Raises KeyboardInterrupt where none is there.
        """
        futures = [self._pool.submit(work, *task) for task in tasks]
        try:
            for answer in _as_they_come(futures):
                hear(answer)
        except KeyboardInterrupt:
            if not any(map(_answered, futures)):
                raise
            self.stopped = True
        return [future.result() if _answered(future) else None for future in futures]

    def chains(self, work: Callable[..., Answer], chains: Sequence[Chain]) -> Iterator[Answer]:
        """Answers of several chains of tasks side by side, as they come."""
        running: dict[Future[Answer], Chain] = {}

        def go_on(chain: Chain, last: Answer | None) -> None:
            task = chain(last)
            if task is not None:
                running[self._pool.submit(work, *task)] = chain

        for chain in chains:
            go_on(chain, None)
        while running:
            for future in wait(running, BLINK, FIRST_COMPLETED).done:
                chain, answer = running.pop(future), future.result()
                yield answer
                go_on(chain, answer)


@contextlib.contextmanager
def crew(on: str | None = None, tasks: int | None = None) -> Iterator[Crew]:
    """As many new processes as there are processors, none for one task only; or the workers of the
    cluster whose scheduler has the address `on` ("tcp://host:8786"), which see the season's folder
    by the same path as this machine. What breaks off the while, or stops it, ends what they still
    compute.

    Raises ClusterError where no cluster answers, it fails, or the library for it is missing.
    """
    here = _processes if tasks is None or tasks > 1 else _this_one
    with here() if on is None else _cluster(on) as pool:
        team = Crew(pool)
        yield team
        if team.stopped:
            raise _StoppedError


class _StoppedError(Exception):
    """Ends the pool at once, and is heard of by nobody else."""


@contextlib.contextmanager
def _processes() -> Iterator[Executor]:
    """New processes for a while; whatever breaks off that while ends them at once."""
    pool = ProcessPoolExecutor(
        os.cpu_count() or 1, multiprocessing.get_context("spawn"), _leave_interrupts
    )
    try:
        yield pool
    except BaseException as reason:
        for child in multiprocessing.active_children():
            child.terminate()
        pool.shutdown(wait=False, cancel_futures=True)
        if not isinstance(reason, _StoppedError):
            raise
    else:
        pool.shutdown()


@contextlib.contextmanager
def _this_one() -> Iterator[Executor]:
    """This process, which does each task when it is given."""
    with contextlib.suppress(_StoppedError):
        yield _AtOnce()


class _AtOnce(Executor):
    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


@contextlib.contextmanager
def _cluster(address: str) -> Iterator[Executor]:
    """The workers of a cluster for a while; what they still compute at its end is given up."""
    try:
        from distributed import Client, KilledWorker
        from distributed.comm.core import CommClosedError
    except ImportError:
        raise ClusterError(
            "To ask a cluster, install what speaks to one: pip install 'harvestplan[cluster]'"
        ) from None
    try:
        client = Client(address, timeout=CONNECTS_IN, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise ClusterError(f"No cluster answers at {address}: {error}") from error
    try:
        with client:
            yield client.get_executor(pure=False)  # type: ignore[no-untyped-call]
    except _StoppedError:
        return
    except (CommClosedError, CancelledError) as error:
        raise ClusterError(f"The cluster at {address} does not answer any more.") from error
    except KilledWorker as error:
        raise ClusterError(f"The cluster at {address} lost its workers: {error}") from error


def _as_they_come(futures: Sequence[Future[Answer]]) -> Iterator[Answer]:
    """Each answer when it is there; raises what a failed task raised."""
    pending = set(futures)
    while pending:
        done, pending = wait(pending, BLINK, FIRST_COMPLETED)
        for future in done:
            yield future.result()


def _answered(future: Future[Any]) -> bool:
    return future.done() and not future.cancelled() and future.exception() is None


def _leave_interrupts() -> None:
    """Ctrl-C reaches every process of a terminal; the parent alone answers it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
