"""Backtest of first picks whose truth the forecast does not share.

    python tests/benchmarks/fixed_truth.py

What the weather does not decide (plot, variety, soil) is drawn once, at sowing, and stays; the
truth may follow another response to warmth (Wang & Engel 1998, Agricultural Systems 58:1, from
memory: nought at the base and at the ceiling, fastest at the optimum), another base or the length
of day, set so that its mean is right here or at another station. Stations are Brussels, Tunis and
Córdoba of the package aquacrop, none of which any crop file was made with; each year in turn is
forecast from the other years.

Coverage is the share of true first picks between P10 and P90, and the error is that of the likely
day, as seen so many days before the true pick when it is said that there is none yet. Nobody knows
the true day, so the first two truths are also scored by how far ahead the forecast said it was.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
import pandas as pd

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.ensemble import HORIZON, first_pick
from harvestplan.forecast.learning import Lesson, PlotNeed, learned
from harvestplan.forecast.stages import not_before
from harvestplan.forecast.thermal import Floats, ThermalTime, degree_days

STATIONS = {"brussels": (50.8, (4, 5)), "tunis": (36.8, (2, 4)), "cordoba": (-31.4, (8, 10))}
"""Latitude, and the months on whose 15th hardy and tender crops are sown."""
HOME = "champion"
LEADS = (None, 56, 28, 14, 7)
LOOKED_AT = 70
"""Mornings before the true pick on which a household may look."""
DRAWS = 2
NOISE = 0.09
LONGEST = 200
"""Days within which even a third more than the book's need is reached, else the crop is not one for
the place and the year is left out."""


@dataclass(frozen=True)
class Case:
    """A crop's book: its need with what it may be off, and whether frost kills it."""

    crop: str
    needed: ThermalTime
    tender: bool


CASES = tuple(
    Case(crop, ThermalTime(amount, method, base, upper=upper), tender)
    for crop, amount, method, base, upper, tender in (
        ("snap bean", 550, "mw2", 10, 30, True),
        ("sweet corn", 855, "mw2", 10, 30, True),
        ("tomato", 950, "mw1", 7, 28, True),
        ("cucumber", 450, "mw2", 12, 32, True),
        ("summer squash", 550, "mw2", 8, 32, True),
        ("winter squash", 1050, "mw2", 8, 32, True),
        ("pumpkin", 1150, "mw2", 8, 32, True),
        ("shelling pea", 694, "mw1", 4.4, None, False),
        ("edible-pod pea", 960, "mw1", 3, 27, False),
        ("beet", 750, "mw1", 5, 30, False),
        ("broccoli", 705, "mw1", 4.5, 30, False),
        ("carrot", 1035, "mw1", 6, 30, False),
        ("spinach", 500, "mw1", 2, 28, False),
    )
)
"""The books of the crop files on the day of the comparison that the forecast was found wanting by
(the same thirteen figures, whatever the files say today)."""


@cache
def climate_at(station: str) -> Climate:
    """The whole series of a station of aquacrop."""
    with resources.files("aquacrop").joinpath(f"data/{station}_climate.txt").open() as file:
        table = pd.read_csv(file, sep=r"\s+", skiprows=1, header=None).iloc[:, :5]
    table.columns = ["day", "month", "year", "tmin_c", "tmax_c"]
    table.index = pd.DatetimeIndex(pd.to_datetime(table[["year", "month", "day"]]))
    begin, end = table.index.min().date(), table.index.max().date()
    found = Climate.from_frame(
        table.astype({"tmin_c": float, "tmax_c": float}), begin, end + dt.timedelta(2 * HORIZON)
    )
    assert found is not None
    return found


Response = Callable[[Climate, ThermalTime, float], Floats]
"""What each day of a climate gives a crop: its own units a day."""


def same(climate: Climate, needed: ThermalTime, latitude: float) -> Floats:
    return climate.warmth(needed).daily


def moved_base(by: float) -> Response:
    def daily(climate: Climate, needed: ThermalTime, latitude: float) -> Floats:
        return degree_days(
            climate.tmin, climate.tmax, needed.base + by, upper=needed.upper, method=needed.method
        )

    return daily


def wang_engel(climate: Climate, needed: ThermalTime, latitude: float) -> Floats:
    """The response to the mean of the day; optimum and ceiling common practice, no source."""
    low = needed.base
    best, most = (28.0, 38.0) if low >= 7 else (22.0, 33.0)
    alpha = np.log(2) / np.log((most - low) / (best - low))
    mean = np.clip((climate.tmin + climate.tmax) / 2, low, most)
    above = (mean - low) ** alpha
    top = (best - low) ** alpha
    found: Floats = np.maximum((2 * above * top - above**2) / top**2, 0.0)
    return found


def with_day_length(climate: Climate, needed: ThermalTime, latitude: float) -> Floats:
    """Degree-days times hours of light over 14; declination by Cooper 1969 (from memory)."""
    declination = np.radians(23.45) * np.sin(2 * np.pi * (climate.calendar_day - 80) / 366)
    cosine = np.clip(-np.tan(np.radians(latitude)) * np.tan(declination), -1.0, 1.0)
    found: Floats = climate.warmth(needed).daily * (24 / np.pi * np.arccos(cosine)) / 14
    return found


@dataclass(frozen=True)
class Truth:
    """How things really are: the response, noise drawn once a sowing, where its total was set
    (here, or at the home station), and how many seasons of one's own went before."""

    name: str
    response: Response
    noise: float
    set_here: bool = True
    seasons: int = 0


TRUTHS = (
    Truth("own model, 9 % drawn once", same, NOISE),
    Truth("own model, 12 % drawn once", same, 0.12),
    Truth("base 2 lower, mean right, 9 %", moved_base(-2), NOISE),
    Truth("base 2 higher, mean right, 9 %", moved_base(2), NOISE),
    Truth("day length, mean right, 9 %", with_day_length, NOISE),
    Truth("Wang-Engel, mean right", wang_engel, 0.0),
    Truth("Wang-Engel, mean right, 9 %", wang_engel, NOISE),
    Truth("Wang-Engel, set elsewhere, no season", wang_engel, NOISE, set_here=False),
    Truth("Wang-Engel, set elsewhere, one season", wang_engel, NOISE, set_here=False, seasons=1),
    Truth("Wang-Engel, set elsewhere, three", wang_engel, NOISE, set_here=False, seasons=3),
    Truth("no noise, set elsewhere, no season", wang_engel, 0.0, set_here=False),
    Truth("no noise, set elsewhere, one season", wang_engel, 0.0, set_here=False, seasons=1),
    Truth("no noise, set elsewhere, three", wang_engel, 0.0, set_here=False, seasons=3),
)


@dataclass(frozen=True)
class Score:
    """Coverage, RMSE of the likely day and of the mean of the other years (days), by lead."""

    truth: str
    lead: int | None
    forecasts: int
    coverage: float
    thermal: float
    calendar: float


def score(truth: Truth, stations: Sequence[str] = tuple(STATIONS), seed: int = 1) -> list[Score]:
    """One row a lead, over all crops, stations, years and draws."""
    rng = np.random.default_rng(seed)
    rows: dict[int | None, list[tuple[float, float, bool]]] = {lead: [] for lead in LEADS}
    for station in stations:
        for case in CASES:
            for season in _seasons(truth, station, case, rng=rng):
                for lead in LEADS:
                    if lead is None or lead < season.day:
                        low, likely, high = season.seen(lead and season.day - lead)
                        day = season.day
                        rows[lead].append((likely - day, season.calendar - day, low <= day <= high))
    found = []
    for lead, values in rows.items():
        table = np.array(values, dtype=float)
        thermal, calendar = np.sqrt((table[:, :2] ** 2).mean(axis=0))
        found.append(
            Score(
                truth.name,
                lead,
                len(table),
                coverage=float(table[:, 2].mean()),
                thermal=thermal,
                calendar=calendar,
            )
        )
    return found


def score_as_said(
    truth: Truth, stations: Sequence[str] = tuple(STATIONS), seed: int = 1
) -> dict[int, tuple[int, float]]:
    """The same as a household meets it, who does not know the true day: of all mornings on which
    the likely day was so far ahead, how many, and in how many the pick came within P10-P90."""
    rng = np.random.default_rng(seed)
    within: dict[int, list[bool]] = {lead: [] for lead in LEADS if lead is not None}
    for station in stations:
        for case in CASES:
            for season in _seasons(truth, station, case, rng=rng):
                for at in range(max(season.day - LOOKED_AT, 3), season.day):
                    low, likely, high = season.seen(at)
                    if round(likely - at) in within:
                        within[round(likely - at)].append(low <= season.day <= high)
    return {lead: (len(hits), float(np.mean(hits))) for lead, hits in within.items()}


@dataclass(frozen=True)
class _Season:
    """A sowing, picked so many days later (in the mean of the other years so many), and what is
    believed of its need."""

    climate: Climate
    start: dt.date
    need: PlotNeed
    day: int
    calendar: float

    def seen(self, at: int | None) -> tuple[float, float, float]:
        """Low, likely and high day, seen so many days after sowing when there is none yet."""
        as_of = self.start + dt.timedelta(-1 if at is None else at)
        first = first_pick(
            self.climate,
            self.start,
            self.need.amount,
            as_of=as_of,
            spread=self.need.spread,
            unpicked=as_of,
        )
        return not_before(first, (as_of - self.start).days).quantiles()


def _seasons(
    truth: Truth, station: str, case: Case, *, rng: np.random.Generator
) -> Iterator[_Season]:
    latitude = STATIONS[station][0]
    climate = climate_at(station)
    daily = truth.response(climate, case.needed, latitude)
    starts = _starts(station, case)
    own = climate.warmth(case.needed).daily
    far = 1.3 * case.needed.amount
    ripe = np.array([_taken(own, climate.index(start), far) < LONGEST for start in starts])
    at = station if truth.set_here else HOME
    total = _right_mean(truth, case, at)
    needs = total * np.exp(truth.noise * rng.standard_normal((DRAWS, len(starts))))
    for draw in needs:
        days = np.array(
            [_taken(daily, climate.index(s), a) for s, a in zip(starts, draw, strict=True)]
        )
        kept = ripe & (days < LONGEST)
        calendar = days[kept].mean()
        ratios = _ratios(climate, case, starts, days)
        for n in np.flatnonzero(kept):
            own = [Lesson(ratios[k]) for k in range(n - truth.seasons, n) if k >= 0 and kept[k]]
            if len(own) == truth.seasons:
                need = learned(PlotNeed(case.needed), own)
                yield _Season(climate, starts[n], need, int(days[n]), calendar)


def _ratios(climate: Climate, case: Case, starts: Sequence[dt.date], days: Floats) -> list[float]:
    """What each season really took in the forecast's own degree-days, over the book's."""
    own = climate.warmth(case.needed).daily
    firsts = [climate.index(start) for start in starts]
    return [
        float(own[first : first + int(day) + 1].sum()) / case.needed.amount
        for first, day in zip(firsts, days, strict=True)
    ]


@cache
def _right_mean(truth: Truth, case: Case, station: str) -> float:
    """The truth's total that takes as long as the book's does in the median year there."""
    climate, latitude = climate_at(station), STATIONS.get(station, (41.3, (4, 5)))[0]
    own, daily = climate.warmth(case.needed).daily, truth.response(climate, case.needed, latitude)
    totals = []
    for start in _starts(station, case):
        first = climate.index(start)
        days = _taken(own, first, case.needed.amount)
        if days < HORIZON:
            totals.append(float(daily[first : first + days + 1].sum()))
    return float(np.median(totals))


def _starts(station: str, case: Case) -> list[dt.date]:
    climate = climate_at(station)
    month = STATIONS.get(station, (0.0, (4, 5)))[1][case.tender]
    last = climate.first.year + int(climate.known.sum()) // 365 - 1
    starts = [dt.date(year, month, 15) for year in range(climate.first.year, last)]
    return [s for s in starts if climate.known[climate.index(s) : climate.index(s) + 250].all()]


def _taken(daily: Floats, first: int, amount: float) -> int:
    return int(np.searchsorted(np.cumsum(daily[first : first + HORIZON]), amount - 1e-9))


def main() -> None:
    print(f"{'truth':40}{'lead':>8}{'n':>6}{'P10-P90':>9}{'RMSE':>7}{'calendar':>10}")
    for truth in TRUTHS:
        for s in score(truth):
            lead = "sowing" if s.lead is None else f"{s.lead} d"
            print(
                f"{s.truth:40}{lead:>8}{s.forecasts:6}{s.coverage:9.0%}{s.thermal:7.1f}"
                f"{s.calendar:10.1f}"
            )
    print("as said")
    for truth in TRUTHS[:2]:
        for ahead, (mornings, within) in score_as_said(truth).items():
            print(f"{truth.name:40}{ahead:6} d{mornings:6}{within:9.0%}")


if __name__ == "__main__":
    main()
