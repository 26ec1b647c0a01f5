"""A new season folder: as an example, by questions at a terminal, or from last year's."""

from __future__ import annotations

import datetime as dt
import re
import subprocess
import sys
from pathlib import Path

import pytest
from commands.at_a_terminal import ENV, talk

from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season.starter import Answers, files_for

BEANS = "snap bean, cut"


def run(*words: str, typed: str | None = None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "harvestplan", *words]
    return subprocess.run(command, capture_output=True, text=True, env=ENV, input=typed or "")


def load(folder: Path) -> Season:
    return load_season(folder, load_library(folder)).season


CONVERSATION = [
    ("called", "The Lane"), ("Measures", "imperial ones"), ("Measures", "US"),
    ("Time zone", "Chicgo"), ("Time zone", "chicago"), ("above the sea", "900 oz"),
    ("above the sea", "900"), ("Latitude", "40 north"), ("Latitude", "41.9 N 87.6 W"),
    ("Last frost", "12 May"), ("First frost", "31 Sept"),
    ("First frost", "10-10"), ("begins", ""), ("ends", "1 November 2027"), ("People", "2"),
    ("practised", "rather"), ("practised", "begin"),
    ("evenings", "whenever"), ("evenings", "mon wed 6-9pm, sat 9:00-12:00"),
    ("at most", "4"), ("at most", "3"),
    ("cooking pot", "16 quarts of water"), ("cooking pot", "16 qt"), ("burner", "3.2 kW"),
    ("stove", "gas"), ("the whole bag", "ch"), ("bar", "8 in"), ("freezer", "2 lb"),
    ("freezer", "9 cu ft"), ("taken", ""),
    ("1:", "snap beans 30 ft"), ("sown on", "20 May"), ("2:", "tomatoo 6"),
    ("2:", "tomatoes 6 plants"), ("set out on", ""), ("3:", "4 rhubarb plants"),
    ("set out on", "20 April 2021"), ("4:", ""),
    ("1:", "snap bean 20 of 12 oz"), ("2:", "tomato, purée 10 of 2 cups"),
    ("3:", "snap bean 5 of 1 lb"), ("3:", ""),
]  # fmt: skip


def test_at_a_terminal_it_asks_says_what_it_understood_and_asks_again(tmp_path: Path) -> None:
    folder = tmp_path / "lane"
    shown, code = talk(["new", str(folder), "--as-of", "2027-01-10"], CONVERSATION)
    assert code == 0, shown
    for said in (
        "Write US, UK or metric.",
        'Did you mean "America/Chicago"',
        "900 ft = 274 m",
        "16 qt = 15.1 L",
        "Write it like 40.1 N",
        "41.9° N, 87.6° W",
        "September has no day 31",
        "Write beginner, some or practised.",
        "mon wed from 18:00 to 21:00; sat from 09:00 to 12:00",
        'Did you mean "tomato"',
        "snap bean, cut: 20 portions of 12 oz = 340 g",
        "snap bean, cut is on your list already",
        "[19 May 2027]",
        "12 in",
    ):
        assert said in shown, said
    season = load(folder)
    assert (season.household.timezone, season.household.hands) == ("America/Chicago", 2)
    assert season.household.practised == "beginner"
    assert (season.weather.last_frost, season.weather.first_frost) == ("05-12", "10-10")
    assert (season.weather.latitude, season.weather.longitude) == (41.9, -87.6)
    assert season.season.start == dt.date(2027, 4, 28)
    assert [w.days for w in season.window] == [("mon", "wed"), ("sat",)]
    assert season.season.max_sessions_per_week == 3
    # 16 US quarts of 946.35 mL (NIST Handbook 44); 1 ft = 0.3048 m.
    assert season.pot[0].volume == pytest.approx(16 * 946.352946)
    assert season.household.altitude == pytest.approx(900 * 0.3048)
    assert [p.name for p in season.pouch] == ["half pint", "pint", "quart"]
    sown = [(p.crop, p.sown or p.set_out) for p in season.planting]
    assert sown == [
        ("snap bean", dt.date(2027, 5, 20)),
        ("tomato", dt.date(2027, 5, 19)),
        ("rhubarb", dt.date(2021, 4, 20)),
    ]
    assert [(w.product, w.portions) for w in season.want] == [(BEANS, 20), ("tomato, purée", 10)]


def test_what_is_left_unanswered_keeps_the_answers_and_goes_on(tmp_path: Path) -> None:
    folder, words = tmp_path / "lane", ["--as-of", "2027-01-10"]
    begun = [("called", "The Lane"), ("Measures", "metric"), ("Time zone", "Austria"),
             ("above the sea", "\x03")]  # fmt: skip
    shown, code = talk(["new", str(folder), *words], begun)
    assert code != 0, shown
    assert [path.name for path in folder.iterdir()] == [".answers.json"]
    rest = [("above the sea", "back"), ("Time zone", "?"), ("Time zone", "Germany"),
            ("above the sea", "350"), ("Latitude", ""), ("Last frost", "15.05."),
            ("First frost", "12/10"), ("First frost", "12 October"), ("begins", "Feb 15"),
            ("ends", "10 January 2028"), ("People", ""), ("practised", ""),
            ("evenings", "Mon-Fri 6-9pm"), ("at most", ""), ("Leave", ""), ("cooking pot", "8,5 l"),
            ("burner", "2000"), ("stove", ""), ("the whole bag", ""), ("freezer", "200"),
            ("taken", "30"), ("1:", "list"), ("1:", "runner beans 5 m"), ("sown on", ""),
            ("2:", "runner beans 3 m"), ("sown on", "back"), ("2:", "6 tomatoes"),
            ("set out on", "20/5"), ("3:", ""), ("1:", ""), ("1:", "tomato sauce 10 x 0,5 l"),
            ("2:", "kale 5 of 300 g"), ("3:", "")]  # fmt: skip
    shown, code = talk(["new", str(folder), *words], rest)
    assert code == 0, shown
    for said in (
        "Going on after 3 answers",
        "Europe/Berlin",
        '"12 October" or "10 December"',
        "mon tue wed thu fri from 18:00 to 21:00",
        "2000 W = 2 kW",
        "You have that already",
        "You have asked for nothing yet",
        "not among what you grow",
        "plan --in ",
    ):
        assert said in shown, said
    assert not (folder / ".answers.json").exists()
    season = load(folder)
    assert season.household.timezone == "Europe/Berlin"
    assert season.season.start == dt.date(2027, 2, 15)
    assert season.weather.last_frost == "05-15"
    holidays = [(away.start.month, away.start.day) for away in season.away]
    assert holidays == [(12, 24), (12, 31)]  # 25 December and 1 January 2028 are a Saturday
    assert season.pot[0].volume == pytest.approx(8500)
    assert season.pot[0].power == pytest.approx(2000)
    assert season.machine is None
    assert [(p.crop, p.sown or p.set_out) for p in season.planting] == [
        ("runner bean", dt.date(2027, 5, 22)),
        ("tomato", dt.date(2027, 5, 20)),
    ]
    assert [(w.product, w.portions) for w in season.want] == [
        ("tomato, purée", 10), ("kale, leaf", 5)
    ]  # fmt: skip


@pytest.mark.parametrize("words", [("--yes",), ()])
def test_through_a_pipe_it_asks_nothing(tmp_path: Path, words: tuple[str, ...]) -> None:
    done = run("new", str(tmp_path / "a"), *words, "--as-of", "2027-01-10", typed="The Lane\nUK\n")
    assert done.returncode == 0, done.stderr
    assert "wrote" in done.stdout
    assert load(tmp_path / "a").household.name == "Our kitchen"
    again = run("new", str(tmp_path / "a"), *words)
    assert again.returncode == 3
    assert "already there" in again.stderr


def test_the_example_means_the_same_in_all_measures(tmp_path: Path) -> None:
    seasons = []
    for measures in ("US", "UK", "metric"):
        folder = tmp_path / measures
        folder.mkdir()
        for name, text in files_for(Answers.example(dt.date(2027, 1, 10))).items():
            written = text.replace('measures = "US"', f'measures = "{measures}"')
            (folder / name).write_text(written, encoding="utf-8")
        season = load(folder)
        assert season.household.measures == measures
        seasons.append((season.pot, season.bath, season.freezer, season.want, season.planting))
    assert seasons[0] == seasons[1] == seasons[2]


HALF_FROST = """
[[planting]]
crop = "rhubarb"
plants = 4
set_out = 2021-04-20   # by grandfather

# The fair.
[[away]]
start = 2027-07-20
end = 2027-07-27

[[extra_window]]
date = 2027-09-06
start = 09:00:00
end = 13:00:00

[[stored]]
product = "snap bean, cut"
portions = 4
portion = "12 oz"
frozen_on = 2026-09-01
"""
DIARY = """\
2027-07-20 picked snap bean 4 lb #aaa2
2027-07-27 picked snap bean 6 lb #aaa3
2027-07-20 froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal, 95 minutes #aaa4
2027-07-27 froze "snap bean, cut" 8 pouches of 12 oz, 120 minutes #aaa5
2027-07-28 timed "snap bean, cut" trim 24 minutes for 2 kg #aaa8
2027-08-01 setting "tomato, purée" pump-down 22 s foamed #aaa6
2027-10-01 ate "snap bean, cut" 5 #aaa7
"""


@pytest.fixture(scope="module")
def years(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, str]:
    """Last year's folder, next year's, and what was said."""
    old = tmp_path_factory.mktemp("years") / "old"
    old.mkdir()
    for name, text in files_for(Answers.example(dt.date(2027, 1, 10))).items():
        (old / name).write_text(text, encoding="utf-8")
    with (old / "garden.toml").open("a", encoding="utf-8") as file:
        file.write(HALF_FROST)
    (old / "diary.txt").write_text(DIARY, encoding="utf-8")
    done = run("new", str(old.parent / "new"), "--from", str(old), "--as-of", "2027-12-01")
    assert done.returncode == 0, done.stderr
    return old, old.parent / "new", done.stdout


def test_next_year_is_a_year_later_with_remarks_and_old_plants_as_they_were(
    years: tuple[Path, Path, str],
) -> None:
    _, new, _ = years
    season = load(new)
    assert (season.season.start, season.season.end) == (dt.date(2028, 5, 1), dt.date(2028, 10, 31))
    begun = {p.crop: p.sown or p.set_out for p in season.planting}
    assert begun == {
        "snap bean": dt.date(2028, 5, 15),
        "tomato": dt.date(2028, 5, 20),
        "rhubarb": dt.date(2021, 4, 20),
    }
    assert season.bought[0].on == dt.date(2028, 6, 5)
    assert (season.away, season.extra_window) == ((), ())
    text = (new / "garden.toml").read_text(encoding="utf-8")
    for kept in ("# by grandfather", "# The fair.", "# start = 2027-07-20", "# Last year's"):
        assert kept in text
    household = (new / "household.toml").read_text(encoding="utf-8")
    assert "# Who you are and when you have time." in household


def test_next_year_begins_with_what_is_in_store_and_what_was_learned(
    years: tuple[Path, Path, str],
) -> None:
    _, new, said = years
    season = load(new)
    stored = [(s.product, s.portions, s.frozen_on, round(s.portion.value)) for s in season.stored]
    # Four of last year's and one of July were the five eaten: oldest first.
    assert stored == [(BEANS, 5, dt.date(2027, 7, 20), 340), (BEANS, 8, dt.date(2027, 7, 27), 340)]
    learned = season.learned[0]
    assert (learned.product, learned.evenings) == (BEANS, 2)
    assert (learned.sealed, learned.failed) == (14, 1)
    assert learned.pace is not None and 1.2 < learned.pace <= 2
    # The crop file has 10 minutes a kilogram.
    assert {s: (own.pace, own.timings) for s, own in learned.steps.items()} == {"trim": (1.2, 1)}
    bean, tomato, _ = season.planting
    # Sown on 15 May and first picked on 20 July: 66 days.
    assert (bean.days_to_maturity, tomato.days_to_maturity) == (66, None)
    assert bean.yield_ is not None and 10 * 453 < bean.yield_ < 20.2 * 453.6
    assert tomato.yield_ is None
    assert season.sealer is not None and season.sealer.run_so_far > 0
    assert (new / "diary.txt").read_text(encoding="utf-8") == (
        '2027-08-01 setting "tomato, purée" pump-down 22 s foamed #aaa6\n'
    )
    assert "13 portions in store" in said


def test_next_years_folder_plans_and_never_overwrites(years: tuple[Path, Path, str]) -> None:
    old, new, _ = years
    before = {path.name: path.read_bytes() for path in old.iterdir() if path.is_file()}
    planned = run("plan", "--in", str(new), "--as-of", "2028-04-01", "--quiet", "--all")
    assert planned.returncode == 0, planned.stderr
    said = " ".join(planned.stdout.split())
    assert "times the book's minutes of hand work, from 2 evenings" in said
    assert run("check", "--in", str(new)).returncode == 0
    again = run("new", str(new), "--from", str(old))
    assert again.returncode == 3
    taken = new.parent / "taken"
    taken.mkdir()
    (taken / "diary.txt").write_text("", encoding="utf-8")
    assert run("new", str(taken), "--from", str(old)).returncode == 3
    assert [path.name for path in taken.iterdir()] == ["diary.txt"]
    assert before == {path.name: path.read_bytes() for path in old.iterdir() if path.is_file()}


def test_a_folder_without_headings_is_refused_rather_than_half_moved(tmp_path: Path) -> None:
    old = tmp_path / "old"
    old.mkdir()
    files = files_for(Answers.example(dt.date(2027, 1, 10)))
    garden = (
        'stored = [{product = "snap bean, cut", portions = 4, portion = "12 oz", '
        "frozen_on = 2026-09-01}]\n" + files["garden.toml"]
    )
    for name, text in {**files, "garden.toml": garden}.items():
        (old / name).write_text(text, encoding="utf-8")
    (old / "diary.txt").write_text(DIARY, encoding="utf-8")
    done = run("new", str(tmp_path / "new"), "--from", str(old), "--as-of", "2027-12-01")
    assert done.returncode == 3
    assert not (tmp_path / "new").exists()


def test_help_shows_every_command_once_under_a_heading() -> None:
    shown = run("--help").stdout
    headings = re.findall(r"^(\w[\w ]+):$", shown, re.MULTILINE)
    assert headings == ["Options", "Plan", "Through the season", "Look closer"]
    commands = re.findall(r"^  ([a-z][a-z-]*)  +\S", shown, re.MULTILINE)
    assert len(commands) == len(set(commands))
    assert {"new", "forecast", "plan", "picked", "froze", "check", "schema"} <= set(commands)
    assert shown.index("  plan") < shown.index("  picked") < shown.index("  check")
