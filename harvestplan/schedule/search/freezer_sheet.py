"""The freezers in the plan made by hand: what an evening may still put into them.

Kept by the rules of the season model, so that such a plan keeps them too: what freezes in any 24
hours, single layers on trays, space, and the ice that the household makes itself. Only of what lies
there already the draws are counted, so there is never more room than the model sees.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from harvestplan.kitchen.ice import freezing_load, ice_space
from harvestplan.schedule.rules.freezing import ice_per_pouch
from harvestplan.schedule.rules.storage import tray_area_left
from harvestplan.schedule.statement.freezer_burden import DAY, ice_freezer, ice_made, load_per_pouch
from harvestplan.schedule.statement.freezer_loads import arrivals, loads
from harvestplan.schedule.statement.problem import Option, Problem

Kind = Literal["freezing", "trays", "space"]


@dataclass
class Row:
    """What is `left` of a limit of a freezer: g to freeze in 24 hours, mm² of trays, or mL.

    What is made in the windows `made` counts, and the ice for the windows `iced`.
    """

    kind: Kind
    freezer: str
    made: frozenset[int]
    iced: frozenset[int]
    left: int


class FreezerSheet:
    """What is left of each freezer's limits as evenings fill, one option after the other."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.ice_freezer = ice_freezer(problem.season)
        self.kept = loads(problem.history.sessions)
        self.kept_ice = ice_made(problem.history.sessions, problem.as_of)
        self.ice = dict(self._ice())
        """Grams of ice per pouch, by option, for those that need any made."""
        self.icy = frozenset(problem.options[number].first for number in self.ice)
        self.rows: dict[int, list[Row]] = defaultdict(list)
        """By window that counts in them."""
        for freezer in problem.kitchen.freezers:
            name = freezer.name
            for row in (*self._freezing(name), *self._trays(name), *self._space(name)):
                for window in row.made | row.iced:
                    self.rows[window].append(row)

    def most(self, option: Option, pouches: int) -> int:
        """How many of the pouches the freezers still take."""
        rooms = (row.left // each for row, each in self._burdens(option))
        return max(0, min([pouches, *rooms]))

    def put(self, option: Option, pouches: int) -> None:
        """Writes down that so many are made."""
        for row, each in self._burdens(option):
            row.left -= each * pouches

    def _burdens(self, option: Option) -> Iterator[tuple[Row, int]]:
        """The rows in which the option counts, with what a pouch takes of each."""
        process = self.problem.demands[option.demand].process
        packing, ice = process.packing, self.ice.get(option.number, 0)
        food: dict[Kind, int] = {
            "freezing": load_per_pouch(process),
            "trays": packing.footprint + process.loose_area,
            "space": packing.space,
        }
        cold: dict[Kind, int] = {
            "freezing": math.ceil(freezing_load(ice)) + 1,
            "space": ice_space(ice),
        }
        for row in self.rows[option.first]:
            each = food[row.kind] * (row.freezer == option.freezer and option.first in row.made)
            if ice and option.first in row.iced:
                each += cold[row.kind]
            if each:
                yield row, each

    def _ice(self) -> Iterator[tuple[int, int]]:
        if self.ice_freezer is None:
            return
        for option in self.problem.options:
            if option.second is not None or self._day(option.first) <= self.problem.as_of:
                continue  # today's is made already
            if grams := ice_per_pouch(self.problem, option, "whole"):
                yield option.number, grams

    def _freezing(self, name: str) -> Iterator[Row]:
        """What begins to freeze within a stretch, with what kept sessions freeze a day around."""
        windows = self.problem.windows
        limit = self.problem.kitchen.freezing_limit(name)
        ice = self.kept_ice if name == self.ice_freezer else []
        for start, end, made in self._stretches(name):
            kept = sum(
                load.grams
                for load in self.kept
                if load.freezer == name and start - DAY < load.start < end
            )
            kept += sum(each.load for each in ice if start - DAY < each.start < end)
            iced = {w for w in self._icy(name) if start <= windows[w].start - DAY < end}
            yield Row("freezing", name, frozenset(made), frozenset(iced), limit - kept)

    def _stretches(self, name: str) -> Iterator[tuple[dt.datetime, dt.datetime, Iterable[int]]]:
        """Begin, end and windows of the stretches that the season model looks at."""
        windows = self.problem.windows
        if name != self.ice_freezer:
            for near in self.problem.near_sets():
                yield windows[near[0]].start, windows[near[-1]].end + DAY, near
            return
        spans = [(window.start, window.end + DAY) for window in windows]
        spans += [(windows[w].start - DAY, windows[w].start) for w in self.icy]
        for start, end in spans:
            touching = (w for w, x in enumerate(windows) if x.start < end and x.end >= start)
            yield start, end, touching

    def _trays(self, name: str) -> Iterator[Row]:
        if self.problem.kitchen.freezer(name).tray_area is None:
            return
        for near in self.problem.near_sets():
            left = tray_area_left(self.problem, near, name)
            yield Row("trays", name, frozenset(near), frozenset(), left)

    def _space(self, name: str) -> Iterator[Row]:
        """On the days on which a freezer may be fuller than on any day after."""
        icy = {self._day(w) - DAY for w in self._icy(name)}
        if name == self.ice_freezer:
            icy |= {each.day for each in self.kept_ice}
        rooms = {day: self._room(name, day) for day in sorted({*self.problem.window_days(), *icy})}
        for day, after in pairwise([*rooms, None]):
            assert day is not None
            if day in icy or after is None or rooms[day] < rooms[after]:
                made = {w for w in range(len(self.problem.windows)) if self._day(w) <= day}
                iced = {w for w in self._icy(name) if self._day(w) - DAY == day}
                yield Row("space", name, frozenset(made), frozenset(iced), rooms[day])

    def _room(self, name: str, day: dt.date) -> int:
        """mL left on a day before anything is made: what lies there is eaten week by week, what is
        promised counts from the beginning."""
        problem = self.problem
        freezer = problem.kitchen.freezer(name)
        left = int(freezer.volume - freezer.used) - problem.opening.other.get(name, 0)
        spaces = {demand.process.name: demand.process.packing.space for demand in problem.demands}
        for demand in problem.demands:
            stored = problem.opening.pouches.get((demand.process.name, name), 0)
            if demand.draw is not None:
                begin, until = problem.as_of - DAY, day - DAY
                stored -= demand.draw.target(until) - demand.draw.target(begin)
            left -= spaces[demand.process.name] * max(0, stored)
        for arrival in arrivals(problem.history.sessions):
            if arrival.freezer == name and not arrival.done:
                left -= spaces.get(arrival.product, 0) * arrival.pouches
        if name == self.ice_freezer:
            left -= sum(each.space for each in self.kept_ice if each.day == day)
        return left

    def _icy(self, name: str) -> frozenset[int]:
        """Windows whose ice is made in the freezer."""
        return self.icy if name == self.ice_freezer else frozenset()

    def _day(self, window: int) -> dt.date:
        return self.problem.windows[window].start.date()
