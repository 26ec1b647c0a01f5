"""What to eat in the month ahead: the program's own reckoning (common practice, no source)."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.records.stock import StoredBatch, StoredProduct
from harvestplan.records.use_up import Use, use_up

TODAY = dt.date(2027, 11, 1)
BEANS = "snap bean, cut"


def season(**want: Any) -> Season:
    wants = [{"product": "snap bean", "portions": 40, "portion": "12 oz", **want}]
    data = {
        "household": {"name": "The Lane", "timezone": "Europe/London"},
        "season": {"start": dt.date(2027, 5, 1), "end": dt.date(2027, 10, 31)},
        "want": wants,
    }
    return Season.model_validate(data, context={"measures": "US"})


def in_days(*batches: tuple[int, int]) -> StoredProduct:
    """A shelf of (portions, days left until their best-before day)."""
    made = (
        StoredBatch(TODAY - dt.timedelta(days=300 - left), count, TODAY + dt.timedelta(days=left))
        for count, left in batches
    )
    return StoredProduct(BEANS, tuple(made), 0, due=None)


def uses(shelf: StoredProduct, **want: Any) -> tuple[Use, ...]:
    return use_up([shelf], season(**want), load_library(Path()), today=TODAY)


def test_the_weekly_draw_where_nothing_presses() -> None:
    # Two a week: floor(2 * 31 / 7) = 8 up to 1 December, less floor(2 / 7) = 0 of today.
    (use,) = uses(in_days((20, 250)), per_week=2, **{"from": TODAY})
    assert (use.portions, use.meant, use.pressing) == (8, 8, False)


def test_an_even_pace_brings_each_batch_to_the_table_in_time() -> None:
    # 12 portions in 60 days are 6 in 30; 12 + 3 in 300 would be fewer.
    (use,) = uses(in_days((12, 60), (3, 300)))
    assert (use.portions, use.meant, use.pressing) == (6, 0, True)


@pytest.mark.parametrize("left", [-40, 0, 10, 30])
def test_what_passes_its_best_this_month_is_eaten_this_month(left: int) -> None:
    (use,) = uses(in_days((5, left), (4, 280)), per_week=1, **{"from": TODAY})
    assert use.portions == 5
    assert [(batch.portions, (batch.best_before - TODAY).days) for batch in use.batches] == [
        (5, left)
    ]


def test_eating_so_each_month_lets_nothing_pass_its_best() -> None:
    """Month after month what is said is eaten, oldest first: no portion is ever late."""
    batches = [(7, 45), (30, 100), (2, 130), (16, 290)]
    day = 0
    while any(count for count, _ in batches):
        shelf = in_days(*((count, left - day) for count, left in batches if count))
        assert all(left > day for count, left in batches if count)
        (use,) = uses(shelf)
        eaten = use.portions
        for number, (count, left) in enumerate(batches):
            batches[number] = (count - min(count, eaten), left)
            eaten -= min(count, eaten)
        day += 30
    assert day <= 300
