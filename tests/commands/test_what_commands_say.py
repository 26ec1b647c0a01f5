"""The words of commands in the cases that come up seldom, each through the command line."""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path

import pytest
from season_tables import house, kitchen

from harvestplan.commands import cli
from harvestplan.outputs import write_all

HOUSE = house("2027-05-01", "2028-04-30")
KITCHEN = kitchen(sealer='kind = "chamber"\nbar = "12 in"', used="0 L")
BEANS = """\
[[planting]]
crop = "snap bean"
id = "beans"
row = "20 ft"
sown = 2027-05-10
[[want]]
product = "snap bean, cut"
portions = 20
portion = "12 oz"
per_week = 1
from = 2027-08-01
[[stored]]
product = "snap bean, cut"
portions = 10
portion = "12 oz"
frozen_on = 2026-08-01
"""


def say(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str, str]:
    """Exit code, output and error output, line ends told as spaces."""
    monkeypatch.setattr(sys, "argv", ["harvestplan", *words])
    capsys.readouterr()
    with pytest.raises(SystemExit) as left:
        cli.main()
    said = capsys.readouterr()
    return int(left.value.code or 0), " ".join(said.out.split()), " ".join(said.err.split())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "season.toml").write_text(HOUSE + KITCHEN + BEANS, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("raised", "code", "words"),
    [
        (KeyboardInterrupt(), 130, ("Stopped",)),
        (SystemExit(130), 130, ("Stopped",)),
        (MemoryError(), 1, ("out of memory", "no more memory is to be had")),
        (ImportError("failed to map"), 1, ("failed to map", "Close other programs")),
        (PermissionError(13, "Permission denied", "x.txt"), 1, ("x.txt", "Permission denied")),
        (OSError("strange"), 1, ("strange", "try again")),
        (ZeroDivisionError("x"), 1, ("our fault", "HARVESTPLAN_DEBUG")),
    ],
    ids=lambda each: type(each).__name__ if isinstance(each, BaseException) else None,
)
def test_every_end_of_a_command_has_its_sentence(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    raised: BaseException,
    code: int,
    words: tuple[str, ...],
) -> None:
    def fail() -> None:
        raise raised

    monkeypatch.setattr(cli, "app", fail)
    monkeypatch.delenv("HARVESTPLAN_DEBUG", raising=False)
    left, said, told = say(capsys, monkeypatch)
    assert (left, said) == (code, "")
    assert all(word in told for word in words) and "Traceback" not in told


def test_the_place_of_our_fault_is_shown_on_request(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail() -> None:
        raise ZeroDivisionError("x")

    monkeypatch.setattr(cli, "app", fail)
    monkeypatch.setenv("HARVESTPLAN_DEBUG", "1")
    assert "ZeroDivisionError: x" in say(capsys, monkeypatch)[2]


@pytest.mark.parametrize(
    ("eaten", "words"),
    [
        (0, "4 portions behind what you meant to eat"),
        (4, "just as you meant to eat it"),
        (6, "2 portions ahead of what you meant to eat"),
    ],
)
def test_stock_tells_the_pace_of_eating(
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    eaten: int,
    words: str,
) -> None:
    """One a week from 1 August: four are due by the 29th."""
    if eaten:
        line = f'2027-08-20 ate "snap bean, cut" {eaten} #a1f3\n'
        (folder / "diary.txt").write_text(line, encoding="utf-8")
    code, said, told = say(
        capsys, monkeypatch, "stock", "--in", str(folder), "--as-of", "2027-08-29"
    )
    assert code == 0, told
    assert f"snap beans, cut: {10 - eaten} portions; {words}" in said


def test_stock_says_that_nothing_is_there(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (HOUSE + KITCHEN + BEANS).replace("portions = 10", "portions = 0")
    (folder / "season.toml").write_text(text, encoding="utf-8")
    _, said, _ = say(capsys, monkeypatch, "stock", "--in", str(folder))
    assert said.startswith("Nothing is in store")


def test_the_settings_book_tells_what_was_found(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("settings", "--in", str(folder))
    _, untried, _ = say(capsys, monkeypatch, *words)
    assert "snap bean, cut, in quart: pump-down" in untried and "It held" not in untried
    lines = (
        'setting "snap bean, cut" pump-down 22 s held',
        'setting "snap bean, cut" pump-down 30 s foamed',
        'setting "snap bean, cut" pump-down 9 lb held',
        'setting "snap bean, cut" bag laid flat',
    )
    text = "".join(f"2027-06-0{n} {line} #a1f{n}\n" for n, line in enumerate(lines, start=1))
    (folder / "diary.txt").write_text(text, encoding="utf-8")
    _, tried, _ = say(capsys, monkeypatch, *words)
    assert "It held at 22 s and failed at 30 s" in tried and "9 s" not in tried


def test_an_event_is_told_to_other_programs_with_its_amount(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("picked", "snap bean", "2 lb", "--on", "2027-07-14", "--json", "--in", str(folder))
    code, said, told = say(capsys, monkeypatch, *words)
    assert code == 0, told
    event = json.loads(said)
    assert event["event"] == "picked" and event["date"] == "2027-07-14"
    assert 907 in event.values()  # two avoirdupois pounds in grams
    _, back, _ = say(capsys, monkeypatch, "undo", "--json", "--in", str(folder))
    assert json.loads(back)["event"] == "undo"


def test_what_a_killed_command_left_is_swept_away(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    out = folder / "out"
    (out / ".making-x4_kd2a9" / "labels").mkdir(parents=True)
    torn = out / ".plan.json.x4_kd2a9.tmp"
    torn.write_text("half")
    hour_ago = time.time() - 3600
    os.utime(torn, (hour_ago, hour_ago))
    (out / "mine.txt").write_text("mine")
    code, _, told = say(
        capsys, monkeypatch, "plan", "--quiet", "--in", str(folder), "--as-of", "2027-09-30"
    )
    assert code == 0, told
    names = [path.name for path in out.iterdir()]
    assert "mine.txt" in names and not [name for name in names if name.startswith(".")]


def test_what_another_command_is_just_writing_is_left_to_it(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The book is written while a plan is made: its half-written file is not swept away."""
    monkeypatch.setattr(write_all, "YOUNG", 3600.0)  # however long the plan takes here
    (folder / "out").mkdir()
    writing = folder / "out" / ".book.html.x4_kd2a9.tmp"
    writing.write_text("half")
    code, _, told = say(
        capsys, monkeypatch, "plan", "--quiet", "--in", str(folder), "--as-of", "2027-09-30"
    )
    assert code == 0, told
    assert writing.read_text() == "half"


def test_findings_are_told_to_people_and_programs(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A plan whose freezer shrank since it was made."""
    day = ("--as-of", "2027-05-02")
    code, _, told = say(capsys, monkeypatch, "plan", "--quiet", "--in", str(folder), *day)
    assert code == 0, told
    assert "No finding" in say(capsys, monkeypatch, "check", "--in", str(folder))[1]
    small = (HOUSE + KITCHEN + BEANS).replace('"7 cu ft"', '"0.4 cu ft"')
    (folder / "season.toml").write_text(small, encoding="utf-8")
    code, said, told = say(capsys, monkeypatch, "check", "--in", str(folder))
    assert code == 4 and "V8: " in said and "findings" in told
    code, said, _ = say(capsys, monkeypatch, "check", "--json", "--in", str(folder))
    assert code == 4 and "V8" in {finding["code"] for finding in json.loads(said)}
