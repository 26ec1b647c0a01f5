"""Readers under bytes that nobody would write: a sentence of our own or an answer, and soon."""

from __future__ import annotations

import datetime as dt
import os
import random
import re
import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from counted import counted
from places import ROOT

from harvestplan.errors import HarvestPlanError
from harvestplan.inputs.load import load_season
from harvestplan.inputs.weather.daily_record import read_weather
from harvestplan.inputs.windows import free_times
from harvestplan.kitchen.crop_library import load_library
from harvestplan.planning.read import read_household
from harvestplan.records.diary import read_diary

DEMO = ROOT / "demo" / "willow-bend"
AS_OF = dt.date(2027, 6, 1)
MUCH = 2_000_000
"""Calls for one reading; those of the short lane take up to 212,000."""
SECONDS = float(os.environ.get("HARVESTPLAN_FUZZ_SECONDS", "120"))
"""For how long each reader is tried in the slow lane: five readers, ten minutes."""
LIBRARY = load_library()
DIARY = """\
; Our year in the garden
2027-05-14 emerged snap bean #a1f2
2027-05-14 picked snap bean 2.3 kg #a1f3
2027-05-14 flowering "winter squash" #a1f4   ; only the two by the wall
2027-05-15 froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal #a1f5
2027-05-16 ate "snap bean, cut" 1 #b001
2027-05-17 gave "snap bean, cut" 2 #b002
2027-05-18 count "snap bean, cut" 3 #b003
2027-05-19 setting "apple, sauce" pump-down 22 s foamed #b004
2027-05-19 undo #b003 #b005
2027-05-20 lost snap bean 1 1/2 lb
"""
WORDS = [
    b"nan",
    b"inf",
    b"-1",
    b"0",
    b"1e999",
    b"9" * 30,
    b"9" * 5000,
    b'"',
    b"'",
    b'"""',
    b"=",
    b"[",
    b"]]",
    b"{",
    b"\n",
    b"\r\n",
    b"\r",
    b"\0",
    b"\x1b[2J",
    b"\xff\xfe",
    b"\xc3",
    b"\xe2\x80\xae",
    "\u2028".encode(),
    "½".encode(),
    "٣".encode(),
    b"2027-02-30",
    b"0001-01-01",
    b"9999-12-31",
    b"12:60:00",
    b"24:00",
    b"true",
    b"1/0 lb",
    b"-5 kg",
    b"1e9 t",
    b"5 lb",
    b"0.0001 g",
    b"kale",
    b"../../etc/passwd",
    b"/dev/zero",
    b"RRULE:FREQ=SECONDLY",
    b"RRULE:FREQ=YEARLY;COUNT=99999999",
    b"RRULE:FREQ=DAILY;INTERVAL=0",
    b"DTSTART:20270230T000000",
    b"DURATION:-P9999999D",
    b"END:VEVENT",
    b"BEGIN:VEVENT",
    b"TZID=Nowhere/None",
    b"EXDATE:x",
    b"undo #b003",
    b"#",
    b";",
    b"99 pouches of 99 lb",
    b"date,tmin_c,tmax_c",
    b",,,,",
    b"999",
    b"-9999",
]


def mutated(data: bytes, draw: random.Random) -> bytes:
    """One to four changes of the kind that editors, copies and bad disks make, and worse."""
    for _ in range(draw.choice((1, 1, 1, 2, 4))):
        data = draw.choice(CHANGES)(data, draw)
    return data


def _flip(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data) + 1)
    return data[:at] + bytes([draw.randrange(256)]) + data[at + 1 :]


def _cut(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data) + 1)
    return data[:at] + data[at + draw.choice((1, 2, 7, 60, len(data))) :]


def _insert(data: bytes, draw: random.Random) -> bytes:
    at = draw.randrange(len(data) + 1)
    return data[:at] + draw.choice(WORDS) + data[at:]


def _number(data: bytes, draw: random.Random) -> bytes:
    """Another word in place of a number, a quoted text or a value."""
    found = list(re.finditer(rb"\d+(\.\d+)?|\"[^\"\n]*\"|[=:,] ?[^\n]+", data))
    if not found:
        return _insert(data, draw)
    place = draw.choice(found)
    return data[: place.start()] + draw.choice(WORDS) + data[place.end() :]


def _lines(data: bytes, draw: random.Random) -> bytes:
    """A line twice, gone, elsewhere, or many times over."""
    lines = data.splitlines(keepends=True) or [b""]
    line = lines.pop(draw.randrange(len(lines)))
    at = draw.randrange(len(lines) + 1)
    return b"".join([*lines[:at], *[line] * draw.choice((0, 1, 2, 300)), *lines[at:]])


CHANGES = (_flip, _cut, _insert, _number, _lines)


@dataclass(frozen=True)
class Reader:
    """What reads a folder, the file that is changed in it, and how often in the short lane."""

    file: str
    read: Callable[[Path], object]
    cases: int


def _season(folder: Path) -> object:
    return read_household(folder, AS_OF)


def _busy(folder: Path) -> object:
    return free_times(load_season(folder, LIBRARY).season, folder)


READERS = {
    "season": Reader("season.toml", _season, 60),
    "crops": Reader("crops/snap-bean.toml", load_library, 150),
    "weather": Reader("weather.csv", lambda folder: read_weather([folder / "weather.csv"]), 80),
    "diary": Reader("diary.txt", read_diary, 200),
    "busy": Reader("family.ics", _busy, 60),
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which every reader finds something sound to read."""
    folder = tmp_path_factory.mktemp("sound")
    tables = [(DEMO / name).read_text("utf-8") for name in ("household.toml", "kitchen.toml")]
    garden = (DEMO / "garden.toml").read_text("utf-8")
    short = re.split(r"(?=^\[\[want\]\])", garden, flags=re.M)[:4]
    (folder / "season.toml").write_text("\n".join([*tables, *short]), encoding="utf-8")
    weather = (DEMO / "weather.csv").read_text("utf-8").splitlines(keepends=True)
    (folder / "weather.csv").write_text("".join(weather[:1] + weather[-1200:]), encoding="utf-8")
    shutil.copyfile(DEMO / "family.ics", folder / "family.ics")
    (folder / "diary.txt").write_text(DIARY, encoding="utf-8")
    (folder / "crops").mkdir()
    shutil.copyfile(ROOT / "crops" / "snap-bean.toml", folder / "crops" / "snap-bean.toml")
    return folder


def read_changed(reader: Reader, sound: Path, folder: Path, seed: int) -> bool:
    """Whether the reader had an answer for the file as `seed` changes it."""
    if not (folder / "season.toml").exists():
        shutil.copytree(sound, folder, dirs_exist_ok=True)
    data = mutated((sound / reader.file).read_bytes(), random.Random(seed))
    (folder / reader.file).write_bytes(data)
    answered, calls = counted(lambda: _answers(reader, folder, seed))
    assert calls < MUCH, f"seed {seed}"
    return answered


def _answers(reader: Reader, folder: Path, seed: int) -> bool:
    try:
        reader.read(folder)
    except HarvestPlanError as error:
        assert str(error).strip() and len(str(error)) < 60_000, f"seed {seed}"
        return False
    except Exception as error:
        raise AssertionError(f"seed {seed}: {type(error).__name__}: {error}") from error
    return True


@pytest.mark.parametrize("name", READERS)
def test_the_sound_file_is_read(sound: Path, name: str) -> None:
    READERS[name].read(sound)


@pytest.mark.parametrize("name", READERS)
def test_a_reader_ends_in_a_sentence_or_an_answer(sound: Path, tmp_path: Path, name: str) -> None:
    reader = READERS[name]
    answers = [read_changed(reader, sound, tmp_path, seed=seed) for seed in range(reader.cases)]
    assert 0 < sum(answers) < len(answers)  # both kinds of end are reached


@pytest.mark.slow
@pytest.mark.parametrize("name", READERS)
def test_a_reader_for_two_minutes(sound: Path, tmp_path: Path, name: str) -> None:
    reader = READERS[name]
    seed = 1_000_000
    ends = time.monotonic() + SECONDS
    while time.monotonic() < ends or seed < 1_000_050:
        read_changed(reader, sound, tmp_path, seed=seed)
        seed += 1
