"""Rules of the season model for what is frozen, dried, stored and waiting.

Freezing in any 24 hours, single layers on trays, one run at a time in a dryer, space in every
freezer on every day that something goes in, with what is drawn each week, and in the fridge on
every night.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from harvestplan.schedule.rules.freezing import Ice, add_loads
from harvestplan.schedule.statement.freezer_loads import arrivals
from harvestplan.schedule.statement.problem import Option, Problem

if TYPE_CHECKING:
    from harvestplan.schedule.search.cp_sat import SeasonModel


def add_freezing(season: SeasonModel) -> None:
    """No freezer takes more than its limit in any 24 hours; packs lie flat on its trays."""
    add_loads(season)
    for freezer in season.problem.kitchen.freezers:
        if freezer.tray_area is None:
            continue
        for near in season.problem.near_sets():
            area = tray_area_left(season.problem, near, freezer.name)
            _add_trays(season, near, freezer.name, area)


def tray_area_left(problem: Problem, near: Sequence[int], name: str) -> int:
    """Area of the freezer's trays in mm² that kept sessions leave to windows near each other."""
    area = problem.kitchen.freezer(name).tray_area or 0
    taken: int = 100 * sum(
        task.settings.get("area_cm2", 0)
        for session in problem.kept_near(near)
        for task in session.tasks
        if task.settings.get("freezer") == name
    )
    return max(0, int(area * 1e6) - taken)


def _add_trays(season: SeasonModel, near: Sequence[int], freezer: str, area: int) -> None:
    """Packs lie flat until frozen; loose pieces from their tray freeze until they are packed.

    What lies at any time within the near windows is taken to lie at once.
    """
    flat = [
        season.process_of(o).packing.footprint * season.pouches[o.number]
        for o in _frozen_in(season, near, freezer)
    ]
    loose = [
        season.process_of(o).loose_area * season.pouches[o.number]
        for o in season.problem.options
        if o.freezer == freezer and o.first <= near[-1] and o.packs_in >= near[0]
    ]
    if flat or loose:
        season.model.add(sum(flat) + sum(loose) <= area)


def add_dryers(season: SeasonModel) -> None:
    """A dryer holds one run at a time, from its first sitting until the food is dry."""
    windows = season.problem.windows
    by_dryer: dict[str, list[Option]] = defaultdict(list)
    for option in season.problem.options:
        if (name := season.process_of(option).dryer) is not None:
            by_dryer[name].append(option)
    for name, options in by_dryer.items():
        for option in options:
            if _dryer_kept(season, name, option):
                season.model.add(season.made[option.number] == 0)
        for w, window in enumerate(windows):
            drying = [
                season.made[o.number]
                for o in options
                if o.first <= w and (o.first == w or window.start < _dry_at(season, o))
            ]
            if len(drying) > 1:
                season.model.add_at_most_one(drying)


def _dryer_kept(season: SeasonModel, name: str, option: Option) -> bool:
    """Whether a kept session's food is in the dryer when the option would fill it."""
    window = season.problem.windows[option.first]
    return any(
        task.start < _dry_at(season, option)
        and window.start < task.end + dt.timedelta(hours=task.settings.get("hours", 0))
        for session in season.problem.history.sessions
        for task in session.tasks
        if task.step == "dry" and name in task.equipment
    )


def _dry_at(season: SeasonModel, option: Option) -> dt.datetime:
    least = dt.timedelta(seconds=season.process_of(option).wait_least)
    return season.problem.windows[option.first].end + least


def _frozen_in(season: SeasonModel, windows: Sequence[int], freezer: str) -> list[Option]:
    inside = set(windows)
    return [o for o in season.problem.options if o.freezer == freezer and o.packs_in in inside]


def add_space(season: SeasonModel) -> None:
    """On every day that something goes in, each freezer's contents fit (draws included)."""
    ice = Ice(season)
    for freezer in season.problem.kitchen.freezers:
        room = int(freezer.volume - freezer.used)
        days = {
            day: ice.space(freezer.name, day)
            for day in _fullest_days(season, ice.days(freezer.name))
        }
        for d, demand in enumerate(season.problem.demands):
            _add_stock(season, d, demand.process.packing.space, freezer.name, days)
        stored = season.problem.opening.other.get(freezer.name, 0)
        for terms in filter(None, days.values()):
            season.model.add(cp_model.LinearExpr.sum(terms) <= room - stored)


def _fullest_days(season: SeasonModel, icy: set[dt.date]) -> list[dt.date]:
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


def _add_stock(
    season: SeasonModel,
    d: int,
    space: int,
    freezer: str,
    days: dict[dt.date, list[cp_model.LinearExpr]],
) -> None:
    """Adds the stock of one product in one freezer to the space of each day in `days`."""
    problem, model = season.problem, season.model
    options = [o for o in problem.options if o.demand == d and o.freezer == freezer]
    inflow: dict[dt.date, list[cp_model.IntVar]] = defaultdict(list)
    for option in options:
        inflow[problem.windows[option.packs_in].start.date()].append(season.pouches[option.number])
    product = problem.demands[d].process.name
    at_start = problem.opening.pouches.get((product, freezer), 0)
    promised: dict[dt.date, int] = defaultdict(int)
    for arrival in arrivals(problem.history.sessions):
        if (arrival.product, arrival.freezer) == (product, freezer) and not arrival.done:
            promised[arrival.day] += arrival.pouches
    if not options and not at_start and not promised:
        return
    most = at_start + sum(promised.values()) + problem.demands[d].portions
    draw = problem.demands[d].draw
    draws: dict[dt.date, int] = {}
    if draw is not None and problem.windows:
        last = problem.windows[-1].start.date()
        draws = dict(draw.events(problem.as_of, last))
    stock: cp_model.LinearExpr = cp_model.LinearExpr.constant(at_start)
    all_days = sorted({*days, *draws, *promised, *inflow})
    for day in all_days:
        if day in promised:
            stock = stock + promised[day]
        if day in inflow:
            stock = stock + cp_model.LinearExpr.sum(inflow[day])
        if day in draws:
            drawn = model.new_int_var(0, draws[day], f"drawn{d}.{freezer}.{day}")
            season.drawn.append(drawn)
            model.add(drawn <= stock)
        if day in days:
            # Stock is carried in a variable of its own, so that rows stay short.
            level = model.new_int_var(0, most, f"stock{d}.{freezer}.{day}")
            model.add(level == stock)
            stock = level
            days[day].append(space * level)
        if day in draws:
            stock = stock - season.drawn[-1]


def add_fridge(season: SeasonModel) -> None:
    """On every night all that waits for its sitting fits the fridge.

    There is a row only for nights after which some of it goes, and only where all that may wait
    would be too much.
    """
    problem, fridge = season.problem, season.problem.fridge
    if fridge is None:
        return
    waiting = [
        (stay, lot, share)
        for (option, lot), share in season.share.items()
        for stay in problem.stays(problem.options[option], lot)
    ]
    for night in fridge.fullest_nights(stay for stay, _, _ in waiting):
        there = [each for each in waiting if each[0].since <= night < each[0].until]
        largest: dict[int, int] = defaultdict(int)
        for stay, lot, _ in there:
            largest[lot] = max(largest[lot], stay.volume)
        if sum(volume * problem.free[lot] for lot, volume in largest.items()) > fridge.left(night):
            taken = cp_model.LinearExpr.weighted_sum(
                [share for _, _, share in there], [stay.volume for stay, _, _ in there]
            )
            season.model.add(taken <= fridge.left(night))
