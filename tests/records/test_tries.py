"""What the diary says of machine settings, and the book made of it."""

from __future__ import annotations

import shutil
from pathlib import Path

from each_case import each
from places import DEMO

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.machine_settings import Try
from harvestplan.outputs.terminal.settings_text import settings_text
from harvestplan.records.diary import read_diary
from harvestplan.records.tries import pump_down_tries

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


# How gardeners may say it: invented sentences, nobody's own.
HELD = (
    "held", "held well.", "good and tight", "no foam, held", "did not foam, held well",
    "never leaked and tight", "nothing bubbled and it held", "held without leaks",
    "doesn't leak, fine",
)  # fmt: skip
FAILED = (
    "did not hold well", "didn't hold", "didn’t really hold well", "never held", "not good",
    "no good", "not a good seal", "was not at all tight", "isn't tight enough", "won't hold tight",
    "no longer holds", "none of the pouches held", "cannot hold", "failed to hold well",
    "foamed and did not hold", "not tight, leaked", "does not seal",
)  # fmt: skip
UNCLEAR = (
    "barely held", "hardly tight", "almost held", "not sure it held", "could not have held better",
    "not only held but tight", "did not foam", "never leaked", "not bad", "held, but not well",
    "not all pouches held", "nearly good", "no idea whether it held", "held no longer than a day",
)  # fmt: skip


@each(
    ("words", "held"),
    [(w, True) for w in HELD] + [(w, False) for w in FAILED] + [(w, None) for w in UNCLEAR],
)
def test_a_denial_is_no_success(tmp_path: Path, words: str, held: bool | None) -> None:
    """What plainly denies holding failed; of what is unclear nothing is learnt. A plan that took
    "did not hold well" for a success would go on to a longer setting, the wrong way."""
    shutil.copytree(DEMO, tmp_path / "season", ignore=shutil.ignore_patterns("out"))
    line = f'2027-09-03 setting "{PUREE}" pump-down 22 s {words} #b002\n'
    (tmp_path / "season" / "diary.txt").write_text(line, encoding="utf-8")
    found = pump_down_tries(read_diary(tmp_path / "season"))
    assert found == ({} if held is None else {PUREE: (Try(22, held),)})
