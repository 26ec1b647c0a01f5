"""A solver whose presolve stumbles is asked again without probing, then without the hint."""

from __future__ import annotations

from ortools.sat.python import cp_model

from harvestplan.schedule.solver_call import solve


class Stumbling(cp_model.CpSolver):
    """Fails as OR-Tools 9.15 does, as long as it probes."""

    def solve(
        self,
        model: cp_model.CpModel,
        solution_callback: cp_model.CpSolverSolutionCallback | None = None,
    ) -> cp_model.CpSolverStatus:
        if self.parameters.cp_model_probing_level != 0:
            raise IndexError("absl::btree_map::at")
        return super().solve(model)


def test_an_answer_comes_all_the_same() -> None:
    model = cp_model.CpModel()
    count = model.new_int_var(0, 9, "count")
    model.maximize(count)
    solver = Stumbling()
    assert solve(solver, model) == cp_model.OPTIMAL
    assert solver.value(count) == 9


class StumblingOverHints(cp_model.CpSolver):
    """Fails as OR-Tools 9.15 does, as long as there is a hint, however little it probes."""

    def solve(
        self,
        model: cp_model.CpModel,
        solution_callback: cp_model.CpSolverSolutionCallback | None = None,
    ) -> cp_model.CpSolverStatus:
        if model.proto.solution_hint.vars:
            raise IndexError("absl::btree_map::at")
        return super().solve(model)


def test_an_answer_comes_without_the_hint_where_that_is_what_it_stumbles_over() -> None:
    model = cp_model.CpModel()
    count = model.new_int_var(0, 9, "count")
    model.maximize(count)
    model.add_hint(count, 3)
    solver = StumblingOverHints()
    assert solve(solver, model) == cp_model.OPTIMAL
    assert solver.value(count) == 9
