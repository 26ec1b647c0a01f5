"""The benchmark's seasons are what they say they are, and the same every time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

import pytest
from benchmarks.seasons import Instance, big, by_hand, household, shared, shifted


@pytest.mark.parametrize(
    "make, foods, lots, windows",
    [
        (household, 14, range(80, 121), range(55, 71)),
        (by_hand, 14, range(80, 121), range(55, 71)),
        (big, 30, range(220, 281), range(80, 95)),
    ],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_seasons_have_their_size(
    make: Callable[[int], Instance], foods: int, lots: range, windows: range, seed: int
) -> None:
    problem = make(seed).problem()
    assert len(problem.demands) == foods
    assert len(problem.lots) in lots
    assert sum(window.kind == "session" for window in problem.windows) in windows
    makeable = {option.demand for option in problem.options}
    assert len(makeable) >= foods - 1


def test_a_shared_kitchen_holds_every_household() -> None:
    few, many = shared(2).problem(), shared(6).problem()
    assert len(many.lots) > 2 * len(few.lots)
    assert len(many.kitchen.pots) == 4
    assert len(many.kitchen.freezers) == 3
    assert {window.hands for window in many.windows if window.kind == "session"} == {6}
    assert {lot.planting[:3] for lot in many.lots if lot.planting} == {
        f"h{n:02d}" for n in range(1, 7)
    }


def test_seasons_repeat_and_differ_by_seed() -> None:
    assert household(3).lots == household(3).lots
    assert household(3).lots != household(4).lots


def test_a_shifted_season_moves_one_crop_alone() -> None:
    plain = household(1)
    crop = next(lot.crop for lot in plain.lots if lot.planting)
    before = {lot.id: lot for lot in plain.lots}
    for lot in shifted(plain, crop, 9).lots:
        moved = lot.crop == crop and lot.planting is not None
        assert lot.ready - before[lot.id].ready == dt.timedelta(days=9 if moved else 0)
        assert lot.grams == before[lot.id].grams
