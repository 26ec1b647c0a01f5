"""The store counted from the season file and the diary, to the pouch."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path

import pytest
from places import DEMO

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.stock_text import stock_json, stock_shown, stock_text
from harvestplan.records.diary import read_diary
from harvestplan.records.stock import StoredProduct, stock, use_first

BEANS = "snap bean, cut"


def shelves(tmp_path: Path, diary: str, today: dt.date) -> dict[str, StoredProduct]:
    folder = tmp_path / "season"
    if not folder.exists():
        shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out"))
    (folder / "diary.txt").write_text(diary, encoding="utf-8")
    library = load_library()
    season = load_season(folder, library).season
    found = stock(season, library, read_diary(folder), today=today)
    return {shelf.product: shelf for shelf in found}


def test_the_oldest_portions_go_first(tmp_path: Path) -> None:
    diary = """\
2027-07-20 froze "snap bean, cut" 6 pouches of 12 oz, 1 failed seal #a1f5
2027-11-02 ate "snap bean, cut" 3 #b001
2027-11-09 gave "snap bean, cut" 2 #b002
2027-11-10 lost "snap bean, cut" 1 #b003
"""
    beans = shelves(tmp_path, diary, dt.date(2027, 11, 30))[BEANS]
    # Four lay there from last year; six of the first ten portions are gone, the old ones first.
    assert [(b.put_by, b.portions) for b in beans.batches] == [(dt.date(2027, 7, 20), 4)]
    assert beans.eaten == 3


def test_what_lies_in_the_future_does_not_count_yet(tmp_path: Path) -> None:
    diary = '2027-11-02 ate "snap bean, cut" 3 #b001\n'
    assert shelves(tmp_path, diary, dt.date(2027, 11, 1))[BEANS].portions == 4
    assert shelves(tmp_path, diary, dt.date(2027, 11, 2))[BEANS].portions == 1


@pytest.mark.parametrize("counted", [0, 2, 4, 7])
def test_a_count_sets_the_number(tmp_path: Path, counted: int) -> None:
    diary = f'2027-10-01 count "snap bean, cut" {counted} #c001\n'
    assert shelves(tmp_path, diary, dt.date(2027, 10, 1))[BEANS].portions == counted


def test_more_eaten_than_was_known_of_is_said_until_it_is_counted(tmp_path: Path) -> None:
    """Four lay there: five were eaten and two given away."""
    diary = f"""\
2027-11-02 ate "{BEANS}" 5 #b001
2027-11-09 gave "{BEANS}" 2 #b002
"""
    beans = shelves(tmp_path, diary, dt.date(2027, 11, 30))[BEANS]
    assert (beans.portions, beans.eaten, beans.unknown) == (0, 5, 3)
    told = " ".join(stock_shown(tmp_path / "season", dt.date(2027, 11, 30), False).split())
    assert (
        "More went than the season file and the diary knew of: snap beans, cut (3 portions)."
        in told
    )
    assert f'harvestplan count "{BEANS}" 3' in told
    diary += f'2027-11-10 count "{BEANS}" 2 #b003\n'
    beans = shelves(tmp_path, diary, dt.date(2027, 11, 30))[BEANS]
    assert (beans.portions, beans.unknown) == (2, 0)
    told = stock_shown(tmp_path / "season", dt.date(2027, 11, 30), False)
    assert "More went" not in told


def test_what_is_taken_back_did_not_happen(tmp_path: Path) -> None:
    diary = '2027-11-02 ate "snap bean, cut" 3 #b001\n2027-11-03 undo #b001\n'
    assert shelves(tmp_path, diary, dt.date(2027, 12, 1))[BEANS].portions == 4


def test_best_before_and_use_first(tmp_path: Path) -> None:
    """Blanched vegetables keep 8 to 12 months at 0 °F (NCHFP, freezer shelf life)."""
    found = shelves(tmp_path, "", dt.date(2027, 3, 1))
    batch = found[BEANS].batches[0]
    months = (batch.best_before - batch.put_by).days / 30.44
    assert 8 <= months <= 12
    week_before = batch.best_before - dt.timedelta(days=7)
    assert BEANS in [shelf.product for shelf in use_first(found.values(), week_before)]
    long_before = batch.best_before - dt.timedelta(days=90)
    assert BEANS not in [shelf.product for shelf in use_first(found.values(), long_before)]


def test_pace_against_the_weekly_draw_is_said(tmp_path: Path) -> None:
    # The demo draws one portion of beans a week from 1 November: two by 14 November.
    diary = '2027-11-05 ate "snap bean, cut" 1 #b001\n'
    today = dt.date(2027, 11, 14)
    found = shelves(tmp_path, diary, today)
    assert found[BEANS].due == 2
    text = stock_text(tuple(found.values()), today)
    assert "snap beans, cut: 3 portions; 1 portion behind" in text
    read = json.loads(stock_json(tuple(found.values()), today))
    assert {p["product"]: p["portions"] for p in read["products"]}[BEANS] == 3
