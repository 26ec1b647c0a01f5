"""Everything that people read of the demo, read aloud: no number beyond a kitchen scale or a
measuring jug, no singular for a plural, and foods named as people name them."""

from __future__ import annotations

import gzip
import html
import json
import re
from pathlib import Path

import pytest
from places import DEMO, ROOT
from typer.main import get_command

from harvestplan.commands.cli import app
from harvestplan.inputs.load import load_season
from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.season import Season
from harvestplan.inputs.spoken.said_foods import library_foods
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.card_text import card_text
from harvestplan.outputs.terminal.plan_short import plan_short
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.models import Plan
from harvestplan.words import (
    about,
    about_span,
    at_least,
    at_most,
    crop_many,
    ice_mass,
    mass,
    product_words,
    spooned,
)

LIBRARY = load_library(DEMO)
PLAN = ROOT / "tests" / "browser" / "willow_bend_plan.json.gz"
OUNCE, POUND = 28.349523125, 453.59237
IN_PARTS = r"(?:oz|lb|cups?|qt|pints?|fl oz|gal)"
THINGS = "bag|box|pouch|session|portion|evening|batch|cup|pint|person|visit|food|jar|pack|minute"
WRONG = {
    "a decimal where a kitchen has halves and quarters": rf"\d\.\d+ {IN_PARTS}\b",
    "more than three figures": r"(?<![\d.])(?:\d{2,3}\.\d{2,}|\d\.\d{3,}) (?:kg|g|L|mL|lb|oz|m2)\b"
    r"|(?<![\d.])\d{2,}\.\d+ (?:oz|sq in|mL|g)\b",
    "a singular for a plural": rf"(?<!/)\b(?:[2-9]|[1-9]\d+) (?:{THINGS})\b(?!-| of \d)"
    rf"|\d \d/\d (?:{THINGS})\b(?!-| of \d)",
    "a plural for a singular": rf"(?<![\d./])(?<!\d )\b1 (?:{THINGS})(?:s|es)\b",
    "seconds of what was reckoned": r"about \d+ min (?!30 s)\d+ s|about \d+[1-9] s\b",
    "a word of the trade's files": r"portioned|chicken piece\b|\bleaf\b|, kernel\b|, cob\b",
}


def season_in(measures: str) -> Season:
    season = load_season(DEMO, LIBRARY).season
    home = season.household.model_copy(update={"measures": measures})
    return season.model_copy(update={"household": home})


def shown(path: Path) -> str:
    """What a file shows to people."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".html":
        text = re.sub(r"(?s)<(style|script).*?</\1>", " ", text)
        labels = " . ".join(re.findall(r'(?:aria-label|title|alt)="([^"]*)"', text))
        text = html.unescape(re.sub(r"<[^>]+>", " . ", text) + labels)
    if path.suffix == ".ics":
        text = text.replace("\n ", "")  # folded lines; reading makes every line end plain
        text = "\n".join(re.findall(r"(?m)^(?:SUMMARY|DESCRIPTION|LOCATION)[^:]*:(.*)$", text))
        text = text.replace("\\n", "\n").replace("\\", "")
    # Commands to be typed name foods as the files do.
    return re.sub(r"(?m)harvestplan (?:froze|reading|count)[^\n]*|.*\.toml.*", "", text)


@pytest.fixture(scope="module", params=["US", "metric", "UK"])
def outputs(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    """What every output of the demo says, by its name."""
    plan = Plan.model_validate(json.loads(gzip.decompress(PLAN.read_bytes())))
    # What the plan says in words was said when it was made, by the texts of then.
    plan = plan.model_copy(update={"warnings": ()})
    season, out = season_in(request.param), tmp_path_factory.mktemp("out")
    write_outputs(plan, season, LIBRARY, out=out)
    told = {
        str(path.relative_to(out)): shown(path)
        for path in sorted(out.rglob("*"))
        if path.suffix in (".html", ".txt", ".md", ".ics")
    }
    assert len(told) > 30
    told["card"] = card_text(season, LIBRARY, True)
    told["plan"] = plan_short(plan, season, LIBRARY)
    return told


@pytest.mark.parametrize("wrong", WRONG)
def test_nothing_that_people_read_is_worded_so(wrong: str, outputs: dict[str, str]) -> None:
    found = [
        f"{name}: …{text[max(found.start() - 40, 0) : found.end() + 20]}…".replace("\n", " ")
        for name, text in outputs.items()
        for found in re.finditer(WRONG[wrong], text)
    ]
    assert not found, "\n".join(dict.fromkeys(found))


def test_commands_that_are_told_exist(outputs: dict[str, str]) -> None:
    known = set(get_command(app).commands)  # type: ignore[attr-defined]
    told = {
        word: name
        for name, text in outputs.items()
        for word in re.findall(r"\bharvestplan ([a-z][a-z-]+)", text)
    }
    assert {"book", "open"} <= set(told)
    assert set(told) <= known, told


def test_grams_are_those_of_a_kitchen_scale(outputs: dict[str, str]) -> None:
    odd = [
        f"{name}: {found[0]}"
        for name, text in outputs.items()
        for found in re.finditer(r"(?<![\d.,/])(\d+) g\b", text)
        if int(found[1]) > 20 and int(found[1]) % 5
    ]
    assert not odd


def test_the_tests_own_eye_sees() -> None:
    said = "Pick about 6.9 oz; 12.1 oz ice; 10.45 kg; 2 bag; 1 bags; chicken piece, portioned; "
    said += "(that takes about 1 min 56 s)"
    for wrong, pattern in WRONG.items():
        assert re.search(pattern, said), wrong


@pytest.mark.parametrize("grams", [*range(3, 900, 7), 1000, 1361, 2268, 4763, 11_340, 50_000])
@pytest.mark.parametrize("measures", ["US", "UK", "metric"])
def test_rounding_is_near_and_never_past_a_limit(grams: int, measures: str) -> None:
    def read(text: str) -> float:
        return read_quantity(text, "mass", measures).value

    assert read(mass(grams, measures)) == pytest.approx(grams, rel=0.14, abs=5)  # type: ignore[arg-type]
    assert read(about(grams, measures)) == pytest.approx(grams, rel=0.2, abs=12)  # type: ignore[arg-type]
    assert read(at_most(grams, measures)) <= grams + 0.5 + 1e-6  # type: ignore[arg-type]
    assert read(at_least(grams, measures)) >= grams - 0.5 - 1e-6  # type: ignore[arg-type]
    assert read(ice_mass(grams, measures)) >= grams - 0.5 - 1e-6  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("grams", "told"),
    [(12 * OUNCE, "12 oz"), (6.9 * OUNCE, "7 oz"), (10.4 * POUND, "10 1/2 lb"), (POUND, "1 lb"),
     (1.5 * POUND, "1 1/2 lb"), (12.1 * OUNCE, "12 oz")],
)  # fmt: skip
def test_pounds_and_ounces(grams: float, told: str) -> None:
    assert mass(grams, "US") == mass(round(grams), "US") == told


def test_a_food_as_people_name_it_is_understood_as_the_food_it_is() -> None:
    foods = library_foods(LIBRARY)
    for product in LIBRARY.product_names():
        assert foods.product(product_words(product)) == product
    for crop in LIBRARY.crops:
        assert foods.crop(crop_many(crop)) == crop
    assert product_words("chicken piece, portioned") == "chicken pieces"
    assert product_words("kale, leaf") == "kale leaves"


@pytest.mark.parametrize(
    ("grams", "millilitres", "measures", "told"),
    [
        (0.7, 0.3, "metric", "a pinch"),
        (0.75, 1.2, "metric", "1/4 tsp"),
        (9, 9, "metric", "1 3/4 tsp"),
        (12, 12, "metric", "12 g"),
        (0.75, None, "metric", "1 g"),
        (0.75, 1.2, "US", "1/4 tsp"),
    ],
)
def test_what_no_scale_tells_is_spooned(
    grams: float, millilitres: float | None, measures: str, told: str
) -> None:
    """Teaspoons of 5 mL; a kitchen scale of whole grams is of no use below ten."""
    assert spooned(grams, millilitres, measures) == told  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (3, "10 s"),
        (44, "40 s"),
        (63, "1 min"),
        (116, "2 min"),
        (787, "13 min"),
        (4000, "1 h 7 min"),
    ],
)
def test_what_was_reckoned_is_told_roundly(seconds: float, told: str) -> None:
    assert about_span(seconds) == told
