"""What people say and what it means: the calendar's own arithmetic, the unit factors, and a table
of phrasings whose readings were written down before anything read them."""

from __future__ import annotations

import datetime as dt

import pytest
from inputs.phrasings import FOODS, TODAY, Phrasing, phrasings, verdict

from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.said_foods import Foods
from harvestplan.inputs.spoken.unclear import Unclear

RIGHT = 0.95
KNOWN, KEPT_BACK = "phrasings.txt", "phrasings_kept_back.txt"


@pytest.mark.parametrize("file", [KNOWN, KEPT_BACK])
def test_phrasings_are_read_right_and_none_silently_wrong(file: str) -> None:
    every = phrasings(file)
    assert len(every) > 250
    told: dict[str, list[Phrasing]] = {"right": [], "asked": [], "wrong": []}
    for phrasing in every:
        told[verdict(phrasing)].append(phrasing)
    assert not told["wrong"]
    assert len(told["right"]) >= RIGHT * len(every), told["asked"]


@pytest.mark.parametrize("days", range(0, 400, 7))
def test_every_day_reads_back_in_each_way_of_writing_it(days: int) -> None:
    day = TODAY - dt.timedelta(days=days)
    names = f"{day:%d %B %Y}", f"{day:%B %d, %Y}", f"{day:%d.%m.%Y}", f"{day:%Y-%m-%d}"
    assert {read_date(name, TODAY, "past") for name in names} == {day}
    if days < 365:  # without the year it is the last such day
        assert read_date(f"{day:%d %B}", TODAY, "past") == day


def test_what_a_household_grows_decides_between_foods_of_one_name() -> None:
    one = Foods(FOODS.crops, FOODS.products, ("lima bean",))
    two = Foods(FOODS.crops, FOODS.products, ("lima bean", "snap bean"))
    assert one.crop("beans") == "lima bean"
    with pytest.raises(Unclear) as asked:
        two.crop("beans")
    assert set(asked.value.choices) == {"lima bean", "snap bean"}
    assert two.product("cooked beans") == "dry bean, cooked"
