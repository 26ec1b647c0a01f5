"""Whatever a household writes: a sentence, or a plan that keeps every rule, twice in a season."""

from __future__ import annotations

import csv
import datetime as dt
import io
from pathlib import Path

import pytest
import vobject
from each_case import each, named
from trust.seasons import Packs, write_season

from harvestplan.check import check_plan
from harvestplan.errors import HarvestPlanError
from harvestplan.household import Household
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import read_plan
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

LIBRARY = load_library()
LITTLE = Effort(nodes=30, nearby=0.5, rounds=1)
TWO_MONTHS = dt.timedelta(days=61)


STUMBLED = (114, 217, 223)
"""Once they brought the solver down, packed food before it was there, or let it stand."""


@each("seed", (*range(27), *STUMBLED))
def test_a_random_season_is_planned_and_planned_again(tmp_path: Path, seed: int) -> None:
    live_through(tmp_path, seed)


@each("seed", range(700, 708))
def test_a_random_season_without_a_sealing_machine(tmp_path: Path, seed: int) -> None:
    live_through(tmp_path, seed, "by hand")


@each("seed", range(720, 726))
def test_a_random_season_with_bags_and_boxes_beside_a_machine(tmp_path: Path, seed: int) -> None:
    live_through(tmp_path, seed, "both")


@pytest.mark.slow
@pytest.mark.parametrize("block", range(5))
def test_many_random_seasons(tmp_path: Path, block: int) -> None:
    for seed in range(27 + 100 * block, 127 + 100 * block):
        with named(seed):
            folder = tmp_path / str(seed)
            folder.mkdir()
            live_through(folder, seed)


def live_through(folder: Path, seed: int, packs: Packs = "sealed") -> None:
    """Plan the season of `seed`, write it, and in the middle of it plan and write it again."""
    day = write_season(folder, seed, LIBRARY, packs)
    first = planned(folder, day, None)
    if first is None:
        return
    again = planned(folder, max(day, dt.date(2027, 6, 10)) + TWO_MONTHS, first)
    if again is not None:
        judge_past(first, again)


def planned(folder: Path, day: dt.date, earlier: Plan | None) -> Plan | None:
    """The written and judged plan, or None where a sentence says why there is none."""
    household = read_household(folder, day)  # what the generator writes is sound
    try:
        plan = make_plan(household, day, earlier, effort=LITTLE, say=lambda text: None)
    except HarvestPlanError as error:
        assert error.exit_code == 4, error  # never "breaks its own rules"
        assert str(error).endswith(".") and len(str(error)) > 30
        return None
    season, windows = household.season, household.windows
    house = Household(season, LIBRARY, tuple(windows), visits=household.visits)
    assert check_plan(plan, house, earlier) == ()
    proof = plan.proof
    assert proof is not None and proof.bound >= proof.worth
    assert sum(part.portions for part in proof.parts) == pytest.approx(proof.worth, abs=0.01)
    for line in plan.balance:
        parts = line.preserved_grams + line.fresh_grams + line.surplus_grams
        assert line.grams == parts, line
    judge_written(plan, household)
    return plan


def judge_written(plan: Plan, household: Household) -> None:
    """Everything written is read back by the ordinary readers of its format."""
    out = household.folder / "out"
    for path in write_outputs(plan, household.season, household.library, out=out):
        assert path.read_bytes(), path
    assert read_plan(out / "plan.json") == plan
    calendar = vobject.readOne((out / "sessions.ics").read_text(encoding="utf-8"))
    events = {event.uid.value for event in calendar.contents.get("vevent", [])}
    assert {session.uid for session in plan.sessions} <= events
    vobject.readOne((out / "tasks.ics").read_text(encoding="utf-8"))
    rows = list(csv.reader(io.StringIO((out / "shopping.csv").read_text(encoding="utf-8-sig"))))
    assert len({len(row) for row in rows}) == 1
    assert len(rows) == 1 + len(plan.shopping)


def judge_past(first: Plan, again: Plan) -> None:
    """Done sessions stand as they were, and nothing that is gone lends its UID to another."""
    was = {session.uid: session for session in first.sessions}
    now = {session.uid: session for session in again.sessions}
    assert len(now) == len(again.sessions)
    assert set(was) <= set(now)
    for uid, session in was.items():
        if session.start.date() < again.as_of:
            kept = now[uid]
            assert kept.status == "done"
            assert (kept.start, kept.end, kept.runs, kept.tasks) == (
                session.start,
                session.end,
                session.runs,
                session.tasks,
            )
