"""What a household is told of its foods' hazards when its folder is read."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from inputs.season_folder import SOUND, write
from places import CROPS

from harvestplan.planning.read import read_household

AS_OF = dt.date(2027, 7, 1)
OWN = (CROPS / "pear.toml").read_text(encoding="utf-8").replace('name = "pear"', 'name = "medlar"')


def notes(folder: Path, season: str, **crops: str) -> str:
    write(folder, season=season)
    write(folder / "crops", **crops)
    return " ".join(read_household(folder, AS_OF).notes)


def test_food_without_a_class_is_named_once(tmp_path: Path) -> None:
    season = SOUND.replace('item = "pear"', 'item = "medlar"')
    plain = OWN.replace('also = ["pears"]\n', "")
    unsaid = plain.replace('hazard = "acid fruit"\n', "")
    assert unsaid != plain
    told = notes(tmp_path, season, medlar=unsaid)
    assert told.count("medlar: its crop file declares no hazard class") == 1
    assert "medlar" not in notes(tmp_path, season, medlar=plain)


def test_raw_meat_waits_two_days_whatever_the_purchase_says(tmp_path: Path) -> None:
    """Illinois Extension: raw ground meat 1 to 2 days."""
    bought = (
        '\n[[bought]]\nitem = "ground beef"\namount = "6 lb"\non = 2027-09-06\nkeeps = "9 days"\n'
    )
    season = SOUND.replace('item = "pear"', 'item = "apple"') + bought
    told = notes(tmp_path, season)
    assert "minced meat: raw, it waits 2 days at most" in told
    assert "minced meat" not in notes(tmp_path, season.replace("9 days", "2 days"))
