"""Next year's folder: what a person wrote stays as it was, but for what changes with the year."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season.next_year import next_year
from harvestplan.new_season.starter import Answers, files_for

AFTER = dt.date(2027, 12, 1)
TAUGHT = "# What your own evenings taught"
DIARY = """\
2027-07-20 picked snap bean 4 lb
2027-07-27 picked snap bean 6 lb
2027-07-20 froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal, 95 minutes
2027-07-27 froze "snap bean, cut" 8 pouches of 12 oz, 120 minutes
"""
AS_WRITTEN = """\
# The Miller\u2019s;\u2028 name = "x"\x85 all by hand

[household] # ours
name   = 'Miller "Lane" \\ Home'
timezone = "America/\\u0043hicago"
 measures = "metric"   # hands = 3



[ "season" ]
start = 2027-05-01   # was 2027-04-20
end = 2027-10-31
max_sessions_per_week = 0x2

[[window]]
days = [
  "tue",   # [away]


  'thu',
]
start = 18:00
end = 21:00   # [season]

[["window"]]
days = ["sat"]
start = 09:00
end = 12:30
"""


def season_folder(folder: Path, **changed: str) -> Path:
    """Last year's folder from the example, with these files in place of it, or beside."""
    folder.mkdir()
    texts = files_for(Answers.example(dt.date(2027, 1, 10)))
    texts |= {f"{name}.toml": text for name, text in changed.items()}
    for name, text in texts.items():
        (folder / name).write_bytes(text.encode())
    (folder / "diary.txt").write_text(DIARY, encoding="utf-8")
    return folder


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_what_was_written_stays_as_it_was_but_for_the_year(tmp_path: Path, line_end: str) -> None:
    """Remarks, order, blank lines, quotes, escapes, times without seconds, line ends."""
    text = AS_WRITTEN.replace("\n", line_end)
    old = season_folder(tmp_path / "old", household=f"\ufeff{text}")
    next_year(old, tmp_path / "new", AFTER)
    expected = text.replace("start = 2027-05-01", "start = 2028-05-01").replace(
        "2027-10", "2028-10"
    )
    assert (tmp_path / "new" / "household.toml").read_bytes() == expected.encode()


def test_what_stands_below_a_table_that_is_dropped_stays(tmp_path: Path) -> None:
    stored = (
        "# Last winter's.\n"
        'product = "snap bean, cut"\nportions = 4\nportion = "12 oz"\nfrozen_on = 2026-09-01\n'
    )
    below = '# Under the stairs.\n["cold"]\ncellar = true\n'
    files = files_for(Answers.example(dt.date(2027, 1, 10)))
    kitchen = files["kitchen.toml"].replace("[cold]\ncellar = false\n", "")
    garden = f"{files['garden.toml']}\n[[stored]]\n{stored}\n{below}\n[[stored]]\n{stored}"
    old = season_folder(tmp_path / "old", kitchen=kitchen, garden=garden)
    next_year(old, tmp_path / "new", AFTER)
    assert load_season(tmp_path / "new", load_library()).season.cold.cellar
    text = (tmp_path / "new" / "garden.toml").read_text(encoding="utf-8")
    assert below in text and "# Last winter's." not in text


def test_tables_without_a_heading_are_refused_rather_than_half_moved(tmp_path: Path) -> None:
    """They would stay in the old year; and what one planting taught would go to its neighbour."""
    tables = {
        "planting": 'planting = [{crop = "tomato", plants = 3, set_out = 2027-05-20}]',
        "away": "away = [{start = 2027-07-20, end = 2027-07-27}]",
        "extra window": "extra_window = [{date = 2027-09-06, start = 09:00, end = 13:00}]",
        "bought": 'bought = [{item = "dry bean", amount = "8 lb", on = 2027-06-05}]',
        "stored": 'stored = [{product = "snap bean, cut", portions = 4, portion = "12 oz", '
        "frozen_on = 2026-09-01}]",
    }
    moved = []
    for name, table in tables.items():
        old = season_folder(tmp_path / name, a=f"{table}\n")
        try:
            next_year(old, tmp_path / "new", AFTER)
            moved.append(name)
        except FilesNeedMending as refused:
            moved += [] if "a.toml: Its tables cannot be moved" in str(refused) else [name]
        assert not (tmp_path / "new").exists() or moved
    assert not moved


def test_the_remark_on_what_was_taught_stands_once_however_many_years(tmp_path: Path) -> None:
    next_year(season_folder(tmp_path / "2027"), tmp_path / "2028", AFTER)
    next_year(tmp_path / "2028", tmp_path / "2029", dt.date(2028, 12, 1))
    for year in ("2028", "2029"):
        text = (tmp_path / year / "garden.toml").read_text(encoding="utf-8")
        assert text.count(TAUGHT) == 1


def test_a_folder_of_weather_comes_along(tmp_path: Path) -> None:
    text = '[weather]\ndaily = ["weather", "next.csv"]\n'
    old = season_folder(tmp_path / "old", weather=text)
    (old / "weather").mkdir()
    day = "date,tmin_c,tmax_c\n2027-05-01,1,9\n"
    for name in ("weather/2026.csv", "weather/readme", "next.csv"):
        (old / name).write_text(day, encoding="utf-8")
    new = tmp_path / "new"
    next_year(old, new, AFTER)
    assert (new / "weather" / "2026.csv").read_text(encoding="utf-8") == day
    assert (new / "next.csv").is_file() and (new / "weather" / "readme").is_file()
