"""Planning again in mid-season: the past stands, what is near stands, only what must move moves."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from planning.starter_folder import JULY, SPRING, folder_in, plan_on

from harvestplan.outputs.terminal.plan_changes import changes_text, ready_shifts
from harvestplan.plan.models import Plan
from harvestplan.planning.read import read_household


@pytest.fixture(scope="module")
def spring(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    folder = folder_in(tmp_path_factory.mktemp("spring"))
    return folder, plan_on(folder, SPRING, None)


def first_undone(before: Plan, after: Plan) -> dt.date:
    """The first day of a session whose food, as known later, is not ripe yet or gone by then: what
    has not ripened by the later day is no longer expected before it."""
    lots = {lot.id: lot for lot in after.lots}
    undone = [
        session.start.date()
        for session in before.sessions
        for run in session.runs
        for share in run.lots
        if share.lot in lots
        and not lots[share.lot].ready <= session.start.date() <= lots[share.lot].keep_until
    ]
    return min(undone, default=dt.date.max)


def test_without_news_the_past_is_done_and_the_rest_is_kept(spring: tuple[Path, Plan]) -> None:
    folder, before = spring
    after = plan_on(folder, JULY, before)
    until = first_undone(before, after)
    assert until > JULY
    new = {session.uid: session for session in after.sessions}
    for was in before.sessions:
        if was.start.date() >= until:
            continue
        session = new[was.uid]
        assert session.start == was.start
        made, promised = ([(r.product, r.pouches) for r in s.runs] for s in (session, was))
        assert made == promised
        if session.start.date() < JULY:
            assert (session.status, session.runs) == ("done", was.runs)
    assert any(session.status == "done" for session in after.sessions)
    # Evenings that are past cost nothing any more: it may pay to put by more, never less.
    for now, was in zip(after.wants, before.wants, strict=True):
        assert now.planned >= was.planned


def test_the_freezer_is_counted_on_through_the_replan(spring: tuple[Path, Plan]) -> None:
    folder, before = spring
    after = plan_on(folder, JULY, before)
    until = first_undone(before, after)
    was = {(row.date, row.name): row.used_ml for row in before.freezer}
    now = {(row.date, row.name): row.used_ml for row in after.freezer if row.date < until}
    assert now
    assert all(was[key] == used for key, used in now.items())


def test_beans_nine_days_early_move_only_what_has_to_move(tmp_path: Path) -> None:
    plain = folder_in(tmp_path / "plain")
    before = plan_on(plain, SPRING, None)
    first = min(lot.ready for lot in before.lots if lot.planting == "snap-bean")
    early = first - dt.timedelta(days=9)
    line = 'crop = "snap bean"\nrow = "30 ft"'
    folder = folder_in(tmp_path / "early", (line, f"{line}\nfirst_pick = {early.isoformat()}"))
    today = early - dt.timedelta(days=4)
    after = plan_on(folder, today, before)
    assert ready_shifts(before, after) == {"snap-bean": -9}
    told = " ".join(changes_text(before, after).split())
    assert "snap bean 9 days early" in told
    assert after.proof is not None
    moved = {part.part: part.portions for part in after.proof.parts}["moving"]
    assert moved < 0, "moving is counted"
    # What holds no beans stays where it was.
    old = {session.uid: session for session in before.sessions}
    for session in after.sessions:
        was = old.get(session.uid)
        if was is not None and not any(
            run.crop == "snap bean" for run in (*was.runs, *session.runs)
        ):
            assert session.window_start == was.window_start


def test_firm_sessions_stay_even_when_their_food_is_late(spring: tuple[Path, Plan]) -> None:
    folder, before = spring
    session = next(s for s in before.sessions if any(r.crop == "snap bean" for r in s.runs))
    eve = session.start.date() - dt.timedelta(days=1)
    late = folder_in(
        folder.parent / "late",
        ('crop = "snap bean"', f'first_pick = {eve + dt.timedelta(days=12)}\ncrop = "snap bean"'),
    )
    after = plan_on(late, eve, before)
    kept = next(s for s in after.sessions if s.uid == session.uid)
    assert kept.status == "firm"
    assert (kept.start, kept.runs) == (session.start, session.runs)
    moved = plan_on(late, eve, before, move_firm=True)
    assert not any(
        s.start.date() == session.start.date() and any(r.crop == "snap bean" for r in s.runs)
        for s in moved.sessions
    )


def test_a_dropped_session_stays_as_a_tombstone_and_uids_are_never_reused(tmp_path: Path) -> None:
    before = plan_on(folder_in(tmp_path / "a"), SPRING, None)
    no_beans = folder_in(tmp_path / "b", ("portions = 20", "portions = 0"))
    after = plan_on(no_beans, SPRING, before)
    cancelled = [s for s in after.sessions if s.status == "cancelled"]
    assert cancelled
    assert all(s.sequence == 1 and not s.tasks for s in cancelled)
    again = plan_on(tmp_path / "a", SPRING, after)
    gone = {s.uid for s in cancelled}
    fresh = {s.uid for s in again.sessions if s.status != "cancelled"}
    assert not gone & fresh


def test_after_the_last_free_evening_what_is_done_stands(spring: tuple[Path, Plan]) -> None:
    folder, before = spring
    late = max(w.end for w in read_household(folder, SPRING).windows).date() + dt.timedelta(days=9)
    after = plan_on(folder, late, before)
    assert {s.uid: s.status for s in after.sessions} == {s.uid: "done" for s in before.sessions}
    assert plan_on(folder, late, after) == after
