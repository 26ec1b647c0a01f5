"""How a command ends: in an exit code, and for an error in a sentence that is true."""

from __future__ import annotations

import os
import signal
import sys
import threading
import traceback
from collections.abc import Callable
from types import FrameType
from typing import Any

from harvestplan import so_far
from harvestplan.commands.plain_output import Unheard, speak_plainly
from harvestplan.errors import HarvestPlanError

STOPPED = 130
"""The usual exit code after Ctrl-C."""
_ctrl_c = threading.Event()
"""Whether Ctrl-C was pressed since the command began: a library that it meets may raise an error of
its own instead."""


def end_of(app: Callable[[], object]) -> int:
    """Runs the command line `app`; every error ends in a sentence. Returns the exit code."""
    so_far.begin()
    _note_ctrl_c()
    speak_plainly()
    try:
        code = _run(app)
    except HarvestPlanError as error:
        code = _said(error.exit_code, str(error), so_far.told())
    except KeyboardInterrupt:
        code = _stopped()
    except Unheard as error:
        code = _unheard(error)
    except OSError as error:
        named = f"{error.filename}: " if error.filename else ""
        what = f"{named}the computer refused: {error.strerror or error}."
        code = _said(1, what, _mend("Mend that"))
    except (MemoryError, ImportError) as error:
        told = str(error) or "no more memory is to be had"
        what = f"The computer is out of memory, or a library is missing: {told}."
        code = _said(1, what, _mend("Close other programs"))
    except Exception:
        code = _stopped() if _ctrl_c.is_set() else _our_fault()
        if os.environ.get("HARVESTPLAN_DEBUG"):
            _said(code, traceback.format_exc())
    _hand_on()
    return code


def _run(app: Callable[[], object]) -> int:
    """The exit code of the command, after all that it said is on its way."""
    code = 0
    try:
        app()
    except SystemExit as left:
        if left.code == STOPPED:
            raise KeyboardInterrupt from None
        code = int(left.code or 0)
    if sys.stdout is not None:
        sys.stdout.flush()
    return code


def _note_ctrl_c() -> None:
    """From now on Ctrl-C is noted when it comes."""
    _ctrl_c.clear()
    here = threading.current_thread() is threading.main_thread()
    if here and signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, _on_ctrl_c)


def _on_ctrl_c(number: int, frame: FrameType | None) -> None:
    _ctrl_c.set()
    signal.default_int_handler(number, frame)


def _stopped() -> int:
    """The end that Ctrl-C asked for."""
    whole = "Stopped; each file is whole, as it was or as it was to be."
    return _said(STOPPED, whole, so_far.told())


def _our_fault() -> int:
    """The end of a fault in the program."""
    ours = "Something went wrong inside harvestplan. This is our fault, not yours"
    told = so_far.told()
    told = f"{ours}.\n{told}\n" if told else f"{ours}; your files are as they were. "
    return _said(1, f"{told}Set HARVESTPLAN_DEBUG=1 to see where.")


def _hand_on() -> None:
    """Nothing is left to fail when the interpreter is gone."""
    for stream in filter(None, (sys.stdout, sys.stderr)):
        try:
            stream.flush()
        except Unheard as error:
            error.stream.let_go()


def _said(code: int, *said: str, where: Any = None) -> int:
    """Says it where that is possible, on stderr if nowhere else; returns the exit code."""
    try:
        for each in filter(None, said):
            print(each, file=where or sys.stderr, flush=True)
    except Unheard as error:
        error.stream.let_go()
    return code


def _mend(way: str) -> str:
    """The way out, and how things stand."""
    told = so_far.told()
    return f"{way}. {told}" if told else f"{way} and try again; your files are as they were."


def _unheard(error: Unheard) -> int:
    """The end where an output takes no more; who closes a pipe has read enough."""
    error.stream.let_go()
    other = sys.stdout if error.stream is sys.stderr else sys.stderr
    told = so_far.told()
    if isinstance(error.why, BrokenPipeError):
        return _said(0, told, where=other)
    what = f"This could not be printed: {error.why.strerror or error.why}."
    return _said(1, what, told or "Your files are as they were.", where=other)
