"""The rest of a season planned in about a second: for questions that replan hundreds of times.

The season model alone decides; no session is timed to the minute. Hands, machines, freezing and
space hold by the lines of `work`, which every real plan keeps, so that a session may come out a
little fuller here than the minute model would let it be.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from ortools.sat.python import cp_model

from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.solver_call import one_worker, solve
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

EFFORT = 0.1
"""Deterministic seconds."""
Key = tuple[str, dt.datetime, dt.datetime | None, str | None]
"""A run in words that the next week's problem understands."""


def key_of(problem: Problem, option: Option) -> Key:
    """Product, start of the windows of its first and second sitting, and freezer."""
    second = None if option.second is None else problem.windows[option.second].start
    name = problem.demands[option.demand].process.name
    return name, problem.windows[option.first].start, second, option.freezer


def quick_choice(problem: Problem, before: Mapping[Key, int], *, seed: int = 1) -> Choice:
    """What a short search finds to be worth most. `before` is what was chosen last time, in
    pouches; it is only where the search begins. Nothing is chosen where the rules allow no plan."""
    model = SeasonModel(problem, ())
    goal = worth_of_season(model.season)
    model.hint_pouches(
        {o.number: min(before.get(key_of(problem, o), 0), o.most) for o in problem.options}
    )
    model.minimize(goal.total)
    solver = one_worker(EFFORT, seed)
    solver.parameters.cp_model_presolve = False  # it takes longer than looking on from the hint
    if solve(solver, model.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Choice({}, {})
    return model.choice(list(solver.response_proto.solution))
