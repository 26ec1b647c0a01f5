"""Toil: evenings, visits, foods begun and extra hours, in the portions that each is worth."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping

from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import PartName
from harvestplan.schedule.goals.part import TIE, GoalPart, in_micro
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice, windows_used
from harvestplan.schedule.statement.problem import Option, Problem


def evenings(season: SeasonRows) -> GoalPart:
    """An evening in the kitchen."""
    worth = season.problem.season.season.evening_is_worth
    return _windows(season, "evenings", lambda window: 0 if window.is_visit else _toil(worth))


def visits(season: SeasonRows) -> GoalPart:
    """A visit to the kitchen."""
    worth = season.problem.season.season.visit_is_worth
    return _windows(season, "visits", lambda window: _toil(worth) if window.is_visit else 0)


def extra_hours(season: SeasonRows) -> GoalPart:
    """Hours of extra windows, beside the evening that each is."""
    worth = season.problem.season.season.late_hour_is_worth

    def cost(window: FreeWindow) -> int:
        late = window.extra and not window.is_visit
        return round(_toil(worth) * _hours(window)) if late else 0

    return _windows(season, "extra hours", cost)


def foods_started(season: SeasonRows) -> GoalPart:
    """Each food begun on an evening: got out, washed, cleaned up after. Begun for less than its
    least worthwhile batch it costs more for each pouch that is missing."""
    problem = season.problem
    toil = _toil(problem.season.season.food_is_worth)
    terms = Counter(dict.fromkeys(season.made, toil))
    for (demand, window, _), options in sorted(_begun(problem).items()):
        least = problem.demands[demand].worthwhile
        if least > 1:
            missing = season.new_variable(f"missing{demand}.{window}", 0, least - 1)
            row = Counter({season.pouches[o.number]: 1 for o in options} | {missing: 1})
            row.update({season.made[o.number]: -least for o in options})
            season.add("small batch", f"window {window}", row, least=0)
            terms[missing] = _short(problem, demand, toil)
    return GoalPart("foods started", Sum(terms), lambda choice: _started(problem, choice, toil))


def _begun(problem: Problem) -> dict[tuple[int, int, bool], list[Option]]:
    """Options by demand, the window in which they begin, and whether they end there: at most one of
    each is made."""
    found: dict[tuple[int, int, bool], list[Option]] = defaultdict(list)
    for option in problem.options:
        found[option.demand, option.first, option.second is None].append(option)
    return found


def _started(problem: Problem, choice: Choice, toil: int) -> int:
    """What foods begun cost, with the pouches that they are short of a worthwhile batch."""
    cost = 0
    for o, pouches in choice.pouches.items():
        demand = problem.options[o].demand
        missing = max(0, problem.demands[demand].worthwhile - pouches)
        cost += toil + missing * _short(problem, demand, toil)
    return cost


def _short(problem: Problem, demand: int, toil: int) -> int:
    """What each pouch costs that a run is short of a worthwhile batch: twice the toil, by the
    want's priority. Else a food that is wanted three times as much would be begun for a third."""
    return round(2 * toil * problem.demands[demand].priority)


def _windows(season: SeasonRows, name: PartName, cost: Callable[[FreeWindow], int]) -> GoalPart:
    problem = season.problem
    costs = {w: each for w, window in enumerate(problem.windows) if (each := cost(window))}
    terms = {season.used[w]: each for w, each in costs.items()}
    return GoalPart(name, Sum(terms), lambda choice: _used(problem, costs, choice))


def _used(problem: Problem, costs: Mapping[int, int], choice: Choice) -> int:
    return sum(costs.get(w, 0) for w in windows_used(problem, choice))


def _toil(portions: float) -> int:
    return max(TIE, in_micro(portions))


def _hours(window: FreeWindow) -> float:
    return (window.end - window.start).total_seconds() / 3600
