"""Warnings are few, in the household's measures, and name all they are about."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from browser.saved_plan import demo_data, demo_folder

from harvestplan.forecast.lots import lots_from
from harvestplan.inputs.quantities import read_quantity
from harvestplan.plan.models import Plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem
from harvestplan.schedule.written.warnings import one_minute

AS_OF = dt.date(2027, 3, 15)


@pytest.fixture(scope="module")
def problem() -> Problem:
    household = read_household(demo_folder(), AS_OF)
    lots = lots_from(household.forecast, household.season, household.library)
    return build_problem(household, lots, AS_OF)


def test_one_warning_for_each_pot_that_is_slow_to_boil_again(problem: Problem) -> None:
    sessions = Plan.model_validate(demo_data()).sessions
    slow = {
        run.product
        for session in sessions
        for run in session.runs
        for task in session.tasks
        if task.run == run.id and task.settings.get("return_s", 0) > 60
    }
    assert len(slow) > 3
    (advice,) = one_minute(problem, sessions)
    assert advice.message.startswith("big kettle: full potfuls")
    assert all(f"{product}, about " in advice.message for product in slow)
    assert advice.message.count("a minute with") == len(slow)
    assert " oz)" in advice.message and " g)" not in advice.message


def test_the_batch_it_names_is_back_in_a_minute(problem: Problem) -> None:
    """To the ounce, and rather less; a batch of whole pieces takes its heat up slowly."""
    (advice,) = one_minute(problem, Plan.model_validate(demo_data()).sessions)
    named = re.findall(r"([a-z ]+, [a-z]+), about \d+ s \(a minute with ([^)]+)\)", advice.message)
    assert len(named) > 3
    pot = problem.kitchen.pot("big kettle")
    for name, amount in named:
        process = next(d.process for d in problem.demands if d.process.name == name.strip())
        (blanching,) = (step for step in process.product.steps if step.step == "blanch")
        grams = read_quantity(amount, "mass", "US").value
        back = pot.return_seconds(grams, process.crop.water_share.value, blanching.piece)
        assert 45 < back <= 60.5, name


def test_none_where_all_potfuls_are_back_in_time(problem: Problem) -> None:
    sessions = Plan.model_validate(demo_data()).sessions
    quick = [
        session.model_copy(
            update={
                "tasks": tuple(
                    task.model_copy(update={"settings": task.settings | {"return_s": 60}})
                    for task in session.tasks
                )
            }
        )
        for session in sessions
    ]
    assert one_minute(problem, quick) == []
