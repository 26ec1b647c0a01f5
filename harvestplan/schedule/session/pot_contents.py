"""What pots hold, in the minute model: potfuls in boiled water, food in an empty pot.

Each filling of a pot is a span from its filling to its last potful, or to its emptying where the
pot is used again; spans and cooking on one pot do not overlap, nor do potfuls.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise

from ortools.sat.python import cp_model

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TaskSpec
from harvestplan.kitchen.steps.blanch import MOST_POTFULS
from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


@dataclass(frozen=True)
class FillingVars:
    """A filling in the model: whether it is `used`, whether it is `emptied`, its three starts, the
    end of its span, and which potfuls (by key) it serves."""

    filling: Filling
    used: cp_model.IntVar
    emptied: cp_model.IntVar
    fill: cp_model.IntVar
    empty: cp_model.IntVar
    end: cp_model.IntVar
    serves: Mapping[str, cp_model.IntVar]

    @property
    def boils(self) -> cp_model.LinearExpr:
        """When its water boils."""
        return self.fill + self.filling.fill.seconds + self.filling.heat.seconds


class PotContents:
    """Variables and rules of the pots of one session.

    `start` are the starts of the session's tasks; `intervals` of fillings' work that takes hands
    are handed back for the pools.
    """

    def __init__(
        self,
        model: cp_model.CpModel,
        session: SessionTasks,
        start: Mapping[str, cp_model.IntVar],
        *,
        horizon: int,
    ) -> None:
        self.model, self.session, self.start = model, session, start
        self.horizon = horizon
        self.tasks = {task.key: task for task in session.tasks}
        self.intervals: dict[str, cp_model.IntervalVar] = {}
        self.on_pot: dict[str, list[cp_model.IntervalVar]] = defaultdict(list)
        """By pot what may not overlap: spans of fillings and of cooking."""
        self.fillings = [self._state(filling) for filling in session.fillings]
        self._serve_each_once()
        self._in_turn()

    def cook(
        self, pot: str, begin: TaskSpec, end: TaskSpec, *, chosen: cp_model.IntVar | None
    ) -> None:
        """Food is in the pot from one task's beginning to another's end, where `chosen`; water that
        was there before it is emptied."""
        first, last = self.start[begin.key], self.start[end.key] + end.seconds
        seconds = self.model.new_int_var(0, self.horizon, f"{begin.key} in {pot}")
        present = chosen if chosen is not None else self.model.new_constant(1)
        self.on_pot[pot].append(
            self.model.new_optional_interval_var(first, seconds, last, present, f"{pot} cooks")
        )
        for state in self._of(pot):
            before = self.model.new_bool_var(f"{state.filling.fill.key} before {begin.key}")
            self.model.add(state.end <= first).only_enforce_if(before, state.used, present)
            self.model.add(state.fill >= last).only_enforce_if(~before, state.used, present)
            self.model.add_bool_or(state.emptied, ~before, ~state.used, ~present)

    def close(self) -> None:
        """Nothing on a pot overlaps; to be said when all cooking is known."""
        for spans in self.on_pot.values():
            self.model.add_no_overlap(spans)

    def _of(self, pot: str) -> list[FillingVars]:
        return [state for state in self.fillings if state.filling.pot == pot]

    def _state(self, filling: Filling) -> FillingVars:
        model, horizon, name = self.model, self.horizon, filling.fill.key
        first = self.session.earliest
        used, emptied = (model.new_bool_var(f"{name} {word}") for word in ("used", "emptied"))
        fill = model.new_int_var(0, horizon, name)
        empty = model.new_int_var(0, horizon, filling.empty.key)
        end = model.new_int_var(0, horizon, f"{name} end")
        for task, start, present in ((filling.fill, fill, used), (filling.empty, empty, emptied)):
            self.intervals[task.key] = model.new_optional_fixed_size_interval_var(
                start, task.seconds, present, task.key
            )
            fixed = self.session.fixed.get(task.key)
            if fixed is not None:
                model.add(start == fixed.start)
                model.add(present == 1)
            elif first:
                model.add(start >= first).only_enforce_if(present)
        model.add_implication(emptied, used)
        model.add(end >= empty + filling.empty.seconds).only_enforce_if(emptied)
        boils = fill + filling.fill.seconds + filling.heat.seconds
        model.add(empty >= boils).only_enforce_if(emptied)
        model.add(end >= boils).only_enforce_if(used)
        span = model.new_int_var(0, horizon, f"{name} span")
        self.on_pot[filling.pot].append(
            model.new_optional_interval_var(fill, span, end, used, f"{name} span")
        )
        state = FillingVars(
            filling,
            used,
            emptied,
            fill=fill,
            empty=empty,
            end=end,
            serves={
                key: model.new_bool_var(f"{key} in {name}")
                for key, potful in self.session.potfuls.items()
                if potful.steam == filling.steam and filling.pot in self.tasks[key].units
            },
        )
        self._serve(state)
        return state

    def _serve(self, state: FillingVars) -> None:
        """Potfuls go into boiling water, few enough, mild before strong, before it is emptied."""
        model = self.model
        for key, serves in state.serves.items():
            start, end = self.start[key], self.start[key] + self.tasks[key].seconds
            model.add(start >= state.boils).only_enforce_if(serves)
            model.add(end <= state.end).only_enforce_if(serves)
            model.add(end <= state.empty).only_enforce_if(serves, state.emptied)
            model.add_implication(serves, state.used)
        model.add(sum(state.serves.values()) <= MOST_POTFULS)
        if state.filling.fill.key not in self.session.fixed:
            model.add(sum(state.serves.values()) >= state.used)
        strength = {key: self.session.potfuls[key].strength for key in state.serves}
        for one, other in combinations(state.serves, 2):
            if strength[one] == strength[other]:
                continue
            mild, strong = sorted((one, other), key=lambda key: strength[key])
            ends = self.start[mild] + self.tasks[mild].seconds
            both = (state.serves[mild], state.serves[strong])
            model.add(ends <= self.start[strong]).only_enforce_if(*both)

    def _serve_each_once(self) -> None:
        on_pot: dict[str, list[cp_model.IntervalVar]] = defaultdict(list)
        for key in self.session.potfuls:
            every = [(each, each.serves[key]) for each in self.fillings if key in each.serves]
            self.model.add_exactly_one(serves for _, serves in every)
            fixed = self.session.fixed.get(key)
            for pot in self.tasks[key].units:
                here = [serves for each, serves in every if each.filling.pot == pot]
                inside = self.model.new_bool_var(f"{key}@{pot}")
                self.model.add(sum(here) == inside)
                if fixed is not None:
                    self.model.add(inside == (fixed.unit == pot))
                on_pot[pot].append(
                    self.model.new_optional_fixed_size_interval_var(
                        self.start[key], self.tasks[key].seconds, inside, f"{key}@{pot}"
                    )
                )
        for potfuls in on_pot.values():
            self.model.add_no_overlap(potfuls)

    def _in_turn(self) -> None:
        """Fillings of a pot, alike in kind, are used in the order of their numbers; what is filled
        again was emptied before."""
        for pot in {state.filling.pot for state in self.fillings}:
            here = self._of(pot)
            for before, after in pairwise(here):
                if before.filling.steam == after.filling.steam:
                    self.model.add_implication(after.used, before.used)
                    self.model.add(before.end <= after.fill).only_enforce_if(after.used)
                    self.model.add_implication(after.used, before.emptied)
            for one, other in combinations(here, 2):
                if one.filling.steam != other.filling.steam:
                    self._one_after_other(one, other)

    def _one_after_other(self, one: FillingVars, other: FillingVars) -> None:
        first = self.model.new_bool_var(f"{one.filling.fill.key} first")
        both = (one.used, other.used)
        self.model.add(one.end <= other.fill).only_enforce_if(first, *both)
        self.model.add(other.end <= one.fill).only_enforce_if(~first, *both)
        self.model.add_bool_or(one.emptied, ~first, ~one.used, ~other.used)
        self.model.add_bool_or(other.emptied, first, ~one.used, ~other.used)

    def hint(self, times: Mapping[str, TaskTime]) -> None:
        """Begin from a layout that is known."""
        model = self.model
        serving: dict[str, FillingVars] = {}
        for key in self.session.potfuls:
            timed = times[key]
            here = [
                state
                for state in self.fillings
                if state.filling.pot == timed.unit
                and key in state.serves
                and state.filling.fill.key in times
                and times[state.filling.fill.key].start <= timed.start
            ]
            serving[key] = max(here, key=lambda state: times[state.filling.fill.key].start)
        for state in self.fillings:
            filling = state.filling
            used, emptied = filling.fill.key in times, filling.empty.key in times
            model.add_hint(state.used, used)
            model.add_hint(state.emptied, emptied)
            for key, serves in state.serves.items():
                model.add_hint(serves, serving[key] is state)
            if used:
                ends = [
                    times[key].start + self.tasks[key].seconds
                    for key in state.serves
                    if serving[key] is state
                ]
                if emptied:
                    ends.append(times[filling.empty.key].start + filling.empty.seconds)
                    model.add_hint(state.empty, times[filling.empty.key].start)
                model.add_hint(state.fill, times[filling.fill.key].start)
                model.add_hint(state.end, max(ends, default=0))

    def read(self, solver: cp_model.CpSolver) -> dict[str, TaskTime]:
        """When what is used of the fillings is done."""
        times: dict[str, TaskTime] = {}
        for state in self.fillings:
            filling = state.filling
            if not solver.boolean_value(state.used):
                continue
            fill = solver.value(state.fill)
            times[filling.fill.key] = TaskTime(fill, filling.pot)
            times[filling.heat.key] = TaskTime(fill + filling.fill.seconds, filling.pot)
            if solver.boolean_value(state.emptied):
                times[filling.empty.key] = TaskTime(solver.value(state.empty), filling.pot)
        return times

    def pot_of(self, solver: cp_model.CpSolver, key: str) -> str:
        """The pot that a potful is blanched in."""
        return next(
            state.filling.pot
            for state in self.fillings
            if key in state.serves and solver.boolean_value(state.serves[key])
        )
