"""How what was seen on the way (seedlings, flowers, no pick yet) moves and narrows the date."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.clock import DAY, Clock
from harvestplan.forecast.ensemble import HORIZON, NO_WEATHER_SD, P90, FirstPick, Z
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.figures import Figure

EMERGENCE_DAYS = {
    "snap bean": 11, "beet": 6, "cabbage": 6, "carrot": 7, "cauliflower": 6, "sweet corn": 7,
    "cucumber": 6,
}  # fmt: skip
"""Days from sowing to emergence in soil of 20 °C (68 °F): Oregon State University Extension 2013,
after J. F. Harrington (seen)."""

EMERGENCE_SOIL = 20.0
EMERGENCE_SHARE = 0.12
"""Share of the way to the first pick that lies behind a seedling, for crops without a row above;
own judgement, near the middle of those with one (8 to 20 %)."""

MOST_EMERGENCE = 0.3
"""No more of the way than this is taken as done at emergence; own judgement."""

FLOWER_SD_SHARE, FLOWER_SD_LEAST = 0.2, 1.5
"""SD of the days from flower to pick where the crop file gives no range, as a share of them, and
the least SD in days, since "first flower" is seen a day or two early or late; own judgement."""

OVERDUE_SD = 3.0
"""SD in days of a first pick that is later than all the forecast allowed; own judgement."""


def restart(clock: Clock, crop: Crop, emerged: dt.date) -> Clock:
    """The clock from the day the seedlings came up, with the way to there taken off.

    Cold soil makes emergence the most uncertain stretch: a bean takes 16 days in soil of 15 °C
    and 8 in soil of 25 °C (the same table).
    """
    share = EMERGENCE_SHARE
    if clock.needed is not None and (days := EMERGENCE_DAYS.get(crop.name)):
        warmth = days * (EMERGENCE_SOIL - clock.needed.base)
        share = min(max(warmth, 0.0) / clock.needed.amount, MOST_EMERGENCE)
    needed = None if clock.needed is None else clock.needed.scaled(1 - share)
    days_left = max(round(clock.days * (1 - share)), 1)
    return replace(clock, start=emerged, days=days_left, needed=needed)


def counted_from_emergence(first_day: int, days: int, whole: int) -> FirstPick:
    """First picks in calendar days, `days` after emergence on day `first_day` of `whole` days in
    all; the spread is that of the stretch that is left."""
    sd = NO_WEATHER_SD * (days / max(whole, days)) ** 0.5
    return FirstPick(np.maximum(first_day + days + 0.5 + sd * Z, 1.0), whole, 0.0, observed=0)


def counted_from_flower(after: Figure[float], day: int) -> FirstPick:
    """First picks counted in days from flowers on `day`, where there is no weather."""
    days = after.value / DAY + 0.5
    return FirstPick(day + days + _flower_sd(after) * Z, day + int(days), 0.0, observed=0)


def from_flower(clock: Clock, after: Figure[float], flowered: dt.date, climate: Climate) -> Clock:
    """The stretch from flower to pick: the warmth that its days bring in a normal year here.

    Fruit ripens by warmth too: a tomato takes 46 days at 22 °C and 95 at 14 °C (Adams, Cockshull &
    Cave 2001, Annals of Botany 88:869, abstract seen). What remains is spread as the days are.
    """
    assert clock.needed is not None
    days = max(round(after.value / DAY), 1)
    begin = climate.index(flowered)
    usual = climate.warmth(clock.needed).normal[begin : begin + days]
    amount = max(float(usual.sum()), 1.0)
    return replace(
        clock,
        start=flowered,
        days=days,
        needed=replace(clock.needed, amount=amount),
        spread=_flower_sd(after) * DAY / after.value,
    )


def narrowed(first: FirstPick, flower: FirstPick) -> FirstPick:
    """The first pick in the light of flowers, after which it may be as `flower` says.

    The date reckoned so far and that from the flowers are combined by inverse variance; the shape
    of the spread stays that of the surer one.
    """
    low, middle, high = np.quantile(first.days, [0.1, 0.5, 0.9], method="hazen")
    if middle >= HORIZON:
        return replace(first, days=flower.days, moved=flower.moved)
    ready = np.quantile(flower.days, [0.1, 0.5, 0.9], method="hazen")
    sd, flower_sd = (max(float(d) / (2 * P90), 0.3) for d in (high - low, ready[2] - ready[0]))
    weight = flower_sd**2 / (sd**2 + flower_sd**2)
    centre = weight * middle + (1 - weight) * ready[1]
    if weight >= 0.5:
        return replace(first, days=centre + (first.days - middle) * weight**0.5)
    days = centre + (flower.days - ready[1]) * (1 - weight) ** 0.5
    return replace(first, days=days, moved=flower.moved)


def _flower_sd(after: Figure[float]) -> float:
    if after.low is None or after.high is None:
        return max(FLOWER_SD_SHARE * after.value / DAY, FLOWER_SD_LEAST)
    return max((after.high - after.low) / DAY / (2 * P90), FLOWER_SD_LEAST)


def not_before(first: FirstPick, day: int) -> FirstPick:
    """The first pick when none has been made before `day`: what of the spread is left, or, where
    hardly any is, the days from `day` on."""
    later = first.days >= day
    if later.sum() < 0.1 * first.days.size:
        return replace(first, days=day + OVERDUE_SD * np.abs(Z), moved=None)
    moved = None if first.moved is None else first.moved[later]
    return replace(first, days=first.days[later], moved=moved)
