"""What the diary says of the freezer reaches the plan, to the pouch.

That what spoiled is put by again, and what was eaten is not, is the program's own rule (common
practice, no source).
"""

from __future__ import annotations

import datetime as dt
import json
import random
from pathlib import Path

import pytest
from planning.freezer_folder import BEANS, CORN, MEAT, NO_TOIL, SPRING, plan_on, write_folder

from harvestplan.check import check_plan
from harvestplan.outputs.terminal.stock_text import stock_shown
from harvestplan.plan.models import Plan
from harvestplan.planning.make import known_store
from harvestplan.planning.read import read_household
from harvestplan.records.diary import read_diary
from harvestplan.records.stock import stock

JULY = dt.date(2027, 7, 20)
"""The beans of 14 July are done (11 pouches planned), those of 21 July promised (5)."""


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    plan = plan_on(write_folder(tmp_path_factory.mktemp("lane")), SPRING)
    made = {(s.start.date(), run.product): run.pouches for s in plan.sessions for run in s.runs}
    assert made == {
        (dt.date(2027, 6, 16), MEAT): 6,
        (dt.date(2027, 7, 14), BEANS): 11,
        (dt.date(2027, 7, 21), BEANS): 5,
    }
    return plan


def replan(tmp_path: Path, published: Plan, diary: str, day: dt.date = JULY) -> Plan:
    folder = write_folder(tmp_path / "lane", NO_TOIL)
    (folder / "diary.txt").write_text(diary, encoding="utf-8")
    return plan_on(folder, day, published)


def opened(plan: Plan) -> dict[str, int]:
    assert plan.opening is not None
    assert {row.freezer for row in plan.opening} <= {"chest"}
    return {row.product: row.portions for row in plan.opening}


def want(plan: Plan, product: str = BEANS) -> tuple[int, int, int, int, int]:
    line = next(line for line in plan.wants if line.product == product)
    return line.wanted, line.planned, line.stored, line.corrected, line.short


def ahead(plan: Plan, product: str = BEANS) -> int:
    return sum(
        run.pouches
        for session in plan.sessions
        if session.status in ("planned", "firm")
        for run in session.runs
        if run.product == product
    )


def test_while_the_diary_is_silent_all_went_as_planned(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, "")
    # A pound of meat a week from 1 July: floor(19 / 7) = 2 are eaten by the evening of the 19th.
    assert opened(plan) == {BEANS: 4 + 11, CORN: 3, MEAT: 6 - 2}
    assert want(plan) == (20, 16, 4, 0, 0)


def test_a_froze_line_counts_in_place_of_what_was_planned(tmp_path: Path, published: Plan) -> None:
    diary = f'2027-07-15 froze "{BEANS}" 8 pouches of 12 oz #aaaa\n'
    plan = replan(tmp_path, published, diary)
    # Once anything is written down, nothing counts as eaten that is not.
    assert opened(plan) == {BEANS: 4 + 8, CORN: 3, MEAT: 6}
    wanted, planned, stored, corrected, short = want(plan)
    assert (wanted, stored, corrected) == (20, 4, -3)
    assert short == 20 - planned - stored + 3
    assert ahead(plan) > 5, "the three that were lacking are planned anew"


def test_more_than_planned_is_less_to_do(tmp_path: Path, published: Plan) -> None:
    diary = f'2027-07-14 froze "{BEANS}" 10 #aaaa\n2027-07-14 froze "{BEANS}" 4 #aaab\n'
    plan = replan(tmp_path, published, diary, day=dt.date(2027, 7, 17))
    assert opened(plan)[BEANS] == 4 + 14
    assert ahead(plan) == 20 - 4 - 14
    assert want(plan)[3:] == (3, 0)


def test_an_evening_that_came_to_nothing_can_be_told(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-14 froze "{BEANS}" 0 #aaaa\n')
    assert opened(plan)[BEANS] == 4
    assert want(plan)[3] == -11


def test_what_was_frozen_beside_the_plan_counts(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-02 froze "{BEANS}" 3 #aaaa\n')
    assert opened(plan)[BEANS] == 4 + 11 + 3
    assert want(plan)[3] == 3


def test_eaten_and_given_portions_are_not_put_by_again_but_spoiled_ones_are(
    tmp_path: Path, published: Plan
) -> None:
    eaten = replan(tmp_path, published, f'2027-07-16 ate "{BEANS}" 6 #aaaa\n')
    given = replan(tmp_path, published, f'2027-07-16 gave "{BEANS}" 6 #aaaa\n')
    lost = replan(tmp_path, published, f'2027-07-16 lost "{BEANS}" 6 #aaaa\n')
    assert opened(eaten) == opened(given) == opened(lost) == {BEANS: 9, CORN: 3, MEAT: 6}
    assert want(eaten) == want(given) == (20, 16, 4, 0, 0)
    assert want(lost)[3] == -6
    assert ahead(lost) > ahead(eaten) == 5


def test_no_more_can_spoil_than_was_there(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-16 lost "{MEAT}" 40 #aaaa\n')
    assert want(plan, MEAT)[3] == -6
    assert MEAT not in opened(plan)


def test_a_dead_freezer_reopens_every_want(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, "2027-07-18 lost all #aaaa\n")
    assert opened(plan) == {}
    assert want(plan)[3] == -15
    assert want(plan, MEAT) == (6, 6, 0, -6, 6)
    first = next(row for row in plan.freezer if row.date == JULY)
    assert first.used_ml == 40_000


def test_a_count_sets_the_freezer_and_no_want(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-18 count "{BEANS}" 7 #aaaa\n')
    assert opened(plan)[BEANS] == 7
    assert want(plan) == (20, 16, 4, 0, 0)


def test_todays_session_is_done_as_soon_as_the_diary_tells_of_it(
    tmp_path: Path, published: Plan
) -> None:
    day = dt.date(2027, 7, 14)
    plan = replan(tmp_path, published, f'2027-07-14 froze "{BEANS}" 9 #aaaa\n', day=day)
    session = next(s for s in plan.sessions if s.start.date() == day)
    assert session.status == "done"
    assert opened(plan)[BEANS] == 4 + 9
    first = next(row for row in plan.freezer if row.date == day)
    assert first.used_ml == 40_000 + sum(row.volume_ml for row in plan.opening or ())
    assert first.load_grams == sum(t.grams for t in session.tasks if t.step == "freeze")


def test_the_store_shows_what_the_plan_opens_with(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-15 froze "{BEANS}" 8 #aaaa\n')
    told = json.loads(stock_shown(tmp_path / "lane", JULY, as_json=True))
    assert {p["product"]: p["portions"] for p in told["products"]} == opened(plan)
    text = " ".join(stock_shown(tmp_path / "lane", JULY, as_json=False).split())
    assert "6 portions of finished sessions count as planned" in text


def test_the_judge_counts_from_what_the_plan_opens_with(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-16 ate "{BEANS}" 6 #aaaa\n')
    household = read_household(tmp_path / "lane", JULY)
    assert plan.opening is not None
    forged = [
        row.model_copy(update={"portions": row.portions - 1}) if row.product == BEANS else row
        for row in plan.opening
    ]
    found = check_plan(plan.model_copy(update={"opening": tuple(forged)}), household)
    assert {finding.code for finding in found} == {"V8"}


def test_the_judge_asks_the_diary_what_the_plan_opens_with(tmp_path: Path, published: Plan) -> None:
    plan = replan(tmp_path, published, f'2027-07-16 ate "{BEANS}" 6 #aaaa\n')
    folder = tmp_path / "lane"
    for line, codes in (
        (f'2027-07-17 ate "{BEANS}" 1 #aaab\n', {"V8"}),
        (f'2027-07-20 ate "{BEANS}" 1 #aaab\n', set()),  # written after the plan, that evening
        (f'2027-07-21 ate "{BEANS}" 1 #aaab\n', set()),
    ):
        diary = f'2027-07-16 ate "{BEANS}" 6 #aaaa\n{line}'
        (folder / "diary.txt").write_text(diary, encoding="utf-8")
        household = read_household(folder, JULY)
        found = check_plan(plan, household, in_store=known_store(plan, household))
        assert {finding.code for finding in found} == codes


def test_plan_and_diary_agree_to_the_pouch_whatever_is_written(
    tmp_path: Path, published: Plan
) -> None:
    """Fifty diaries drawn at random; each is counted by hand with nothing but two numbers."""
    draws = random.Random(7)
    for number in range(50):
        there = {BEANS: 4 + 11, MEAT: 6}
        lines: list[str] = []
        for day in sorted(draws.choices(range(15, 21), k=draws.randint(1, 8))):
            product, verb = (
                draws.choice(list(there)),
                draws.choice(("ate", "gave", "lost", "count")),
            )
            portions = draws.randint(1, 5)
            lines.append(f'2027-07-{day} {verb} "{product}" {portions} #{number:02}{len(lines):02}')
            there[product] = portions if verb == "count" else max(0, there[product] - portions)
        folder = write_folder(tmp_path / "lane")
        (folder / "diary.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
        household = read_household(folder, JULY)
        done = [s for s in published.sessions if s.start.date() < JULY]
        diary = read_diary(folder)
        shelves = stock(household.season, household.library, diary, today=JULY, done=done)
        assert {s.product: s.portions for s in shelves if s.product in there} == there
        if number % 10 == 0:
            plan = plan_on(folder, JULY, published)
            assert {p: opened(plan).get(p, 0) for p in there} == there
