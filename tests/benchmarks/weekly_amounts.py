"""Do eight weeks in ten lie within the low and high that a forecast gave at sowing?

    python tests/benchmarks/weekly_amounts.py

Each year of a station in turn is forecast from the others, on the day of sowing, for crops of the
library. What then comes has that year's weather and frost, a need drawn once with 10 % (whatever
range the crop file has), a yield drawn between the file's low and high, and fails one time in
twenty. A week counts where the forecast has it or food came.
"""

from __future__ import annotations

import datetime as dt
import sys
from dataclasses import dataclass, replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import numpy as np  # noqa: E402  (needs the paths above)
import pandas as pd  # noqa: E402
from forecast.garden import make_season, read_weather  # noqa: E402

from harvestplan.forecast.amounts import season_yield  # noqa: E402
from harvestplan.forecast.planting import PlantingForecast, forecast_planting  # noqa: E402
from harvestplan.forecast.season_forecast import Forecast, cases_of, make_forecast  # noqa: E402
from harvestplan.forecast.seen import Seen  # noqa: E402
from harvestplan.inputs.crops import Library  # noqa: E402
from harvestplan.kitchen.crop_library import load_library  # noqa: E402

STATIONS = ("champion_nebraska_1982_2018", "suffolk_england_1991_2021")
SOWN = {
    "snap bean": "05-20", "sweet corn": "05-15", "tomato": "05-25", "cucumber": "05-25",
    "summer squash": "05-25", "shelling pea": "04-10", "beet": "04-20", "broccoli": "04-20",
    "carrot": "04-20", "spinach": "04-10", "pepper": "05-28", "kale": "04-20",
}  # fmt: skip
"""Usual days of sowing or setting out; common practice, no source."""
NOISE, FAILS, P90 = 0.10, 0.05, 1.2816
THIS_YEAR = 2030


@dataclass(frozen=True)
class Weeks:
    """Weeks that counted, the share of them within low and high, below and above."""

    crop: str
    weeks: int
    inside: float
    below: float
    above: float


def measure(station: str, crop: str, library: Library, seed: int = 1) -> Weeks | None:
    """All years of the station in turn; None where the crop does not ripen there."""
    weather = read_weather(station)
    rng = np.random.default_rng(seed)
    found: list[tuple[bool, bool]] = []
    for year in sorted(set(weather.index.year))[1:-1]:
        found += _one_year(weather, year, crop, library, rng=rng)
    if not found:
        return None
    table = np.array(found)
    below, above = table.mean(axis=0)
    return Weeks(crop, len(table), inside=1 - below - above, below=below, above=above)


def _one_year(
    weather: pd.DataFrame, year: int, crop: str, library: Library, *, rng: np.random.Generator
) -> list[tuple[bool, bool]]:
    sown = dt.date.fromisoformat(f"{THIS_YEAR}-{SOWN[crop]}")
    growth = library.crop(crop).growth
    assert growth is not None
    key = "sown" if growth.clock == "sown" else "set_out"
    season = make_season(
        {"crop": crop, key: sown, "row": "10 m"}, start=f"{THIS_YEAR}-03-01", end="2030-12-31"
    )
    others = weather[weather.index.year != year]
    forecast = make_forecast(season, library, others, as_of=sown)
    if not forecast.plantings[0].picks:
        return []
    own = weather.loc[f"{year}-01-01" : f"{year + 1}-12-31"]
    moved = own.set_axis(own.index + pd.DateOffset(years=THIS_YEAR - year))
    moved = moved[~moved.index.duplicated()]
    real = pd.concat([others, moved]).sort_index()
    (case,) = cases_of(season, library, real, as_of=dt.date(THIS_YEAR + 1, 12, 31))
    assert case.clock.needed is not None
    late, good, luck = *rng.standard_normal(2), rng.random()
    needed = case.clock.needed.scaled(float(np.exp(NOISE * late)))
    came = forecast_planting(replace(case, clock=replace(case.clock, needed=needed)), Seen())
    total = season_yield(case.planting, case.crop)
    edge = total.p90 if good > 0 else total.p10
    share = 0.0 if luck < FAILS else (edge / total.p50) ** (abs(good) / P90)
    return _compare(forecast, came, share)


def _compare(forecast: Forecast, came: PlantingForecast, share: float) -> list[tuple[bool, bool]]:
    weekly = forecast.weekly()
    edges = {
        row.week.toordinal(): (row.low_g, row.high_g) for row in weekly.itertuples(index=False)
    }
    real: dict[int, float] = dict.fromkeys(edges, 0.0)
    for pick in came.picks:
        monday = pick.date.toordinal() - pick.date.weekday()
        real[monday] = real.get(monday, 0.0) + share * pick.likely_g
    counted = {week: grams for week, grams in real.items() if week in edges or grams > 0}
    pairs = [(*edges.get(week, (0.0, 0.0)), grams) for week, grams in counted.items()]
    return [(grams < low - 1e-6, grams > high + 1e-6) for low, high, grams in pairs]


def main() -> None:
    library = load_library(None)
    for station in STATIONS:
        found = [measure(station, crop, library) for crop in SOWN]
        rows = [row for row in found if row is not None]
        for row in rows:
            print(
                f"{station[:12]:14}{row.crop:16}{row.weeks:6}{row.inside:8.0%}"
                f"{row.below:8.0%}{row.above:8.0%}"
            )
        print(f"{station[:12]:14}{'mean':16}{'':6}{np.mean([row.inside for row in rows]):8.0%}")


if __name__ == "__main__":
    main()
