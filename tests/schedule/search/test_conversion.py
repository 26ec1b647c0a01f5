"""A choice as the values of all variables, and back."""

from __future__ import annotations

import datetime as dt

from schedule.small_problems import (
    BEANS,
    RAW,
    lot,
    problem,
    three_evenings,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.search.conversion import choice_of, values_of
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.choice import Choice


def test_the_choice_comes_back_from_its_values() -> None:
    model, made = three_evenings()
    values = values_of(model.season, made)
    assert choice_of(model.season, [values.get(n, 0) for n in range(model.size)]) == made
    assert [values[used] for used in model.season.used] == [1, 1, 0]
    assert [values[pouches] for pouches in model.season.pouches] == [4, 4, 0]


def test_a_run_takes_to_the_gram_what_it_takes_and_of_other_lots_nothing() -> None:
    three = [lot("snap bean", FIRST + dt.timedelta(days=d), 9, grams=9 * RAW) for d in range(3)]
    stated = problem(three, [window(4, 6)], (BEANS, 9))
    made = Choice({0: 2}, {0: {0: 1, 2: 2 * RAW - 1}})
    model = SeasonModel(stated, ())
    assert model.holds(made)
    values = values_of(model.season, made)
    assert choice_of(model.season, [values.get(n, 0) for n in range(model.size)]) == made
