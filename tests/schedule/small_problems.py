"""Problems of one kitchen, small enough to reckon everything by hand.

Beans of 340 g to the pouch; freezing, space and trays are given as so many pouches and a little.
"""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from schedule.small_seasons import FIRST, ZONE, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot
from harvestplan.schedule.goals.portions_put_by import portions_short
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Known, Solved, solve_season
from harvestplan.schedule.session.timed_sessions import (
    TimedSessions,
)
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice, Cut, windows_used
from harvestplan.schedule.statement.problem import Problem

BEANS, PUREE, DRY, ONIONS = (
    "snap bean, cut", "winter squash, purée", "dry bean, sealed", "onion, chopped",
)  # fmt: skip


LIBRARY = load_library()


def bean_lots(*sizes: int, keeps: int = 2) -> list[Lot]:
    """A lot each week, keeping two days."""
    days = [FIRST + dt.timedelta(days=7 * n) for n in range(len(sizes))]
    return [lot("snap bean", day, keeps, grams=size) for day, size in zip(days, sizes, strict=True)]


def lot(crop: str, ready: dt.date, keeps: int, grams: int, bought: bool = False) -> Lot:
    return Lot(
        id=f"{crop}-{ready}",
        crop=crop,
        planting=None if bought else crop,
        bought=crop if bought else None,
        ready=ready,
        keep_until=ready + dt.timedelta(days=keeps),
        grams=grams,
        low_grams=grams,
        high_grams=grams,
    )


def window(
    day: int, hours: float = 3, start: int = 18, hands: int = 2, extra: bool = False
) -> FreeWindow:
    begin = dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(start), ZoneInfo(ZONE))
    return FreeWindow(begin, begin + dt.timedelta(hours=hours), hands, extra=extra)


def problem(
    lots: list[Lot], windows: list[FreeWindow], *wants: tuple[str, int], **freezer: str
) -> Problem:
    wanted = [{"product": p, "portions": n, "portion": "340 g"} for p, n in wants]
    season = kitchen_season(wanted, **freezer)
    return build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST)


def beans(**freezer: str) -> Problem:
    """Ten pouches' worth and an evening with time for them."""
    return problem(bean_lots(10 * RAW), [window(0, 6)], (BEANS, 20), **freezer)


def _raw() -> int:
    return problem(bean_lots(9000), [window(0)], (BEANS, 1)).demands[0].process.raw_per_portion


RAW = _raw()
"""g of beans as picked for a pouch."""


PACK = problem(bean_lots(9000), [window(0)], (BEANS, 1)).demands[0].process.packing


def choice(stated: Problem, *made: tuple[int, int]) -> Choice:
    """So many pouches by each option, of its first lot."""
    shares = {}
    for number, pouches in made:
        option = stated.options[number]
        process = stated.demands[option.demand].process
        shares[number] = {option.lots[0]: process.raw(pouches)}
    return Choice(dict(made), shares)


def solved(stated: Problem) -> dict[str, float]:
    """What comes of it: portions short, evenings, minutes of extra windows."""
    choice = solve_season(stated, TimedSessions(stated, 1), Effort()).choice
    used = [stated.windows[w] for w in windows_used(stated, choice)]
    extra = [w.end - w.start for w in used if w.extra]
    return {
        "wants": portions_short(stated, choice),
        "evenings": sum(not w.is_visit for w in used),
        "overtime": sum(length.total_seconds() for length in extra) / 60,
    }


def two_foods(hours: float = 6, hands: int = 2) -> Problem:
    lots = [*bean_lots(10 * RAW), lot("dry bean", FIRST, 90, grams=10_000, bought=True)]
    return problem(lots, [window(0, hours, hands=hands)], (BEANS, 9), (DRY, 9))


def three_evenings() -> tuple[SeasonModel, Choice]:
    """Four pouches each on Monday and Tuesday, of food for nine; none on Wednesday."""
    stated = problem(bean_lots(9 * RAW), [window(d, 6) for d in range(3)], (BEANS, 9))
    return SeasonModel(stated, ()), choice(stated, (0, 4), (1, 4))


def allowed(stated: Problem, *made: tuple[int, int], cuts: tuple[Cut, ...] = ()) -> bool:
    return SeasonModel(stated, cuts).holds(choice(stated, *made))


def solve_small(stated: Problem, **known: Any) -> Solved:
    book = TimedSessions(stated, 1)
    return solve_season(stated, book, Effort(), known=Known(**known))
