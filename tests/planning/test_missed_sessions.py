"""An evening that never was: its food and pouches come back, its session is never taken for
another's."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from planning.squash_season import AUTUMN, SEASON
from planning.starter_folder import SPRING, folder_in, plan_on
from season_tables import write_season

from harvestplan.plan.file import plan_bytes
from harvestplan.plan.models import Plan
from harvestplan.planning.read import read_household
from harvestplan.records.diary import read_diary
from harvestplan.records.held_sessions import finished

DAY = dt.timedelta(days=1)


@pytest.fixture(scope="module")
def spring(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    folder = folder_in(tmp_path_factory.mktemp("missed"))
    return folder, plan_on(folder, SPRING, None)


def written(folder: Path, *lines: str) -> None:
    (folder / "diary.txt").write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")


def test_a_missed_session_is_planned_anew(spring: tuple[Path, Plan]) -> None:
    folder, before = spring
    session = next(s for s in before.sessions if any(r.product.startswith("dry") for r in s.runs))
    day = session.start.date()
    written(folder, f"{day + DAY} keep free {day}")
    after = plan_on(folder, day + DAY, before)
    missed = next(s for s in after.sessions if s.uid == session.uid)
    assert missed.status != "done"
    assert missed.start.date() > day or missed.status == "cancelled"
    wanted = next(w for w in after.wants if w.product == "dry bean, sealed")
    assert (wanted.planned, wanted.short) == (8, 0)
    assert not any(s.start.date() == day and s.status != "cancelled" for s in after.sessions)
    # Nothing of it lies in the freezer, only what was put by before.
    done = [s for s in before.sessions if s.start.date() < day]
    put_by = sum(run.pouches for s in done for run in s.runs)
    assert sum(row.portions for row in after.opening or ()) == put_by


def test_what_was_frozen_that_day_says_that_it_was(spring: tuple[Path, Plan]) -> None:
    folder, before = spring
    session = before.sessions[0]
    day, run = session.start.date(), session.runs[0]
    written(folder, f"{day + DAY} keep free {day}", f'{day} froze "{run.product}" 1')
    diary = read_diary(folder)
    assert session.uid in {s.uid for s in finished(before.sessions, diary, day + DAY)}
    written(folder, f"{day + DAY} keep free {day}", f'{day - DAY} froze "{run.product}" 1')
    diary = read_diary(folder)
    assert session.uid not in {s.uid for s in finished(before.sessions, diary, day + DAY)}


def test_cancelled_sessions_stay_for_good(spring: tuple[Path, Plan], tmp_path: Path) -> None:
    _, before = spring
    fewer = folder_in(tmp_path / "fewer", ("portions = 20", "portions = 0"))
    after = plan_on(fewer, SPRING, before)
    gone = {s.uid for s in after.sessions if s.status == "cancelled"}
    assert gone
    household = read_household(fewer, SPRING)
    late = household.season.season.end - dt.timedelta(days=20)
    later = plan_on(fewer, late, after)
    assert {s.uid for s in later.sessions} >= {s.uid for s in after.sessions}
    assert {s.uid for s in later.sessions if s.status == "cancelled"} >= gone


@pytest.mark.parametrize("tired_again", [False, True])
def test_what_was_never_cooked_is_not_packed(tmp_path: Path, tired_again: bool) -> None:
    """Squash was to be roasted on Tuesday and packed on Wednesday; nobody roasted it."""
    write_season(tmp_path, SEASON)
    before = plan_on(tmp_path, AUTUMN, None)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "plan.json").write_bytes(plan_bytes(before))
    cooks, packs = before.sessions[:2]
    assert {r.second_sitting_of for r in packs.runs} == {r.id for r in cooks.runs}
    day, next_day = cooks.start.date(), packs.start.date()
    assert next_day == day + DAY
    lines = [f"{next_day} keep free {each}" for each in (day, next_day)]
    written(tmp_path, *lines[: 1 + tired_again])
    household = read_household(tmp_path, next_day)
    (note,) = household.notes
    assert "Nothing is written down of winter squash (expected about" in note
    after = plan_on(tmp_path, next_day, before)
    live = [s for s in after.sessions if s.status != "cancelled"]
    assert live and all(s.status == "planned" and s.start.date() > next_day for s in live)
    assert after.wants == before.wants
