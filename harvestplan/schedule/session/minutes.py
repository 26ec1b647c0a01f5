"""The minute model: exact times for the tasks of one session, in CP-SAT.

Tasks hold one of their alternative units and some of what is shared (hands, other pools); links
order them (at once where no-wait); room limits bound how long food stands; pots hold water or food
(`pot_contents`), raw meat comes last or is cleaned after (`meat_last`). The session's length is
minimised.
"""

from __future__ import annotations

import dataclasses

from ortools.sat.python import cp_model

from harvestplan.kitchen.layout import TICK, TaskSpec
from harvestplan.schedule.session.late_heating import heat_late
from harvestplan.schedule.session.list_schedule import list_schedule
from harvestplan.schedule.session.meat_last import MeatLast
from harvestplan.schedule.session.pot_contents import PotContents
from harvestplan.schedule.session.tasks import (
    DoesNotFit,
    SessionTasks,
    SessionTimes,
    TaskTime,
    in_ticks,
    scaled,
)
from harvestplan.schedule.solver_call import one_worker, solve

QUICK = 0.1
"""Up to so little effort simplifying a model first takes longer than its answer: the 671 models of
the demo's questions take 1.7 s for 3.0, with the same answers."""


def time_session(
    session: SessionTasks, effort: float = 1.0, improve: bool = True, *, seed: int = 1
) -> SessionTimes | DoesNotFit:
    """Times for a session's tasks.

    Parameters
    ----------
    effort  deterministic time (solver's own seconds, the same on every machine)
    improve  False stops at the first layout that fits
    """
    shortest = _energy_bound(session)
    if shortest > session.length or not _pools_suffice(session):
        return DoesNotFit(proven=True)
    first = list_schedule(session, best=improve)
    if first is not None:
        end = _end(session, first)
        if not improve or end <= shortest:
            return _finished(session, SessionTimes(first, end, shortest, proven=end <= shortest))
    unit = TICK if in_ticks(session) else 1
    hint = first and {k: TaskTime(t.start // unit, t.unit) for k, t in first.items()}
    model = _Model(scaled(session, unit), hint, -(-shortest // unit))
    return _finished(session, _in_seconds(model.solve(effort, improve, seed), unit))


def _in_seconds(answer: SessionTimes | DoesNotFit, unit: int) -> SessionTimes | DoesNotFit:
    """The answer of a model whose unit of time is so many seconds."""
    if isinstance(answer, DoesNotFit):
        return answer
    times = {key: TaskTime(unit * t.start, t.unit) for key, t in answer.times.items()}
    return SessionTimes(times, unit * answer.length, unit * answer.bound, answer.proven)


def _finished(
    session: SessionTasks, answer: SessionTimes | DoesNotFit
) -> SessionTimes | DoesNotFit:
    """The answer with its water put on no earlier than it must be, and no pot emptied that is not
    used again."""
    if isinstance(answer, DoesNotFit):
        return answer
    return dataclasses.replace(answer, times=heat_late(session, _needed(session, answer.times)))


def _needed(session: SessionTasks, times: dict[str, TaskTime]) -> dict[str, TaskTime]:
    last: dict[str | None, int] = {}
    for timed in times.values():
        last[timed.unit] = max(timed.start, last.get(timed.unit, 0))
    idle = {
        each.empty.key
        for each in session.fillings
        if each.empty.key in times
        and each.empty.key not in session.fixed
        and times[each.empty.key].start >= last[each.pot]
    }
    return {key: timed for key, timed in times.items() if key not in idle}


def _end(session: SessionTasks, times: dict[str, TaskTime]) -> int:
    return max(times[task.key].start + task.seconds for task in session.tasks)


def _pools_suffice(session: SessionTasks) -> bool:
    """Whether each task alone finds what it wants of every pool."""
    return all(max(pool.uses.values(), default=0) <= pool.capacity for pool in session.shared())


def _energy_bound(session: SessionTasks) -> int:
    """No session is shorter than the work of its hands, of any pool, or of any one unit."""
    bound = max((task.seconds for task in session.tasks), default=0)
    for pool in session.shared():
        work = sum(task.seconds * pool.uses.get(task.key, 0) for task in session.tasks)
        if pool.capacity:
            bound = max(bound, -(-work // pool.capacity))
    for unit in {task.units[0] for task in session.tasks if len(task.units) == 1}:
        bound = max(bound, sum(t.seconds for t in session.tasks if t.units == (unit,)))
    return bound


class _Model:
    def __init__(
        self, session: SessionTasks, hint: dict[str, TaskTime] | None, shortest: int
    ) -> None:
        self.session = session
        self.hint = hint
        self.model = cp_model.CpModel()
        self.start: dict[str, cp_model.IntVar] = {}
        self.end: dict[str, cp_model.LinearExpr] = {}
        self.held: dict[str, dict[str, cp_model.IntVar | None]] = {}
        self.same = {link.after: link.before for link in session.links if link.same_unit}
        """By a task that which holds the same unit."""
        self.shortest = shortest
        horizon = session.length if hint is None else min(session.length, _end(session, hint))
        self.makespan = self.model.new_int_var(shortest, max(shortest, horizon), "length")
        self.horizon = horizon
        self.pots: PotContents | None = None
        self.meat: MeatLast | None = None
        self._add_tasks(horizon)
        self._add_links()
        self._add_room_limits()
        self.model.minimize(self.makespan)
        self._add_hint()

    def _add_tasks(self, horizon: int) -> None:
        model, session = self.model, self.session
        intervals: dict[str, cp_model.IntervalVar] = {}
        for task in session.tasks:
            first, last = session.earliest, max(session.earliest, horizon - task.seconds)
            if task.key in session.fixed:
                first = last = session.fixed[task.key].start
            start = model.new_int_var(first, last, task.key)
            interval = model.new_fixed_size_interval_var(start, task.seconds, task.key)
            self.start[task.key] = start
            self.end[task.key] = start + task.seconds
            model.add(start + task.seconds <= self.makespan)
            intervals[task.key] = interval
        self._add_units(intervals)
        if self.pots is not None:
            intervals |= self.pots.intervals
        if session.sanitising is not None:
            self.meat = MeatLast(model, session, self.start, horizon=horizon)
            intervals[session.sanitising.key] = self.meat.interval
        for pool in session.shared():
            taking = {key: intervals[key] for key in pool.uses if key in intervals}
            if pool.capacity == 1:
                model.add_no_overlap(taking.values())
            else:
                uses = [pool.uses[key] for key in taking]
                model.add_cumulative(taking.values(), uses, pool.capacity)

    def _add_units(self, intervals: dict[str, cp_model.IntervalVar]) -> None:
        """Which unit each task holds: pots by what they hold, all others one task after another."""
        model, session = self.model, self.session
        filled = {filling.pot for filling in session.fillings}
        if session.potfuls:
            self.pots = PotContents(model, session, self.start, horizon=self.horizon)
        lasts = {before: after for after, before in self.same.items()}
        on_unit: dict[str, list[cp_model.IntervalVar]] = {}
        by_key = {task.key: task for task in session.tasks}
        for task in session.tasks:
            if task.key in session.potfuls:
                self.held[task.key] = {}
            elif task.key in self.same:
                self.held[task.key] = self.held[self.same[task.key]]
            else:
                last = by_key[lasts.get(task.key, task.key)]
                self.held[task.key] = self._hold(task, last, intervals[task.key], on_unit=on_unit)
                for unit, chosen in self.held[task.key].items():
                    if unit in filled and self.pots is not None:
                        self.pots.cook(unit, task, last, chosen=chosen)
        for unit, held in on_unit.items():
            if unit not in filled:
                model.add_no_overlap(held)
        if self.pots is not None:
            self.pots.close()

    def _hold(
        self,
        task: TaskSpec,
        last: TaskSpec,
        interval: cp_model.IntervalVar,
        *,
        on_unit: dict[str, list[cp_model.IntervalVar]],
    ) -> dict[str, cp_model.IntVar | None]:
        """The unit that is held from the task's beginning to the end of `last` (itself, as a
        rule), at once after it."""
        seconds = task.seconds + (0 if last is task else last.seconds)
        start = self.start[task.key]
        fixed = self.session.fixed.get(task.key)
        units = task.units if fixed is None or fixed.unit is None else (fixed.unit,)
        if len(units) <= 1:
            for unit in units:
                held = interval
                if last is not task:
                    name = f"{task.key}@{unit}"
                    held = self.model.new_fixed_size_interval_var(start, seconds, name)
                on_unit.setdefault(unit, []).append(held)
            return dict.fromkeys(units)
        held_by: dict[str, cp_model.IntVar | None] = {}
        choices = []
        for unit in units:
            chosen = self.model.new_bool_var(f"{task.key}@{unit}")
            optional = self.model.new_optional_fixed_size_interval_var(
                start, seconds, chosen, f"{task.key}@{unit}"
            )
            on_unit.setdefault(unit, []).append(optional)
            held_by[unit] = chosen
            choices.append(chosen)
        self.model.add_exactly_one(choices)
        return held_by

    def _add_links(self) -> None:
        for link in self.session.links:
            if link.at_start:
                self.model.add(self.start[link.after] == self.start[link.before] + link.lag)
            elif link.no_wait:
                self.model.add(self.start[link.after] == self.end[link.before])
            else:
                self.model.add(self.start[link.after] >= self.end[link.before])

    def _add_room_limits(self) -> None:
        for limit in self.session.limits:
            waits = [self.start[after] - self.end[before] for before, after in limit.waits]
            self.model.add(sum(waits) <= limit.seconds)

    def _add_hint(self) -> None:
        if self.hint is None:
            return
        for key, start in self.start.items():
            timed = self.hint[key]
            self.model.add_hint(start, timed.start)
            for unit, chosen in self.held[key].items():
                if chosen is not None and key not in self.same:
                    self.model.add_hint(chosen, unit == timed.unit)
        for rule in (self.pots, self.meat):
            if rule is not None:
                rule.hint(self.hint)
        self.model.add_hint(self.makespan, _end(self.session, self.hint))

    def solve(self, effort: float, improve: bool, seed: int) -> SessionTimes | DoesNotFit:
        solver = one_worker(effort, seed)
        solver.parameters.stop_after_first_solution = not improve
        solver.parameters.cp_model_presolve = effort > QUICK
        # Who goes first decides everything here, and no linear relaxation sees it: measured on
        # 22 job shops, all are proven in a tenth of the time, the hardest of them only so.
        solver.parameters.linearization_level = 0
        solver.parameters.use_dynamic_precedence_in_disjunctive = True
        status = solve(solver, self.model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            times = {
                key: TaskTime(solver.value(v), self._unit(solver, key))
                for key, v in self.start.items()
            }
            for rule in (self.pots, self.meat):
                times |= {} if rule is None else rule.read(solver)
            length = _end(self.session, times)
            bound = max(self.shortest, int(solver.best_objective_bound))
            return SessionTimes(times, length, bound, proven=length <= bound)
        if self.hint is not None:
            length = _end(self.session, self.hint)
            return SessionTimes(self.hint, length, self.shortest, proven=length <= self.shortest)
        return DoesNotFit(proven=status == cp_model.INFEASIBLE)

    def _unit(self, solver: cp_model.CpSolver, key: str) -> str | None:
        if self.pots is not None and key in self.session.potfuls:
            return self.pots.pot_of(solver, key)
        for unit, chosen in self.held[key].items():
            if chosen is None or solver.boolean_value(chosen):
                return unit
        return None
