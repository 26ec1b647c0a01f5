"""A plain time-indexed CP-SAT model of the season, as a textbook would write it.

Every window is cut into slots of ten minutes. A run is made in equal shares, one potful each; how
many shares begin in a slot is a variable, and each share takes hands and machines in the slots that
follow, as it does when it is made alone. No work tables, no cuts, no search of our own: the solver
as it comes, on all cores, one goal after the other. Supply, wants, freezing and space are stated as
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
from harvestplan.schedule.goals.all_goals import season_goals
from harvestplan.schedule.goals.goal import Aim
from harvestplan.schedule.rules.all_rules import RULES
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.rules.work import limit_work
from harvestplan.schedule.search.conversion import choice_of, values_of
from harvestplan.schedule.search.program import Bounds, Program
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTasks, SessionTimes
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

SLOT = 600
SHARES = {"wants": 0.5, "evenings": 0.6, "overtime": 0.3, "waiting": 1.0}
"""Of the time left when a level begins, how much it may take."""
Found = Callable[[Choice], None]


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
        self.goals = [(goal.level, goal.aim) for goal in season_goals(self.season) if goal.aim]
        rows = [Bounds(self.season.linear(row), row.least, row.most) for row in self.season.rows]
        self.model, self.variables = in_cp_sat(Program(self.season.variables, rows, Sum({})))
        self._add_work()

    def minimize(self, aim: Aim) -> None:
        """What is looked for from now on."""
        self.model.minimize(self._total(aim.total))

    def hold(self, aim: Aim, known: Choice) -> None:
        """Keeps a goal from now on where the choice has it."""
        self.model.add(self._total(aim.total) <= aim.value(known))

    def hint(self, known: Choice) -> None:
        """Starts the search from a known solution."""
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        for number, value in values_of(self.season, known).items():
            self.model.add_hint(self.variables[number], value)

    def read(self, value: Callable[[cp_model.IntVar], int]) -> Choice:
        """The pouches and shares of the runs that are made."""
        return choice_of(self.season, [int(value(variable)) for variable in self.variables])

    def _total(self, total: Sum) -> cp_model.LinearExprT:
        weighted = (weight * self.variables[number] for number, weight in total.terms.items())
        return sum(weighted) + total.constant

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
    """Solves level by level within `limit` s; every better plan goes, mended, to `found`."""
    until = time.monotonic() + limit
    model = PlainModel(problem)
    known: Choice | None = None
    for level, aim in model.goals:
        model.minimize(aim)
        if known is not None:
            model.hint(known)
        solver = cp_model.CpSolver()
        solver.parameters.random_seed = seed
        left = (until - time.monotonic()) * SHARES[level]
        solver.parameters.max_time_in_seconds = max(0.1, left)
        report = _Report(model, lambda choice: found(mended(problem, book, choice)))
        if solver.solve(model.model, report) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return
        known = model.read(solver.value)
        found(mended(problem, book, known))
        model.hold(aim, known)


class _Report(cp_model.CpSolverSolutionCallback):
    """Hands on the first solution, and then one in five seconds at most."""

    def __init__(self, model: PlainModel, found: Found) -> None:
        super().__init__()
        self.model, self.found, self.last = model, found, 0.0

    def on_solution_callback(self) -> None:
        if time.monotonic() - self.last >= 5:
            self.found(self.model.read(self.value))
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
