"""Food on trays lies there until it is frozen and is packed at a visit the next day.

That loose pieces are packed as soon as they are frozen: NCHFP, Dry or tray packing for fruits.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from planning.berry_season import PLUM, SPRING, STRAWBERRY, berry_folder, made, visits
from planning.freezer_folder import plan_on
from season_tables import house, kitchen, write_season

from harvestplan.plan.models import Plan, Session
from harvestplan.planning.read import read_household

DAY = dt.timedelta(days=1)


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    folder = berry_folder(tmp_path_factory.mktemp("berries"))
    return folder, plan_on(folder, SPRING)


@pytest.fixture
def published(planned: tuple[Path, Plan], tmp_path: Path) -> tuple[Path, Plan]:
    """A copy of the folder with its plan, to write a diary in."""
    folder = berry_folder(tmp_path / "season")
    (folder / "out").mkdir()
    (folder / "out" / "plan.json").write_bytes((planned[0] / "out" / "plan.json").read_bytes())
    return folder, planned[1]


def first_of(plan: Plan, visit: Session) -> Session:
    begun = {run.second_sitting_of for run in visit.runs}
    return next(s for s in plan.sessions if any(run.id in begun for run in s.runs))


def diary(folder: Path, *lines: str) -> None:
    (folder / "diary.txt").write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")


def test_one_evening_a_week_puts_by_all_the_fruit(planned: tuple[Path, Plan]) -> None:
    """The evening ends when the trays are in the freezer; the visit only packs."""
    _, plan = planned
    assert made(plan) == {STRAWBERRY: 15, PLUM: 10}
    assert visits(plan)
    for visit in visits(plan):
        evening = first_of(plan, visit)
        assert evening.start.date() + DAY == visit.start.date()
        assert {task.step for task in evening.tasks}.isdisjoint({"portion", "seal", "freeze"})
        assert {task.step for task in visit.tasks} == {
            "set up", "portion", "seal", "freeze", "clean up",
        }  # fmt: skip
        assert visit.end - visit.start <= dt.timedelta(minutes=30)
        assert (visit.start.time(), visit.hands) == (dt.time(17, 30), 1)


def test_without_visits_nothing_is_packed_in_time(tmp_path: Path) -> None:
    folder = berry_folder(tmp_path, ("# more", 'visits = "none"'))
    plan = plan_on(folder, SPRING)
    assert made(plan) == {STRAWBERRY: 0, PLUM: 0}
    assert not plan.sessions


def test_without_visits_the_evening_after_packs(tmp_path: Path) -> None:
    days = ('days = ["thu"]', 'days = ["thu", "fri"]')
    plan = plan_on(berry_folder(tmp_path, days, ("# more", 'visits = "none"')), SPRING)
    assert made(plan) == {STRAWBERRY: 15, PLUM: 10}
    assert not visits(plan)
    packing = [s for s in plan.sessions if any(run.second_sitting_of for run in s.runs)]
    assert {s.start.strftime("%a") for s in packing} == {"Fri"}


def test_a_crate_of_blueberries_is_packed_in_three_evenings(tmp_path: Path) -> None:
    """28 lb less stems and soft berries (5 %, so the crop file) are 35 pouches of 12 oz."""
    chamber = kitchen(sealer='kind = "chamber"\nbar = "12 in"\nchamber = "16x14x5 in"')
    text = house("2027-07-01", "2027-07-31", days="mon wed fri", hours=("18:00", "21:00"))
    text += chamber + 'tray_area = "12 ft2"\n'
    text += '[[bought]]\nitem = "blueberry"\namount = "28 lb"\non = 2027-07-12\nkeeps = "5 days"\n'
    text += '[[want]]\nproduct = "blueberry, whole"\nportions = 35\nportion = "12 oz"\n'
    plan = plan_on(write_season(tmp_path, text), dt.date(2027, 7, 5))
    assert made(plan)["blueberry, whole"] >= 0.8 * 35
    assert sum(not s.is_visit for s in plan.sessions) <= 3


def test_trays_that_lie_in_the_freezer_are_packed_whatever_comes(
    published: tuple[Path, Plan],
) -> None:
    folder, plan = published
    visit = visits(plan)[0]
    after = plan_on(folder, visit.start.date(), plan)
    kept = next(s for s in after.sessions if s.uid == visit.uid)
    assert (kept.status, kept.kind, kept.runs, kept.start) == (
        "firm", "visit", visit.runs, visit.start,
    )  # fmt: skip
    diary(folder, f"{visit.start.date()} keep free {visit.start.date()}")
    household = read_household(folder, visit.start.date())
    assert any("is not followed" in note for note in household.notes)
    assert visit.uid in {
        s.uid for s in plan_on(folder, visit.start.date(), plan).sessions if s.live
    }


def test_what_was_packed_at_a_visit_is_written_and_counts(published: tuple[Path, Plan]) -> None:
    folder, plan = published
    visit = visits(plan)[0]
    (run,) = visit.runs
    today, next_day = visit.start.date(), visit.start.date() + DAY
    diary(folder, f'{today} froze "{run.product}" {run.pouches - 1}')
    after = plan_on(folder, next_day, plan)
    assert next(s for s in after.sessions if s.uid == visit.uid).status == "done"
    (row,) = [r for r in after.opening or () if r.product == run.product]
    assert row.portions == run.pouches - 1
    assert not any(visit.uid in w.message or "counts as made" in w.message for w in after.warnings)


def test_a_visit_of_which_nothing_is_told_asks_after_the_trays(
    published: tuple[Path, Plan],
) -> None:
    """For two days, in which it may still be packed; later nobody is asked any more."""
    folder, plan = published
    day = visits(plan)[0].start.date()
    asked = [
        any("counts as made" in note for note in read_household(folder, day + n * DAY).notes)
        for n in range(5)
    ]
    assert asked == [False, True, True, False, False]


@pytest.mark.parametrize(
    ("days", "hour", "why"),
    [(1, 8, ""), (0, 20, ""), (3, 8, "has dried out"), (-1, 23, "is not frozen")],
)
def test_a_visit_to_trays_in_the_freezer_moves_while_they_keep(
    published: tuple[Path, Plan], days: int, hour: int, why: str
) -> None:
    """On the evening itself, once the trays are in."""
    folder, plan = published
    visit = visits(plan)[0]
    to = dt.datetime.combine(visit.start.date() + days * DAY, dt.time(hour), visit.start.tzinfo)
    today = visit.start.date() - DAY if days < 0 else visit.start.date()
    line = f"moved session {visit.start:%Y-%m-%d %H:%M} to {to:%Y-%m-%d %H:%M}"
    diary(folder, f"{today} {line}")
    after = plan_on(folder, today, plan)
    now = next(s for s in after.sessions if s.uid == visit.uid)
    assert now.start == (visit.start if why else to)
    told = [w.message for w in after.warnings if w.code == "moved-session"]
    assert (why in told[0]) if why else not told


def test_a_visit_still_to_come_moves_with_its_trays(published: tuple[Path, Plan]) -> None:
    folder, plan = published
    visit = visits(plan)[-1]
    to = visit.start + DAY - dt.timedelta(hours=7)
    today = visit.start.date() - 14 * DAY
    line = f"moved session {visit.start:%Y-%m-%d %H:%M} to {to:%Y-%m-%d %H:%M}"
    diary(folder, f"{today} {line}")
    after = plan_on(folder, today, plan)
    now = next(s for s in after.sessions if s.uid == visit.uid)
    assert (now.start, now.kind) == (to, "visit")
    assert first_of(after, now).start == first_of(plan, visit).start


def test_a_day_kept_free_has_no_visit(published: tuple[Path, Plan]) -> None:
    folder, plan = published
    visit = visits(plan)[-1]
    day = visit.start.date()
    diary(folder, f"{day - 14 * DAY} keep free {day}")
    after = plan_on(folder, day - 14 * DAY, plan)
    assert day not in {s.start.date() for s in after.sessions if s.live}
    assert made(after)[PLUM] == 10
