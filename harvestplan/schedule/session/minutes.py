"""The minute model: exact times for the tasks of one session, in CP-SAT.

Tasks hold one of their alternative units and some of what is shared (hands, other pools); links
order them (at once where no-wait); room limits bound how long food stands. The session's length is
minimised.
"""

from __future__ import annotations

from ortools.sat.python import cp_model

from harvestplan.kitchen.layout import TaskSpec
from harvestplan.schedule.session.list_schedule import list_schedule
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTasks, SessionTimes, TaskTime
from harvestplan.schedule.solver_call import one_worker, solve


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
    first = list_schedule(session)
    if first is not None:
        end = _end(session, first)
        if not improve or end <= shortest:
            return SessionTimes(first, end, shortest, proven=end <= shortest)
    return _Model(session, first, shortest).solve(effort, improve, seed)


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
        self.shortest = shortest
        horizon = session.length if hint is None else min(session.length, _end(session, hint))
        self.makespan = self.model.new_int_var(shortest, max(shortest, horizon), "length")
        self._add_tasks(horizon)
        self._add_links()
        self._add_room_limits()
        self.model.minimize(self.makespan)
        self._add_hint()

    def _add_tasks(self, horizon: int) -> None:
        model, session = self.model, self.session
        on_unit: dict[str, list[cp_model.IntervalVar]] = {}
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
            self.held[task.key] = self._hold(task, start, interval, on_unit=on_unit)
        for held in on_unit.values():
            model.add_no_overlap(held)
        for pool in session.shared():
            taking = [intervals[key] for key in pool.uses]
            if pool.capacity == 1:
                model.add_no_overlap(taking)
            else:
                model.add_cumulative(taking, list(pool.uses.values()), pool.capacity)

    def _hold(
        self,
        task: TaskSpec,
        start: cp_model.IntVar,
        interval: cp_model.IntervalVar,
        *,
        on_unit: dict[str, list[cp_model.IntervalVar]],
    ) -> dict[str, cp_model.IntVar | None]:
        if len(task.units) <= 1:
            for unit in task.units:
                on_unit.setdefault(unit, []).append(interval)
            return dict.fromkeys(task.units)
        held: dict[str, cp_model.IntVar | None] = {}
        choices = []
        for unit in task.units:
            chosen = self.model.new_bool_var(f"{task.key}@{unit}")
            optional = self.model.new_optional_fixed_size_interval_var(
                start, task.seconds, chosen, f"{task.key}@{unit}"
            )
            on_unit.setdefault(unit, []).append(optional)
            held[unit] = chosen
            choices.append(chosen)
        self.model.add_exactly_one(choices)
        return held

    def _add_links(self) -> None:
        for link in self.session.links:
            if link.no_wait:
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
        for key, timed in self.hint.items():
            self.model.add_hint(self.start[key], timed.start)
            for unit, chosen in self.held[key].items():
                if chosen is not None:
                    self.model.add_hint(chosen, unit == timed.unit)
        self.model.add_hint(self.makespan, _end(self.session, self.hint))

    def solve(self, effort: float, improve: bool, seed: int) -> SessionTimes | DoesNotFit:
        solver = one_worker(effort, seed)
        solver.parameters.stop_after_first_solution = not improve
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
            length = _end(self.session, times)
            bound = max(self.shortest, int(solver.best_objective_bound))
            return SessionTimes(times, length, bound, proven=length <= bound)
        if self.hint is not None:
            length = _end(self.session, self.hint)
            return SessionTimes(self.hint, length, self.shortest, proven=length <= self.shortest)
        return DoesNotFit(proven=status == cp_model.INFEASIBLE)

    def _unit(self, solver: cp_model.CpSolver, key: str) -> str | None:
        for unit, chosen in self.held[key].items():
            if chosen is None or solver.boolean_value(chosen):
                return unit
        return None
