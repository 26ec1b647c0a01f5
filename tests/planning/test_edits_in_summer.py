"""The season's files changed in summer: what is done stays as it was, the rest follows the files.

That a household may change its kitchen, its wants and its crop files while the season is under way
is common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest
from places import CROPS
from planning.freezer_folder import BEANS, SPRING, plan_on, write_folder

from harvestplan.errors import NoValidPlan
from harvestplan.household import Household
from harvestplan.plan.file import plan_bytes
from harvestplan.plan.models import Plan, Session
from harvestplan.planning.make import cut_session, make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

JULY = dt.date(2027, 7, 20)
"""The beans of 14 July are done, those of 21 July promised."""
DONE, PROMISED = dt.date(2027, 7, 14), dt.date(2027, 7, 21)


@pytest.fixture(scope="module")
def lane(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Planned in spring and once more in July."""
    folder = write_folder(tmp_path_factory.mktemp("lane"))
    spring = plan_on(folder, SPRING)
    plan_on(folder, JULY, spring)
    return folder


def read_changed(
    there: Path, folder: Path, day: dt.date, *changes: tuple[str, str]
) -> tuple[Plan, Household]:
    """The plan published there, and the household on the day after the files were changed."""
    shutil.copytree(there, folder, dirs_exist_ok=True)
    write_folder(folder, *changes)
    published = Plan.model_validate_json((folder / "out" / "plan.json").read_bytes())
    return published, read_household(folder, day)


def planned_again(
    lane: Path, folder: Path, *changes: tuple[str, str], day: dt.date = JULY
) -> tuple[Plan, Plan]:
    """The plan published in the lane, and the next after the files were changed."""
    published, household = read_changed(lane, folder, day, *changes)
    return published, make_plan(household, day, published, effort=Effort(), say=lambda text: None)


def on(plan: Plan, day: dt.date) -> list[Session]:
    return [s for s in plan.sessions if s.start.date() == day and s.status != "cancelled"]


def words(plan: Plan) -> str:
    return " ".join(warning.message for warning in plan.warnings if warning.code == "files")


WANT = '[[want]]\nproduct = "snap bean, cut"\nportions = 20\nportion = "12 oz"\n'
FORBIDS = {
    "the want is gone": (WANT, ""),
    "smaller portions": (WANT, WANT.replace("12 oz", "8 oz")),
    "another pot": ('name = "kettle"', 'name = "stockpot"'),
    "a smaller pot": ('volume = "16 qt"', 'volume = "6 qt"'),
    "a larger pot, longer on the stove": ('volume = "16 qt"', 'volume = "18 qt"'),
    "another pouch": ('name = "quart"', 'name = "flat"'),
    "another freezer": ('name = "chest"', 'name = "upright"'),
    "a weaker burner": ('power = "3 kW"', 'power = "1.2 kW"'),
    "another bath": ('name = "sink"', 'name = "tub"'),
    "higher up": ('name = "The Lane"\n', 'name = "The Lane"\naltitude = "7000 ft"\n'),
}
ALLOWS = {
    "fewer sessions a week": ("[season]\n", "[season]\nmax_sessions_per_week = 1\n"),
    "fewer sessions": ("[season]\n", "[season]\nmax_sessions = 1\n"),
    "less wanted": (WANT, WANT.replace("20", "12")),
    "less room": ('used = "40 L"', 'used = "60 L"'),
}


AHEAD = {
    "one hand less": ("hands = 2\n", "hands = 1\n"),
    "less frozen in a day": ('used = "40 L"\n', 'used = "40 L"\nfreezing_per_day = "2 lb"\n'),
}
"""Forbidden for what is promised; what is begun by then goes on."""


@pytest.mark.parametrize("change", (FORBIDS | AHEAD).values(), ids=FORBIDS | AHEAD)
def test_what_is_promised_is_planned_anew_where_the_files_forbid_it(
    lane: Path, tmp_path: Path, change: tuple[str, str]
) -> None:
    before, plan = planned_again(lane, tmp_path, change)
    assert on(plan, DONE) == on(before, DONE)
    assert all(session.status != "firm" for session in plan.sessions)
    assert "The session promised for Wed 21 July is planned anew" in words(plan)


@pytest.mark.parametrize("change", ALLOWS.values(), ids=ALLOWS)
def test_what_is_promised_stands_where_the_files_allow_it(
    lane: Path, tmp_path: Path, change: tuple[str, str]
) -> None:
    before, plan = planned_again(lane, tmp_path, change)
    assert on(plan, DONE) == on(before, DONE)
    assert [(s.uid, s.tasks) for s in on(plan, PROMISED)] == [
        (s.uid, s.tasks) for s in on(before, PROMISED)
    ]
    assert "planned anew" not in words(plan)


def test_a_freezer_too_small_for_what_lies_there_is_said(lane: Path, tmp_path: Path) -> None:
    with pytest.raises(
        NoValidPlan, match=r"chest holds .* more than it can on Tue 20 July"
    ) as told:
        planned_again(lane, tmp_path, ('used = "40 L"', 'used = "198 L"'))
    assert "harvestplan count" in str(told.value)


def test_after_the_season_the_freezers_are_still_told(lane: Path, tmp_path: Path) -> None:
    """With nothing drawn any more, on a day past the season's end."""
    late = dt.date(2027, 9, 20)
    _, plan = planned_again(lane, tmp_path, day=late)
    assert [row.name for row in plan.freezer if row.date == late] == ["chest"]
    assert all(session.status in ("done", "cancelled") for session in plan.sessions)


def test_a_figure_of_a_crop_file_changed(lane: Path, tmp_path: Path) -> None:
    """Longer in the water than the beans that are done were."""
    crops = tmp_path / "crops"
    crops.mkdir(parents=True)
    text = (CROPS / "snap-bean.toml").read_text(encoding="utf-8")
    time = 'time = { value = "3 min"'
    assert time in text
    (crops / "snap-bean.toml").write_text(
        text.replace(time, time.replace("3", "4")).replace('high = "3 min"', 'high = "4 min"'),
        encoding="utf-8",
    )
    before, plan = planned_again(lane, tmp_path)
    assert on(plan, DONE) == on(before, DONE)
    made = {run.product for s in plan.sessions for run in s.runs}
    assert BEANS in made and "planned anew" in words(plan)


@pytest.fixture(scope="module")
def cut(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The lane on the day of its promised session, laid out again in its midst."""
    folder = write_folder(tmp_path_factory.mktemp("cut"))
    before = plan_on(folder, PROMISED, plan_on(folder, JULY, plan_on(folder, SPRING)))
    (session,) = on(before, PROMISED)
    now = session.start + (session.end - session.start) / 3
    household, stands = cut_session(
        read_household(folder, PROMISED), before, now, until=None, behind=dt.timedelta(minutes=10)
    )
    plan = make_plan(household, PROMISED, stands, effort=Effort(), say=lambda text: None)
    (folder / "out" / "plan.json").write_bytes(plan_bytes(plan))
    assert on(plan, PROMISED)[0].cut_at == now
    return folder


@pytest.mark.parametrize("change", ALLOWS.values(), ids=ALLOWS)
def test_what_is_begun_stands(cut: Path, tmp_path: Path, change: tuple[str, str]) -> None:
    published, plan = planned_again(cut, tmp_path, change, day=PROMISED)
    assert on(plan, PROMISED) == on(published, PROMISED)
    assert on(plan, DONE) == on(published, DONE)


@pytest.mark.parametrize("move_firm", [False, True])
@pytest.mark.parametrize("change", FORBIDS.values(), ids=FORBIDS)
def test_a_change_waits_until_what_is_begun_is_finished(
    cut: Path, tmp_path: Path, change: tuple[str, str], move_firm: bool
) -> None:
    """Food that is begun is neither dropped nor planned a second time."""
    published, household = read_changed(cut, tmp_path, PROMISED, change)
    with pytest.raises(NoValidPlan, match="finishes food that is begun") as told:
        make_plan(
            household,
            PROMISED,
            published,
            effort=Effort(),
            say=lambda text: None,
            move_firm=move_firm,
        )
    assert "snap bean, cut" in str(told.value) and "Wed 21 July" in str(told.value)


@pytest.mark.parametrize("change", FORBIDS.values(), ids=FORBIDS)
def test_an_evening_going_on_is_not_laid_out_by_other_files(
    cut: Path, tmp_path: Path, change: tuple[str, str]
) -> None:
    published, household = read_changed(cut, tmp_path, PROMISED, change)
    (session,) = on(published, PROMISED)
    with pytest.raises(NoValidPlan, match="finishes food that is begun"):
        cut_session(
            household, published, session.start + (session.end - session.start) / 2, until=None
        )


def test_what_is_begun_does_not_move(cut: Path, tmp_path: Path) -> None:
    published, household = read_changed(cut, tmp_path, PROMISED, ALLOWS["less wanted"])
    plan = make_plan(
        household, PROMISED, published, effort=Effort(), say=lambda text: None, move_firm=True
    )
    assert on(plan, PROMISED) == on(published, PROMISED)
