"""Work spread over processes that end with the command, Ctrl-C included: over two, or over as many
as there are processors."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from typing import Any, TypeVar

WORKERS = 2
Answer = TypeVar("Answer")


def in_parallel(
    work: Callable[..., Answer],
    tasks: Sequence[tuple[Any, ...]],
    say: Callable[[str], None] | None = None,
) -> list[Answer]:
    """`work(*task)` of each task, in the order of the tasks.

    `work` is a module's own function; it and its arguments are sent to new processes. A single
    task runs here. Whatever interrupts the wait ends the processes at once. `say` hears of each.
    """
    workers = min(WORKERS, len(tasks), os.cpu_count() or 1)
    if workers < 2:
        return [work(*task) for task in tasks]
    answers: list[Answer] = []
    with _pool(workers) as pool:
        for each in [pool.submit(work, *task) for task in tasks]:
            answers.append(each.result())
            if say is not None:
                say(f"{len(answers)} of {len(tasks)} are solved.")
    return answers


@contextlib.contextmanager
def crew() -> Iterator[Callable[..., list[Any]]]:
    """A function like `in_parallel` whose processes stay from call to call; all end with it.

    Its third argument, where there is one, hears each answer in the order of the tasks.
    """
    with _pool(os.cpu_count() or 1) as pool:

        def ask(
            work: Callable[..., Any],
            tasks: Sequence[tuple[Any, ...]],
            hear: Callable[[Any], None] | None = None,
        ) -> list[Any]:
            answers = []
            for each in [pool.submit(work, *task) for task in tasks]:
                answers.append(each.result())
                if hear is not None:
                    hear(answers[-1])
            return answers

        yield ask


def as_they_come(
    work: Callable[..., Answer],
    tasks: Sequence[tuple[Any, ...]],
    say: Callable[[str], None],
    *,
    told: str,
) -> list[Answer]:
    """Like `in_parallel` on every processor; after Ctrl-C, the answers that were there by then.

    `told` is a sentence with {done} and {all}. Raises KeyboardInterrupt where there was no answer.
    """
    answers: list[Answer] = []
    workers = max(1, min(len(tasks), os.cpu_count() or 1))
    try:
        with _pool(workers) as pool:
            for each in as_completed([pool.submit(work, *task) for task in tasks]):
                answers.append(each.result())
                say(told.format(done=len(answers), all=len(tasks)))
    except KeyboardInterrupt:
        if not answers:
            raise
        say("Stopped; what follows holds for what was done by then.")
    return answers


@contextlib.contextmanager
def _pool(workers: int) -> Iterator[ProcessPoolExecutor]:
    """New processes for a while; whatever breaks off that while ends them at once."""
    pool = ProcessPoolExecutor(workers, multiprocessing.get_context("spawn"), _leave_interrupts)
    try:
        yield pool
    except BaseException:
        for child in multiprocessing.active_children():
            child.terminate()
        pool.shutdown(wait=False, cancel_futures=True)
        raise
    pool.shutdown()


def _leave_interrupts() -> None:
    """Ctrl-C reaches every process of a terminal; the parent alone answers it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
