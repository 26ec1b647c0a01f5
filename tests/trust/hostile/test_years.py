"""Days of years that nobody means, wherever a date comes in: refused where it stands, never met
later on."""

from __future__ import annotations

import itertools
from pathlib import Path

from each_case import each
from trust.hostile.ending import contents, run
from trust.small_folder import GARDEN, HOUSEHOLD, write_small

YEARS = ("0001", "1066", "1582", "1899", "1969", "2101", "2207", "9999")
"""The first and last that Python knows, the change to our calendar, and slips of the hand."""
NO_DAYS = ("2027-02-29", "2027-13-01", "2027-00-10", "27-06-01", "", "½")
SEASON = {
    "start": HOUSEHOLD.replace("2027-06-01", "{}-06-01"),
    "end": HOUSEHOLD.replace("2027-08-31", "{}-08-31"),
    "on": GARDEN.replace("2027-06-04", "{}-06-04"),
    "extra": "[[extra_window]]\ndate = {}-06-05\nstart = 18:00:00\nend = 20:00:00\n",
    "away from": "[[away]]\nstart = {}-06-05\nend = 2027-06-07\n",
    "away to": "[[away]]\nstart = 2027-06-05\nend = {}-06-07\n",
    "sown": '[[planting]]\ncrop = "snap bean"\nrow = "5 m"\nsown = {}-05-01\n',
    "set out": '[[planting]]\ncrop = "tomato"\nplants = 3\nset_out = {}-05-01\n',
    "first pick": '[[planting]]\ncrop = "snap bean"\nrow = "5 m"\nsown = 2027-05-01\n'
    "first_pick = {}-07-01\n",
    "frozen": '[[stored]]\nproduct = "dry bean, sealed"\nportions = 1\nportion = "1 lb"\n'
    "frozen_on = {}-04-01\n",
    "from": GARDEN + "per_week = 1\nfrom = {}-06-10\n",
    "until": GARDEN + "per_week = 1\nuntil = {}-12-10\n",
}
FILES = {"start": "household.toml", "end": "household.toml", "on": "garden.toml",
         "from": "garden.toml", "until": "garden.toml"}  # fmt: skip
LINES = (
    "{}-06-01 picked snap bean 2 lb", '{}-06-01 ate "dry bean, sealed" 1', "{}-06-01 lost all",
    '{}-06-01 count "dry bean, sealed" 1', "{}-06-01 power-cut 3 h", "{}-06-01 serviced sealer",
    "2027-06-01 moved session {}-06-05 09:00 to 2027-06-06 09:00",
    "2027-06-01 moved session 2027-06-05 09:00 to {}-06-06 09:00", "2027-06-01 keep free {}-06-05",
)  # fmt: skip
DAY = "2027-06-02"


@each(("key", "year"), itertools.product(SEASON, YEARS))
def test_a_year_in_a_season_file(tmp_path: Path, key: str, year: str) -> None:
    folder = write_small(tmp_path / "season")
    name = FILES.get(key, "more.toml")
    (folder / name).write_text(SEASON[key].replace("{}", year), encoding="utf-8")
    before = contents(folder)
    ended = run("plan", "--quiet", "--as-of", DAY, "--in", str(folder))
    assert ended.code == 3 and f"{name}, line" in ended.told, ended
    assert contents(folder, (".plan.lock",)) == before


@each(("line", "year"), itertools.product(LINES, YEARS))
def test_a_year_in_the_diary(tmp_path: Path, line: str, year: str) -> None:
    folder = write_small(tmp_path / "season")
    written = line.replace("{}", year)
    (folder / "diary.txt").write_text(f"{written}\n", encoding="utf-8")
    ended = run("stock", "--as-of", DAY, "--in", str(folder))
    assert ended.code == 3 and "diary.txt, line 1" in ended.told, ended
    (folder / "diary.txt").unlink()
    date, _, words = written.partition(" ")
    ended = run(*words.split(" ", 1)[:1], words.split(" ", 1)[1], "--on", date, "--in", str(folder))
    assert ended.code == 2 and not (folder / "diary.txt").exists(), ended


OPTIONS = (
    ("plan", "--as-of"), ("stock", "--as-of"), ("forecast", "--as-of"), ("check", "--as-of"),
    ("picked", "snap bean", "1 lb", "--on"), ("undo", "--on"), ("card", "--as-of"),
    ("review", "--as-of"), ("power-cut", "3 h", "--on"), ("plan", "--explain"),
)  # fmt: skip


@each(("words", "day"), itertools.product(OPTIONS, (*(f"{y}-06-05" for y in YEARS), *NO_DAYS)))
def test_a_day_on_the_command_line(tmp_path: Path, words: tuple[str, ...], day: str) -> None:
    folder = write_small(tmp_path / "season")
    before = contents(folder)
    ended = run(*words, day, "--in", str(folder))
    assert ended.code == 2 or "--explain" in words, ended
    assert ended.code, ended
    assert contents(folder, (".plan.lock",)) == before


ODD_TIMES = ("18:00:00.5", "18:00:00.000001", "25:00:00", "24:00:00", "18:60:00", "18:00:61")


@each(("time", "key"), itertools.product(ODD_TIMES, ("start", "end")))
def test_a_time_that_no_clock_shows(tmp_path: Path, time: str, key: str) -> None:
    folder = write_small(tmp_path / "season")
    other = {"start": "17:00:00", "end": "22:00:00"} | {key: time}
    text = f'[[window]]\ndays = ["tue"]\nstart = {other["start"]}\nend = {other["end"]}\n'
    (folder / "more.toml").write_text(text, encoding="utf-8")
    ended = run("plan", "--quiet", "--as-of", DAY, "--in", str(folder))
    assert ended.code == 3 and "more.toml" in ended.told, ended


ZONES = (
    "posix/America/Chicago", "right/America/Chicago", "../../etc/passwd", "/etc/passwd", "America",
    "Mars/Olympus", "localtime\0", "x" * 61, "CON", "tzdata.zi", "leapseconds", "zone.tab", ".",
    "America/Chicago ", "america/chicago\n",
)  # fmt: skip


@each("zone", ZONES)
def test_a_zone_that_is_none(tmp_path: Path, zone: str) -> None:
    folder = write_small(tmp_path / "season")
    written = "".join(f"\\u{ord(letter):04x}" for letter in zone)
    text = HOUSEHOLD.replace("America/Chicago", written)
    (folder / "household.toml").write_text(text, encoding="utf-8")
    ended = run("plan", "--quiet", "--as-of", DAY, "--in", str(folder))
    assert ended.code == 3 and "household.toml, line 3" in ended.told, ended


SOUND = ("Africa/Monrovia", "Pacific/Apia", "Asia/Kathmandu", "Antarctica/Troll", "Europe/Dublin")


@each("zone", SOUND)
def test_an_odd_zone_is_planned_in_and_judged(tmp_path: Path, zone: str) -> None:
    folder = write_small(tmp_path / "season")
    text = HOUSEHOLD.replace("America/Chicago", zone)
    (folder / "household.toml").write_text(text, encoding="utf-8")
    assert run("plan", "--quiet", "--as-of", DAY, "--in", str(folder)).code == 0
    assert run("check", "--in", str(folder)).code == 0
