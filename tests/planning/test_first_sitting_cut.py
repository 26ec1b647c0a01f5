"""An evening that only cooks is cut short: the one that packs what it cooked gets less to pack.

Squash is roasted in two trayfuls on Tuesday, chilled, and packed on Wednesday.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from planning.squash_season import AUTUMN, SEASON
from season_tables import write_season

from harvestplan.check import check_plan
from harvestplan.errors import NoValidPlan
from harvestplan.household import Household
from harvestplan.plan.models import Plan, Session
from harvestplan.planning.make import cut_session, make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort


@pytest.fixture(scope="module")
def promised(tmp_path_factory: pytest.TempPathFactory) -> tuple[Household, Plan]:
    """The season as it stands on the first evening that cooks, and its household that day."""
    folder = write_season(tmp_path_factory.mktemp("squash"), SEASON)
    plan = make_plan(
        read_household(folder, AUTUMN), AUTUMN, None, effort=Effort(), say=lambda text: None
    )
    first = plan.sessions[0]
    near = first.start.date() + dt.timedelta(days=1)
    sessions = tuple(
        s.model_copy(update={"status": "firm"}) if s.start.date() <= near else s
        for s in plan.sessions
    )
    household = read_household(folder, first.start.date())
    return household, plan.model_copy(update={"sessions": sessions})


def pair(plan: Plan) -> tuple[Session, Session]:
    """The first evening that cooks, and the one that packs it."""
    cooks = plan.sessions[0]
    packs = next(
        s for s in plan.sessions if any(r.second_sitting_of == cooks.runs[0].id for r in s.runs)
    )
    return cooks, packs


def cut(promised: tuple[Household, Plan], now: str, until: str) -> Plan:
    household, plan = promised
    start = plan.sessions[0].start
    begun, ends = (
        dt.datetime.combine(start.date(), dt.time.fromisoformat(t), start.tzinfo)
        for t in (now, until)
    )
    _, stands = cut_session(household, plan, begun, until=ends)
    return stands


def test_it_is_cooked_on_one_evening_and_packed_on_the_next(
    promised: tuple[Household, Plan],
) -> None:
    cooks, packs = pair(promised[1])
    assert [run.pouches for run in cooks.runs] == [0]
    assert [run.pouches for run in packs.runs] == [2]
    assert len([task for task in cooks.tasks if task.step == "roast"]) == 2


def test_the_trayful_that_is_not_begun_is_left_and_less_is_packed(
    promised: tuple[Household, Plan],
) -> None:
    """At 18:26 only the first trayful is being cut up: an hour in the oven from 18:27, 4 1/2 min to
    mash, 53 1/2 to chill and 20 to clean up, and all is done at 20:45."""
    before = promised[1]
    stands = cut(promised, "18:26", "20:50")
    cooks, packs = pair(stands)
    was_cooked, was_packed = pair(before)
    assert cooks.end.time() == dt.time(20, 45)
    (cooked,), (packed,) = cooks.runs, packs.runs
    assert len([task for task in cooks.tasks if task.step == "roast"]) == 1
    assert (cooked.pouches, packed.pouches) == (0, 1)
    # Half the squash is cooked; what the chain leaves of it is packed: half of what was.
    assert cooked.grams_in == sum(share.grams for share in cooked.lots)
    assert 2 * cooked.grams_in == was_cooked.runs[0].grams_in
    assert 2 * packed.grams_in == pytest.approx(was_packed.runs[0].grams_in, abs=1)
    assert packed.grams_packed == pytest.approx(packed.portion_grams, abs=2)
    assert (cooks.sequence, packs.sequence) == (was_cooked.sequence + 1, was_packed.sequence + 1)
    assert packs.start == was_packed.start and packs.end < was_packed.end


def test_the_plan_that_follows_keeps_every_rule_and_makes_the_rest_later(
    promised: tuple[Household, Plan],
) -> None:
    household, before = promised
    start = before.sessions[0].start
    now, until = (
        dt.datetime.combine(start.date(), t, start.tzinfo)
        for t in (dt.time(18, 26), dt.time(20, 50))
    )
    there, stands = cut_session(household, before, now, until=until)
    after = make_plan(there, start.date(), stands, effort=Effort(), say=lambda text: None)
    found = check_plan(after, household, before)
    assert found == ()
    assert after.wants[0].short == 0


@pytest.mark.parametrize("until", ["18:26", "18:10"])
def test_the_rest_ends_after_it_begins(promised: tuple[Household, Plan], until: str) -> None:
    with pytest.raises(NoValidPlan, match=f"{until} is not after 18:26"):
        cut(promised, "18:26", until)


def test_once_both_are_begun_both_are_cooked(promised: tuple[Household, Plan]) -> None:
    """A minute later the second trayful is on the board; it is an hour behind the
    first in the one oven, and until 21:45 nothing can be left."""
    with pytest.raises(NoValidPlan, match="The earliest is 21:45: say"):
        cut(promised, "18:28", "20:50")
    assert cut(promised, "18:28", "21:50").sessions == promised[1].sessions


def test_a_kitchen_changed_since_is_no_kitchen_to_lay_the_rest_out_in(
    promised: tuple[Household, Plan], tmp_path: Path
) -> None:
    """With a larger tray all squash would go in at once; but half of it is in the oven already."""
    changed = write_season(tmp_path, SEASON, ("1.4 lb", "3 lb"))
    start = promised[1].sessions[0].start
    household = read_household(changed, start.date())
    now = start + dt.timedelta(minutes=40)
    with pytest.raises(NoValidPlan, match="begun, and the season folder now asks") as told:
        cut_session(household, promised[1], now, until=None)
    assert '"trim" of winter squash, purée' in str(told.value)
