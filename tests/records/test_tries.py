"""What the diary says of machine settings, and the book made of it."""

from __future__ import annotations

import shutil
from pathlib import Path

from harvestplan.inputs.library import load_library
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.settings_book import Try
from harvestplan.outputs.settings_text import settings_text
from harvestplan.records.diary import read_diary
from harvestplan.records.tries import pump_down_tries

DEMO = Path(__file__).resolve().parents[2] / "demo" / "willow-bend"
PUREE = "winter squash, purée"
DIARY = """\
2027-09-03 setting "winter squash, purée" pump-down 22 s foamed #b002
2027-09-04 setting "winter squash, purée" pump-down 14 s held #b003
2027-09-05 setting "winter squash, purée" a new bar was fitted #b004
"""


def book(tmp_path: Path, diary: str) -> str:
    folder = tmp_path / "season"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out"))
    (folder / "diary.txt").write_text(diary, encoding="utf-8")
    library = load_library()
    season = load_season(folder, library).season
    tries = pump_down_tries(read_diary(folder))
    if diary:
        assert tries == {PUREE: (Try(22, False), Try(14, True))}
    return " ".join(settings_text(season, library, tries).split())


def test_a_puree_that_foams_starts_short_and_its_soup_longer(tmp_path: Path) -> None:
    """Common practice, no source: what foams wants a short pump-down, a soup stands more."""
    text = book(tmp_path, "")
    assert "winter squash, purée, in quart 8x12: pump-down 12 s" in text
    assert "winter squash, soup, in quart 8x12: pump-down 22 s" in text


def test_the_book_halves_between_what_held_and_what_foamed(tmp_path: Path) -> None:
    text = book(tmp_path, DIARY)
    assert "pump-down 14 s, seal 2 s" in text
    assert "It held at 14 s and failed at 22 s (it started at 12 s). Try 18 s next." in text
