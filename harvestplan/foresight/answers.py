"""Answers to "what if", as immutable models: what programs read, and what out/worth.json holds.

`worth` is what a plan is worth in portions, toil taken off; no plan can be worth more than `bound`.
"""

from __future__ import annotations

import datetime as dt
from typing import Literal

from harvestplan.plan.immutable import Count, Record
from harvestplan.plan.remedy import Portions

SAME = 0.01
"""Worth in portions by which two plans are as good as each other."""


class Fullest(Record):
    """The fullest day of the fullest freezer, and how full it is (0 to 1)."""

    freezer: str
    date: dt.date
    share: float


class Outlook(Record):
    """A season solved: what it puts by and what that takes.

    `minutes` are minutes of one pair of hands, set-up and cleaning too. With `trouble` there is no
    plan.
    """

    name: str
    wanted: Count = 0
    planned: Count = 0
    stored: Count = 0
    products: tuple[Portions, ...] = ()
    worth: float = 0.0
    bound: float = 0.0
    evenings: Count = 0
    freezer: Fullest | None = None
    cost: float | None = None
    minutes: Count = 0
    trouble: str | None = None

    @property
    def proven(self) -> bool:
        """Whether no plan is better."""
        return self.bound - self.worth <= SAME


class Move(Record):
    """Portions of a product made in another session instead."""

    product: str
    portions: Count
    start: dt.datetime


class Loss(Record):
    """What is lost without some kitchen time, both ways solved; `lost` is worth in portions.

    `least` and `most` hold for certain; `lost` is between plans found. Portions that another
    product gains stand as negative.
    """

    starts: tuple[dt.datetime, ...]
    worth_with: float
    worth_without: float
    lost: float
    least: float
    most: float
    products: tuple[Portions, ...]
    moves: tuple[Move, ...]
    current: bool = True
    """Whether the written plan still holds for the files as they are."""


class EveningWorth(Record):
    """What is lost without one planned session: worth in portions, and `portions` by product."""

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
    """What so many evenings put by and are worth at the best known, and no plan can be worth more
    than."""

    evenings: Count
    portions: Count
    worth: float
    bound: float


class Curve(Record):
    """Portions put by against evenings, from none to as many as the plan uses."""

    wanted: Count
    points: tuple[CurvePoint, ...]


class Help(Record):
    """One thing more and what it brings. `gain`, `least` and `most` are worth in portions."""

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


class SpoiledFood(Record):
    """Wanted food that went past its time in one replay: the Monday of the week, and the limit that
    stood in the way most often while it was there."""

    week: dt.date
    crop: str
    grams: Count
    limit: str


class Replay(Record):
    """One season as it might go: `made` are portions put by from the start of the replay, in the
    order of the wants; `short` what is missing then. `given` is surplus in g. `used` are the starts
    of the windows cooked in."""

    year: int
    made: tuple[Count, ...]
    short: tuple[Count, ...]
    given: Count
    evenings: Count
    used: tuple[dt.datetime, ...] = ()
    fullest: Fullest | None
    lost: tuple[SpoiledFood, ...]
    replans: Count
    seconds: float


class Spread(Record):
    """What is undercut one time in ten, every other time, and nine times in ten."""

    p10: float
    p50: float
    p90: float


class WantChance(Record):
    """How a want fares: the share of replays in which it is met, and portions short on average
    and at worst nine times in ten."""

    product: str
    wanted: Count
    met: float
    short_mean: float
    short_p90: float


class LimitCount(Record):
    """A limit, and kilograms lost to it in a replay on average."""

    limit: str
    kg: float


class WeekRisk(Record):
    """A week in which wanted food is lost: in what share of replays, how much on average, of which
    crops, and to which limits; most first."""

    week: dt.date
    share: float
    kg: float
    crops: tuple[str, ...]
    limits: tuple[LimitCount, ...]


class Risk(Record):
    """A season replayed over past years. `all_met` is the share of replays in which every want is
    met; `fullest_day` are dates as quantiles of the fullest day, `fullest_share` how full then."""

    as_of: dt.date
    seed: int
    years: tuple[int, ...]
    asked: Count
    all_met: float
    wants: tuple[WantChance, ...]
    short: Spread
    given_kg: Spread
    evenings: Spread
    freezer: str | None
    fullest_share: Spread | None
    fullest_day: tuple[dt.date, dt.date, dt.date] | None
    weeks: tuple[WeekRisk, ...]
    replans: Count
    cpu_seconds: float


class SowingScore(Record):
    """A sowing on average over the seasons it is judged in: weighted portions short, kilograms
    that nobody wanted, evenings."""

    short: float
    surplus_kg: float
    evenings: float


class Sown(Record):
    """A planting as it is to be sown: one of plants, `row` (m) or `area` (m²); `yield_g` where the
    household gave it."""

    id: str
    crop: str
    plants: int | None = None
    row: float | None = None
    area: float | None = None
    sown: dt.date | None = None
    set_out: dt.date | None = None
    days_to_maturity: int | None = None
    yield_g: float | None = None


class Elsewhere(Record):
    """How the sowing written and another fare in years that the search did not see: on average, and
    in how many of them the other is clearly better or worse."""

    years: tuple[int, ...]
    before: SowingScore
    after: SowingScore
    better: Count
    worse: Count


class Sowing(Record):
    """A sowing beside the one written: how both fare, what moved (ids of the season file), and all
    plantings of the season as they are to be sown."""

    years: tuple[int, int, int]
    seed: int
    tries: Count
    before: SowingScore
    after: SowingScore
    moved: tuple[str, ...]
    plantings: tuple[Sown, ...]
    elsewhere: Elsewhere | None = None
