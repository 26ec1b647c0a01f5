"""What planning again disturbs: pouches moved against the published plan, and food left to spoil.

Moving is dearer the nearer the day, since the household counts on it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

from harvestplan.schedule.goals.part import GoalPart, in_micro
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.in_house import InHouse, needed_from_house
from harvestplan.schedule.statement.problem import Option, Problem

MOVED = in_micro(0.02)
"""A pouch that is moved takes so much, times its nearness and once more for where it goes (own
judgement): twenty pouches of the coming week are worth four portions and a half, in two months
one."""
OTHER_FREEZER = in_micro(0.0002)
"""A pouch in another freezer than in the published plan: where all else is equal, nobody is told to
use another freezer."""
LEFT_TO_SPOIL = in_micro(0.5)
"""A pouch's worth of food left to spoil, where a poor year would want it: more than one moved from
the nearest evening to another (own judgement)."""
RULE = "moving"


def moving(season: SeasonRows) -> GoalPart:
    """What differs from the published plan, per window and product: what is taken away dearer the
    nearer it was, what is added the same whenever. Were it dearer soon, food in the house would
    spoil for the sake of what may come later. Nothing without a published plan."""
    problem = season.problem
    if problem.earlier is None:
        return GoalPart("moving", Sum({}), lambda choice: 0)
    terms: Counter[int] = Counter()
    constant = MOVED * _lost(problem)
    for (w, d), options in sorted(_first_sittings(problem).items()):
        was = _was(problem, w, d)
        now = Counter({season.pouches[o.number]: 1 for o in options})
        for pouches in now:
            terms[pouches] += MOVED
        for option in _in_another_freezer(problem, options):
            terms[season.pouches[option.number]] += OTHER_FREEZER
        constant -= MOVED * was
        if was:
            gone = season.new_variable(f"gone{w}.{d}", 0, was)
            season.add(RULE, f"window {w}", now + Counter([gone]), least=was)
            terms[gone] += MOVED * (1 + _window_weight(problem, w))
    return GoalPart("moving", Sum(terms, constant), lambda choice: _moved(problem, choice))


def left_to_spoil(season: SeasonRows) -> GoalPart:
    """Food in the house that a poor year would want, and that is left to spoil."""
    problem = season.problem
    if problem.earlier is None:
        return GoalPart("left to spoil", Sum({}), lambda choice: 0)
    terms: Counter[int] = Counter()
    for number, food in enumerate(needed_from_house(problem)):
        left = season.new_variable(f"left in the house{number}", 0, food.grams)
        used = Counter(share for (_, lot), share in season.share.items() if lot in food.lots)
        season.add(RULE, "food in the house", used + Counter([left]), least=food.grams)
        terms[left] += _spoiling(food)
    return GoalPart("left to spoil", Sum(terms), lambda choice: _spoiled(problem, choice))


def _moved(problem: Problem, choice: Choice) -> int:
    """What differs from the published plan, recomputed."""
    total, elsewhere = _lost(problem), 0
    for (w, d), options in _first_sittings(problem).items():
        others = _in_another_freezer(problem, options)
        elsewhere += OTHER_FREEZER * sum(choice.pouches.get(o.number, 0) for o in others)
        more = sum(choice.pouches.get(o.number, 0) for o in options) - _was(problem, w, d)
        total += more if more > 0 else -_window_weight(problem, w) * more
    return MOVED * total + elsewhere


def _spoiled(problem: Problem, choice: Choice) -> int:
    spoiled = 0
    for food in needed_from_house(problem):
        used = sum(
            grams
            for shares in choice.shares.values()
            for lot, grams in shares.items()
            if lot in food.lots
        )
        spoiled += _spoiling(food) * max(0, food.grams - used)
    return spoiled


def _spoiling(food: InHouse) -> int:
    """Cost of a gram that is left to spoil: a pouch of it weighs more than any move."""
    return math.ceil(LEFT_TO_SPOIL / food.raw)


def _first_sittings(problem: Problem) -> dict[tuple[int, int], list[Option]]:
    found: dict[tuple[int, int], list[Option]] = {}
    for option in problem.options:
        found.setdefault((option.first, option.demand), []).append(option)
    return found


def _was(problem: Problem, window: int, demand: int) -> int:
    assert problem.earlier is not None
    key = (problem.windows[window].start, problem.demands[demand].process.name)
    return problem.earlier.pouches.get(key, 0)


def _in_another_freezer(problem: Problem, options: Iterable[Option]) -> list[Option]:
    """Of a product's options in a window those with another freezer than the published plan has
    for it there; none where it has no such run."""
    assert problem.earlier is not None
    freezers = problem.earlier.freezers
    found = []
    for option in options:
        key = (problem.windows[option.first].start, problem.demands[option.demand].process.name)
        if key in freezers and option.freezer not in freezers[key]:
            found.append(option)
    return found


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
