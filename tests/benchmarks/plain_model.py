"""A plain time-indexed CP-SAT model of the season, as a textbook would write it.

Every window is cut into slots of ten minutes. A run is made in equal shares, one potful each; how
many shares begin in a slot is a variable, and each share takes hands and machines in the slots that
follow, as it does when it is made alone. No work tables, no cuts, no search of our own: the solver
as it comes, on all cores. Supply, wants, freezing and space are stated as
in our own season model.

What pots hold, wiping between foods and meat last are left out: water boils in every pot as if it
had always been there. Slots know only averages and shares made alone are not a session, so what the
minute model cannot lay out is taken back, pouch by pouch, until it fits.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model
from schedule.program_in_cp_sat import in_cp_sat

from harvestplan.kitchen.layout import Sitting, TaskSpec
from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.rules.all_rules import RULES
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.rules.work import limit_work
from harvestplan.schedule.search.conversion import choice_of
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.program import Bounds, Program
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTasks, SessionTimes
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

SLOT = 600
Found = Callable[[Choice], None]
Value = Callable[[cp_model.IntVar], int]


@dataclass(frozen=True)
class Share:
    """One potful made alone: pouches, slots, and seconds of hands and machines by slot."""

    pouches: int
    slots: int
    hands: dict[int, int]
    machines: dict[tuple[int, int], int]


class PlainModel:
    """Our season's variables and rules, with time in slots in place of work and cuts."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.season = SeasonRows(problem)
        for rule in RULES:
            if rule is not limit_work:
                rule(self.season)
        goal = worth_of_season(self.season).total
        rows = [Bounds(self.season.linear(row), row.least, row.most) for row in self.season.rows]
        self.model, self.variables = in_cp_sat(Program(self.season.variables, rows, goal))
        self._add_work()

    def read(self, value: Value) -> Choice:
        """The pouches and shares of the runs that are made."""
        return choice_of(self.season, [int(value(variable)) for variable in self.variables])

    def _add_work(self) -> None:
        self.shares: dict[tuple[int, Sitting, int], Share | None] = {}
        for window, runs in self.season.by_window.items():
            rows: dict[tuple[str, int, int], list[tuple[cp_model.IntVar, int]]] = defaultdict(list)
            for option, sitting in runs:
                self._add_starts(window, option, sitting, rows=rows)
            for (kind, index, _), terms in rows.items():
                units = len(self.problem.work.machines[index]) if kind == "machine" else index
                self.model.add(sum(seconds * var for var, seconds in terms) <= SLOT * units)

    def _add_starts(
        self,
        window: int,
        option: Option,
        sitting: Sitting,
        rows: dict[tuple[str, int, int], list[tuple[cp_model.IntVar, int]]],
    ) -> None:
        pouches = self.variables[self.season.pouches[option.number]]
        made = self.variables[self.season.made[option.number]]
        hands = self.problem.windows[window].hands
        share = self._share(option.demand, sitting, hands)
        starts = self.problem.length(window) // SLOT - share.slots + 1 if share else 0
        if share is None or starts <= 0:
            self.model.add(pouches == 0)
            return
        most = -(-option.most // share.pouches)
        begun = [self.model.new_int_var(0, most, "") for _ in range(starts)]
        self.model.add(share.pouches * sum(begun) >= pouches)
        self.model.add(sum(begun) <= most * made)
        for slot, var in enumerate(begun):
            for after, seconds in share.hands.items():
                rows["hands", hands, slot + after].append((var, seconds))
            for (machine, after), seconds in share.machines.items():
                rows["machine", machine, slot + after].append((var, seconds))

    def _share(self, demand: int, sitting: Sitting, hands: int) -> Share | None:
        key = (demand, sitting, hands)
        if key not in self.shares:
            self.shares[key] = _alone(self.problem, demand, sitting, hands=hands)
        return self.shares[key]


def _alone(problem: Problem, demand: int, sitting: Sitting, hands: int) -> Share | None:
    """A potful's share laid out alone, or None where even that needs more hands."""
    process = problem.demands[demand].process
    limit = process.batch_limit or 10 * process.raw_per_portion
    pouches = max(1, process.pouches_of(int(limit)))
    raw = problem.work.raw(demand, pouches)
    layout = problem.work.layout(demand, sitting, raw, pouches=pouches, freezer=None)
    asked = SessionTasks(layout.tasks, layout.links, layout.limits, hands=hands, length=12 * 3600)
    times = time_session(asked, 0.2)
    if not isinstance(times, SessionTimes):
        return None
    by_hand: dict[int, int] = defaultdict(int)
    by_machine: dict[tuple[int, int], int] = defaultdict(int)
    for task in layout.tasks:
        for slot, seconds in _slots(times.times[task.key].start, task).items():
            if task.hands:
                by_hand[slot] += seconds * task.hands
            for index, machine in enumerate(problem.work.machines):
                if task.units and machine.issuperset(task.units):
                    by_machine[index, slot] += seconds
    return Share(pouches, -(-times.length // SLOT), dict(by_hand), machines=dict(by_machine))


def _slots(start: int, task: TaskSpec) -> dict[int, int]:
    """Seconds of the task in each slot."""
    end = start + task.seconds
    return {
        slot: min(end, (slot + 1) * SLOT) - max(start, slot * SLOT)
        for slot in range(start // SLOT, -(-end // SLOT))
    }


def plain_plan(
    problem: Problem, book: TimedSessions, limit: float, seed: int, found: Found
) -> None:
    """Solves it within `limit` s; every better plan goes, mended, to `found`."""
    until = time.monotonic() + limit
    model = PlainModel(problem)
    solve_alone(
        model.model,
        lambda value: found(mended(problem, book, model.read(value))),
        until - time.monotonic(),
        seed=seed,
    )


def whole_model_plan(
    problem: Problem, book: TimedSessions, limit: float, seed: int, found: Found
) -> None:
    """Our own season model given to CP-SAT as it comes: no cuts, no search of ours. What does not
    fit to the minute is taken back."""
    until = time.monotonic() + limit
    model = SeasonModel(problem, ())
    model.minimize(worth_of_season(model.season).total)
    whole = model.copy(None, {})

    def read(value: Value) -> None:
        numbers = range(model.size)
        values = [int(value(whole.get_int_var_from_proto_index(n))) for n in numbers]
        found(mended(problem, book, model.choice(values)))

    solve_alone(whole, read, until - time.monotonic(), seed=seed)


def solve_alone(
    model: cp_model.CpModel, read: Callable[[Value], None], limit: float, seed: int
) -> None:
    """The solver as it comes, on all cores; `read` is given the values of what it finds."""
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = seed
    solver.parameters.max_time_in_seconds = max(0.1, limit)
    if solver.solve(model, _Report(read)) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        read(solver.value)


class _Report(cp_model.CpSolverSolutionCallback):
    """Hands on the first solution, and then one in five seconds at most."""

    def __init__(self, read: Callable[[Value], None]) -> None:
        super().__init__()
        self.read, self.last = read, 0.0

    def on_solution_callback(self) -> None:
        if time.monotonic() - self.last >= 5:
            self.read(self.value)
            self.last = time.monotonic()


def mended(problem: Problem, book: TimedSessions, choice: Choice) -> Choice:
    """The choice with pouches taken back, the largest run's first, until every session fits."""
    pouches = dict(choice.pouches)
    shares = {o: dict(s) for o, s in choice.shares.items()}
    while True:
        runs = window_runs(problem, Choice(pouches, shares))
        full = [w for w, r in runs.items() if isinstance(book.fits(w, r), DoesNotFit)]
        if not full:
            return Choice(pouches, shares)
        for window in full:
            run = max(runs[window], key=lambda r: (r.pouches, -r.option))
            if run.option in pouches:
                _take_back(problem, pouches, shares, option=run.option)


def _take_back(
    problem: Problem, pouches: dict[int, int], shares: dict[int, dict[int, int]], option: int
) -> None:
    pouches[option] -= 1
    if pouches[option] == 0:
        del pouches[option], shares[option]
        return
    process = problem.demands[problem.options[option].demand].process
    spare = sum(shares[option].values()) - process.raw(pouches[option])
    for lot in sorted(shares[option], reverse=True):
        grams = min(max(0, spare), shares[option][lot])
        spare -= grams
        shares[option][lot] -= grams
    shares[option] = {lot: grams for lot, grams in shares[option].items() if grams}
