"""Space in the freezers: on every day that something goes in, all of it fits.

What is drawn week by week makes room. Stock is carried in a variable of its own from day to day, so
that rows stay short.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable
from itertools import pairwise

from harvestplan.schedule.rules.freezer_stock import Stock, StockDay
from harvestplan.schedule.rules.own_ice import OwnIce
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.freezer_loads import arrivals

RULE = REASON = "freezer space"


def limit_space(season: SeasonRows) -> None:
    """On every day that something goes in, each freezer's contents fit (draws included)."""
    ice = OwnIce(season)
    for freezer in season.problem.kitchen.freezers:
        name = freezer.name
        contents: dict[dt.date, Counter[int]] = {}
        kept: dict[dt.date, int] = {}
        for day in _fullest_days(season, ice.days(name)):
            contents[day], kept[day] = ice.space(name, day)
        for d, demand in enumerate(season.problem.demands):
            stock = _stock(season, d, name, days=contents)
            for each in stock.days if stock else ():
                if each.level is not None:
                    contents[each.day][each.level] += demand.process.packing.space
        room = int(freezer.volume - freezer.used) - season.problem.opening.other.get(name, 0)
        for day, terms in contents.items():
            if terms or name == ice.freezer:
                of = f"{name} on {day}"
                season.add(RULE, of, terms, most=room - kept[day], reason=REASON)


def _fullest_days(season: SeasonRows, icy: set[dt.date]) -> list[dt.date]:
    """Days on which a freezer may be fuller than on any day after: until something is drawn its
    contents only grow. Ice comes and goes, so its days count in any case."""
    problem = season.problem
    promised = {arrival.day for arrival in arrivals(problem.history.sessions) if not arrival.done}
    days = sorted({*problem.window_days(), *promised, *icy})
    drawn = {
        day
        for demand in problem.demands
        if demand.draw is not None and days
        for day, _ in demand.draw.events(problem.as_of, days[-1])
    }
    return [
        day
        for day, after in pairwise([*days, dt.date.max])
        if after == dt.date.max or day in icy or any(day <= event < after for event in drawn)
    ]


def _stock(season: SeasonRows, d: int, freezer: str, *, days: Iterable[dt.date]) -> Stock | None:
    """The stock of one product in one freezer, looked at on `days`, with its variables and the rows
    that link them; None where none of it is there or may come."""
    problem, demand = season.problem, season.problem.demands[d]
    product = demand.process.name
    packed: dict[dt.date, list[int]] = defaultdict(list)
    for option in problem.options:
        if option.demand == d and option.freezer == freezer:
            day = problem.windows[option.packs_in].start.date()
            packed[day].append(season.pouches[option.number])
    at_start = problem.opening.pouches.get((product, freezer), 0)
    promised: Counter[dt.date] = Counter()
    for arrival in arrivals(problem.history.sessions):
        if (arrival.product, arrival.freezer) == (product, freezer) and not arrival.done:
            promised[arrival.day] += arrival.pouches
    if not packed and not at_start and not promised:
        return None
    draws: dict[dt.date, int] = {}
    if demand.draw is not None and problem.windows:
        draws = dict(demand.draw.events(problem.as_of, problem.windows[-1].start.date()))
    looked_at = set(days)
    most = at_start + promised.total() + demand.portions
    name = f"{d}.{freezer}"
    lies, known = Counter[int](), at_start
    """What lies there on a day: variables, and what is known beside them."""
    found = []
    for day in sorted({*looked_at, *draws, *promised, *packed}):
        known += promised[day]
        lies.update(packed[day])
        drawn = level = None
        if day in draws:
            drawn = season.new_variable(f"drawn{name}.{day}", 0, draws[day])
            season.add("drawn", name, _less(drawn, lies), most=known)
        if day in looked_at:
            level = season.new_variable(f"stock{name}.{day}", 0, most)
            season.add("stock", name, _less(level, lies), least=known, most=known)
            lies, known = Counter([level]), 0
        if drawn is not None:
            lies[drawn] -= 1
        made, draw = tuple(packed[day]), draws.get(day, 0)
        found.append(StockDay(day, promised[day], made, drawn=drawn, draw=draw, level=level))
    stock = season.stocks[d, freezer] = Stock(at_start, tuple(found))
    return stock


def _less(variable: int, lies: Counter[int]) -> Counter[int]:
    """The variable, less what lies there."""
    terms = Counter({variable: 1})
    terms.subtract(lies)
    return terms
