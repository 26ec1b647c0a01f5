"""What a new plan changes of the published one, as it is counted and as the solver sees it."""

from __future__ import annotations

import pytest
from ortools.sat.python import cp_model
from test_replan import JULY, SPRING, folder_in, plan_on

from harvestplan.planning.make import state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.goals.all_goals import season_goals
from harvestplan.schedule.goals.moved_pouches import change_value, nearness
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.weekly_plan import quick_choice
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem


@pytest.fixture(scope="module")
def problem(tmp_path_factory: pytest.TempPathFactory) -> Problem:
    folder = folder_in(tmp_path_factory.mktemp("change"))
    before = plan_on(folder, SPRING, None)
    return state_problem(read_household(folder, JULY), JULY, before)


def published(problem: Problem) -> dict[int, int]:
    """Pouches of the published plan by option, where they are still options."""
    assert problem.earlier is not None
    found = {}
    for option in problem.options:
        name = problem.demands[option.demand].process.name
        key = (problem.windows[option.first].start, name)
        if option.second is None and key in problem.earlier.pouches:
            found[option.number] = problem.earlier.pouches[key]
    return found


def test_what_is_taken_away_is_dearer_the_nearer_and_what_is_added_is_not(problem: Problem) -> None:
    kept = published(problem)
    nothing_new = change_value(problem, Choice(kept, {}))
    for number, pouches in kept.items():
        days = (problem.windows[problem.options[number].first].start.date() - JULY).days
        fewer = {**kept, number: pouches - 1}
        assert change_value(problem, Choice(fewer, {})) - nothing_new == 100 * nearness(days)
    new = [o.number for o in problem.options if o.second is None and o.number not in kept]
    assert {change_value(problem, Choice({**kept, n: 1}, {})) - nothing_new for n in new} == {100}


def test_the_solver_counts_the_same(problem: Problem) -> None:
    choice = quick_choice(problem, {}, set())
    assert choice.pouches
    model = SeasonModel(problem, ())
    aim = next(goal.aim for goal in season_goals(model.season) if goal.level == "change")
    assert aim is not None
    model.minimize(aim.total)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model.copy(None, model.outside(choice, set()))) == cp_model.OPTIMAL
    assert solver.objective_value == aim.value(choice) > 0
