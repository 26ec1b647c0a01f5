"""The capacity card, its figures worked out by hand from the kitchen's."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.capacity import (
    CannotMake,
    Capacity,
    UsualWindow,
    capacities,
    usual_window,
)
from harvestplan.outputs.terminal.card_text import card_json, card_text
from harvestplan.outputs.text_page import WIDTH

LIBRARY = load_library()
POUND, GALLON = 453.59237, 3785.411784
KITCHEN: dict[str, Any] = {
    "household": {"name": "Well Row", "timezone": "Europe/London", "measures": "metric"},
    "season": {"start": "2027-04-01", "end": "2027-11-30"},
    "window": [
        {"days": ["tue"], "start": "18:00", "end": "20:00"},
        {"days": ["sat"], "start": "09:00", "end": "13:00", "hands": 2},
    ],
    "pot": [{"name": "kettle", "volume": "16 L", "power": "3.5 kW"}],
    "bath": [{"name": "sink", "volume": "30 L"}],
    "sealer": {"kind": "chamber", "bar": "12 in"},
    "pouch": [
        {"name": "pint", "width": "6 in", "length": "10 in", "film": "3 mil"},
        {"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"},
    ],
    "freezer": [{"name": "chest", "volume": "200 L"}],
}
BEANS = {"product": "snap bean", "portions": 20, "portion": "340 g"}


def season(*wants: dict[str, Any], **changes: Any) -> Season:
    data = KITCHEN | {"want": list(wants)} | changes
    measures = data["household"]["measures"]
    return Season.model_validate(data, context={"measures": measures})


def row(product: str, portion: str = "340 g", **changes: Any) -> Capacity:
    want = {"product": product, "portions": 9, "portion": portion}
    (found,) = capacities(season(want, **changes), LIBRARY)
    assert isinstance(found, Capacity), found
    return found


def test_the_evening_is_the_longest_usual_window() -> None:
    assert usual_window(season()) == UsualWindow(4 * 3600, 2)
    assert usual_window(season(window=[])) == UsualWindow(3 * 3600, 1)
    extra = [{"date": "2027-07-03", "start": "10:00", "end": "15:00"}]
    assert usual_window(season(window=[], extra_window=extra)) == UsualWindow(5 * 3600, 1)
    assert usual_window(season(extra_window=extra)).seconds == 4 * 3600


def test_a_freezer_s_day_limits_a_short_chain() -> None:
    """2 lb per cubic foot in 24 h (USDA AIB 410): 200 L take 6.4 kg, 18 pouches of 340 g."""
    found = row("snap bean")
    assert found.evening_limit.kind == "freezer"
    assert found.evening_limit.grams == pytest.approx(2 * POUND * 200 / 28.316846592, abs=1)
    assert found.evening_pouches == 6406 // 340


def test_trays_limit_before_the_freezer_does() -> None:
    small = [{"name": "chest", "volume": "200 L", "tray_area": "0.2 m2"}]
    found = row("snap bean", freezer=small)
    assert (found.evening_limit.kind, found.evening_limit.name) == ("trays", "chest")
    assert 0 < found.evening_pouches < row("snap bean").evening_pouches


def test_a_full_freezer_takes_nothing() -> None:
    full = [{"name": "chest", "volume": "200 L", "used": "200 L"}]
    found = row("snap bean", freezer=full)
    assert found.evening_pouches == 0
    assert found.evening_limit.kind == "space"


def test_slow_hands_limit_shelling() -> None:
    found = row("shelling pea")
    assert found.evening_limit.kind in ("hands", "time")
    assert found.hour_limit.kind == "hands"
    one = row("shelling pea", window=[KITCHEN["window"][1] | {"hands": 1}])
    assert found.hour_grams == pytest.approx(2 * one.hour_grams, rel=0.01)


def test_the_potful_is_the_water_ratio_s() -> None:
    """12 L of water at 1 US gal per lb (NCHFP): 1.44 kg."""
    (potful,) = row("snap bean").potfuls
    assert potful.grams == pytest.approx(12_000 / GALLON * POUND, abs=2)
    assert potful.back > 60 > 0
    assert potful.one_minute < potful.grams
    assert (potful.blanch, potful.cool) == (180, 180)
    assert potful.ice == pytest.approx(potful.grams * 1.08 * 1.2, rel=0.01)


def test_altitude_adds_its_minute() -> None:
    """One minute more from 5,000 ft (Utah State University Extension)."""
    high = KITCHEN["household"] | {"altitude": "5000 ft"}
    (potful,) = row("snap bean", household=high).potfuls
    assert (potful.blanch, potful.cool) == (240, 240)
    assert potful.altitude_minute


def test_packing_and_hours() -> None:
    found = row("snap bean")
    assert found.pack.machine is not None and found.pack.machine.per_cycle in (1, 2)
    assert found.pack.hours is not None
    assert found.pack.hours_stacked is not None
    assert found.pack.hours_stacked > 2 * found.pack.hours > 6


def test_ice_of_an_evening_burdens_the_freezer_more_than_the_food() -> None:
    found = row("snap bean")
    assert found.ice > found.evening_pouches * 340
    assert found.ice_load > found.ice


def test_a_dryer_limits_what_is_dried() -> None:
    """4 trays of 0.1 m² at 3 kg/m² hold 1.2 kg of rings, nine tenths of the raw apples."""
    dryer = [{"name": "cabinet", "trays": 4, "tray_area": "0.1 m2"}]
    found = row("apple, dried", "60 g", dryer=dryer)
    assert (found.evening_limit.kind, found.evening_limit.name) == ("dryer", "cabinet")
    assert found.evening_limit.grams == int(1200 / 0.9)
    assert found.evening_grams <= 1200 / 0.9
    assert found.drying_hours == 12


def test_a_better_kitchen_never_does_less() -> None:
    plain = row("snap bean", freezer=[{"name": "chest", "volume": "900 L"}])
    strong = [{"name": "kettle", "volume": "24 L", "power": "7 kW"}]
    better = row("snap bean", freezer=[{"name": "chest", "volume": "900 L"}], pot=strong)
    assert better.evening_pouches >= plain.evening_pouches
    assert better.hour_grams >= plain.hour_grams


def test_what_cannot_be_made_is_said() -> None:
    (found,) = capacities(season(BEANS, pot=[]), LIBRARY)
    assert found == CannotMake("snap bean, cut", "there is no [[pot]] to blanch in")
    assert "snap beans, cut: there is no [[pot]]" in card_text(season(BEANS, pot=[]), LIBRARY)


def test_all_lists_every_product_once() -> None:
    rows = capacities(season(BEANS), LIBRARY, every=True)
    assert sorted(r.product for r in rows) == sorted(LIBRARY.product_names())


def test_the_card_reads_in_plain_words() -> None:
    text = card_text(season(BEANS), LIBRARY)
    flat = " ".join(text.split())
    assert "SNAP BEANS, CUT, 340 g each" in flat
    assert "18 pouches; chest freezes 6.4 kg a day." in flat
    assert "Potful: 1.4 kg in kettle (12 L of water), back at the boil in 3 min" in flat
    assert "Blanch 3 min from when it boils again; cool 3 min in ice water" in flat
    assert "stacking gains nothing" in flat
    assert not re.search(r"\d\.\d{3}", flat)
    assert all(len(line) <= WIDTH for line in text.splitlines())


def test_without_wants_the_card_says_how_to_see_all() -> None:
    assert "harvestplan card --all" in card_text(season(), LIBRARY)


def test_json_holds_the_same_rows() -> None:
    data = json.loads(card_json(season(BEANS), LIBRARY))
    assert data["evening"] == {"seconds": 4 * 3600, "hands": 2}
    assert data["boils_at_c"] == 100.0
    (made,) = data["products"]
    assert made["evening_pouches"] == row("snap bean").evening_pouches
    assert data["cannot_make"] == []


def test_the_command(tmp_path: Path) -> None:
    season_text = (
        '[household]\nname = "Well Row"\ntimezone = "Europe/London"\nmeasures = "US"\n'
        "[season]\nstart = 2027-04-01\nend = 2027-11-30\n"
        '[sealer]\nkind = "external"\nbar = "12 in"\n'
        '[[pouch]]\nname = "pint"\nwidth = "6 in"\nlength = "10 in"\nfilm = "3 mil"\n'
        '[[want]]\nproduct = "dry bean, sealed"\nportions = 4\nportion = "8 oz"\n'
    )
    (tmp_path / "season.toml").write_text(season_text, encoding="utf-8")
    said = CliRunner().invoke(app, ["card", "--in", str(tmp_path)])
    assert said.exit_code == 0
    assert "dry beans: 68 pouches of 8 oz" in said.output
    everything = CliRunner().invoke(app, ["card", "--all", "--json", "--in", str(tmp_path)])
    data = json.loads(everything.output)
    assert len(data["products"]) + len(data["cannot_make"]) == len(LIBRARY.product_names())
