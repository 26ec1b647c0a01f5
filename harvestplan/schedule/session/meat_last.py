"""Raw meat, poultry and fish in the minute model: after all other food, or cleaned between."""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


class MeatLast:
    """Whether each other run comes before the raw ones, or after them and a sanitising."""

    def __init__(
        self,
        model: cp_model.CpModel,
        session: SessionTasks,
        start: Mapping[str, cp_model.IntVar],
        *,
        horizon: int,
    ) -> None:
        assert session.sanitising is not None
        self.session, self.model = session, model
        self.task = session.sanitising
        self.cleaned = model.new_bool_var("sanitised")
        fixed = session.fixed.get(self.task.key)
        span = (session.earliest, horizon) if fixed is None else (fixed.start, fixed.start)
        self.at = model.new_int_var(*span, self.task.key)
        if fixed is not None:
            model.add(self.cleaned == 1)
        self.interval = model.new_optional_fixed_size_interval_var(
            self.at, self.task.seconds, self.cleaned, self.task.key
        )
        seconds = {task.key: task.seconds for task in session.tasks}
        raw = [key for run in session.raw for key in run.open]
        first = model.new_int_var(0, horizon, "raw begins")
        last = model.new_int_var(0, horizon, "raw ends")
        for key in raw:
            model.add(first <= start[key])
            model.add(last >= start[key] + seconds[key])
        model.add(self.at >= last).only_enforce_if(self.cleaned)
        self.before: list[cp_model.IntVar] = []
        for number, run in enumerate(session.others):
            before = model.new_bool_var(f"run {number} before meat")
            self.before.append(before)
            for key in run.open:
                model.add(start[key] + seconds[key] <= first).only_enforce_if(before)
                model.add(start[key] >= self.at + self.task.seconds).only_enforce_if(~before)
            model.add_implication(~before, self.cleaned)
            if run.food.eaten_raw:
                model.add(before == 1)
        model.add_bool_or(~self.cleaned, *(~before for before in self.before))

    def hint(self, times: Mapping[str, TaskTime]) -> None:
        """Begin from a layout that is known, in which raw meat is last."""
        self.model.add_hint(self.cleaned, self.task.key in times)
        for before in self.before:
            self.model.add_hint(before, self.task.key not in times)

    def read(self, solver: cp_model.CpSolver) -> dict[str, TaskTime]:
        """When there is a sanitising, if there is one."""
        if not solver.boolean_value(self.cleaned):
            return {}
        return {self.task.key: TaskTime(solver.value(self.at), None)}
