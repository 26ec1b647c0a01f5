"""Commands in processes of their own that can be killed, starved or stopped at a chosen moment."""

from __future__ import annotations

import contextlib
import io
import multiprocessing
import os
import resource
import signal
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

FORKS = multiprocessing.get_context("forkserver")
FORKS.set_forkserver_preload(
    ["harvestplan.planning.make", "harvestplan.outputs.write_all", "harvestplan.commands.cli"]
)
HANGS = 600.0
"""Seconds after which a command hangs: those of the tests take a few."""
Before = Callable[[], object]
"""Done in the command's process before it begins."""


@dataclass(frozen=True)
class Ended:
    """How a command ended: exit code (negative: the signal), what it said, changes on disk."""

    code: int
    said: str
    told: str
    changes: int


def run(words: Sequence[str], before: Before | None = None) -> Ended:
    """The command line `words`, run to its end or its death."""
    process, about = begin(words, before)
    return end(process, about)


def begin(words: Sequence[str], before: Before | None = None) -> tuple[Any, Connection]:
    """The command under way; hand both to `end`."""
    mine, theirs = FORKS.Pipe(duplex=False)
    process = FORKS.Process(target=_command, args=(tuple(words), before, theirs))
    process.start()
    theirs.close()
    return process, mine


def end(process: Any, about: Connection) -> Ended:
    """Waits for the command; one that hangs is ended, or it would be waited for once more when the
    tests are done."""
    process.join(HANGS)
    hangs = process.exitcode is None
    process.kill()
    assert not hangs, "the command hangs"
    try:
        code, said, told, changes = about.recv()
    except EOFError:
        code, said, told, changes = process.exitcode, "", "", 0
    finally:
        about.close()
    return Ended(code, said, told, changes=changes)


def _command(words: tuple[str, ...], before: Before | None, about: Connection) -> None:
    from harvestplan.commands import cli

    counted = before() if before else None
    sys.argv = ["harvestplan", *words]
    said, told = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(told):
        try:
            cli.main()
        except SystemExit as left:
            changes = counted[0] if isinstance(counted, list) else 0
            about.send((left.code or 0, said.getvalue(), told.getvalue(), changes))


CHANGES = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.truncate", "os.chmod", "os.link"}
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_TRUNC


def _watch(folder: str, at: int, with_what: signal.Signals) -> list[int]:
    """Counts changes on disk under `folder`; before the change number `at` the signal comes."""
    count = [0]
    sync = os.fsync

    def change() -> None:
        count[0] += 1
        if count[0] == at:
            os.kill(os.getpid(), with_what)

    def heard(event: str, arguments: tuple[Any, ...]) -> None:
        path = arguments[0] if arguments else None
        if not isinstance(path, (str, bytes, os.PathLike)) or not os.fsdecode(path).startswith(
            folder
        ):
            return
        if event in CHANGES or (event == "open" and (arguments[2] or 0) & WRITES):
            change()

    def synced(handle: int) -> None:
        change()  # written, but not yet on disk
        sync(handle)
        change()  # on disk, but not yet told

    sys.addaudithook(heard)
    vars(os)["fsync"] = synced
    return count


def killed_at(folder: Path, at: int, with_what: signal.Signals = signal.SIGKILL) -> Before:
    """Kills the command before its change number `at` on disk; 0 only counts the changes."""
    return partial(_watch, str(folder), at, with_what)


def _starve(more: int) -> None:
    used = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (used + more, used + more))


def starved(more: int) -> Before:
    """The process may have `more` bytes of memory beyond what it has."""
    return partial(_starve, more)


def _fill(largest: int) -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))


def full_disk(largest: int) -> Before:
    """No file can grow beyond `largest` bytes, as on a disk that fills while it is written."""
    return partial(_fill, largest)


def _interrupt_reading(name: str, as_what: type[BaseException]) -> None:
    def heard(event: str, arguments: tuple[Any, ...]) -> None:
        if event == "open" and str(arguments[0]).endswith(name):
            try:
                os.kill(os.getpid(), signal.SIGINT)
            except KeyboardInterrupt as stopped:
                raise as_what("stopped") from stopped

    sys.addaudithook(heard)


def interrupted_reading(name: str, as_what: type[BaseException] = KeyboardInterrupt) -> Before:
    """Ctrl-C comes when a file of that name is opened, and reaches the command as `as_what`: some
    libraries turn it into an error of their own."""
    return partial(_interrupt_reading, name, as_what)


def _interrupt_in_solver() -> None:
    from ortools.sat.python import cp_model

    solve = cp_model.CpSolver.solve
    signal.signal(signal.SIGALRM, lambda *_: os.kill(os.getpid(), signal.SIGINT))

    def soon_stopped(*arguments: Any, **more: Any) -> Any:
        signal.setitimer(signal.ITIMER_REAL, 0.05)
        return solve(*arguments, **more)

    vars(cp_model)["CpSolver"].solve = soon_stopped


def interrupted_in_solver() -> Before:
    """Ctrl-C comes a twentieth of a second after a solver was asked."""
    return _interrupt_in_solver
