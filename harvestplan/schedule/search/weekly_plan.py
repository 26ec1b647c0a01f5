"""The rest of a season planned in about a second: for questions that replan hundreds of times.

The season model alone decides; no session is timed to the minute. Hands, machines, freezing and
space hold by the lines of `work`, which every real plan keeps, so that a session may come out a
little fuller here than the minute model would let it be.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from ortools.sat.python import cp_model

from harvestplan.schedule.goals.portions_short import wants as portions_short
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.solver_call import one_worker, solve
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

WANTS_EFFORT = 0.3
EVENINGS_EFFORT = 0.1
"""Deterministic seconds for wants over the whole season, and for the evenings near ahead."""
LATER = 100
"""An evening counts this much, and one more for each window that it lies later."""
Key = tuple[str, dt.datetime, dt.datetime | None, str | None]
"""A run in words that the next week's problem understands."""


def key_of(problem: Problem, option: Option) -> Key:
    """Product, start of the windows of its first and second sitting, and freezer."""
    second = None if option.second is None else problem.windows[option.second].start
    name = problem.demands[option.demand].process.name
    return name, problem.windows[option.first].start, second, option.freezer


def quick_choice(
    problem: Problem,
    before: Mapping[Key, int],
    near: set[int],
    *,
    seed: int = 1,
) -> Choice:
    """Wants as well as a short search meets them, then few evenings, early rather than late, among
    the `near` windows. `before` is what was chosen last time, in pouches; it is only where the
    search begins. Nothing is chosen where the rules allow no plan.
    """
    model = SeasonModel(problem, ())
    short = portions_short(model.season).aim
    assert short is not None
    model.hint_pouches(
        {o.number: min(before.get(key_of(problem, o), 0), o.most) for o in problem.options}
    )
    model.minimize(short.total)
    choice = _solved(model, model.model, WANTS_EFFORT, seed=seed)
    if choice is None or not near:
        return choice or Choice({}, {})
    nearby = model.copy(choice, model.outside(choice, near))
    nearby.add(model.expression(short.total) <= short.value(choice))
    used = {model.season.used[w]: LATER + w for w in sorted(near)}
    nearby.minimize(model.expression(Sum(used)))
    return _solved(model, nearby, EVENINGS_EFFORT, seed=seed) or choice


def _solved(
    model: SeasonModel, copy: cp_model.CpModel, limit: float, *, seed: int
) -> Choice | None:
    solver = one_worker(limit, seed)
    if solve(solver, copy) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return model.choice(list(solver.response_proto.solution))
