"""What is said after a power cut.

A full freezer keeps frozen for 48 hours and a half-full one for 24 with the door shut; what still
has ice crystals or is at 40 °F or below may be frozen again (FoodSafety.gov, seen as quoted).
"""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from pathlib import Path

import pytest

from harvestplan.cli import main
from harvestplan.outputs.power_cut import standing_cut, verdict_words
from harvestplan.records.diary import Diary
from harvestplan.records.events import Ate, Count, Event, Lost, LostAll, PowerCut

DAY = dt.date(2027, 8, 1)
HELD, LOOK = "did no harm", "look at every pack"


def cut(hours: float, opened: bool = False, on: dt.date = DAY) -> PowerCut:
    return PowerCut(on, "aaaa", 1, "power-cut", hours, opened)


@pytest.mark.parametrize(
    ("hours", "full", "said"),
    [
        (47, 0.97, HELD), (49, 0.97, LOOK), (23, 0.6, HELD), (25, 0.6, LOOK), (30, 0.94, LOOK),
        (6, 0.3, LOOK), (23, None, "half full or fuller, it held"),
        (30, None, "if it was full, it held; if not, look"), (50, None, LOOK),
    ],
)  # fmt: skip
def test_the_rule_of_48_and_24_hours(hours: float, full: float | None, said: str) -> None:
    assert said in verdict_words(cut(hours), full)


def test_an_opened_freezer_has_no_hours() -> None:
    assert LOOK in verdict_words(cut(2, opened=True), 1.0)


@pytest.mark.parametrize(
    ("after", "stands"),
    [
        (Ate(DAY, "b", 2, "", "snap bean, cut", 1), True),
        (Count(DAY, "b", 2, "", "snap bean, cut", 3), False),
        (Lost(DAY, "b", 2, "", "snap bean, cut", 3, None), False),
        (LostAll(DAY, "b", 2, ""), False),
    ],
)
def test_the_store_warns_until_it_was_sorted_out(after: Event, stands: bool) -> None:
    diary = Diary((cut(30), after))
    assert (standing_cut(diary, DAY + dt.timedelta(days=3)) is not None) is stands
    assert standing_cut(diary, DAY + dt.timedelta(days=31)) is None
    assert standing_cut(diary, DAY - dt.timedelta(days=1)) is None


@pytest.fixture
def season(tmp_path: Path) -> Path:
    (tmp_path / "season.toml").write_text(
        '[household]\nname = "The Lane"\ntimezone = "Europe/London"\n'
        "[season]\nstart = 2027-05-01\nend = 2027-10-31\n"
        '[[freezer]]\nname = "chest"\nvolume = "100 L"\n'
        '[[stored]]\nproduct = "snap bean"\nportions = 4\nportion = "12 oz"\n'
        "frozen_on = 2027-03-01\n"
        '[[stored]]\nproduct = "sweet corn"\nportions = 3\nportion = "12 oz"\n'
        "frozen_on = 2027-03-01\n",
        encoding="utf-8",
    )
    return tmp_path


def run(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *words: str
) -> tuple[int, str]:
    monkeypatch.setattr(sys, "argv", ["harvestplan", *words])
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return int(left.value.code or 0), said.out + said.err


def test_a_power_cut_by_command(
    season: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    here = ("--in", str(season), "--on", "2027-08-01")
    code, said = run(capsys, monkeypatch, "power-cut", "30 h", *here)
    assert code == 0
    flat = " ".join(said.split())
    for words in ("ice crystals", "40 °F (4 °C)", "local food-safety authority", "lost all"):
        assert words in flat
    assert "2027-08-01 power-cut 30 h, door shut #" in (season / "diary.txt").read_text()
    code, said = run(capsys, monkeypatch, "stock", "--in", str(season), "--as-of", "2027-08-02")
    assert "power was off for 30 hours" in " ".join(said.split())
    code, said = run(capsys, monkeypatch, "lost", "all", *here)
    assert code == 0
    assert "without tasting" in " ".join(said.split())
    code, said = run(
        capsys, monkeypatch, "stock", "--json", "--in", str(season), "--as-of", "2027-08-02"
    )
    told = json.loads(said)
    assert {p["product"]: p["portions"] for p in told["products"]} == {
        "snap bean, cut": 0, "sweet corn, kernel": 0,
    }  # fmt: skip
    assert "power_cut" not in told


@pytest.mark.parametrize("words", ["30", "h", "30 lb", "0 h", "9999 h", ""])
def test_a_power_cut_that_makes_no_sense(
    season: Path, words: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, said = run(capsys, monkeypatch, "power-cut", words, "--in", str(season))
    assert code == 2
    assert "power-cut 30 h" in said
    assert not (season / "diary.txt").exists()


def test_a_stocktake_of_several_products(
    season: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ("count", "snap bean, cut", "14", "sweet corn, kernel", "9", "portions")
    code, said = run(capsys, monkeypatch, *words, "--in", str(season), "--on", "2027-08-01")
    assert code == 0
    assert len(said.splitlines()) == 2
    code, said = run(
        capsys, monkeypatch, "stock", "--json", "--in", str(season), "--as-of", "2027-08-01"
    )
    assert [p["portions"] for p in json.loads(said)["products"]] == [14, 9]
    # One product that nobody knows, and nothing is written.
    before = (season / "diary.txt").read_bytes()
    code, _ = run(capsys, monkeypatch, "count", "snap bean", "1", "sewt cron", "2", "--in",
                  str(season))  # fmt: skip
    assert code == 2
    assert (season / "diary.txt").read_bytes() == before


@pytest.mark.parametrize("name", ["diary.txt", "out/plan.json"])
def test_a_pipe_in_place_of_a_file_is_told_of(
    season: Path, name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (season / "out").mkdir()
    os.mkfifo(season / name)
    code, said = run(capsys, monkeypatch, "stock", "--in", str(season))
    assert code == 3
    assert name.rpartition("/")[2] in said
