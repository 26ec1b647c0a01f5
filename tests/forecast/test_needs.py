"""From wants to rows: against published yields and pints."""

import datetime as dt
from typing import Any

import pytest
from forecast.garden import figure, make_crop, make_library, make_season

from harvestplan.forecast.needs import Need, needs_for_wants
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.inputs.crops import Library
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.forecast_text import needs_json, needs_text
from harvestplan.records.diary import Diary
from harvestplan.records.events import Failed

FOOT, POUND = 0.3048, 453.59237
MAY = dt.date(2019, 5, 20)


def needs(
    *plantings: dict[str, Any], library: Library | None = None, **season: Any
) -> tuple[Need, ...]:
    library = library or load_library()
    written = make_season(*plantings, **season)
    return needs_for_wants(written, library, make_forecast(written, library, None, as_of=MAY))


def want(product: str, portions: int, portion: str, **more: Any) -> dict[str, Any]:
    return {"product": product, "portions": portions, "portion": portion, **more}


# Yield per 100 ft of row: Home Vegetable Gardening in Kentucky, University of Kentucky ID-128.
# Fresh pounds to the pint: snap bean, 30 lb make 30 to 45 pints (USDA Home and Garden Bulletin 10,
# from memory); asparagus, 45 lb make 30 to 45 pints (Michigan State University Extension 01701369,
# 1996).
@pytest.mark.parametrize(
    ("product", "per_100_ft", "pints", "pounds_per_pint"),
    [
        ("snap bean, cut", 120, 40, (0.67, 1.0)),
        ("asparagus, spears", 30, 20, (1.0, 1.5)),
    ],
)
def test_row_from_pints_as_published(
    product: str, per_100_ft: int, pints: int, pounds_per_pint: tuple[float, float]
) -> None:
    """40 pints of snap bean need 22 to 33 ft; 20 pints of asparagus 67 to 100 ft."""
    crop = product.split(",")[0]
    planting = {"crop": crop, "sown": MAY, "row": "100 ft", "yield": f"{per_100_ft} lb"}
    (need,) = needs(planting, want=[want(product, pints, "1 pint")])
    low, high = (100 * pints * pounds / per_100_ft for pounds in pounds_per_pint)
    assert low <= need.likely / FOOT <= high
    assert need.basis == "your own yield"
    assert need.planted == pytest.approx(100 * FOOT)
    assert need.planted_grams == pytest.approx(per_100_ft * POUND)


def test_the_crop_files_yield_and_its_range_where_nothing_is_planted() -> None:
    """Snap bean: 50 to 120 lb per 100 ft in the tables the crop file cites."""
    (need,) = needs(want=[want("snap bean, cut", 40, "1 pint")])
    assert need.measure == "row" and need.planted == 0
    at = need.grams / POUND
    assert need.low / FOOT == pytest.approx(100 * at / 120, rel=1e-6)
    assert need.high / FOOT == pytest.approx(100 * at / 50, rel=1e-6)
    assert need.low < need.likely < need.sure < need.high


def test_a_sum_by_hand() -> None:
    """Half is trimmed away: 10 portions of 500 g need 10 kg raw, less 2 of 250 g in the store:
    9 kg; 200 g a week for the four weeks that beans bear: 9.8 kg; at 1 kg to the metre, 9.8 m."""
    steps = [{"step": "trim", "leaves": figure(0.5)}, {"step": "freeze"}]
    crop = make_crop()
    product = crop.products[0].model_dump(by_alias=True) | {"steps": steps}
    halved = type(crop.products[0]).model_validate(
        product | {"density": figure("0.5 kg per L"), "keeps": figure("300 days")}
    )
    library = make_library(crop.model_copy(update={"products": (halved,)}))
    (need,) = needs(
        library=library,
        want=[want("snap bean, whole", 10, "500 g")],
        stored=[want("snap bean", 2, "250 g", frozen_on=MAY)],
        fresh=[{"crop": "snap bean", "per_week": "200 g"}],
    )
    assert need.put_by == pytest.approx(9_000)
    assert (need.weeks, need.grams) == (4, pytest.approx(9_800))
    assert need.likely == pytest.approx(9.8)
    assert (need.low, need.high) == pytest.approx((4.9, 19.6))
    # 80 % of log-normal years give at least 2 ** -(0.8416 / 1.2816) of the middle.
    assert need.sure == pytest.approx(9.8 * 2 ** (0.8416 / 1.2816), rel=1e-3)


def test_the_households_own_yield_has_its_spread_too() -> None:
    """20 kg from 10 m: 2 kg to the metre, give or take 30 % on the logarithm from year to year
    (own judgement): one year in ten gives less than exp(-1.2816 * 0.3) of it. Four weeks from
    Sunday 14 July on lie in five."""
    planting = {"crop": "snap bean", "sown": MAY, "row": "10 m", "yield": "20 kg"}
    (need,) = needs(
        planting,
        library=make_library(make_crop()),
        fresh=[{"crop": "snap bean", "per_week": "1 kg"}],
    )
    assert (need.weeks, need.basis) == (5, "your own yield")
    assert need.likely == pytest.approx(5 / 2)
    assert need.high == pytest.approx(2.5 * 1.469, rel=1e-3)
    assert need.low == pytest.approx(2.5 / 1.469, rel=1e-3)
    assert need.likely < need.sure < need.high


def test_what_is_planted_in_another_measure_is_turned_into_the_first() -> None:
    rows = (
        {"crop": "snap bean", "sown": MAY},
        {"crop": "snap bean", "sown": MAY, "row": None, "plants": 50},
    )
    (need,) = needs(
        *rows, library=make_library(make_crop()), fresh=[{"crop": "snap bean", "per_week": "1 kg"}]
    )
    assert need.planted == pytest.approx(10 + 50 * 0.1)
    assert need.planted_grams == pytest.approx(15_000)


def test_bought_goods_are_not_sown_and_a_full_store_needs_nothing() -> None:
    found = needs(
        want=[want("dry bean, sealed", 8, "1 lb"), want("snap bean, cut", 2, "12 oz")],
        stored=[want("snap bean, cut", 3, "12 oz", frozen_on=MAY)],
    )
    assert [need.crop for need in found] == ["snap bean"]
    assert found[0].grams == 0
    assert "enough is in the store" in needs_text(found, make_season())


def test_in_words_and_json() -> None:
    us: Any = {"household": {"name": "Test", "timezone": "UTC", "measures": "US"}}
    planting = {"crop": "snap bean", "sown": MAY, "row": "100 ft", "yield": "120 lb"}
    found = needs(planting, want=[want("snap bean, cut", 40, "1 pint")], **us)
    text = needs_text(found, make_season(**us))
    assert "120 lb per 100 ft of row (your own yield)" in text
    assert "Planted: 100 ft of row, likely 120 lb." in text
    assert "40 portions of snap beans, cut" in text
    one = needs(planting, want=[want("snap bean, cut", 1, "1 pint")], **us)
    assert "1 portion of snap beans, cut" in " ".join(needs_text(one, make_season(**us)).split())
    assert '"measure": "row_m"' in needs_json(found, make_season(**us))
    assert "Nothing that can be grown" in needs_text((), make_season())


def test_what_failed_is_not_planted_any_more() -> None:
    """10 m and 5 m of beans at 1 kg to the metre; the first came to nothing."""
    rows = (
        {"crop": "snap bean", "sown": MAY, "id": "first"},
        {"crop": "snap bean", "sown": MAY, "row": "5 m"},
    )
    library = make_library(make_crop())
    season = make_season(*rows, fresh=[{"crop": "snap bean", "per_week": "1 kg"}])
    gone = Diary((Failed(MAY, "", 1, "", "snap bean", "first"),))
    forecast = make_forecast(season, library, None, as_of=MAY, diary=gone)
    (need,) = needs_for_wants(season, library, forecast)
    assert (need.planted, need.failed) == (pytest.approx(5), pytest.approx(10))
    assert need.planted_grams == pytest.approx(5_000)
    assert "likely 11 lb; 33 ft of row failed." in needs_text([need], season)
