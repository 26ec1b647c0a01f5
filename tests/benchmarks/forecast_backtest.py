"""Backtest of first-pick dates on two open weather series, and of flowering on an open record.

    python tests/benchmarks/forecast_backtest.py

Weather: Champion, Nebraska 1982-2018 (37 years) and Suffolk, England 1991-2021, from the package
aquacrop 3.1.0 (tests/data/weather). Each year in turn is forecast from the other years and its own
temperatures up to so many days before the pick, and compared with counting calendar days (the
mean of the other years).

What the weather does not decide is not in these series. The true date is therefore the day on
which the observed temperatures reach a need drawn once, at sowing, around the thermal time (SD of
10 %, GRAY), and forecasts are made for those that are not picked yet. `fixed_truth.py` draws truths
of other kinds at other stations.

Flowering: highbush blueberry, Harvard Forest, package pyPhenology 0.7.1 (tests/data/phenology).
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.ensemble import HORIZON, first_pick
from harvestplan.forecast.stages import not_before
from harvestplan.forecast.thermal import Floats, ThermalTime, degree_days

DATA = Path(__file__).parents[1] / "data"
SITES = ("champion_nebraska_1982_2018", "suffolk_england_1991_2021")
LEADS = (None, 60, 28, 14)
"""Days before the pick at which the forecast is made; None is on the eve of sowing."""

NOISE = 0.10
DRAWS = 40


@dataclass(frozen=True)
class Case:
    """A crop with the month-day on which its clock starts at each site, None if it does not
    ripen there."""

    crop: str
    needed: ThermalTime
    starts: tuple[str | None, str | None]


CASES = (
    # thermal time, base and upper: OSU_DD, UDEL25, OSU69, PAREDES (seen); squash and broccoli
    # within PAREDES and planning defaults (memory); sowing dates: common practice, no source
    Case("sweet corn", ThermalTime(855, "mw2", 10, upper=30), ("05-10", None)),
    Case("shelling pea", ThermalTime(694, "mw2", 4.4, upper=30), ("04-01", "04-01")),
    Case("snap bean", ThermalTime(550, "mw2", 10, upper=30), ("05-20", "05-20")),
    Case("tomato", ThermalTime(985, "mw1", 7, upper=28), ("05-20", "06-01")),
    Case("summer squash", ThermalTime(550, "mw2", 8, upper=32), ("05-20", "05-20")),
    Case("broccoli", ThermalTime(655, "mw1", 4.5, upper=30), ("04-20", "04-20")),
)


@dataclass(frozen=True)
class Score:
    """RMSE (days) of both ways and the share of true dates inside P10-P90."""

    site: str
    crop: str
    lead: int | None
    years: int
    thermal: float
    calendar: float
    coverage: float


def scores() -> list[Score]:
    """Every site, crop and lead; leads longer than the crop takes are left out."""
    return [
        score
        for number, site in enumerate(SITES)
        for case in CASES
        if case.starts[number] is not None
        for score in _score_case(site, case, str(case.starts[number]))
    ]


def read_climate(site: str) -> Climate:
    weather = pd.read_csv(DATA / "weather" / f"{site}.csv", index_col="date", parse_dates=True)
    begin, end = weather.index.min().date(), weather.index.max().date()
    climate = Climate.from_frame(weather, begin, end + dt.timedelta(days=2 * HORIZON))
    assert climate is not None
    return climate


def _score_case(site: str, case: Case, month_day: str) -> list[Score]:
    climate = read_climate(site)
    daily = climate.warmth(case.needed).daily
    starts = [d for y in _years(climate) if _ripens(climate, d := _start(y, month_day), case)]
    taken = np.array([_taken(daily, climate.index(start), case.needed.amount) for start in starts])
    rng = np.random.default_rng(20270501)
    found = []
    for lead in LEADS:
        errors = [
            _errors(
                climate,
                case.needed,
                starts[n],
                taken=int(taken[n]),
                lead=lead,
                calendar=float(np.delete(taken, n).mean()),
                rng=rng,
            )
            for n in range(len(starts))
            if lead is None or lead < taken[n]
        ]
        if len(errors) < len(starts) - 2:
            continue
        table = np.concatenate(errors)
        thermal, calendar = np.sqrt((table[:, :2] ** 2).mean(axis=0))
        inside = float(table[:, 2].mean())
        found.append(
            Score(
                site,
                case.crop,
                lead,
                years=len(errors),
                thermal=thermal,
                calendar=calendar,
                coverage=inside,
            )
        )
    return found


def _errors(
    climate: Climate,
    needed: ThermalTime,
    start: dt.date,
    taken: int,
    lead: int | None,
    calendar: float,
    rng: np.random.Generator,
) -> Floats:
    """Rows of (error of thermal time, error of calendar days, inside P10-P90) for each draw."""
    as_of = start + dt.timedelta(days=-1 if lead is None else taken - lead)
    forecast = first_pick(climate, start, needed, as_of=as_of, unpicked=as_of)
    day = (as_of - start).days
    low, middle, high = not_before(forecast, max(day, 0)).quantiles()
    daily = climate.warmth(needed).daily
    first = climate.index(start)
    amounts = needed.amount * np.exp(NOISE * rng.standard_normal(DRAWS))
    truth = np.array([_taken(daily, first, amount) for amount in amounts])
    truth = truth[truth >= day]
    return np.column_stack([middle - truth, calendar - truth, (low <= truth) & (truth <= high)])


def _taken(daily: Floats, first: int, amount: float) -> int:
    return int(np.searchsorted(np.cumsum(daily[first : first + HORIZON]), amount))


def _ripens(climate: Climate, start: dt.date, case: Case) -> bool:
    first = climate.index(start)
    days = _taken(climate.warmth(case.needed).daily, first, case.needed.amount * 1.3)
    return days < HORIZON and bool(climate.known[first : first + days].all())


def _years(climate: Climate) -> range:
    last = climate.first.year + int(climate.known.sum() // 365)
    return range(climate.first.year, last)


def _start(year: int, month_day: str) -> dt.date:
    return dt.date.fromisoformat(f"{year}-{month_day}")


# --- flowering of highbush blueberry ---------------------------------------------------------

BASES = np.arange(-2.0, 10.5, 0.5)
FIRST_OF_MARCH = 60


@dataclass(frozen=True)
class Flowering:
    """Day-of-year observations and the daily mean temperatures (°C) of their years.

    `temperature` has one row a year and one column a day from 1 March on.
    """

    year: NDArray[np.int64]
    doy: Floats
    temperature: dict[int, Floats]


def read_flowering() -> Flowering:
    folder = DATA / "phenology"
    seen = pd.read_csv(folder / "vaccinium_obs.csv")
    seen = seen[seen["phenophase"] == 501]
    daily = pd.read_csv(folder / "vaccinium_temperature.csv")
    spring = daily[daily["doy"] >= FIRST_OF_MARCH].sort_values(["year", "doy"])
    temperature = {
        int(year): spring.loc[spring["year"] == year, "temperature"].to_numpy(np.float64)
        for year in spring["year"].unique()
    }
    return Flowering(seen["year"].to_numpy(), seen["doy"].to_numpy(np.float64), temperature)


def flowering_rmse(record: Flowering) -> tuple[float, float]:
    """Leave-one-year-out RMSE (days) of thermal time from 1 March, and of the calendar mean.

    Base and total are chosen inside the training years alone.
    """
    thermal, calendar = [], []
    for year in np.unique(record.year):
        left_out = record.year == year
        base, total = _fit(record, ~left_out)
        day = _flowers(record.temperature[int(year)], base, total)
        thermal.append(record.doy[left_out] - day)
        calendar.append(record.doy[left_out] - record.doy[~left_out].mean())
    return _rms(np.concatenate(thermal)), _rms(np.concatenate(calendar))


def _fit(record: Flowering, training: NDArray[np.bool_]) -> tuple[float, float]:
    """Base and thermal time with the smallest RMSE over the training observations."""
    fits = []
    for base in BASES:
        sums = {y: _sums(t, base) for y, t in record.temperature.items()}
        pairs = list(zip(record.year[training], record.doy[training], strict=True))
        total = float(np.mean([sums[y][int(doy) - FIRST_OF_MARCH] for y, doy in pairs]))
        error = _rms(
            np.array([doy - _flowers(record.temperature[y], base, total) for y, doy in pairs])
        )
        fits.append((error, float(base), total))
    _, base, total = min(fits)
    return base, total


def _sums(temperature: Floats, base: float) -> Floats:
    return np.cumsum(degree_days(temperature, temperature, base, upper=None, method="mw1"))


def _flowers(temperature: Floats, base: float, total: float) -> int:
    return FIRST_OF_MARCH + int(np.searchsorted(_sums(temperature, base), total))


def _rms(errors: Floats) -> float:
    return float(np.sqrt((errors**2).mean()))


def main() -> None:
    print(
        f"{'site':28}{'crop':15}{'lead':>7}{'years':>6}{'thermal':>9}{'calendar':>9}{'P10-P90':>9}"
    )
    for s in scores():
        lead = "sowing" if s.lead is None else f"{s.lead} d"
        print(
            f"{s.site:28}{s.crop:15}{lead:>7}{s.years:6}{s.thermal:9.1f}{s.calendar:9.1f}"
            f"{s.coverage:9.0%}"
        )
    thermal, calendar = flowering_rmse(read_flowering())
    print(f"blueberry flowering: thermal time {thermal:.1f} d, calendar mean {calendar:.1f} d")


if __name__ == "__main__":
    main()
