"""Quantities: every unit against an independent library, slips, and round trips."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harvestplan.inputs.quantities import QuantityError, read_quantity, read_rate, read_size, show
from harvestplan.inputs.units import Kind, units_for

REGISTRY = pint.UnitRegistry()
BASE = {"mass": "g", "volume": "mL", "length": "m", "area": "m**2", "time": "s", "power": "W"}

# Our word -> the independent library's (pint's own definitions: NIST SP 811, UK gallon 4.54609 L).
PINT = {
    "g gram gramme gm": "gram",
    "kg kilo kilogram kilogramme": "kilogram",
    "tonne": "tonne",
    "oz ounce": "ounce",
    "lb pound": "pound",
    "ml millilitre milliliter cc cm3 cu_cm cubic_centimetre cubic_centimeter": "milliliter",
    "cl centilitre centiliter": "centiliter",
    "dl decilitre deciliter": "deciliter",
    "l litre liter dm3": "liter",
    "m3 cu_m cubic_metre cubic_meter": "meter**3",
    "in3 cu_in cubic_inch cubic_inches": "inch**3",
    "ft3 cu_ft cubic_foot cubic_feet": "foot**3",
    "m metre meter": "meter",
    "cm centimetre centimeter": "centimeter",
    "mm millimetre millimeter": "millimeter",
    "um micron micrometre micrometer": "micrometer",
    'in inch inches "': "inch",
    "mil thou": "thou",
    "ft foot feet '": "foot",
    "yd yard": "yard",
    "km kilometre kilometer": "kilometer",
    "m2 sq_m square_metre square_meter": "meter**2",
    "cm2 sq_cm square_centimetre square_centimeter": "centimeter**2",
    "in2 sq_in square_inch square_inches": "inch**2",
    "ft2 sq_ft square_foot square_feet": "foot**2",
    "yd2 sq_yd square_yard": "yard**2",
    "acre": "(4840 * yard**2)",
    "ha hectare": "hectare",
    "s sec second": "second",
    "min minute": "minute",
    "h hr hour": "hour",
    "d day": "day",
    "wk week": "week",
    "month": "(365.25 / 12 * day)",
    "yr year": "(365.25 * day)",
    "w watt": "watt",
    "kw kilowatt": "kilowatt",
    "btu/h btu/hr btu/hour btu_per_hour btu_per_hr": "(Btu / hour)",
    "us_fl_oz us_floz us_fluid_ounce us_fluid_oz": "US_fluid_ounce",
    "us_cup": "cup",
    "us_pint us_pt": "US_pint",
    "us_quart us_qt": "US_liquid_quart",
    "us_gallon us_gal": "US_liquid_gallon",
    "us_tbsp us_tablespoon": "tablespoon",
    "us_tsp us_teaspoon": "teaspoon",
    "us_peck": "US_dry_gallon * 2",
    "us_bushel us_bu": "bushel",
    "uk_fl_oz uk_floz uk_fluid_ounce uk_fluid_oz": "imperial_fluid_ounce",
    "uk_cup": "imperial_cup",
    "uk_pint uk_pt": "imperial_pint",
    "uk_quart uk_qt": "imperial_quart",
    "uk_gallon uk_gal": "imperial_gallon",
    "uk_tbsp uk_tablespoon": "(15 * milliliter)",
    "uk_tsp uk_teaspoon": "(5 * milliliter)",
    "uk_peck": "imperial_peck",
    "uk_bushel uk_bu": "imperial_bushel",
}
INDEPENDENT = {name.replace("_", " "): unit for row, unit in PINT.items() for name in row.split()}


@pytest.mark.parametrize("measures", ["US", "UK", "metric"])
def test_every_unit_has_the_factor_of_an_independent_library(measures: str) -> None:
    for name, (kind, factor) in units_for(measures).items():
        if kind == "temperature":
            continue
        key = name.replace("imperial ", "uk ")
        metric = {"cup": 250, "tbsp": 15, "tablespoon": 15, "tsp": 5, "teaspoon": 5}
        if key not in INDEPENDENT and measures == "metric":
            assert factor == metric[name]
            continue
        unit = INDEPENDENT.get(key) or INDEPENDENT[f"{measures.lower()} {key}"]
        expected = REGISTRY.parse_expression(f"1 * {unit}").to(BASE[kind]).magnitude
        assert factor == pytest.approx(expected, rel=1e-6 if kind == "power" else 1e-9), name


def test_temperatures() -> None:
    for text, expected in [
        ("0 F", -160 / 9),
        ("-18 C", -18),
        ("212 °F", 100),
        ("−40 f", -40),
        ("3 degrees C", 3),
        ("98.6 Fahrenheit", 37),
    ]:
        assert read_quantity(text, "temperature", "US").value == pytest.approx(expected)


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1 1/2 cups", "volume", 1.5 * 236.5882365),
        ("1½ cups", "volume", 1.5 * 236.5882365),
        ("½ cup", "volume", 118.29411825),
        ("⅓ cup", "volume", 236.5882365 / 3),
        ("1-1/2 lb", "mass", 1.5 * 453.59237),
        ("2 lb 3 oz", "mass", 35 * 28.349523125),
        ("2 lb, 3 oz", "mass", 35 * 28.349523125),
        ("2 lb and 3 oz", "mass", 35 * 28.349523125),
        ("12 fl oz", "volume", 12 * 29.5735295625),
        ("12 Fl. Oz.", "volume", 12 * 29.5735295625),
        ("7 cu ft", "volume", 7 * 28316.846592),
        ("7 ft3", "volume", 7 * 28316.846592),
        ("7 ft³", "volume", 7 * 28316.846592),
        ("2 Cups", "volume", 2 * 236.5882365),
        ("12 OZ", "mass", 12 * 28.349523125),
        ("3 mil", "length", 76.2e-6),
        ("80 µm", "length", 80e-6),
        ("4' 6\"", "length", 1.3716),
        ("1ft2in", "length", 0.3556),
        ("0.5 m²", "area", 0.5),
        ("4x10 ft", "area", 40 * 0.09290304),
        ("4 ft x 10 ft", "area", 40 * 0.09290304),
        ("2 h 30 min", "time", 9000),
        ("1 week", "time", 604800),
        ("12000 BTU/h", "power", 3516.8528),
        ("12000 BTU per hour", "power", 3516.8528),
        (".5 kg", "mass", 500),
    ],
)
def test_what_people_write_is_understood(text: str, kind: Kind, expected: float) -> None:
    quantity = read_quantity(text, kind, "US")
    assert quantity.kind == kind
    assert quantity.value == pytest.approx(expected, rel=1e-6)


def test_the_field_takes_either_kind_and_keeps_which() -> None:
    assert read_quantity("12 oz", ("mass", "volume"), "US").kind == "mass"
    assert read_quantity("2 cups", ("mass", "volume"), "US").kind == "volume"


@pytest.mark.parametrize(
    ("text", "kind", "message", "hint"),
    [
        ("1,5 kg", "mass", "comma", 'Write "1.5 kg".'),
        ("1,500 g", "mass", "comma", '"1.500 g" or "1500 g"'),
        ("1,500.5 g", "mass", "comma", 'Write "1500.5 g".'),
        ("12", "mass", "no unit", '"12 oz" or "12 g"'),
        (12, "mass", "no unit", '"12 oz" or "12 g"'),
        (0.5, "time", "no unit", '"0.5 s"'),
        ("12 oz", "volume", "measures mass", 'Write "12 fl oz".'),
        ("12 fl oz", "mass", "measures volume", 'Write "12 oz".'),
        ("5 m", "time", "measures length", 'Write "5 min".'),
        ("10 ft", "area", "measures length, but an area is", 'Write "10 ft2".'),
        ("4 c", "volume", "measures temperature", 'Write "4 cups".'),
        ("3 T", "volume", '"t"', "for example"),
        ("3 kilogrms", "mass", "do not know", 'Did you mean "3 kilogram"?'),
        ("12000 btu", "power", "do not know", 'Did you mean "12000 BTU/h"?'),
        ("-3 oz", "mass", "below zero", "zero or more"),
        ("1/0 lb", "mass", "divides by zero", "1/2"),
        ("", "mass", "cannot read", "for example"),
        ("two lb", "mass", "cannot read", "for example"),
        ("3 lb of beans", "mass", "lb of beans", "for example"),
        ("1e3 g", "mass", "e3 g", "for example"),
        ("-300 C", "temperature", "colder", "Check"),
        ("9" * 200 + " g", "mass", "too long", "for example"),
        ("9" * 60 + " g", "mass", "too large", "digits"),
        (True, "mass", "not a mass", "for example"),
        (["1 g"], "mass", "not a mass", "for example"),
        ("4x10", "area", "no unit", "4x10 in"),
    ],
)  # fmt: skip
def test_slips_are_refused_with_the_way_to_write(
    text: object, kind: Kind, message: str, hint: str
) -> None:
    with pytest.raises(QuantityError) as caught:
        read_quantity(text, kind, "US")
    assert message in caught.value.message
    assert hint in caught.value.hint
    assert isinstance(caught.value, ValueError)


def test_kinds_do_not_add_up() -> None:
    with pytest.raises(QuantityError, match="mixes"):
        read_quantity("1 lb 2 cups", ("mass", "volume"), "US")


def test_a_metric_household_says_whose_pint() -> None:
    with pytest.raises(QuantityError, match="differs between the US and the UK"):
        read_quantity("2 pints", "volume", "metric")
    assert read_quantity("2 UK pints", "volume", "metric").value == pytest.approx(1136.5225)
    assert read_quantity("1 cup", "volume", "metric").value == 250


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6x10 in", (0.1524, 0.254)),
        ("0.2x0.1 m", (0.2, 0.1)),
        ("6 × 10 in", (0.1524, 0.254)),
        ("6 in by 10 in", (0.1524, 0.254)),
        ("6 in x 10 cm", (0.1524, 0.1)),
        ('6"x10"', (0.1524, 0.254)),
        ("300x360x110 mm", (0.3, 0.36, 0.11)),
        ("1 1/2x2 in", (0.0381, 0.0508)),
    ],
)
def test_sizes(text: str, expected: tuple[float, ...]) -> None:
    assert read_size(text, "US") == pytest.approx(expected)


@pytest.mark.parametrize("text", ["6x10", "6x", "6 in", "x", "1x2x3x4 in", 7, "6x10 kg"])
def test_what_is_no_size(text: object) -> None:
    with pytest.raises(QuantityError):
        read_size(text, "US")


@pytest.mark.parametrize(
    ("text", "top", "bottom", "expected"),
    [
        ("120 lb per 100 ft", "mass", "length", 120 * 453.59237 / 30.48),
        ("120 lb/100 ft", "mass", "length", 120 * 453.59237 / 30.48),
        ("0.51 kg/L", "mass", "volume", 0.51),
        ("1 gal per lb", "volume", "mass", 3785.411784 / 453.59237),
        ("1/2 gal/lb", "volume", "mass", 3785.411784 / 453.59237 / 2),
        ("½ gal per ½ lb", "volume", "mass", 3785.411784 / 453.59237),
        ("12 min per kg", "time", "mass", 0.72),
        ("0.5 lb per sq ft", "mass", "area", 226.796185 / 0.09290304),
    ],
)
def test_rates(text: str, top: Kind, bottom: Kind, expected: float) -> None:
    assert read_rate(text, top, bottom, measures="US") == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("text", ["12 min", "12 min per 0 kg", "12 s per cup", 4, "per kg", "/"])
def test_what_is_no_rate(text: object) -> None:
    with pytest.raises(QuantityError):
        read_rate(text, "time", "mass", measures="US")


@pytest.mark.parametrize(
    ("value", "kind", "measures", "expected"),
    [
        (340.194, "mass", "US", "12 oz"),
        (340, "mass", "metric", "340 g"),
        (1500, "mass", "metric", "1.5 kg"),
        (907.18474, "mass", "UK", "2 lb"),
        (198217.9, "volume", "US", "7 cu ft"),
        (236.588, "volume", "US", "1 cup"),
        (568.26125, "volume", "UK", "1 pint"),
        (2000, "volume", "metric", "2 L"),
        (76.2e-6, "length", "US", "3 mil"),
        (0.2032, "length", "US", "8 in"),
        (0.2, "length", "metric", "20 cm"),
        (5400, "time", "US", "90 min"),
        (35, "time", "metric", "35 s"),
        (-18, "temperature", "US", "0 F"),
        (-18, "temperature", "UK", "-18 C"),
    ],
)
def test_show(value: float, kind: Kind, measures: str, expected: str) -> None:
    assert show(value, kind, measures) == expected


KINDS: tuple[Kind, ...] = ("mass", "volume", "length", "area", "time", "power")


@given(
    value=st.floats(min_value=1e-4, max_value=1e9),
    kind=st.sampled_from(KINDS),
    measures=st.sampled_from(["US", "UK", "metric"]),
)
def test_what_is_shown_reads_back_to_three_digits(value: float, kind: Kind, measures: str) -> None:
    read = read_quantity(show(value, kind, measures), kind, measures)
    unit_floor = {"mass": 0.03, "volume": 0.03, "area": 1e-6, "length": 1e-7}.get(kind, 0.005)
    assert math.isclose(read.value, value, rel_tol=0.006, abs_tol=unit_floor)


@given(
    amount=st.decimals(min_value=0, max_value=10000, places=3),
    measures=st.sampled_from(["US", "UK", "metric"]),
    data=st.data(),
)
def test_every_unit_reads_its_own_factor(
    amount: object, measures: str, data: st.DataObject
) -> None:
    units = {n: u for n, u in units_for(measures).items() if u[0] != "temperature"}
    name = data.draw(st.sampled_from(sorted(units)))
    kind, factor = units[name]
    written = data.draw(st.sampled_from([name, name.upper(), f" {name} "]))
    assert read_quantity(f"{amount} {written}", kind, measures).value == pytest.approx(
        float(str(amount)) * factor
    )


@given(st.text(max_size=90), st.sampled_from(KINDS))
def test_any_text_is_read_or_refused_in_our_own_words(text: str, kind: Kind) -> None:
    try:
        assert read_quantity(text, kind, "US").value >= 0
    except QuantityError as error:
        assert error.message and error.hint


@given(st.text(alphabet="0123456789 /.,x×bykglbft\"'½-", max_size=40))
def test_any_size_or_rate_is_read_or_refused(text: str) -> None:
    for read in (
        lambda: read_size(text, "UK"),
        lambda: read_rate(text, "mass", "length", measures="UK"),
    ):
        try:
            read()
        except QuantityError as error:
            assert error.message and error.hint
