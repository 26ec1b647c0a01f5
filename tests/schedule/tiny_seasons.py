"""Random seasons small enough to try every plan."""

from __future__ import annotations

import datetime as dt
import math
import random
from typing import Any
from zoneinfo import ZoneInfo

from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem

ZONE = ZoneInfo("America/Denver")


FIRST = dt.date(2027, 7, 5)


FOODS = (
    "snap bean, cut",
    "broccoli, florets",
    "carrot, sliced",
    "spinach, leaf",
    "winter squash, purée",
    "tomato, purée",
)


LIBRARY = load_library()


PORTION = 340


FEWEST, MOST = 12, 4000
"""How many sets of pouches there are to try."""


SEALED = {
    "sealer": {"kind": "chamber", "bar": "12 in"},
    "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
}
BY_HAND = {
    "sealer": {"kind": "none"},
    "pouch": [
        {"name": "gallon", "kind": "zip bag", "width": "10.5 in", "length": "10 in"},
        {"name": "pint", "kind": "box", "volume": "1 pint", "mouth": "wide"},
    ],
}


def tiny(seed: int, by_hand: bool = False) -> Problem:
    """The seed's season, with a sealing machine or without; drawn again until it has neither too
    few nor too many plans."""
    draw, toil = random.Random(seed), _toil(random.Random(f"toil {seed}"))
    while True:
        problem = _drawn(draw, toil, BY_HAND if by_hand else SEALED)
        if FEWEST <= math.prod(o.most + 1 for o in problem.options) <= MOST:
            return problem


def _toil(draw: random.Random) -> dict[str, str]:
    """What an evening and a food are worth, from nothing to what is usual."""
    return {
        "evening_is_worth": draw.choice(("0 portions", "1/2 portion", "2 portions")),
        "food_is_worth": draw.choice(("0 portions", "0.7 portions")),
    }


def _drawn(draw: random.Random, toil: dict[str, str], packs: dict[str, Any]) -> Problem:
    """Two to four windows, two or three foods, a lot or two of each, small freezers.

    Where there is a small fridge each food is one lot, so that what a run takes is known.
    """
    foods = draw.sample(FOODS, draw.choice((2, 2, 3)))
    fridge = draw.choice((None, None, "1.2 L", "2.5 L", "4 L"))
    season = Season.model_validate(
        {
            "household": {"name": "tiny", "timezone": ZONE.key},
            "season": {
                "start": FIRST,
                "end": FIRST + dt.timedelta(days=20),
                "max_sessions_per_week": draw.choice((None, 1, 2)),
                "smallest_batch": draw.choice((None, None, "900 g", "1.4 kg")),
                **toil,
            },
            "pot": [{"name": "pot", "volume": "8 qt", "power": "2.5 kW"}],
            "bath": [{"name": "sink", "volume": "5 gal"}],
            "oven": [{"name": "oven", "trays": 2, "tray_load": "2 kg"}],
            **packs,
            "freezer": [_freezer(draw, n) for n in range(draw.choice((1, 1, 2)))],
            "want": [
                {
                    "product": food,
                    "portions": draw.randint(1, 5),
                    "portion": f"{PORTION} g",
                    "priority": draw.choice((1, 1, 2, 3)),
                }
                for food in foods
            ],
            "cold": {"fridge": fridge},
        }
    )
    most = 2 if fridge is None else 1
    lots = [lot for food in foods for lot in _lots(draw, food.split(",")[0], most)]
    return build_problem(Household(season, LIBRARY, tuple(_windows(draw))), lots, FIRST)


def _freezer(draw: random.Random, number: int) -> dict[str, str]:
    return {
        "name": f"freezer {number}",
        "volume": "100 L",
        "used": f"{draw.choice((80, 97, 98))} L",
        "freezing_per_day": f"{draw.choice((700, 1400, 5000))} g",
    }


def _windows(draw: random.Random) -> list[FreeWindow]:
    windows = []
    for day in sorted(draw.sample(range(9), draw.choice((2, 3, 3, 4)))):
        start = dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(18), ZONE)
        length = dt.timedelta(minutes=draw.choice((80, 100, 120, 150)))
        hands, extra = draw.choice((1, 1, 2)), draw.random() < 0.3
        windows.append(FreeWindow(start, start + length, hands, extra=extra))
    return windows


def _lots(draw: random.Random, crop: str, most: int) -> list[Lot]:
    lots = []
    for number in range(draw.choice((1, most))):
        ready = FIRST + dt.timedelta(days=draw.randint(0, 5))
        grams = draw.randint(400, 2600)
        lots.append(
            Lot(
                id=f"{crop}-{number}",
                crop=crop,
                planting=crop,
                bought=None,
                ready=ready,
                keep_until=ready + dt.timedelta(days=draw.randint(1, 6)),
                grams=grams,
                low_grams=grams,
                high_grams=grams,
                picked=draw.random() < 0.5,
            )
        )
    return lots
