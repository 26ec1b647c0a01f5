"""What to buy, counted by hand, and the list as table and text."""

from __future__ import annotations

import csv
import datetime as dt
import io

import pytest
from outputs.written_plans import AS_OF, make_library, make_plan, make_season, plan_data

from harvestplan.kitchen.ice import PER_BLANCHED, PER_CHILLED
from harvestplan.outputs.paper.shopping_list import shopping_csv, shopping_md
from harvestplan.plan.models import ShoppingLine
from harvestplan.planning.shopping import shopping_lines, with_spares
from harvestplan.words import as_ice, ice_mass


def lines_of(data: dict | None = None, **season: object) -> dict[str, ShoppingLine]:
    plan = make_plan(data=data)
    made = shopping_lines(plan.sessions, make_season(**season), make_library(), as_of=AS_OF)
    return {line.item: line for line in made}


def test_pouches() -> None:
    """12 + 8 + 10 pouches, 5 % spare (common practice, no source), 10 in stock, packs of 50."""
    line = lines_of()["8x10"]
    assert (line.kind, line.need, line.in_stock, line.buy) == ("pouch", 32, 10, 22)
    assert (line.packs, line.pack, line.price) == (1, 50, 9.5)


@pytest.mark.parametrize(("pouches", "need"), [(0, 0), (1, 2), (20, 21), (21, 23), (100, 105)])
def test_spares_round_up(pouches: int, need: int) -> None:
    assert with_spares(pouches) == need


def pouch_stock(in_stock: int) -> list[dict]:
    return [
        {
            "name": "8x10",
            "width": "8 in",
            "length": "10 in",
            "film": "0.08 mm",
            "pack": 10,
            "price": 3.1,
            "in_stock": in_stock,
        }
    ]


@pytest.mark.parametrize(
    ("in_stock", "order_by", "packs", "price"),
    [
        (0, AS_OF, 4, 12.4),  # needed on 28 October: a week before is past already
        (12, AS_OF, 2, 6.2),  # 12 pouches and a spare: the first session is short
        (13, dt.date(2027, 11, 2), 2, 6.2),  # a week before 9 November
        (32, AS_OF, 0, 0.0),
    ],
)
def test_pouches_are_ordered_a_week_before_they_run_out(
    in_stock: int, order_by: dt.date, packs: int, price: float
) -> None:
    line = lines_of(pouch=pouch_stock(in_stock))["8x10"]
    assert (line.order_by, line.packs, line.price) == (order_by, packs, price)


def test_pouches_sold_singly_and_without_a_price() -> None:
    single = {"name": "8x10", "width": "8 in", "length": "10 in", "film": "0.08 mm"}
    line = lines_of(pouch=[single])["8x10"]
    assert (line.buy, line.packs, line.pack, line.price) == (32, 32, None, None)


def test_only_sessions_ahead_count() -> None:
    data = plan_data()
    data["sessions"][0]["status"] = "done"
    assert lines_of(data)["8x10"].need == with_spares(18)
    data["sessions"][1]["status"] = "cancelled"
    assert "8x10" not in lines_of(data)


def test_ice_by_the_week() -> None:
    """4 kg blanched; then 3.2 kg blanched and 4 kg of purée chilled: heat balance below."""
    lines = lines_of()
    first = lines["ice for the week of Mon 25 October"]
    second = lines["ice for the week of Mon 8 November"]
    assert (first.need, first.buy, first.order_by) == (4320, 4320, dt.date(2027, 10, 27))
    assert (second.need, second.order_by) == (3456 + 4000, dt.date(2027, 11, 8))
    assert first.packs == 0 and first.price is None


def test_ice_is_what_the_tasks_say() -> None:
    data = plan_data()
    cooling = [t for t in data["sessions"][0]["tasks"] if t["step"] == "cool"]
    cooling[0]["settings"]["ice_g"] = 1500
    line = lines_of(data)["ice for the week of Mon 25 October"]
    assert line.need == 1814  # 4 lb, as the sheet says of the batch


def test_ice_to_have_is_never_less_than_what_its_batches_are_said_to_take() -> None:
    """Three batches of 3.2 lb "take 4 lb" each: 12 lb, not the 10 lb of their sum."""
    for measures in ("US", "UK", "metric"):
        told = [as_ice(grams, measures) for grams in (1450.0, 1450.0, 1450.0)]
        words = ice_mass(sum(told), measures)
        assert words == ("4.5 kg" if measures == "metric" else "12 lb")
        assert ice_mass(1450, measures) == ("1.5 kg" if measures == "metric" else "4 lb")


def test_ice_balances_the_heat() -> None:
    """Ice at 0 °C, latent heat 334 kJ/kg and water 4.19 kJ/(kg K) (IAPWS-95 rounded); vegetables
    of nine tenths water hold 3.95 kJ/(kg K) (Choi and Okos, 1986)."""
    for ratio, warm, cold in ((PER_BLANCHED, 100, 4), (PER_CHILLED, 95, 5)):
        heat = 3.95 * (warm - cold)
        assert heat / (334 + 4.19 * cold) == pytest.approx(ratio, rel=0.02)


def test_bought_food() -> None:
    """20 L of apples at 0.6 kg per L of the crop file."""
    line = lines_of()["apple"]
    assert (line.kind, line.need, line.order_by) == ("food", 12000, dt.date(2027, 11, 2))
    past = [{"item": "apple", "amount": "20 lb", "on": AS_OF - dt.timedelta(days=1)}]
    assert "apple" not in lines_of(bought=past)


def rows_of(item: str) -> list[dict[str, str]]:
    data = plan_data()
    data["shopping"][0]["item"] = item
    text = shopping_csv(make_plan(data=data))
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv() -> None:
    """RFC 4180: CRLF, one header, quoted cells."""
    (ice, pouches) = rows_of('8x10, "wide"')
    assert pouches == {
        "order_by": "2027-11-02",
        "item": '8x10, "wide"',
        "kind": "pouch",
        "need": "32",
        "in_stock": "10",
        "buy": "22",
        "unit": "pieces",
        "packs": "1",
        "pack": "50",
        "price": "9.50",
    }
    assert (ice["unit"], ice["price"]) == ("g", "")
    assert shopping_csv(make_plan()).count("\r\n") == 3


@pytest.mark.parametrize(
    "item",
    ['=HYPERLINK("x")', "+1", "-2+3", "@SUM(A1)", "\t=1", "  =1", "\r=1", "\n@a", "＝1", "\x00=1"],
)
def test_formulas_are_defused(item: str) -> None:
    """OWASP, CSV Injection: cells starting with = + - @, tab or CR."""
    cell = rows_of(item)[1]["item"]
    assert cell.startswith("'")
    assert not set(cell) & set("\t\r\n\x00")


def test_harmless_cells_stay_as_they_are() -> None:
    assert rows_of("8x10 -- wide")[1]["item"] == "8x10 -- wide"


def test_markdown() -> None:
    text = shopping_md(make_plan(), make_season())
    assert "## By Tue 2 November 2027" in text
    assert "- [ ] 1 pack of 50 pouches 8x10: 32 needed with spares, 10 in stock, 9.50" in text
    assert "- [ ] 10 lb ice for the week of" in text
    assert text.rstrip().endswith("Cost of what has a price: 9.50")
    metric = shopping_md(make_plan(), make_season(measures="metric"))
    assert "- [ ] 4.5 kg ice" in metric


def test_what_is_in_stock_is_told_once() -> None:
    """The list counts sessions ahead only, so in_stock has to be what lies there now."""
    data = plan_data()
    data["shopping"].append(data["shopping"][0] | {"item": "6x8", "in_stock": 0})
    text = shopping_md(make_plan(data=data), make_season())
    note = "as your kitchen file says: 0 of 6x8 and 10 of 8x10. Count what lies there today"
    assert text.count(note) == 1
    assert text.count("mend in_stock") == 1
    data["shopping"] = [line for line in data["shopping"] if line["kind"] != "pouch"]
    assert "in_stock" not in shopping_md(make_plan(data=data), make_season())


def test_markdown_in_stock_and_empty() -> None:
    data = plan_data()
    data["shopping"] = [data["shopping"][0] | {"in_stock": 40, "buy": 0, "packs": 0, "price": 0.0}]
    text = shopping_md(make_plan(data=data), make_season())
    assert "Nothing to buy." in text
    assert "- 8x10: 32 needed with spares, 40 in stock\n" in text


def test_markdown_names_are_plain_text() -> None:
    data = plan_data()
    data["shopping"][0]["item"] = "8x10\n# [a](javascript:x) <b>"
    text = shopping_md(make_plan(data=data), make_season())
    assert "\n# [" not in text and "<b>" not in text.replace("\\<b\\>", "")
    assert r"\# \[a\](javascript:x) \<b\>" in text


def test_what_is_added_to_food_is_bought_once_a_week_before_the_first_of_it() -> None:
    """7 + 8 g on 28 October, 9 g on 9 November: 24 g, a week before the first, not before today."""
    data = plan_data()
    for number, grams in ((0, 7), (0, 8), (1, 9)):
        task = next(t for t in data["sessions"][number]["tasks"] if not t.get("ingredients"))
        task["ingredients"] = [{"item": "salt", "grams": grams}]
    line = lines_of(data)["salt"]
    assert (line.kind, line.need, line.buy) == ("staple", 24, 24)
    first = make_plan(data=data).sessions[0].start.date()
    assert line.order_by == max(AS_OF, first - dt.timedelta(days=7))
    plan = make_plan(data=data).model_copy(update={"shopping": (line,)})
    assert "25 g salt, if not in the house" in shopping_md(plan, make_season(measures="metric"))
    spoons = plan.model_copy(update={"shopping": (line.model_copy(update={"volume_ml": 20}),)})
    assert "4 tsp salt, if not in the house" in shopping_md(spoons, make_season(measures="US"))
    data["sessions"][0]["status"] = "done"
    assert lines_of(data)["salt"].buy == 9


def test_water_is_weighed_and_not_bought() -> None:
    data = plan_data()
    task = next(t for t in data["sessions"][0]["tasks"] if not t.get("ingredients"))
    task["ingredients"] = [{"item": "water", "grams": 600}, {"item": "oil", "grams": 90}]
    found = lines_of(data)
    assert "water" not in found
    assert found["oil"].buy == 90
