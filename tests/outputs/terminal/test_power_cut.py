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

from harvestplan.commands.cli import main
from harvestplan.outputs.terminal.power_cut import standing_cut, verdict_words
from harvestplan.records.diary import Diary
from harvestplan.records.events import Ate, Count, Event, Lost, LostAll, PowerCut

DAY = dt.date(2027, 8, 1)
HELD, LOOK = "should have held; look for ice crystals all the same", "look at every pack"


def cut(hours: float, opened: bool = False, on: dt.date = DAY) -> PowerCut:
    return PowerCut(on, "aaaa", 1, "power-cut", hours, opened)


@pytest.mark.parametrize(
    ("hours", "full", "held", "said"),
    [
        (23, 0.6, True, "24 hours"), (25, 0.6, False, "longer than the 24"),
        (30, 0.94, False, "longer than the 24"), (47, 0.99, False, "longer than the 24"),
        (49, 0.97, False, "longer than even a full freezer"),
        (6, 0.3, False, "less than 24 hours"), (24, 0.5, True, "24 hours"),
        (20, 0.499, False, "49% of the freezer. Less than half"),
        (23, None, True, "if it was half full or fuller"),
        (30, None, True, "if it was full to the top"), (50, None, False, "longer than even a full"),
    ],
)  # fmt: skip
def test_the_rule_of_48_and_24_hours(
    hours: float, full: float | None, held: bool, said: str
) -> None:
    """A plan never tells of 48 hours: the eye alone sees whether a freezer is full. Whatever is
    said, it is also said what to do where it did not hold."""
    words = verdict_words(cut(hours), full)
    assert (HELD in words) is held
    assert LOOK in words
    assert said in words


def test_one_hour_is_one() -> None:
    assert verdict_words(cut(1), None).startswith("1 hour with the door shut")


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
        "snap bean, cut": 0,
        "sweet corn, kernel": 0,
    }
    assert "power_cut" not in told


@pytest.mark.parametrize(
    ("before", "on_the_day", "said"),
    [
        (75, 75, "By the plan food takes up 60% of the freezer. Half full or fuller"),
        (60, 60, "By the plan food takes up 48% of the freezer. Less than half full"),
        (40, 75, "By the plan food takes up 32% of the freezer. Less than half full"),
    ],
)
def test_the_plans_gaps_are_no_food(
    season: Path,
    before: int,
    on_the_day: int,
    said: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Plans count a pack as 1.15 / 0.93 of itself (a planning value and the box around a flat
    pack), and the day's session as frozen already: neither keeps a freezer cold. By hand 75 %
    times 0.93 / 1.15 is 60.7 %."""
    (season / "out").mkdir()
    row = {"name": "chest", "capacity_ml": 100}
    rows = [
        row | {"date": "2027-07-31", "used_ml": before},
        row | {"date": "2027-08-01", "used_ml": on_the_day},
    ]
    (season / "out" / "plan.json").write_text(json.dumps({"freezer": rows}))
    code, told = run(
        capsys, monkeypatch, "power-cut", "20 h", "--in", str(season), "--on", "2027-08-01"
    )
    assert code == 0
    flat = " ".join(told.split())
    assert said in flat
    assert (HELD in flat) is ("or fuller" in said)


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
    code, _ = run(
        capsys, monkeypatch, "count", "snap bean", "1", "sewt cron", "2", "--in", str(season)
    )
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
