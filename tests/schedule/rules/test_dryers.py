"""One run at a time in a dryer."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from schedule.kept_sessions import kept
from schedule.small_problems import (
    LIBRARY,
    lot,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.season_kitchen import Dryer
from harvestplan.plan.models import Session
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.problem import Problem

DRIED = "onion, dried"


def dried(starts: list[int], *sessions: Session) -> Problem:
    """Onions to dry on Monday from 18:00 to 21:00 and on Tuesday for as long from each hour on, and
    evenings of the week after to pack them."""
    season = kitchen_season([{"product": DRIED, "portions": 8, "portion": "80 g"}])
    dryers = (Dryer.model_validate({"name": "cabinet", "trays": 8, "tray_area": "0.14 m2"}),)
    season = season.model_copy(update={"dryer": dryers})
    windows = [window(0), *(window(1, 3, start=hour) for hour in starts), window(3), window(4)]
    lots = [lot("onion", FIRST, 30, grams=20_000)]
    stated = build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST)
    return replace(stated, history=History(sessions))


def begun(stated: Problem, *windows: int) -> Choice:
    """A pouch of each of the windows, packed on evenings of the week after."""
    grams = stated.demands[0].process.raw_per_portion
    last = len(stated.windows) - 1
    found = [
        next(o.number for o in stated.options if (o.first, o.second) == (first, last - late))
        for late, first in enumerate(windows)
    ]
    return Choice(dict.fromkeys(found, 1), {o: {0: grams} for o in found})


def test_a_dryer_is_free_again_when_the_food_is_dry() -> None:
    """Loaded by 21:00 at the latest, it is taken as long as its food dries, to the hour."""
    wait = dried([]).demands[0].process.wait_least
    assert wait % 3600 == 0
    free = int(21 + wait / 3600) % 24
    for hour, both in ((free - 1, False), (free, True)):
        stated = dried([hour])
        two = [stated.options[number] for number in begun(stated, 0, 1).pouches]
        stated = replace(stated, options=tuple(replace(o, number=n) for n, o in enumerate(two)))
        model = SeasonModel(stated, ())
        assert model.holds(begun(stated, 0))
        assert model.holds(begun(stated, 0, 1)) == both


@pytest.mark.parametrize(
    ("unit", "begins", "hours", "free"),
    [
        ("cabinet", -4, 3, True),  # dry at 18:00, when the evening begins
        ("cabinet", -4, 3.1, False),
        ("cabinet", 3, 9, False),  # loaded when the evening ends
        ("other", -4, 9, True),
        ("other", 3, 9, True),
    ],
)
def test_a_dryer_with_food_of_a_promised_session(
    unit: str, begins: int, hours: float, free: bool
) -> None:
    """Loading takes an hour."""
    loads = window(0).start + dt.timedelta(hours=begins)
    stated = dried([], kept("dry", loads, unit=unit, hours=hours))
    model = SeasonModel(stated, ())
    assert model.holds(begun(stated, 0)) == free
    assert model.holds(Choice({}, {}))


def test_a_dryer_promised_from_the_hour_on_when_the_food_is_dry() -> None:
    wait = dried([]).demands[0].process.wait_least
    dry = window(0).end + dt.timedelta(seconds=wait)
    for early, free in ((0, True), (1, False)):
        loads = dry - dt.timedelta(seconds=early)
        stated = dried([], kept("dry", loads, unit="cabinet", hours=9))
        assert SeasonModel(stated, ()).holds(begun(stated, 0)) == free
