"""The standard list of what one more would be, for a kitchen that has everything and a bare one."""

from __future__ import annotations

from pathlib import Path

from season_tables import kitchen, write_season

from harvestplan.foresight.asking import refuse_flawed
from harvestplan.foresight.changes import read_variant
from harvestplan.foresight.helps import one_more
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library

HEAD = """\
[household]
name = "The Lane"
timezone = "America/Chicago"

[season]
start = 2027-06-01
end = 2027-10-31
"""
FULL = f"""{HEAD}\
max_sessions = 20
max_sessions_per_week = 2

[[window]]
days = ["wed", "mon"]
start = 17:30:00
end = 20:30:00
hands = 2

[[window]]
days = ["sat"]
start = 09:00:00
end = 12:00:00

{kitchen()}tray_area = "0.5 m2"

[[pot]]
name = "cauldron"
volume = "20 qt"
power = "3 kW"

[[bath]]
name = "tub"
volume = "9 gal"

[[oven]]
name = "range"
trays = 2
tray_load = "4 lb"

[[dryer]]
name = "rack"
trays = 4
tray_area = "1 ft2"

[cold]
fridge = "20 L"

[[planting]]
crop = "carrot"
id = "bed"
area = "4x10 ft"
sown = 2027-05-10

[[planting]]
crop = "tomato"
plants = 6
set_out = 2027-05-20

[[bought]]
item = "dry bean"
amount = "8 lb"
on = 2027-06-05

[[want]]
product = "carrot, sliced"
portions = 9
portion = "12 oz"

[[want]]
product = "tomato, purée"
portions = 9
portion = "12 oz"
priority = 2

[[want]]
product = "dry bean, sealed"
portions = 4
portion = "1 lb"

[[want]]
product = "kale, leaf"
portions = 0
portion = "1 lb"
"""


def ideas(folder: Path, text: str) -> dict[str, str]:
    """Changes by what one unit of them is; each can be made to the season."""
    write_season(folder, text)
    season = load_season(folder, load_library()).season
    found = {each.unit: each.change for each in one_more(season)}
    refuse_flawed(folder, [read_variant(change) for change in found.values()])
    return found


def test_a_kitchen_that_has_everything(tmp_path: Path) -> None:
    """The largest pot and bath; the evening on the first free day that is easiest, at the usual
    evening hours; the dearest want's food first."""
    found = ideas(tmp_path, FULL)
    assert list(found.items())[:2] == [
        (
            "an evening more a week (fri)",
            "window.fri=17:30-20:30 and season.max_sessions_per_week=+1",
        ),
        ("a session more a week in the windows there are", "season.max_sessions_per_week=+1"),
    ]
    assert found["a session more in the season"] == "season.max_sessions=+1"
    longer = found["half an hour more in every window"].split(" and ")
    assert longer == [f"window.{day}.end=+30 min" for day in ("mon", "wed", "sat")]
    hands = found["a pair of hands in every window"].split(" and ")
    assert hands == ["household.hands=+1", "window.wed.hands=+1", "window.mon.hands=+1"]
    assert found['a pot like "cauldron"'] == "pot.cauldron=+1"
    assert found['a cooling bath like "tub"'] == "bath.tub=+1"
    assert found["a sealing bar of 16 in"] == "sealer.bar=16 in"
    assert found["a tray in the oven"] == "oven.range.trays=+1"
    assert found["two trays in the dryer"] == "dryer.rack.trays=+2"
    assert found["half as much again of freezing trays"] == "freezer.chest.tray_area=+50 %"
    assert found["30 L of fridge"] == "cold.fridge=+30 L"
    assert [change for change in found.values() if "planting" in change or "bought" in change] == [
        "planting.tomato.plants=+50 %",
        "planting.bed.area=+50 %",
        "bought.dry bean.amount=+50 %",
    ]


def test_a_bare_kitchen_is_offered_a_dryer_and_an_evening(tmp_path: Path) -> None:
    assert ideas(tmp_path, HEAD) == {
        "an evening more a week (wed)": "window.wed=18:00-21:00",
        "a pair of hands in every window": "household.hands=+1",
        "a dryer of six trays": "dryer.dryer=trays 6, tray_area 1.5 ft2",
    }


def test_what_cannot_be_more_is_not_offered(tmp_path: Path) -> None:
    """Every day is taken, to nearly midnight; hands, bar, oven and dryer are the largest."""
    week = '[[window]]\ndays = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]\n'
    late = f"{week}start = 20:00:00\nend = 23:30:00\n\n"
    most = kitchen(sealer='kind = "external"\nbar = "16 in"')
    oven = '[[oven]]\nname = "range"\ntrays = 12\ntray_load = "4 lb"\n'
    dryer = '[[dryer]]\nname = "rack"\ntrays = 39\ntray_area = "1 ft2"\n'
    head = HEAD.replace("[season]", "hands = 8\n\n[season]")
    units = set(ideas(tmp_path, f"{head}\n{late}{most}{oven}{dryer}"))
    assert units == {'a pot like "kettle"', 'a cooling bath like "sink"', "100 L of freezer"}
