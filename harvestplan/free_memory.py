"""Asks for memory before work that wants much of it, while there is still enough to say so."""

from __future__ import annotations

import mmap

ROOM = 256_000_000
"""Bytes to be had before planning begins and before a solver is asked; a large season takes
about that."""


def need_room() -> None:
    """Asks for `ROOM` bytes and gives them back.

    Found out too late, want of memory is worse than a refusal: the solver's C++ goes down without
    a word, and the interpreter itself can turn in a circle when not one number can be made while
    an error is on its way up (seen with CPython 3.11).

    Raises
    ------
    MemoryError
        Where there is less.
    """
    try:
        mmap.mmap(-1, ROOM).close()
    except OSError as error:
        raise MemoryError(f"planning wants {ROOM // 1_000_000} MB more") from error
