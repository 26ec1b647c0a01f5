"""A plan in the making: what is told of the search, and the first plan, handed on at once."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from collections.abc import Collection
from typing import Any

import pytest
from planning.freezer_folder import SPRING, write_folder

from harvestplan.check import check_plan
from harvestplan.check.facts import Finding
from harvestplan.errors import HarvestPlanError
from harvestplan.household import Household
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan, state_problem
from harvestplan.planning.progress_words import progress_words
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.season_search import SeasonSearch
from harvestplan.schedule.search.solve_season import Solved, solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.problem import Problem

BRIEF = Effort(nodes=20, nearby=0.3, rounds=1)


@pytest.fixture(scope="module")
def household(tmp_path_factory: pytest.TempPathFactory) -> Household:
    return read_household(write_folder(tmp_path_factory.mktemp("lane")), SPRING)


@pytest.fixture(scope="module")
def solved(household: Household) -> tuple[Problem, Solved]:
    problem = state_problem(household, SPRING, None)
    return problem, solve_season(problem, TimedSessions(problem, 1), BRIEF)


# What is told of the search.


def told(solved: tuple[Problem, Solved], **changes: Any) -> str:
    """A line on the search, with some of what it has come to changed."""
    problem, answer = solved
    usual = {"worth": 20.0, "bound": 21.0, "done": 1.0, "seconds": 10.0}
    return progress_words(problem, dataclasses.replace(answer, **{**usual, **changes}))


def test_the_best_so_far_and_how_far_it_may_be_from_the_best(
    solved: tuple[Problem, Solved],
) -> None:
    choice = solved[1].choice
    said = told(solved)
    assert said.startswith(f"So far {sum(choice.pouches.values())} portions in ")
    assert said.endswith("evenings; no plan is worth over 5% more.")
    assert told(solved, bound=20.005).endswith("; no plan is worth more.")
    # Rounded up: never less than it is.
    assert told(solved, bound=20.021).endswith("over 0.2% more.")


def test_while_nothing_is_proven_nothing_is_said_of_it(solved: tuple[Problem, Solved]) -> None:
    assert told(solved, bound=math.inf).endswith("evenings.")


@pytest.mark.parametrize(
    ("done", "seconds", "left"),
    [
        (0.0, 10, "."), (0.25, 10, "; about 30 s to go."), (0.9, 10, "."),
        (0.1, 20, "; 3 min to go."), (1.0, 10, "."),
    ],
)  # fmt: skip
def test_the_time_left_as_the_search_has_gone_so_far(
    solved: tuple[Problem, Solved], done: float, seconds: float, left: str
) -> None:
    assert told(solved, done=done, seconds=seconds).endswith(f"5% more{left}")


# The first plan.


def made(
    household: Household, earlier: Plan | None, day: dt.date = SPRING
) -> tuple[Plan, list[str], list[tuple[Plan, int]]]:
    """The plan, what was said, and the first plans handed on with how much was said before."""
    said: list[str] = []
    first: list[tuple[Plan, int]] = []
    plan = make_plan(
        household,
        day,
        earlier,
        effort=BRIEF,
        say=said.append,
        first=lambda plan: first.append((plan, len(said))),
    )
    return plan, said, first


def test_the_first_plan_is_handed_on_once_before_the_search_ends(household: Household) -> None:
    plan, said, first = made(household, None)
    ((early, heard),) = first
    assert heard == 0 < len(said), "it comes before anything is said, and the search goes on"
    assert early.sessions
    assert check_plan(early, household) == ()
    assert plan.proof is not None
    assert early.proof is None or early.proof.worth <= plan.proof.worth + 1e-6


def test_where_a_plan_is_published_only_the_last_is_handed_over(household: Household) -> None:
    """It does not say what it was made from, so all is looked at again."""
    plan, *_ = made(household, None)
    earlier = plan.model_copy(update={"basis": ""})
    again, said, first = made(household, earlier)
    assert first == [] and said
    assert again == earlier


def test_an_invalid_first_plan_is_refused(
    household: Household, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is judged like any other: here the judge finds something in whatever it is shown."""
    shown: list[Plan] = []

    def found(plan: Plan, *asked: Any, **more: Any) -> tuple[Finding, ...]:
        shown.append(plan)
        return (Finding("V1", "nothing is right"),)

    monkeypatch.setattr("harvestplan.planning.make.check_plan", found)
    handed: list[Plan] = []
    with pytest.raises(HarvestPlanError):
        make_plan(household, SPRING, None, effort=BRIEF, say=str, first=handed.append)
    assert len(shown) == 1 and handed == []


# Stopped.


def test_control_c_while_searching_keeps_the_best_so_far(
    household: Household, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(search: SeasonSearch) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(SeasonSearch, "run", stop)
    plan, _, first = made(household, None)
    assert plan.sessions == first[0][0].sessions
    assert check_plan(plan, household) == ()
    assert "stopped" in {advice.code for advice in plan.warnings}


def test_control_c_before_there_is_any_plan_makes_none(
    household: Household, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stop(search: SeasonSearch, published: Collection[int]) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(SeasonSearch, "begin", stop)
    with pytest.raises(KeyboardInterrupt):
        made(household, None)
