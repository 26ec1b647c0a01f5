"""A long day in a kitchen with everything that its own rules are about, as data to be spoilt.

Beans, broccoli and rhubarb are blanched in turn, beets and tomatoes simmer, chicken is packed raw.
What food does to water, and what is eaten raw, is set here.
"""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from harvestplan.check.facts import Finding
from harvestplan.check.judge import check_plan
from harvestplan.household import Household
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot, Plan
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.written.assemble import build_sessions

Data = dict[str, Any]
DAY = dt.date(2027, 7, 12)
ZONE = "America/Denver"
PORTIONS = {
    "snap bean, cut": 14,
    "broccoli, florets": 8,
    "rhubarb, cut": 4,
    "beet, sliced": 4,
    "tomato, purée": 5,
    "chicken piece, portioned": 4,
}
KITCHEN: Data = {
    "household": {"name": "Mill End", "timezone": ZONE, "hands": 2, "cooks": ["Ada", "Ben"]},
    "season": {"start": DAY, "end": DAY + dt.timedelta(days=60)},
    "pot": [
        {"name": "kettle", "volume": "16 qt", "power": "3.2 kW"},
        {"name": "pan", "volume": "8 qt", "power": "1.8 kW"},
    ],
    "bath": [{"name": "sink", "volume": "8 gal"}, {"name": "tub", "volume": "5 gal"}],
    "sealer": {"kind": "chamber", "bar": "12 in"},
    "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
    "freezer": [{"name": "chest", "volume": "300 L", "freezing_per_day": "50 kg"}],
    "want": [{"product": p, "portions": n, "portion": "340 g"} for p, n in PORTIONS.items()],
}
SEASON = Season.model_validate(KITCHEN)


def library() -> Library:
    """The library, with broccoli strong in water and rhubarb eaten raw."""
    known = load_library()
    rhubarb = known.crop("rhubarb")
    raw = tuple(each.model_copy(update={"eaten_raw": True}) for each in rhubarb.products)
    changed: dict[str, Crop] = {
        "broccoli": known.crop("broccoli").model_copy(update={"in_water": "strong"}),
        "rhubarb": rhubarb.model_copy(update={"products": raw, "in_water": "mild"}),
    }
    return known.model_copy(update={"crops": known.crops | changed})


LIBRARY = library()


def windows() -> tuple[FreeWindow, ...]:
    start = dt.datetime.combine(DAY, dt.time(8), ZoneInfo(ZONE))
    return (FreeWindow(start, start + dt.timedelta(hours=14), 2, extra=False),)


def _lot(crop: str) -> Lot:
    return Lot(
        id=crop,
        crop=crop,
        planting=crop,
        bought=None,
        ready=DAY,
        keep_until=DAY + dt.timedelta(days=1),
        grams=30_000,
        low_grams=30_000,
        high_grams=30_000,
    )


def kitchen_plan() -> Data:
    """The day as the program lays it out; of the plan only what its kitchen rules look at."""
    crops = [name.partition(",")[0] for name in PORTIONS]
    household = Household(SEASON, LIBRARY, windows())
    stated = build_problem(household, [_lot(crop) for crop in crops], DAY)
    made, shares = {}, {}
    for option in stated.options:
        demand = stated.demands[option.demand]
        if option.second is None:
            made[option.number] = demand.portions
            raw = demand.process.raw(demand.portions)
            shares[option.number] = {option.lots[0]: raw}
    sessions = build_sessions(stated, Choice(made, shares), TimedSessions(stated, 1))
    return {
        "made_at": windows()[0].start,
        "as_of": DAY,
        "season": {
            "name": "Mill End",
            "timezone": ZONE,
            "start": SEASON.season.start,
            "end": SEASON.season.end,
        },
        "lots": [lot.model_dump() for lot in stated.lots],
        "sessions": [
            each.model_dump() | {"uid": "u1", "tasks": [t.model_dump() for t in each.tasks]}
            for each in sessions
        ],
        "picks": [],
        "freezer": [],
        "balance": [],
        "wants": [],
        "shopping": [],
        "proof": [],
        "warnings": [],
    }


def judged(data: Data) -> tuple[Finding, ...]:
    """What the judge finds against the rules of the kitchen, V14 to V19, and of hands and order."""
    found = check_plan(Plan.model_validate(data), Household(SEASON, LIBRARY, windows()))
    return tuple(each for each in found if each.code in RULES)


RULES = ("V1", "V2", "V3", "V4", "V14", "V15", "V16", "V17", "V19")
