"""The smallest season folder with something to plan, in three files."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from season_tables import house, kitchen

from harvestplan.commands.cli import main

HOUSEHOLD = house("2027-06-01", "2027-08-31")
KITCHEN = kitchen()
GARDEN = """\
[[bought]]
item = "dry bean"
amount = "8 lb"
on = 2027-06-04

[[want]]
product = "dry bean, sealed"
portions = 4
portion = "1 lb"
"""
FILES = {"household.toml": HOUSEHOLD, "kitchen.toml": KITCHEN, "garden.toml": GARDEN}
KEPT = b'{"kept": "as it was"}'


def write_small(folder: Path) -> Path:
    """Write the season into `folder`, made if missing."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in FILES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def command(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str, str]:
    """Exit code, output and error output of a command line run in this process."""
    monkeypatch.setattr(sys, "argv", ["harvestplan", *words])
    capsys.readouterr()
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return int(left.value.code or 0), said.out, said.err
