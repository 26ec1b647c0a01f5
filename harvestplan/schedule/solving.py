"""One call of the solver that comes back with an answer, or at once where a person stops it."""

from __future__ import annotations

import mmap
from concurrent.futures import ThreadPoolExecutor

from ortools.sat.python import cp_model

ROOM = 256_000_000
"""Bytes of memory to be had before a solver is asked; a large season takes about that."""


def solve(solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    """Solves; where the solver's probing stumbles over a hint (seen with OR-Tools 9.15, always an
    IndexError from its presolve), solves without probing. Raises MemoryError where there is too
    little left to think in."""
    _need_room()
    # By itself the solver takes Ctrl-C for "long enough", and the plan would go on.
    solver.parameters.catch_sigint_signal = False
    try:
        return _stoppable(solver, model)
    except IndexError:
        solver.parameters.cp_model_probing_level = 0
        return _stoppable(solver, model)


def _stoppable(solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    """Solves in a thread, so that this one hears Ctrl-C meanwhile; the answer is the same."""
    with ThreadPoolExecutor(max_workers=1) as pool:
        running = pool.submit(solver.solve, model)
        try:
            return running.result()
        except BaseException:
            solver.stop_search()
            raise


def _need_room() -> None:
    """Short of memory the solver's C++ goes down without a word; asking first costs nothing."""
    try:
        mmap.mmap(-1, ROOM).close()
    except OSError as error:
        raise MemoryError(f"planning wants {ROOM // 1_000_000} MB more") from error
