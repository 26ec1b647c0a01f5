"""Lots from picks and purchases."""

import datetime as dt
from typing import Any

import pytest
from forecast.garden import figure, make_crop, make_library, make_season

from harvestplan.errors import FilesNeedMending
from harvestplan.forecast.lots import lots_from, pick_by
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.inputs.crops import Crop
from harvestplan.plan.models import Lot

MAY = dt.date(2019, 5, 20)


def lots(*plantings: dict[str, Any], crop: Crop | None = None, **season: Any) -> tuple[Lot, ...]:
    library = make_library(crop or make_crop())
    written = make_season(*plantings, **season)
    return lots_from(make_forecast(written, library, None, as_of=MAY), written, library)


BEANS: dict[str, Any] = {"crop": "snap bean", "sown": MAY}


def test_one_lot_a_pick() -> None:
    found = lots(BEANS)
    assert [lot.id for lot in found] == [f"p1-{n:02d}" for n in range(1, 11)]
    assert sum(lot.grams for lot in found) == pytest.approx(10_000, abs=10)
    first = found[0]
    assert (first.planting, first.bought, first.crop) == ("p1", None, "snap bean")
    assert first.ready == dt.date(2019, 7, 14)
    assert first.low_grams < first.grams < first.high_grams


@pytest.mark.parametrize(
    ("keeping", "cellar", "days"),
    [
        ({}, False, 5),
        ({"cellar": figure("20 days")}, False, 5),
        ({"cellar": figure("20 days")}, True, 20),
        ({"fridge": None}, False, 1),
        ({"fridge": None, "room": figure("60 days")}, False, 60),
    ],
)
def test_kept_in_the_best_place_there_is(keeping: dict[str, Any], cellar: bool, days: int) -> None:
    crop = make_crop(keeping=keeping)
    first = lots(BEANS, crop=crop, cold={"cellar": cellar})[0]
    stands = 3
    assert (first.keep_until - first.ready).days == stands + days
    assert pick_by(first.ready, crop) == first.ready + dt.timedelta(days=stands)


def test_purchases_are_lots() -> None:
    bought = [
        {"item": "snap bean", "amount": "10 L", "on": dt.date(2019, 6, 1)},
        {"item": "snap bean", "amount": "3 kg", "on": dt.date(2019, 6, 2), "keeps": "2 days"},
    ]
    first, second = lots(bought=bought)
    assert (first.id, second.id) == ("lot-snap-bean-1", "lot-snap-bean-2")
    assert (first.grams, second.grams) == (5_000, 3_000)  # 0.5 kg per L
    assert first.low_grams == first.high_grams == first.grams
    assert (first.bought, first.planting) == ("snap bean", None)
    assert first.keep_until == dt.date(2019, 6, 6)
    assert second.keep_until == dt.date(2019, 6, 4)


def test_a_gram_is_a_lot() -> None:
    (found,) = lots(bought=[{"item": "snap bean", "amount": "1 g", "on": MAY}])
    assert found.grams == 1


def test_what_lies_outside_the_season_is_dropped_and_ids_stay() -> None:
    whole = {lot.id: lot.ready for lot in lots(BEANS)}
    cut = {lot.id: lot.ready for lot in lots(BEANS, start="2019-07-20", end="2019-08-05")}
    assert cut == {
        name: day
        for name, day in whole.items()
        if dt.date(2019, 7, 20) <= day <= dt.date(2019, 8, 5)
    }
    assert 0 < len(cut) < len(whole)


def test_an_unknown_purchase_is_named() -> None:
    with pytest.raises(FilesNeedMending, match="moon milk"):
        lots(bought=[{"item": "moon milk", "amount": "1 L", "on": MAY}])
