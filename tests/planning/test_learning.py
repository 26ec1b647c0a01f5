"""A season in which the evenings take longer than the book says: the next plan reckons with it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from harvestplan.check import check_plan
from harvestplan.household import Household
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.new_season.starter import Answers, files_for
from harvestplan.plan.models import Plan, Session, Task
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

SPRING, JULY = dt.date(2027, 4, 1), dt.date(2027, 7, 24)
BEANS, DRY = "snap bean, cut", "dry bean, sealed"
DIARY = """\
2027-07-01 froze "snap bean, cut" 2 pouches of 12 oz, 1 failed seal, 60 minutes
2027-07-06 froze "snap bean, cut" 2 pouches of 12 oz, 1 failed seal, 60 minutes
2027-07-13 froze "snap bean, cut" 2 pouches of 12 oz, 1 failed seal, 60 minutes
"""


def plan_on(folder: Path, day: dt.date, earlier: Plan | None) -> tuple[Household, Plan]:
    household = read_household(folder, day)
    return household, make_plan(household, day, earlier, effort=Effort(), say=lambda text: None)


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> tuple[Household, Plan, Plan]:
    """The household in July, its spring plan, and the plan after three slow evenings."""
    folder = tmp_path_factory.mktemp("slow")
    files = files_for(Answers.example(SPRING))
    for name, text in files.items():
        # A late second sowing, so that there is something left to plan in July.
        text = text.replace(
            "[[bought]]",
            '[[planting]]\ncrop = "snap bean"\nrow = "30 ft"\nsown = 2027-06-20\n\n[[bought]]',
            1,
        )
        (folder / name).write_text(text, encoding="utf-8")
    _, spring = plan_on(folder, SPRING, None)
    (folder / "diary.txt").write_text(DIARY, encoding="utf-8")
    household, july = plan_on(folder, JULY, spring)
    return household, spring, july


def beans_ahead(plan: Plan, product: str = BEANS) -> list[Session]:
    return [
        session
        for session in plan.sessions
        if session.status == "planned" and any(run.product == product for run in session.runs)
    ]


def tasks_ahead(plan: Plan, step: str) -> list[Task]:
    return [
        task
        for session in beans_ahead(plan)
        for run in session.runs
        if run.product == BEANS
        for task in session.tasks
        if task.run == run.id and task.step == step
    ]


def minutes(tasks: list[Task]) -> float:
    return sum((task.end - task.start).total_seconds() for task in tasks) / 60


def minutes_per_kg(plan: Plan, step: str) -> float:
    """Minutes of a step of the beans still ahead, per kg that enters it."""
    tasks = tasks_ahead(plan, step)
    return minutes(tasks) / (sum(task.grams for task in tasks) / 1000)


def test_what_is_ahead_is_laid_out_at_the_own_pace(plans: tuple[Household, Plan, Plan]) -> None:
    household, spring, july = plans
    pace = household.experience.paces[BEANS]
    assert pace.evenings == 3
    assert pace.factor > 1.2
    assert beans_ahead(july)
    runs = [run for session in beans_ahead(july) for run in session.runs if run.product == BEANS]
    assert {run.pace for run in runs} == {pace.factor}
    # Each task is rounded up to half a minute.
    known = household.library.find_product(BEANS)
    assert known is not None
    (trim,) = (step for step in known[1].steps if step.step == "trim")
    assert trim.per_kg is not None
    book = trim.per_kg.value * 1000 / 60
    assert book <= minutes_per_kg(spring, "trim") < 1.15 * book
    assert pace.factor * book <= minutes_per_kg(july, "trim") < 1.15 * pace.factor * book
    # Water and the clock set how long a potful takes, whoever stands by.
    potful, before = (
        minutes(tasks) / len(tasks) for tasks in (tasks_ahead(p, "blanch") for p in (july, spring))
    )
    assert potful < 1.2 * before


def test_what_is_done_stays_as_it_was_planned_and_all_of_it_is_valid(
    plans: tuple[Household, Plan, Plan],
) -> None:
    household, spring, july = plans
    done = [session for session in july.sessions if session.status == "done"]
    before = {session.uid: session for session in spring.sessions}
    assert done
    assert all(session.tasks == before[session.uid].tasks for session in done)
    assert all(run.pace == 1.0 for session in done for run in session.runs)
    assert check_plan(july, household, spring) == ()


def test_the_judge_refuses_the_books_minutes_for_a_slow_kitchen(
    plans: tuple[Household, Plan, Plan],
) -> None:
    household, spring, july = plans
    by_the_book = replace(household, experience=NOTHING_YET)
    assert check_plan(spring, by_the_book) == ()
    slow = replace(household, experience=Experience(household.experience.paces))
    assert "V5" in {finding.code for finding in check_plan(spring, slow)}
    assert [w for w in july.warnings if w.code == "pace" and BEANS in w.message]


def test_failed_seals_buy_more_spares(plans: tuple[Household, Plan, Plan]) -> None:
    _, _, july = plans
    ahead = [s for s in july.sessions if s.status in ("planned", "firm")]
    for line in (line for line in july.shopping if line.kind == "pouch"):
        used = sum(r.pouches for s in ahead for r in s.runs if r.pouch == line.item)
        # Three of nine seals failed; with the usual 5 of 100 that is 8 of 109.
        assert line.need == used + -(-used * 8 // 109)
