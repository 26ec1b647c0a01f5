"""Thermal time: how much warmth a day gives a crop, in degree-days (°C·d).

Three ways of reckoning are in use and give different totals for the same weather, so a total is
only worth something beside its method, base and upper limit: `ThermalTime` keeps them together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from harvestplan.errors import HarvestPlanError

Method = Literal["mw1", "mw2", "sine"]
Floats = NDArray[np.float64]


class MixedThermalTimeError(HarvestPlanError, ValueError):
    """Totals reckoned by different methods, bases or upper limits were put together."""


def degree_days(
    tmin: ArrayLike, tmax: ArrayLike, base: float, *, upper: float | None, method: Method
) -> Floats:
    """Degree-days (°C·d) of each day from its lowest and highest temperature (°C).

    `tmin` and `tmax` are arrays of one shape (or scalars); the result has that shape, NaN where
    a temperature is NaN. Methods:

    mw1   mean of the two, then lifted to `base` and capped at `upper`
    mw2   each lifted and capped first, then their mean; with 10 and 30 °C the maize method
          known as 86/50 °F
    sine  single sine wave through the two, with a horizontal cut-off at `upper`

    mw1 and mw2 are the two interpretations of McMaster & Wilhelm 1997 (Agricultural and Forest
    Meteorology 87:291); the sine is that of Baskerville & Emin 1969 (Ecology 50:514, from memory).
    Raises ValueError for an unknown method or an upper limit not above the base.
    """
    low = np.asarray(tmin, dtype=np.float64)
    high = np.asarray(tmax, dtype=np.float64)
    cap = math.inf if upper is None else upper
    if not cap > base:
        raise ValueError(f"the upper limit ({cap:g} °C) must be above the base ({base:g} °C)")
    if method == "mw1":
        return np.clip((low + high) / 2, base, cap) - base
    if method == "mw2":
        return (np.clip(low, base, cap) + np.clip(high, base, cap)) / 2 - base
    if method == "sine":
        warmth = _sine_above(low, high, base)
        return warmth if upper is None else warmth - _sine_above(low, high, upper)
    raise ValueError(f'no method "{method}"; there are mw1, mw2 and sine')


def show_degree_days(amount: float, measures: str) -> str:
    """An amount in °C·d as the household counts it: 550 is "990 degree-days F" in US measures."""
    if measures == "US":
        return f"{amount * 1.8:.0f} degree-days F"
    return f"{amount:.0f} degree-days C"


def _sine_above(low: Floats, high: Floats, threshold: float) -> Floats:
    """The day's mean of how far a sine wave from `low` to `high` lies above `threshold`."""
    mean, swing = (low + high) / 2, (high - low) / 2
    inside = (low < threshold) & (threshold < high)
    ratio = np.where(inside, threshold - mean, 0.0) / np.where(inside, swing, 1.0)
    angle = np.arcsin(np.clip(ratio, -1.0, 1.0))
    crossing = ((mean - threshold) * (np.pi / 2 - angle) + swing * np.cos(angle)) / np.pi
    whole = np.maximum(mean - threshold, 0.0)
    result: Floats = np.where(inside, crossing, whole)
    return result


@dataclass(frozen=True, eq=False)
class ThermalTime:
    """An amount of thermal time (°C·d) with the way it was reckoned.

    Adding, subtracting or comparing two of them needs the same method, base and upper limit;
    otherwise MixedThermalTimeError is raised.
    """

    amount: float
    method: Method
    base: float
    upper: float | None = None

    def scaled(self, share: float) -> ThermalTime:
        return replace(self, amount=self.amount * share)

    def of_days(self, tmin: ArrayLike, tmax: ArrayLike) -> Floats:
        """Degree-days of each day, reckoned as this amount was."""
        return degree_days(tmin, tmax, self.base, upper=self.upper, method=self.method)

    def __add__(self, other: ThermalTime) -> ThermalTime:
        return replace(self, amount=self.amount + self._same(other))

    def __sub__(self, other: ThermalTime) -> ThermalTime:
        return replace(self, amount=self.amount - self._same(other))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, ThermalTime):
            return NotImplemented
        return self.amount == self._same(other)

    def __hash__(self) -> int:
        return hash((self.amount, self.method, self.base, self.upper))

    def __lt__(self, other: ThermalTime) -> bool:
        return self.amount < self._same(other)

    def __le__(self, other: ThermalTime) -> bool:
        return self.amount <= self._same(other)

    def __gt__(self, other: ThermalTime) -> bool:
        return self.amount > self._same(other)

    def __ge__(self, other: ThermalTime) -> bool:
        return self.amount >= self._same(other)

    def __str__(self) -> str:
        top = "" if self.upper is None else f", upper {self.upper:g} °C"
        return f"{self.amount:.0f} °C·d ({self.method}, base {self.base:g} °C{top})"

    def _same(self, other: ThermalTime) -> float:
        if (self.method, self.base, self.upper) != (other.method, other.base, other.upper):
            raise MixedThermalTimeError(
                f"{self} and {other} are reckoned in different ways and cannot be put together. "
                "Reckon both from the daily temperatures by one method."
            )
        return other.amount
