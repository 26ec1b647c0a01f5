"""One call of a solver that comes back with an answer, and lets itself be stopped by Ctrl-C."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

from ortools.sat.python import cp_model

from harvestplan.free_memory import need_room

Answer = TypeVar("Answer")
BLINK = 0.05
"""Seconds between two looks at whether somebody pressed Ctrl-C."""


def one_worker(limit: float, seed: int = 1) -> cp_model.CpSolver:
    """A solver that answers alike each time, stopped after so many deterministic seconds."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = limit
    return solver


def solve(solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    """Solves; where the solver's presolve stumbles over a hint (seen with OR-Tools 9.15, always an
    IndexError), solves without probing, and where that does not help without the hint.

    Raises
    ------
    KeyboardInterrupt
        After the solver has stopped, where somebody pressed Ctrl-C.
    MemoryError
        Where there is too little left to think in.
    """
    need_room()
    solver.parameters.catch_sigint_signal = False
    for milder in (lambda: _without_probing(solver), model.clear_hints):
        try:
            return _sound(until_stopped(lambda: solver.solve(model), solver.stop_search), model)
        except IndexError:
            milder()
    return _sound(until_stopped(lambda: solver.solve(model), solver.stop_search), model)


def _sound(status: cp_model.CpSolverStatus, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    """The status, where the model made sense at all; else nothing it says could be believed."""
    if status == cp_model.MODEL_INVALID:
        raise ValueError(f"the model makes no sense to the solver: {model.validate()}")
    return status


def _without_probing(solver: cp_model.CpSolver) -> None:
    solver.parameters.cp_model_probing_level = 0


class SideBySide(Generic[Answer]):
    """Something that runs in a thread of its own from now on, so that Ctrl-C reaches Python, and
    other work can be done meanwhile. `stop` asks it to end soon."""

    def __init__(self, run: Callable[[], Answer], stop: Callable[[], object]) -> None:
        self._run, self._stop = run, stop
        self._answers: list[Answer] = []
        self._errors: list[BaseException] = []
        self._ready, self._given_up = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True)
        try:
            self._thread.start()
            self._ready.set()
        except KeyboardInterrupt:
            self.give_up()
            raise

    def answer(self) -> Answer:
        """What came of it, when it has ended.

        Raises KeyboardInterrupt, after it was stopped and has ended, where somebody pressed Ctrl-C.
        """
        try:
            while self._thread.is_alive():
                self._thread.join(BLINK)
        except KeyboardInterrupt:
            self.give_up()
            raise
        if self._errors:
            raise self._errors[0]
        return self._answers[0]

    def give_up(self) -> None:
        """Stops it, and waits until it has ended: left behind, it would go on while what it works
        on is changed."""
        # It may not have begun yet, nor hear of the first stop; nor must a second Ctrl-C keep
        # anybody from waiting.
        self._given_up.set()
        self._ready.set()
        while self._thread.is_alive():
            with contextlib.suppress(KeyboardInterrupt):
                self._stop()
                self._thread.join(BLINK)

    def _work(self) -> None:
        while not self._ready.wait(BLINK):
            pass
        if self._given_up.is_set():
            return
        try:
            self._answers.append(self._run())
        except BaseException as error:
            self._errors.append(error)


def until_stopped(run: Callable[[], Answer], stop: Callable[[], object]) -> Answer:
    """Runs in a thread of its own, so that Ctrl-C reaches the solver and not only Python.

    Raises KeyboardInterrupt after `stop` was called and the run has ended.
    """
    return SideBySide(run, stop).answer()
