"""The summary says the plan's numbers in plain words."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from outputs.written_plans import AS_OF, make_library, make_plan, make_season, plan_data

from harvestplan.outputs.surplus import surplus_by_lot
from harvestplan.outputs.terminal.summary import gift_lines, next_text, summary_text
from harvestplan.words import about, clean, clock, joined, one_line, span


def told(data: dict[str, Any] | None = None, measures: str = "US", **season: Any) -> str:
    """The summary on one line."""
    text = summary_text(
        make_plan(data=data), make_season(measures=measures, **season), make_library()
    )
    return " ".join(text.split())


@pytest.mark.parametrize(
    "words",
    [
        "snap beans, cut: 12 portions planned, 3 stored already, of 40 wanted",
        "In all 30 portions planned, of 58 wanted",
        "snap beans, cut: 25 portions short. There is more of it",
        "2 sessions, 5.0 hours in all",
        "Thu 28 October, 6:00 pm to 8:30 pm: snap beans, cut, 12 portions",
        "Tue 9 November, 6:00 pm to 8:30 pm: broccoli florets, 8 portions; winter squash",
        "chest: fullest on Tue 9 November 2027, 3.2 cu ft of 3.5 cu ft (90%)",
        "snap beans: 1 1/2 lb, of which 11 oz by Sun 31 October and 14 oz by Sat 6 November",
        "By Tue 2 November: 1 pack of 50 pouches 8x10",
        "This plan puts by 30 portions in 2 evenings",
        "By your priorities it is worth 23 portions, with the toil taken off; waiting takes 2% of "
        "what is put by",
        "At best another plan could bring 6.5% more: about 1.5 portions",
        "The sealer passes its service time.",
        "book.html, plan.json, sessions.ics, garden.ics, shopping.ics, tasks.ics, shopping.csv, "
        "shopping.md, 2 run sheets in",
    ],
)
def test_what_the_summary_says(words: str) -> None:
    assert words in told()


def test_metric_household() -> None:
    text = told(measures="metric")
    assert "18:00 to 20:30: snap bean" in text
    assert "snap beans: 700 g, of which 300 g by" in text


def test_width() -> None:
    text = summary_text(make_plan(), make_season(), make_library())
    assert max(len(line) for line in text.splitlines()) <= 78


def test_evenings_judged_too_full_are_told_beside_what_is_proven() -> None:
    data = plan_data()
    assert "This holds as far as" not in told(data)
    data["warnings"].append({"code": "unproven-cut", "message": "Some evenings were judged."})
    assert "This holds as far as" in told(data)


def test_a_plan_of_which_nothing_is_known_says_nothing_of_how_good_it_is() -> None:
    text = told(plan_data() | {"proof": None})
    assert "How good the plan is" not in text and "worth" not in text


def test_a_shortage_is_told_once_with_the_planners_reason() -> None:
    data = plan_data()
    message = "snap bean, cut: 25 portions short. The freezer is full."
    data["warnings"] = [{"code": "short", "message": message}]
    text = told(data)
    assert text.count("25 portions short") == 1
    assert message.replace("snap bean", "snap beans") in text
    assert "Warnings" not in text


def test_reasons_from_the_plans_own_numbers() -> None:
    data = plan_data()
    data["freezer"][1]["used_ml"] = 99000
    assert "the chest is full on Tue 9 November." in told(data)
    data["balance"][0] |= {"grams": 5000, "surplus_grams": 0}
    assert "The harvest gives no more." in told(data)
    data["balance"][0] |= {"grams": 0, "preserved_grams": 0}
    assert "No harvest of it is forecast." in told(data)


def test_surplus_takes_the_fresh_food_off_the_oldest_lots() -> None:
    """300 g and 400 g are left; a household that eats 250 g a week takes them as they ripen."""
    data = plan_data()
    season = make_season(fresh=[{"crop": "snap bean", "per_week": "250 g"}])
    data["balance"][0] |= {"fresh_grams": 500, "surplus_grams": 200}
    found = surplus_by_lot(make_plan(data=data), season, make_library())
    assert [(s.lot.id, s.grams) for s in found] == [("bean-1", 50), ("bean-2", 150)]


def test_surplus_that_does_not_add_up_is_shared_out() -> None:
    data = plan_data()
    data["balance"][0] |= {"fresh_grams": 350, "surplus_grams": 350}
    found = surplus_by_lot(make_plan(data=data), make_season(), make_library())
    assert [(s.lot.id, s.grams) for s in found] == [("bean-1", 150), ("bean-2", 200)]
    data["balance"][0] |= {"preserved_grams": 0, "surplus_grams": 5350}
    assert surplus_by_lot(make_plan(data=data), make_season(), make_library()) == ()


def test_next_week() -> None:
    text = next_text(make_plan(), dt.date(2027, 10, 27), make_season(), library=make_library())
    assert text.startswith("Wed 27 October, today\n")
    assert "6:00 pm to 8:30 pm: snap beans, cut, 12 portions" in text
    assert "Last day to give away about 11 oz snap beans" in text
    assert "Order or buy 1 pack of 50 pouches 8x10" in text
    assert "November, 6:00" not in text and "broccoli" not in text


def test_nothing_next_week() -> None:
    data = plan_data() | {"shopping": [], "picks": []}
    text = next_text(make_plan(data=data), AS_OF - dt.timedelta(days=10))
    assert text.startswith("Nothing to do up to Thu 21 October. Next session: Thu 28 October, 6:00")
    assert "No session lies ahead" in next_text(make_plan(), dt.date(2028, 1, 1))


@pytest.mark.parametrize(
    ("hour", "us"), [(0, "12:05 am"), (11, "11:05 am"), (12, "12:05 pm"), (13, "1:05 pm")]
)
def test_clock(hour: int, us: str) -> None:
    time = dt.datetime(2027, 7, 15, hour, 5)
    assert clock(time, "US") == us
    assert clock(time, "metric") == clock(time, "UK") == f"{hour:02d}:05"


def test_a_forecast_is_told_to_two_figures() -> None:
    found = [about(grams, "US") for grams in (0, 388, 454, 1630, 105_000)]
    assert found == ["0 oz", "14 oz", "1 lb", "3 1/2 lb", "230 lb"]
    assert about(388, "metric") == "390 g"


def test_two_plantings_of_a_crop_are_one_pick() -> None:
    data = plan_data()
    data["picks"].append(data["picks"][0] | {"planting": "second row", "grams": 1000})
    text = next_text(
        make_plan(data=data), dt.date(2027, 10, 27), make_season(), library=make_library()
    )
    first = text.partition("Thu 28 October")[0]
    assert first.count("Pick") == 1
    assert "Pick about 14 lb snap bean" in first


def test_a_trifle_is_not_given_away() -> None:
    data = plan_data()
    data["balance"][1] |= {"preserved_grams": 3996, "surplus_grams": 4}
    lines = gift_lines(make_plan(data=data), make_season(), make_library(), today=AS_OF)
    assert [line.partition(":")[0] for line in lines] == ["snap beans"]


def test_what_was_to_be_given_away_is_told_no_more() -> None:
    """10.6 oz until 31 October and 14.1 oz until 6 November are 1.54 lb."""
    plan, season, library = make_plan(), make_season(), make_library()
    told = {
        today: [line for line in gift_lines(plan, season, library, today=today) if "bean" in line]
        for today in (dt.date(2027, 10, 31), dt.date(2027, 11, 1), dt.date(2027, 11, 7))
    }
    assert list(told.values()) == [
        ["snap beans: 1 1/2 lb, of which 11 oz by Sun 31 October and 14 oz by Sat 6 November"],
        ["snap beans: 14 oz by Sat 6 November"],
        [],
    ]


def test_words() -> None:
    assert joined(["a", "b", "c"]) == "a, b and c"
    assert [span(s) for s in (40, 90, 180, 2.5, 3600, 4800)] == [
        "40 s",
        "1 min 30 s",
        "3 min",
        "2.5 s",
        "1 h",
        "1 h 20 min",
    ]
    assert clean("a\r\nb\u2028c\x00\ud800") == "a\nb\nc"
    assert one_line("one two three", 9) == "one two…"


def test_what_nobody_told_of_the_garden_is_asked_first() -> None:
    plan = make_plan()
    due = next(pick for pick in plan.picks if pick.grams)
    text = next_text(plan, due.date + dt.timedelta(days=1), make_season(), library=make_library())
    shown = " ".join(text.split())
    assert shown.startswith("Have you picked ")
    assert "harvestplan picked" in shown and "harvestplan none yet" in shown
    assert max(len(line) for line in text.splitlines()) <= 78
