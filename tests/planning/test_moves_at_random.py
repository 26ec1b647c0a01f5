"""Whatever a household moves and keeps free, the next plan is valid and holds what it says."""

from __future__ import annotations

import datetime as dt
import random
from pathlib import Path

import pytest
from each_case import each
from outputs.calendar.home_calendar import SEASON, SPRING, Home

from harvestplan.plan.models import Plan, Session
from harvestplan.records.diary import append_event


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("first")
    (folder / "season.toml").write_text(SEASON, encoding="utf-8")
    Home(folder, "").plan_again()
    return {
        name: (folder / name).read_bytes()
        for name in ("season.toml", "out/plan.json", "out/sessions.ics")
    }


def shown(moment: dt.datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M}"


def say_something(draw: random.Random, folder: Path, live: list[Session], day: dt.date) -> None:
    """A line of the diary, sensible or not: near and far, onto other sessions, said twice."""
    session, other = draw.choice(live), draw.choice(live)
    if draw.random() < 0.35:
        time = f" {session.start:%H:%M}" if draw.random() < 0.4 else ""
        append_event(folder, "keep", f"free {session.start:%Y-%m-%d}{time}", on=day)
        return
    quarter = dt.timedelta(minutes=15)
    to = draw.choice(
        [
            session.start
            + dt.timedelta(days=draw.randint(-9, 9))
            + draw.randint(-20, 20) * quarter,
            session.start + dt.timedelta(days=1),
            session.start + 2 * quarter,
            other.start + draw.choice((0, 2)) * quarter,
        ]
    )
    append_event(folder, "moved", f"session {shown(session.start)} to {shown(to)}", on=day)


def assert_held(plan: Plan, day: dt.date) -> None:
    standing = {s.uid: s for s in plan.sessions if s.status != "cancelled"}
    for wish in plan.wishes:
        if not wish.why and wish.moved_to.date() >= day:
            assert standing[wish.session].start == wish.moved_to


@each("seed", range(3))
def test_three_rounds(seed: int, first: dict[str, bytes], tmp_path: Path) -> None:
    live_three_rounds(seed, first, tmp_path)


@pytest.mark.slow
@each("seed", range(3, 25))
def test_three_rounds_of_many(seed: int, first: dict[str, bytes], tmp_path: Path) -> None:
    live_three_rounds(seed, first, tmp_path)


def live_three_rounds(seed: int, first: dict[str, bytes], tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    for name, data in first.items():
        (tmp_path / name).write_bytes(data)
    home, draw, day = Home(tmp_path, ""), random.Random(seed), SPRING
    for _ in range(3):
        live = [s for s in home.live() if s.start.date() >= day]
        if not live:
            break
        if draw.random() < 0.6:
            eve = draw.choice(live).start.date() - dt.timedelta(days=draw.choice((0, 1, 1, 2, 5)))
            day = max(day, eve)
            live = [s for s in live if s.start.date() >= day]
        for _ in range(draw.choice((1, 1, 2, 3)) if live else 0):
            say_something(draw, tmp_path, live, day=day)
        plan = home.plan_again(day)
        assert "No finding" in home.findings()
        assert_held(plan, day)
