"""Hands and machines of each window.

Necessary conditions: rows know a run's work exactly by its pouches, and a straight line below it
for solvers. Minutes are the minute model's business; what does not fit comes back as a cut.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence

from harvestplan.kitchen.layout import Sitting
from harvestplan.kitchen.steps.change_over import CHANGE_OVER
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.schedule.rules.row import RunLine
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.problem import Option
from harvestplan.schedule.statement.run_work import Work

Run = tuple[Option, Sitting]
HANDS = "hands"


def limit_work(season: SeasonRows) -> None:
    """Hands, then each machine, window by window."""
    for window, runs in season.by_window.items():
        room, hands = season.problem.length(window), season.problem.windows[window].hands
        lines = [_line(season, run, lambda work: work.hand) for run in runs]
        # Where there are several foods, each begins with wiping and rinsing for it.
        of, terms = f"window {window}", Counter({season.used[window]: -hands * room - CHANGE_OVER})
        terms.update(
            {season.made[option.number]: CHANGE_OVER for option in _wiped_for(season, runs)}
        )
        season.add("hands", of, terms, most=0, reason=HANDS, runs=lines)
        for index in range(len(season.problem.work.machines)):
            _limit_machine(season, window, index)


def _limit_machine(season: SeasonRows, window: int, index: int) -> None:
    """Head, body, tail of one machine (Carlier 1982).

    Of the runs whose head and tail are no shorter than one run's own, all bodies lie between that
    head and that tail. A pot that must boil first is heated in that time, but for what comes before
    the head.
    """
    room, used = season.problem.length(window), season.used[window]
    name = " or ".join(sorted(season.problem.work.machines[index]))
    bodies: list[tuple[RunLine, tuple[int, int]]] = []
    same: dict[tuple[int, Sitting, int, int, int], list[int]] = defaultdict(list)
    for option, sitting in season.by_window[window]:
        works = _works(season, (option, sitting))
        if works[-1].machine[index] == 0:
            continue
        head, tail = (min(w.heads[index] for w in works), min(w.tails[index] for w in works))
        heat = min(w.heat[index] for w in works)
        body = _line(season, (option, sitting), lambda work: work.machine[index])
        bodies.append((body, (head, tail)))
        made = season.made[option.number]
        same[option.demand, sitting, head, tail, 0].append(made)
        if heat:
            same[option.demand, sitting, 0, tail, heat].append(made)
            same[option.demand, sitting, 0, 0, heat].append(made)
    of = f"{name}, window {window}"
    for (*_, head, tail, heat), switches in same.items():
        inside = [
            body
            for body, (other_head, other_tail) in bodies
            if other_head >= head and other_tail >= tail
        ]
        terms = Counter(dict.fromkeys(switches, head + heat + tail))
        terms[used] -= room
        season.add("machine", of, terms, most=0, reason=name, runs=inside)
    if bodies:
        every = [body for body, _ in bodies]
        season.add("machine", of, {used: -room}, most=0, reason=name, runs=every)
    _limit_water(season, window, index, name=name)


def _wiped_for(season: SeasonRows, runs: Sequence[Run]) -> list[Option]:
    """Options of one product of each crop: two products of it may be washed together."""
    first: dict[str, int] = {}
    for option, _ in runs:
        first.setdefault(season.process_of(option).crop.name, option.demand)
    return [o for o, _ in runs if first[season.process_of(o).crop.name] == o.demand]


def _limit_water(season: SeasonRows, window: int, index: int, *, name: str) -> None:
    """A pot's water is filled in and comes to the boil again and again; the first time while the
    kitchen is set up."""
    runs = [
        _line(season, run, lambda work: work.machine[index] + work.water[index])
        for run in season.by_window[window]
        if _works(season, run)[-1].water[index]
    ]
    if runs:
        room = season.problem.length(window) + SET_UP
        terms = {season.used[window]: -room}
        season.add("water", f"{name}, window {window}", terms, most=0, reason=name, runs=runs)


def _works(season: SeasonRows, run: Run) -> list[Work]:
    option, sitting = run
    return [season.problem.work_of(option, sitting, n) for n in range(1, option.most + 1)]


def _line(season: SeasonRows, run: Run, part: Callable[[Work], int]) -> RunLine:
    option, sitting = run
    work_of = season.problem.work_of
    return RunLine.below(option.number, option.most, lambda n: part(work_of(option, sitting, n)))
