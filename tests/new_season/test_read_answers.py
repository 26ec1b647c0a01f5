"""What a person may answer, and how it is understood: by the calendar, the clock and the unit
factors of NIST Handbook 44 (as pint has them)."""

from __future__ import annotations

import datetime as dt

import pint
import pytest

from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.season import Home
from harvestplan.inputs.season_kitchen import Pot
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season import read_answers as answers
from harvestplan.new_season.places import usual_height, usual_place
from harvestplan.new_season.starter import WantAnswer
from harvestplan.new_season.zones import place_near

LIBRARY = load_library()
UNITS = pint.UnitRegistry()
JANUARY = dt.date(2027, 1, 10)


@pytest.mark.parametrize(
    ("said", "name"),
    [("The Lane", "The Lane"), ("  The   Lane ", "The Lane"), ("x" * 80, "x" * 80)],
)
def test_a_name(said: str, name: str) -> None:
    assert answers.words(said) == (name, "")


@pytest.mark.parametrize("said", ["", "   ", "x" * 81])
def test_no_name(said: str) -> None:
    with pytest.raises(Unclear, match="a few words"):
        answers.words(said)


@pytest.mark.parametrize(
    ("said", "found", "unit"),
    [("US", "US", "US_pint"), ("u.s.", "US", "US_pint"), ("USA", "US", "US_pint"),
     ("imperial", "UK", "imperial_pint"), (" uk ", "UK", "imperial_pint")],
)  # fmt: skip
def test_measures_and_what_a_pint_is_there(said: str, found: str, unit: str) -> None:
    millilitres = round(UNITS(unit).to("mL").magnitude)
    assert answers.measures(said) == (found, f"a pint is {millilitres} mL")


def test_metric_and_none() -> None:
    assert answers.measures("Metric")[0] == "metric"
    with pytest.raises(Unclear, match="US, UK or metric"):
        answers.measures("imperial ones")


@pytest.mark.parametrize(
    ("said", "zone", "told"),
    [("America/Chicago", "America/Chicago", ""), ("america/chicago", "America/Chicago", "same"),
     ("Chicago", "America/Chicago", "same"), ("new york", "America/New_York", "same"),
     ("New_York", "America/New_York", "same"), ("London", "Europe/London", "same")],
)  # fmt: skip
def test_a_zone_by_its_name_or_its_city(said: str, zone: str, told: str) -> None:
    assert answers.zone(said) == (zone, told and zone)


@pytest.mark.parametrize(
    ("said", "zone"),
    [("New Orleans", "America/Chicago"), ("Houston TX", "America/Chicago"),
     ("Wien", "Europe/Vienna"),
     ("houston, texas", "America/Chicago"), ("Boulder, Colorado", "America/Denver"),
     ("Munich", "Europe/Berlin"), ("München", "Europe/Berlin"), ("Graz", "Europe/Vienna"),
     ("St. Louis", "America/Chicago"), ("York, England", "Europe/London")],
)  # fmt: skip
def test_a_zone_by_a_city_that_the_tz_database_does_not_name(said: str, zone: str) -> None:
    assert answers.zone(said)[0] == zone


def test_a_city_of_several_countries_is_asked_about() -> None:
    with pytest.raises(Unclear) as asked:
        answers.zone("Houston")
    assert asked.value.choices[0] == "Houston, Texas"
    for choice in asked.value.choices:
        assert answers.zone(choice)[0]


@pytest.mark.parametrize(
    ("said", "metres", "latitude", "longitude"),
    [  # heights and places of the cities, from memory
        ("Boulder, Colorado", 1655, 40.0, -105.3), ("Graz", 353, 47.1, 15.4),
        ("Houston TX", 30, 29.8, -95.4), ("New Orleans", 0, 30.0, -90.1),
        ("Chicago", 180, 41.9, -87.6), ("Wien", 170, 48.2, 16.4),
    ],
)  # fmt: skip
def test_what_is_suggested_of_a_city_is_about_right(
    said: str, metres: float, latitude: float, longitude: float
) -> None:
    near = place_near(said, answers.zone(said)[0])
    assert near is not None
    assert near.altitude == pytest.approx(metres, abs=60)
    assert near.latitude == pytest.approx(latitude, abs=0.4)
    assert near.longitude == pytest.approx(longitude, abs=0.6)
    (north, east), _ = answers.place(usual_place(near))
    assert (north, east) == pytest.approx((near.latitude, near.longitude), abs=0.06)


def test_heights_are_suggested_in_the_households_measure() -> None:
    near = place_near("Boulder, Colorado", "America/Denver")
    assert (usual_height(near, "US"), usual_height(near, "metric")) == ("5250 ft", "1600 m")
    assert (usual_height(None, "US"), usual_place(None)) == ("0 ft", "")
    assert place_near("Boulder, Colorado", "Europe/Berlin") is None


def test_no_zone() -> None:
    with pytest.raises(Unclear, match='Did you mean "America/Chicago"'):
        answers.zone("Chicgo")
    with pytest.raises(Unclear) as told:
        answers.zone("Xqzv")
    assert "Did you mean" not in str(told.value)


@pytest.mark.parametrize(("said", "number"), [("1", 1), (" 9 ", 9)])
def test_a_whole_number_between_its_bounds(said: str, number: int) -> None:
    assert answers.whole(said, 1, 9) == (number, "")


@pytest.mark.parametrize("said", ["0", "10", "-1", "two", "1.5", "", "²"])
def test_no_whole_number_there(said: str) -> None:
    with pytest.raises(Unclear, match="from 1 to 9"):
        answers.whole(said, 1, 9)


def test_amounts_keep_their_meaning_whatever_the_measures_are_later() -> None:
    assert answers.amount("16 qt", "volume", Pot, key="volume", whose="US") == (
        "16 US qt",
        "16 qt = 15.1 L",
    )
    written, told = answers.amount("16 qt", "volume", Pot, key="volume", whose="UK")
    assert written == "16 UK qt"
    assert told == f"16 qt = {UNITS('16 imperial_quart').to('L').magnitude:.1f} L"
    assert answers.amount("15 L", "volume", Pot, key="volume", whose="metric") == ("15 L", "")
    assert answers.amount("3.2 kW", "power", Pot, key="power", whose="US") == ("3.2 kW", "")


@pytest.mark.parametrize(
    ("whose", "unit"), [("US", "quart"), ("UK", "imperial_quart"), ("metric", "L")]
)
def test_an_amount_without_a_unit_is_in_the_questions_own(whose: str, unit: str) -> None:
    written, told = answers.amount("16", "volume", Pot, key="volume", whose=whose)
    litres = UNITS(f"16 {unit}").to("L").magnitude
    assert read_quantity(written, "volume", "metric").value == pytest.approx(1000 * litres, 1e-4)
    assert "16" in told  # it is said back


@pytest.mark.parametrize(
    ("said", "model", "key", "kind"),
    [("5 parsecs", Home, "altitude", "length"), ("2 kg", Pot, "volume", "volume"),
     ("900 km", Home, "altitude", "length"), ("", Pot, "volume", "volume")],
)  # fmt: skip
def test_an_amount_of_another_kind_or_out_of_reason(
    said: str, model: type, key: str, kind: str
) -> None:
    with pytest.raises(Unclear) as told:
        answers.amount(said, kind, model, key=key, whose="US")  # type: ignore[arg-type]
    assert len(str(told.value)) > 20


@pytest.mark.parametrize(
    "said", ["1 pint", "2 cups", "2 fl oz", "1 gal", "12 oz", "500 mL", "½ qt"]
)
@pytest.mark.parametrize("whose", ["US", "UK"])
def test_what_is_written_down_is_what_was_said(said: str, whose: str) -> None:
    meant = read_quantity(said, ("mass", "volume"), whose)
    written = answers.pinned(said, meant.kind, whose)
    for later in ("US", "UK", "metric"):
        again = read_quantity(written, ("mass", "volume"), later)
        assert again.kind == meant.kind
        assert again.value == pytest.approx(meant.value, rel=1e-5)


@pytest.mark.parametrize(
    ("said", "day"),
    [("12 May", "05-12"), ("May 12", "05-12"), ("05-12", "05-12"), ("12.5.", "05-12"),
     ("12. may", "05-12"), ("Sept 30", "09-30"), ("29 feb", "02-29"), ("May 12, ", "05-12")],
)  # fmt: skip
def test_a_day_of_the_year(said: str, day: str) -> None:
    assert answers.month_day(said)[0] == day


def test_no_day_is_an_answer_too() -> None:
    assert answers.month_day("  ") == (None, "")


@pytest.mark.parametrize(
    ("said", "why"),
    [("31 Sept", "has no day 31"), ("02-30", "has no day 30"), ("13-01", "no such day"),
     ("12 ma", "Write it like"), ("12 mau", 'no month "mau"'), ("12 xyz", 'no month "xyz"'),
     ("12 ju", "Write it like"), ("5-12", "Write which"), ("soon", "Write it like"),
     ("12/05", '"12 May" or "5 December"'),
     ("12 May 1850", "Look at the year"), ("0-5", "no such day")],
)  # fmt: skip
def test_no_such_day(said: str, why: str) -> None:
    with pytest.raises(Unclear, match=why):
        answers.month_day(said)


@pytest.mark.parametrize(
    ("said", "found"),
    [("May 15, 2028", dt.date(2028, 5, 15)), ("2021-04-20", dt.date(2021, 4, 20)),
     ("10 January", dt.date(2027, 1, 10)), ("9 January", dt.date(2027, 1, 9)),
     ("01-11", dt.date(2027, 1, 11)), ("29 February 2028", dt.date(2028, 2, 29))],
)  # fmt: skip
def test_a_date_and_without_a_year_the_nearest_one(said: str, found: dt.date) -> None:
    assert answers.date(said, JANUARY)[0] == found


def test_a_leap_day_of_another_year() -> None:
    with pytest.raises(Unclear, match="February 2027 has no day 29"):
        answers.date("29 February 2027", JANUARY)


@pytest.mark.parametrize(
    ("said", "days", "start", "end"),
    [("mon wed 6-9pm", ("mon", "wed"), "18:00", "21:00"), ("sat 9-12", ("sat",), "09:00", "12:00"),
     ("Saturday and Sunday 9:30 to 12.15", ("sat", "sun"), "09:30", "12:15"),
     ("wed mon 18:00–21:00", ("mon", "wed"), "18:00", "21:00"),
     ("fri 10am-1pm", ("fri",), "10:00", "13:00"), ("fri 10-1pm", ("fri",), "10:00", "13:00"),
     ("tue 12pm-2pm", ("tue",), "12:00", "14:00"), ("tue 12am-2am", ("tue",), "00:00", "02:00"),
     ("on thu from 18 to 21", ("thu",), "18:00", "21:00")],
)  # fmt: skip
def test_evenings(said: str, days: tuple[str, ...], start: str, end: str) -> None:
    (found,), told = answers.windows(said)
    assert found.days == days
    assert (f"{found.start:%H:%M}", f"{found.end:%H:%M}") == (start, end)
    assert start in told and end in told


def test_several_evenings() -> None:
    found, told = answers.windows("tue thu 18-21, sat 9:00-12:30; sun 14-16")
    assert [window.days for window in found] == [("tue", "thu"), ("sat",), ("sun",)]
    assert told.count(";") == 2


@pytest.mark.parametrize(
    "said",
    ["whenever", "18-21", "tue 21-18", "tue 18-25", "tue 18:70-21", "tue 13pm-14pm", "tue 0am-1am",
     "tues thu 18-21 or so", "blursday 18-21", "tue 9pm-9pm", "", "tue"],
)  # fmt: skip
def test_no_evenings(said: str) -> None:
    with pytest.raises(Unclear, match="tue thu 18:00-21:00"):
        answers.windows(said)


@pytest.mark.parametrize(
    ("said", "crop", "basis", "size"),
    [("snap bean 30 ft", "snap bean", "row", "30 ft"), ("tomato 6 plants", "tomato", "plants", 6),
     ("6 tomatoes", "tomato", "plants", 6), ("4 rhubarb plants", "rhubarb", "plants", 4),
     ("carrots, 4x10 ft", "carrot", "area", "4x10 ft"), ("tomato 6", "tomato", "plants", 6),
     ("3 blueberry bushes", "blueberry", "plants", 3), ("apple 2 trees", "apple", "plants", 2),
     ("strawberries 20 ft", "strawberry", "row", "20 ft")],
)  # fmt: skip
def test_what_is_grown(said: str, crop: str, basis: str, size: str | int) -> None:
    assert answers.grown(said, LIBRARY, "US")[:3] == (crop, basis, size)


@pytest.mark.parametrize(
    ("said", "why"),
    [("tomato", "Write it like"), ("tomatoo 6", 'Did you mean "tomato"'), ("xqzv 6", "no figures"),
     ("dry bean 6 ft", "is bought, not grown"), ("tomato 6 kg", "Write it like"),
     ("", "Write it like")],
)  # fmt: skip
def test_what_cannot_be_grown(said: str, why: str) -> None:
    with pytest.raises(Unclear, match=why):
        answers.grown(said, LIBRARY, "US")


def test_how_crops_are_begun_and_when() -> None:
    """Beans after the last frost, peas before it, and rhubarb years ago (common practice)."""
    frost = dt.date(2027, 5, 12)
    bean, pea, tomato, rhubarb = (
        LIBRARY.crops[name] for name in ("snap bean", "shelling pea", "tomato", "rhubarb")
    )
    assert [answers.begun_by(crop) for crop in (bean, tomato)] == ["sown", "set_out"]
    assert answers.usual_start(pea, frost) < frost < answers.usual_start(bean, frost)
    assert answers.usual_start(rhubarb, dt.date(2028, 2, 29)) == dt.date(2025, 2, 28)
    part = answers.grown("snap bean 30 ft", LIBRARY, "US")
    planting = answers.planting(part, frost)
    assert (planting.crop, planting.begun, planting.day) == ("snap bean", "sown", frost)


@pytest.mark.parametrize(
    ("said", "product", "count", "portion"),
    [("snap bean 20 of 12 oz", "snap bean, cut", 20, "12 oz"),
     ("snap beans, 20 portions of 12 oz", "snap bean, cut", 20, "12 oz"),
     ("snap bean, cut 3 x 350 g", "snap bean, cut", 3, "350 g"),
     ("tomato, purée 10 of 2 cups", "tomato, purée", 10, "2 US cups")],
)  # fmt: skip
def test_what_is_wanted(said: str, product: str, count: int, portion: str) -> None:
    want, told = answers.wanted(said, LIBRARY, "US", before=())
    assert (want.product, want.portions, want.portion) == (product, count, portion)
    assert told.startswith(f"{product}: {count} portions of ")


@pytest.mark.parametrize(
    ("said", "why"),
    [("snap bean", "Write it like"), ("snap bean 0 of 12 oz", "How many"),
     ("snap bean 5001 of 12 oz", "How many"), ("snap bean 20 of 12 m", "12 m"),
     ("snap been 20 of 12 oz", "Did you mean"), ("xqzv 20 of 12 oz", "Write it like"),
     ("snap bean, whole 20 of 12 oz", "Possible: snap bean, "),
     ("tomato florets 20 of 1 pint", "Possible: tomato, purée"),
     ("snap bean, cut 20 of 12 oz", "on your list already")],
)  # fmt: skip
def test_what_cannot_be_wanted(said: str, why: str) -> None:
    before = (WantAnswer("snap bean, cut", 1, "1 lb"),) if "already" in why else ()
    with pytest.raises(Unclear, match=why):
        answers.wanted(said, LIBRARY, "US", before=before)


def test_an_unsafe_form_is_refused_with_its_reason() -> None:
    """What a crop file refuses is told, with what can be made instead."""
    crop = next(c for c in LIBRARY.crops.values() if c.refused and c.products)
    refused = crop.refused[0]
    with pytest.raises(Unclear) as told:
        answers.wanted(f"{crop.name}, {refused.form} 5 of 1 lb", LIBRARY, "US", before=())
    assert refused.why in str(told.value) and crop.products[0].form in str(told.value)


@pytest.mark.parametrize(
    ("said", "place"),
    [("40.1 N 95.2 W", (40.1, -95.2)), ("40.1, -95.2", (40.1, -95.2)), (" ", None),
     ("40°06'N, 95°12'W", (40.1, -95.2)), ("41.3s 174.8e", (-41.3, 174.8)),
     ("-41.3 174.8", (-41.3, 174.8)), ("0, 0", (0.0, 0.0))],
)  # fmt: skip
def test_where_the_garden_lies(said: str, place: tuple[float, float] | None) -> None:
    assert answers.place(said)[0] == place


@pytest.mark.parametrize("said", ["40.1", "forty north", "40.1 N", "95.2 W 40.1 N", "1 2 3"])
def test_what_is_no_place(said: str) -> None:
    with pytest.raises(Unclear, match=r"40\.1 N 95\.2 W"):
        answers.place(said)


def test_a_place_beyond_the_pole() -> None:
    with pytest.raises(Unclear, match="90"):
        answers.place("91 N 10 E")
