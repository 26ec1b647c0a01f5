"""The forecast for people: a line per planting, then a week table per crop."""

from __future__ import annotations

import datetime as dt
import json
from collections import defaultdict

from harvestplan.forecast.forecast import Forecast, PlantingForecast
from harvestplan.inputs.quantities import show
from harvestplan.inputs.season import Season


def forecast_text(forecast: Forecast, season: Season) -> str:
    """First picks with their spread and reason, then low, likely and high per week and crop."""
    measures = season.household.measures
    lines = [f"The season as it looks on {_date(forecast.as_of)}.", ""]
    if not forecast.plantings:
        return lines[0] + " Nothing is planted: add a [[planting]] to garden.toml."
    lines += ["First picks (eight years in ten fall between the two outer dates):", ""]
    for planting in sorted(forecast.plantings, key=lambda p: (p.first_pick_p50, p.planting_id)):
        lines += _planting_lines(planting, measures)
    for crop, weeks in _weeks(forecast).items():
        lines += ["", f"{crop.capitalize()}, week by week: low, likely, high", ""]
        for monday, (low, likely, high) in weeks.items():
            amounts = "  ".join(f"{show(g, 'mass', measures):>10}" for g in (low, likely, high))
            lines.append(f"  week of {_date(monday):<12} {amounts}")
    return "\n".join(lines)


def _planting_lines(planting: PlantingForecast, measures: str) -> list[str]:
    early, late = _date(planting.first_pick_p10), _date(planting.first_pick_p90)
    low, high = (
        show(grams, "mass", measures) for grams in (planting.total_g_p10, planting.total_g_p90)
    )
    likely = show(planting.total_g_p50, "mass", measures)
    return [
        f"  {planting.planting_id}: {early} to {late}, likely {_date(planting.first_pick_p50)}; "
        f"{likely} in all (from {low} to {high}).",
        f"      {planting.reason}",
    ]


def _weeks(forecast: Forecast) -> dict[str, dict[dt.date, tuple[float, float, float]]]:
    frame = forecast.weekly()
    weeks: dict[str, dict[dt.date, tuple[float, float, float]]] = defaultdict(dict)
    ordered = frame.sort_values(["crop", "week"])
    grams = ordered[["low_g", "likely_g", "high_g"]].to_numpy(dtype=float)
    mondays = ordered["week"].dt.date
    for crop, monday, (low, likely, high) in zip(ordered["crop"], mondays, grams, strict=True):
        weeks[crop][monday] = (low, likely, high)
    return weeks


def forecast_json(forecast: Forecast, season: Season) -> str:
    """The same as JSON, grams and ISO dates, with a format number."""
    plantings = [
        {
            "planting": p.planting_id,
            "crop": p.crop,
            "first_pick": [
                day.isoformat() for day in (p.first_pick_p10, p.first_pick_p50, p.first_pick_p90)
            ],
            "total_grams": [round(g) for g in (p.total_g_p10, p.total_g_p50, p.total_g_p90)],
            "reason": p.reason,
            "picks": [
                {
                    "date": pick.date.isoformat(),
                    "grams": [round(g) for g in (pick.low_g, pick.likely_g, pick.high_g)],
                }
                for pick in p.picks
            ],
        }
        for p in forecast.plantings
    ]
    head = {"format": 1, "as_of": forecast.as_of.isoformat(), "season": season.household.name}
    return json.dumps(head | {"plantings": plantings}, ensure_ascii=False, indent=1)


def _date(day: dt.date) -> str:
    return f"{day.day} {day:%B}"
