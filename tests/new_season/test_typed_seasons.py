"""Four new seasons as new users type them: each in few enough key presses that a slow typist, at
two seconds each, is done within eight minutes; no ordinary word is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands.at_a_terminal import talk
from typer.testing import CliRunner

from harvestplan.check import check_plan
from harvestplan.commands.cli import app
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import read_plan
from harvestplan.planning.read import read_household

EIGHT_MINUTES = 240
"""Key presses of two seconds each."""
ENTER = ""
BEGINNER = [
    ("called", "Lane"), ("Measures", ENTER), ("Time zone", "chicago"), ("above the sea", "900"),
    ("Latitude", ENTER), ("Last frost", "May 12"), ("First frost", "10/15"), ("begins", ENTER),
    ("ends", ENTER), ("People", ENTER), ("practised", "b"), ("evenings", "tue thu 6-9pm"),
    ("at most", ENTER), ("cooking pot", ENTER), ("burner", ENTER), ("stove", ENTER),
    ("the whole bag", ENTER), ("freezer", "5"), ("taken", ENTER),
    ("1:", "30 ft beans"), ("1:", "green beans 30 ft"), ("sown on", ENTER),
    ("2:", "6 tomatoes"), ("set out on", ENTER), ("3:", "4 zucchini"), ("sown on", ENTER),
    ("4:", ENTER), ("1:", "tomato sauce 9 pints"), ("2:", "beans 20 x 12 oz"),
    ("3:", "zucchini 6 of 1 lb"), ("4:", ENTER),
]  # fmt: skip
CENTRAL_EUROPE = [
    ("called", "Hof"), ("Measures", "metric"), ("Time zone", "Austria"), ("above the sea", "350"),
    ("Latitude", ENTER), ("Last frost", "15.05."), ("First frost", "12.10."), ("begins", ENTER),
    ("ends", "31.10.2027"), ("People", "2"), ("practised", ENTER), ("evenings", "Wed 18h-21h"),
    ("at most", ENTER), ("cooking pot", "8,5"), ("burner", "2000"), ("stove", "i"),
    ("the whole bag", ENTER), ("freezer", "200"), ("taken", "30"),
    ("1:", "beans 5 m"), ("1:", "runner beans 5 m"), ("sown on", "20/5"),
    ("2:", "4 courgettes"), ("sown on", "15. Mai"), ("3:", ENTER),
    ("1:", "courgettes 8 x 0,5 kg"), ("2:", "beans 9 of 350 g"), ("3:", ENTER),
]  # fmt: skip
GULF_COAST = [
    ("called", "Bay"), ("Measures", ENTER), ("Time zone", "houston"), ("Time zone", "Houston TX"),
    ("above the sea", ENTER), ("Latitude", ENTER), ("Last frost", "Feb 15"),
    ("First frost", "Dec 5"), ("begins", "Feb 15"), ("ends", "Dec 30"), ("People", ENTER),
    ("practised", ENTER), ("evenings", "Mon-Fri 6-9pm"), ("at most", ENTER), ("Leave", ENTER),
    ("cooking pot", "12"), ("burner", "12,000 btu"), ("stove", "gas"), ("the whole bag", "e"),
    ("bar", ENTER), ("freezer", ENTER), ("taken", ENTER),
    ("1:", "okra 60 ft"), ("sown on", "Mar 20"), ("2:", "green beans 60 ft"),
    ("sown on", "Mar 1"), ("3:", "green beans 30 ft"), ("sown on", "Sep 1"), ("4:", ENTER),
    ("1:", "okra 9 of 1 lb"), ("2:", "beans 9 of 1 lb"), ("3:", ENTER),
]  # fmt: skip
SOUTH = [
    ("called", "Bay"), ("Measures", "metric"), ("Time zone", "auckland"), ("above the sea", "40"),
    ("Latitude", ENTER), ("Last frost", "20 Sep"), ("First frost", ENTER),
    ("begins", "15 Sep 2027"), ("ends", "30 April"), ("People", "2"), ("practised", ENTER),
    ("evenings", "weekday evenings"), ("at most", ENTER), ("Leave", ENTER), ("cooking pot", "10"),
    ("burner", "1,8"), ("stove", ENTER), ("the whole bag", ENTER), ("freezer", "200"),
    ("taken", "30"), ("1:", "6 tomatoes"), ("set out on", "1 Nov"), ("2:", "beetroot 3 m"),
    ("sown on", "1 Oct"), ("3:", ENTER), ("1:", "tomato puree 9 x 0,5 l"),
    ("2:", "beetroot 9 of 350 g"), ("3:", ENTER),
]  # fmt: skip
SEASONS = {"beginner": (BEGINNER, 3), "central Europe": (CENTRAL_EUROPE, 2),
           "Gulf coast": (GULF_COAST, 3), "south": (SOUTH, 2)}  # fmt: skip


JANUARY, AUGUST = "2027-01-20", "2027-08-01"


@pytest.fixture(scope="module", params=SEASONS)
def typed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, Path, str]:
    """The season's name, its folder as it was typed, and the day."""
    folder = tmp_path_factory.mktemp("typed") / "s"
    day = AUGUST if request.param == "south" else JANUARY
    shown, code = talk(["new", str(folder), "--as-of", day], SEASONS[request.param][0])
    assert code == 0, shown
    return request.param, folder, day


def test_a_season_is_typed_within_eight_minutes(typed: tuple[str, Path, str]) -> None:
    which, folder, _ = typed
    conversation, plantings = SEASONS[which]
    assert sum(len(said) + 1 for _, said in conversation) <= EIGHT_MINUTES
    season = load_season(folder, load_library(folder)).season
    assert len(season.planting) == plantings and len(season.want) >= 2
    begun = [planting.sown or planting.set_out for planting in season.planting]
    assert all(day and season.season.start <= day <= season.season.end for day in begun), begun


def test_what_was_typed_is_planned_with_food_put_by(typed: tuple[str, Path, str]) -> None:
    """The plan is in hand: sessions that keep all rules, with a calendar and a book."""
    _, folder, day = typed
    done = CliRunner().invoke(app, ["plan", "--in", str(folder), "--as-of", day, "--quiet"])
    assert done.exit_code == 0, done.output
    plan = read_plan(folder / "out" / "plan.json")
    assert sum(want.planned for want in plan.wants) >= 5
    assert plan.sessions
    assert not check_plan(plan, read_household(folder, plan.as_of))
    for name in ("book.html", "sessions.ics", "shopping.md"):
        assert (folder / "out" / name).is_file()
