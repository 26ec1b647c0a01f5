"""Entries that can hardly be are asked about. Bush beans take 48 to 60 days from sowing to the
first pick in seed lists (from memory); none a week."""

from __future__ import annotations

from pathlib import Path

import pytest
from commands.at_a_terminal import talk
from records.diary_folder import make_folder
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.records.diary import read_diary


def picked(folder: Path, day: str) -> tuple[int, str]:
    said = CliRunner().invoke(app, ["picked", "beans-1 2 lb", "--on", day, "--in", str(folder)])
    return said.exit_code, said.output


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return make_folder(tmp_path / "s")


def test_a_pick_a_week_after_sowing_is_warned_of(folder: Path) -> None:
    code, said = picked(folder, "2027-05-28")
    assert code == 0 and "even quick kinds" in said and "harvestplan undo" in said
    code, said = picked(folder, "2027-07-20")
    assert code == 0 and "even quick kinds" not in said
    code, said = picked(folder, "2027-03-01")
    assert "after that day" in said


def test_at_a_terminal_it_is_asked_about(folder: Path) -> None:
    words = ["picked", "beans-1 2 lb", "--on", "2027-05-28", "--in", str(folder)]
    shown, code = talk(words, [("all the same", "n")])
    assert code == 1 and "Nothing was written" in shown and not read_diary(folder).events
    shown, code = talk(words, [("all the same", "y")])
    assert code == 0 and len(read_diary(folder).events) == 1
