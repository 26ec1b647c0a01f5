"""Answers to "what if", as immutable models: what programs read, and what out/worth.json holds.

`short` counts portions short, weighted by priority; `bound` is the least that is proven possible.
"""

from __future__ import annotations

import datetime as dt
from typing import Literal

from harvestplan.plan import Count, Record


class Portions(Record):
    """Portions of a product."""

    product: str
    portions: int


class Fullest(Record):
    """The fullest day of the fullest freezer, and how full it is (0 to 1)."""

    freezer: str
    date: dt.date
    share: float


class Outlook(Record):
    """A season solved: what it puts by and what that takes.

    `minutes` are minutes of one pair of hands, set-up and cleaning too. `evenings_bound` is the
    least number of evenings proven to suffice for as much. With `trouble` there is no plan.
    """

    name: str
    wanted: Count = 0
    planned: Count = 0
    stored: Count = 0
    products: tuple[Portions, ...] = ()
    short: float = 0.0
    bound: float = 0.0
    evenings: Count = 0
    evenings_bound: float | None = None
    freezer: Fullest | None = None
    cost: float | None = None
    minutes: Count = 0
    trouble: str | None = None

    @property
    def proven(self) -> bool:
        """Whether no plan is better."""
        return self.bound >= self.short - 1e-9


class Move(Record):
    """Portions of a product made in another session instead."""

    product: str
    portions: Count
    start: dt.datetime


class Loss(Record):
    """What is lost without some kitchen time, both ways solved; `lost` is weighted portions.

    `least` and `most` hold for certain; `lost` is between plans found. Portions that another
    product gains stand as negative.
    """

    starts: tuple[dt.datetime, ...]
    short_with: float
    short_without: float
    lost: float
    least: float
    most: float
    products: tuple[Portions, ...]
    moves: tuple[Move, ...]
    current: bool = True
    """Whether the written plan still holds for the files as they are."""


class EveningWorth(Record):
    """What is lost without one planned session; weighted portions, and `portions` by product."""

    uid: str
    start: dt.datetime
    lost: float
    least: float
    portions: tuple[Portions, ...]


class Worth(Record):
    """out/worth.json: what each session of the plan with this digest is worth."""

    format: Literal[1] = 1
    plan: str
    sessions: tuple[EveningWorth, ...]


class CurvePoint(Record):
    """What so many evenings put by at the best known, and the proven least short."""

    evenings: Count
    portions: Count
    short: float
    bound: float


class Curve(Record):
    """Portions put by against evenings, from none to as many as the plan uses."""

    wanted: Count
    points: tuple[CurvePoint, ...]


class Help(Record):
    """One thing more and what it brings. `gain`, `least` and `most` are weighted portions."""

    unit: str
    change: str
    portions: int
    gain: float
    least: float
    most: float
    trouble: str | None = None

    @property
    def sure(self) -> bool:
        """Whether it is proven to help at all."""
        return self.least > 1e-9


class WhatHelps(Record):
    """The season as it stands and what would help, best first."""

    base: Outlook
    helps: tuple[Help, ...]
