"""Food in the house is not left to spoil for food that a poor year may not bring."""

from __future__ import annotations

import dataclasses
import datetime as dt
from pathlib import Path

import pytest
from planning.starter_folder import SPRING, folder_in, plan_on

from harvestplan.plan.models import Plan
from harvestplan.planning.make import state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.statement.in_house import needed_from_house
from harvestplan.schedule.statement.problem import Problem

DAY = dt.timedelta(days=1)


@pytest.fixture(scope="module")
def missed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan, dt.date]:
    """A folder whose first evening of beans was missed, with 12 lb of them in the fridge; its plan
    and the morning after."""
    folder = folder_in(tmp_path_factory.mktemp("house"))
    before = plan_on(folder, SPRING, None)
    session = next(s for s in before.sessions if any(r.crop == "snap bean" for r in s.runs))
    day = session.start.date()
    (folder / "diary.txt").write_text(
        f"{day - DAY} picked snap bean 12 lb\n{day + DAY} keep free {day}\n", encoding="utf-8"
    )
    return folder, before, day + DAY


@pytest.fixture(scope="module")
def problem(missed: tuple[Path, Plan, dt.date]) -> Problem:
    folder, before, today = missed
    return state_problem(read_household(folder, today), today, before)


def with_low(problem: Problem, share: float) -> Problem:
    """The forecast's low end at such a share of what is likely."""
    lots = tuple(
        lot.model_copy(update={"low_grams": round(share * lot.grams)}) for lot in problem.lots
    )
    return dataclasses.replace(problem, lots=lots)


def test_of_a_scarce_crop_all_that_the_wants_can_take_is_needed(problem: Problem) -> None:
    (beans,) = (f for f in needed_from_house(with_low(problem, 0.1)) if f.raw == 387)
    (there,) = beans.lots
    assert problem.lots[there].crop == "snap bean"
    assert beans.grams == problem.free[there] == round(12 * 453.59237)
    demands = [d for d in problem.demands if d.process.crop.name == "snap bean"]
    assert beans.grams <= sum(d.process.raw(d.portions) for d in demands)


def test_nothing_is_needed_where_what_was_planned_can_be_made_all_the_same(
    missed: tuple[Path, Plan, dt.date],
) -> None:
    folder, before, today = missed
    earlier = today - 3 * DAY  # before the beans were picked: no evening was missed yet
    problem = state_problem(read_household(folder, earlier), earlier, before)
    assert not [f for f in needed_from_house(with_low(problem, 0.0)) if f.raw == 387]
    assert needed_from_house(with_low(problem, 1.0)) == ()


def test_without_a_plan_before_there_is_nothing_to_keep_to(problem: Problem) -> None:
    assert needed_from_house(dataclasses.replace(problem, earlier=None)) == ()


def test_the_next_evenings_take_what_lies_in_the_house(
    missed: tuple[Path, Plan, dt.date],
) -> None:
    folder, before, today = missed
    day = today - DAY
    gone = next(s for s in before.sessions if s.start.date() == day)
    pouches = sum(run.pouches for run in gone.runs if run.crop == "snap bean")
    after = plan_on(folder, today, before)
    (picked,) = (lot for lot in after.lots if lot.picked)
    soon = [s for s in after.sessions if s.status != "cancelled" and s.start.date() > day]
    taken = [
        share.grams for s in soon for r in s.runs for share in r.lots if share.lot == picked.id
    ]
    assert sum(taken) >= pouches * 387
    # A plan made again without news keeps to it.
    again = plan_on(folder, today, after)
    held = [[(s.start, s.runs) for s in plan.sessions] for plan in (after, again)]
    assert held[0] == held[1]
