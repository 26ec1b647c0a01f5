"""Food eaten fresh, week by week."""

from __future__ import annotations

from schedule.kept_sessions import lot
from schedule.small_problems import LIBRARY

from harvestplan.inputs.season import Fresh
from harvestplan.plan.models import Lot
from harvestplan.schedule.statement.fresh import fresh_grams


def eaten(lots: list[Lot], grams: int, **used: int) -> list[int]:
    return fresh_grams(lots, [Fresh(crop="snap bean", per_week=f"{grams} g")], LIBRARY, used=used)


def test_each_week_eats_its_share_of_the_oldest_that_is_good() -> None:
    """Ready on Monday, Tuesday, next Monday; good for three days."""
    lots = [lot("a", 0, grams=300), lot("b", 1, grams=300), lot("c", 7, grams=300)]
    assert eaten(lots, 200) == [200, 0, 200]
    assert eaten(lots, 301) == [300, 1, 300]
    assert eaten(lots, 400) == [300, 100, 300]
    assert eaten(lots, 9000) == [300, 300, 300]
    assert eaten(lots, 0) == [0, 0, 0]


def test_what_was_put_by_is_not_eaten_and_other_crops_are_not_counted() -> None:
    lots = [lot("a", 0, grams=300), lot("x", 0, crop="kale"), lot("b", 1, grams=300)]
    assert eaten(lots, 400, a=250) == [50, 0, 300]


def test_food_that_lasts_over_sunday_serves_two_weeks() -> None:
    """Ready on Saturday: two days of this week, and Monday and Tuesday of the next."""
    assert eaten([lot("a", 5, 3, grams=1000)], 300) == [600]
    assert eaten([lot("a", 5, 1, grams=1000)], 300) == [300]
    assert eaten([lot("a", 6, 1, grams=1000)], 300) == [600]  # its last day is a Monday
    assert eaten([lot("b", 3, 9, grams=900), lot("a", 0, 9, grams=100)], 300) == [500, 100]
