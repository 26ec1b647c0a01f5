"""The goals of a season plan: as the solver sees them, and recomputed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from harvestplan.plan.models import Level
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.choice import Choice, windows_used
from harvestplan.schedule.statement.in_house import InHouse, needed_from_house
from harvestplan.schedule.statement.problem import Option, Problem

PRIORITY = 100
"""Priorities count in hundredths, so that the solver sees whole numbers."""
ADDED = 1
"""What a pouch more than in the published plan counts as a change."""
CHANGE_SCALE = 100
"""Changes count in hundredths of a pouch; food left to spoil is reckoned by the gram."""
LEFT_TO_SPOIL = 12
"""A pouch's worth of food left to spoil, where a poor year would want it, counts as a change: a
little more than one moved from the nearest evening to another (own judgement)."""
WAITING_SCALE = 1000
"""Waiting counts in hundredths of keeping time times grams; its unit has kilograms."""
SLIGHT = 0.005
"""Of the waiting, half a hundredth: less than anybody tastes, and long to prove (own judgement)."""


@dataclass(frozen=True)
class Goal:
    """A goal as the solver sees it and as recomputed from a choice, never trusting the solver.

    `scale` divides the whole number back into the level's own unit. A gap of no more than the share
    `slight` of the value is worth no more effort.
    """

    level: Level
    linear: cp_model.LinearExpr | None
    value: Callable[[Choice], int]
    scale: float
    slight: float = 0.0


def season_goals(problem: Problem, model: SeasonModel) -> list[Goal]:
    """Each level's goal, to be minimised.

    wants     weighted portions short
    change    weighted pouches moved against the published plan, or left to spoil
    evenings  sessions
    overtime  minutes of extra windows used
    waiting   kilograms times the share of their keeping time used up, in hundredths
    """
    change = _change(problem, model) if problem.earlier else None
    return [
        Goal("wants", _short(problem, model), lambda c: short_value(problem, c), PRIORITY),
        Goal("change", change, lambda c: change_value(problem, c), CHANGE_SCALE),
        Goal(
            "evenings",
            cp_model.LinearExpr.sum(model.used),
            lambda c: len(windows_used(problem, c)),
            1,
        ),
        Goal("overtime", _overtime(problem, model), lambda c: overtime_value(problem, c), 1),
        Goal(
            "waiting",
            _waiting(problem, model),
            lambda c: waiting_value(problem, c),
            WAITING_SCALE,
            SLIGHT,
        ),
    ]


def _weight(problem: Problem, demand: int) -> int:
    return round(PRIORITY * problem.demands[demand].priority)


def _short(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    wanted = sum(_weight(problem, i) * d.portions for i, d in enumerate(problem.demands))
    made = cp_model.LinearExpr.weighted_sum(
        model.pouches, [_weight(problem, o.demand) for o in problem.options]
    )
    return wanted - made


def short_value(problem: Problem, choice: Choice) -> int:
    """Weighted portions short, in hundredths."""
    wanted = sum(_weight(problem, i) * d.portions for i, d in enumerate(problem.demands))
    return wanted - sum(
        _weight(problem, problem.options[o].demand) * n for o, n in choice.pouches.items()
    )


def _minutes(problem: Problem, window: int) -> int:
    span = problem.windows[window]
    return int((span.end - span.start).total_seconds() // 60)


def _overtime(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    return cp_model.LinearExpr.weighted_sum(
        model.used, [_minutes(problem, w) * x.extra for w, x in enumerate(problem.windows)]
    )


def overtime_value(problem: Problem, choice: Choice) -> int:
    """Minutes of the extra windows that are used."""
    return sum(
        _minutes(problem, w) for w in windows_used(problem, choice) if problem.windows[w].extra
    )


def _waiting(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    return cp_model.LinearExpr.weighted_sum(
        list(model.share.values()),
        [waiting_cost(problem, problem.options[o], lot) for o, lot in model.share],
    )


def waiting_value(problem: Problem, choice: Choice) -> int:
    """Grams times hundredths of keeping time used up."""
    return sum(
        waiting_cost(problem, problem.options[o], lot) * grams
        for o, shares in choice.shares.items()
        for lot, grams in shares.items()
    )


def waiting_cost(problem: Problem, option: Option, lot: int) -> int:
    """Hundredths of the lot's keeping time used up when it waits for the option's window."""
    food = problem.lots[lot]
    waited = (problem.windows[option.first].start.date() - food.ready).days
    keeps = max(1, (food.keep_until - food.ready).days)
    return round(100 * waited / keeps)


def _change(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    """What differs from the published plan, in hundredths of a pouch per window and product: what
    is taken away dearer the nearer it was, what is added the same whenever. Were it dearer soon,
    food in the house would spoil for the sake of what may come later; to leave such food where a
    poor year would want it is the dearest change of all."""
    terms: list[cp_model.LinearExpr] = []
    for (w, d), options in sorted(_first_sittings(problem).items()):
        was, dearness = _was(problem, w, d), _window_weight(problem, w)
        now = cp_model.LinearExpr.sum([model.pouches[o.number] for o in options])
        terms.append(CHANGE_SCALE * ADDED * (now - was))
        if was:
            gone = model.model.new_int_var(0, was, f"gone{w}.{d}")
            model.model.add(gone >= was - now)
            terms.append(CHANGE_SCALE * (ADDED + dearness) * gone)
    for number, food in enumerate(needed_from_house(problem)):
        left = model.model.new_int_var(0, food.grams, f"left in the house{number}")
        used = [share for (_, lot), share in model.share.items() if lot in food.lots]
        model.model.add(left >= food.grams - cp_model.LinearExpr.sum(used))
        terms.append(_spoiling(food) * left)
    return cp_model.LinearExpr.sum(terms) + CHANGE_SCALE * _lost(problem)


def _spoiling(food: InHouse) -> int:
    """Cost of a gram that is left to spoil: a pouch of it weighs more than any move."""
    return math.ceil(CHANGE_SCALE * LEFT_TO_SPOIL / food.raw)


def change_value(problem: Problem, choice: Choice) -> int:
    """What differs from the published plan, in hundredths of a weighted pouch."""
    total = _lost(problem)
    for (w, d), options in _first_sittings(problem).items():
        more = sum(choice.pouches.get(o.number, 0) for o in options) - _was(problem, w, d)
        total += ADDED * more if more > 0 else -_window_weight(problem, w) * more
    spoiled = 0
    for food in needed_from_house(problem):
        used = sum(
            grams
            for shares in choice.shares.values()
            for lot, grams in shares.items()
            if lot in food.lots
        )
        spoiled += _spoiling(food) * max(0, food.grams - used)
    return CHANGE_SCALE * total + spoiled


def _first_sittings(problem: Problem) -> dict[tuple[int, int], list[Option]]:
    found: dict[tuple[int, int], list[Option]] = {}
    for option in problem.options:
        found.setdefault((option.first, option.demand), []).append(option)
    return found


def _was(problem: Problem, window: int, demand: int) -> int:
    assert problem.earlier is not None
    key = (problem.windows[window].start, problem.demands[demand].process.name)
    return problem.earlier.pouches.get(key, 0)


def _window_weight(problem: Problem, window: int) -> int:
    return nearness((problem.windows[window].start.date() - problem.as_of).days)


def _lost(problem: Problem) -> int:
    """What the published plan had and no option can have any more; it cannot be avoided."""
    assert problem.earlier is not None
    can = {
        (problem.windows[w].start, problem.demands[d].process.name)
        for w, d in _first_sittings(problem)
    }
    return sum(
        nearness((start.date() - problem.as_of).days) * was
        for (start, name), was in problem.earlier.pouches.items()
        if (start, name) not in can
    )


def nearness(days: int) -> int:
    """Weight of a change so many days ahead: 10 within a week, falling to 1 after nine weeks (own
    judgement)."""
    return max(1, 10 - max(0, days) // 7)
