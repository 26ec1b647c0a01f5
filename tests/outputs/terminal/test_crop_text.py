"""What `crops` says: quantities in the household's measures, sources numbered, nothing raw."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from each_case import each
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.growing import Growth, Yields
from harvestplan.inputs.ingredients import Ingredient
from harvestplan.inputs.quantity_types import Rate
from harvestplan.inputs.raw_food import Freshness
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.crop_text import crop_json, crop_text, crops_text
from harvestplan.outputs.terminal.figure_words import shower, span
from harvestplan.outputs.text_page import WIDTH

LIBRARY = load_library()


@each("measures", ["US", "UK", "metric"])
@each("name", LIBRARY.crops)
def test_every_crop_reads_without_raw_numbers(name: str, measures: str) -> None:
    text = crop_text(LIBRARY, name, measures)
    assert not re.search(r"\de\+\d", text)
    assert not re.search(r"\d{6,}(?![\w./])", text.partition("\nSources:")[0])
    for line in text.splitlines():
        assert len(line) <= WIDTH or " " not in line.strip()


@pytest.mark.parametrize(
    ("owner", "field", "value", "measures", "words"),
    [
        (Step, "time", 240.0, "US", "4 min"),
        (Step, "per_kg", 0.36, "metric", "6 min per kg"),
        (Step, "per_kg", 0.36, "US", "2.7 min per lb"),  # 6 min per 2.2046 lb
        (Step, "water", 8.3454, "US", "1 gal of water per lb"),  # 3785.41 mL per 453.59 g
        (Step, "water", 8.3454, "metric", "8.35 L of water per kg"),
        (Step, "tray_load", 5000.0, "metric", "5 kg per m2"),
        (Step, "leaves", 0.91, "US", "91%"),
        (Step, "size", "slices of {1/4 in}", "metric", "slices of 6 mm"),
        # 4 tsp of 4.93 mL in 3785.41 mL, 1/2 cup in as much; 1 cup of 236.59 mL to 453.59 g
        (
            Ingredient,
            "amount",
            Rate(0.0052083, "volume", "volume"),
            "US",
            "4 tsp per gal of its water",
        ),
        (
            Ingredient,
            "amount",
            Rate(0.03125, "volume", "volume"),
            "US",
            "0.5 cup per gal of its water",
        ),
        (Ingredient, "amount", Rate(0.52159, "volume", "mass"), "US", "1 cup per lb"),
        (Ingredient, "amount", Rate(0.52159, "volume", "mass"), "metric", "522 mL per kg"),
        (Ingredient, "amount", Rate(0.02, "mass", "mass"), "metric", "20 g per kg"),
        (Product, "density", 0.51, "US", "4.26 oz to the cup"),  # 0.51 g/mL in 236.588 mL
        (Product, "density", 0.51, "metric", "0.51 kg to the litre"),
        (Product, "keeps", 10 * 30.44 * 86400, "US", "10 months"),
        (Product, "keeps", 4 * 86400.0, "US", "4 days"),
        (Growth, "base", 10.0, "US", "50 °F"),
        (Growth, "base", 10.0, "metric", "10 °C"),
        (Growth, "thermal_time", 855.0, "US", "1539 degree-days F"),
        (Growth, "days_to_maturity", 80 * 86400.0, "UK", "80 days"),
        (Yields, "per_row", 1488.16, "US", "100 lb per 100 ft of row"),  # 453.59 g in 0.3048 m
        (Yields, "per_row", 1488.16, "metric", "1.49 kg per m of row"),
        (Yields, "spacing", 0.254, "US", "10 in"),
        (Freshness, "fridge", 0.07, "US", "7% a day"),
        (Freshness, "cellar", 0.0008, "metric", "0.08% a day"),
        (Crop, "least_batch", 907.18474, "US", "2 lb"),
    ],
)
def test_each_kind_of_figure_has_its_unit(
    owner: type, field: str, value: object, measures: str, words: str
) -> None:
    assert shower(owner, field)(value, measures) == words


def test_a_range_says_its_unit_once() -> None:
    assert span("70 lb", "35 lb", "140 lb") == "35 to 140"
    assert span("24 h", "24 h", "2 days") == "24 h to 2 days"


def test_sweet_corn_tells_what_a_gardener_asks() -> None:
    text = crop_text(LIBRARY, "sweet corn")
    assert "sweet corn, kernel (the usual product): for the freezer" in text
    assert "shell; blanch 4 min; cool; drain; trim; portion; seal; freeze" in text
    assert "at its best for: 10 months (8 to 12)" in text
    assert "Caution: Knife" in text
    assert "worth starting for: 4 lb (common practice, no source)" in text
    assert "ripe in the garden: 15% a day (10% to 25%)" in text
    assert "Refused: canned." in text


def test_every_source_number_is_listed() -> None:
    for name in ("tomato", "snap bean", "minced meat"):
        said, _, listed = crop_text(LIBRARY, name).partition("\nSources:\n")
        numbers = {int(n) for n in re.findall(r"\[(\d+)(?:, from memory)?\]", said)}
        assert numbers == {int(n) for n in re.findall(r"^    \[(\d+)\]", listed, re.M)}
        assert numbers == set(range(1, max(numbers) + 1))


def test_the_list_names_every_crop_and_product() -> None:
    text = " ".join(crops_text(LIBRARY).split())
    for crop in LIBRARY.crops.values():
        assert f" {crop.name}: " in text
        for product in crop.products:
            assert product.form in text


def test_an_unknown_crop_is_answered_with_the_nearest() -> None:
    with pytest.raises(FilesNeedMending, match="Did you mean"):
        crop_text(LIBRARY, "tomatto")


def test_json_holds_the_figures_as_they_are() -> None:
    corn = json.loads(crop_json(LIBRARY, "sweet corn"))
    assert corn["products"][0]["steps"][1]["time"]["value"] == 240
    assert len(json.loads(crop_json(LIBRARY, None))["crops"]) == len(LIBRARY.crops)


def test_the_command_uses_the_household_s_measures(tmp_path: Path) -> None:
    bare = CliRunner().invoke(app, ["crops", "tomato", "--in", str(tmp_path)])
    assert "oz to the cup" in bare.output
    (tmp_path / "home").mkdir()
    season = (
        '[household]\nname = "Mill"\ntimezone = "Europe/Paris"\nmeasures = "metric"\n'
        "[season]\nstart = 2027-04-01\nend = 2027-11-30\n"
    )
    (tmp_path / "home" / "season.toml").write_text(season, encoding="utf-8")
    metric = CliRunner().invoke(app, ["crops", "tomato", "--in", str(tmp_path / "home")])
    assert metric.exit_code == 0
    assert "kg to the litre" in metric.output
    assert "oz to the cup" not in metric.output
