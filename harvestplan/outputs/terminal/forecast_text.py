"""The forecast for people: a line per planting, then a week table per crop."""

from __future__ import annotations

import datetime as dt
import json
import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from harvestplan.bounded import read_json
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.forecast.needs import Measure, Need
from harvestplan.forecast.news import alerts, describe_change
from harvestplan.forecast.season_forecast import Forecast, ForecastPick, PlantingForecast
from harvestplan.inputs.dates import say
from harvestplan.inputs.ids import called
from harvestplan.inputs.quantities import show
from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.text_page import wrapped
from harvestplan.unseen import unseen
from harvestplan.words import about, area, crop_many, food_name, joined, mass, plural

FOOT = 0.3048
FORECAST = "forecast.json"
"""Name of the forecast a plan was made on, beside it in the out folder."""


@dataclass(frozen=True)
class News:
    """What changed since the plan of `since`, and what of it upsets that plan."""

    since: dt.date
    changes: tuple[str, ...]
    alerts: tuple[str, ...]


def news_since_plan(forecast: Forecast, season: Season, out: Path) -> News | None:
    """The news against the forecast in the out folder, or None if there is none yet.

    Raises FilesNeedMending where that file cannot be read.
    """
    path = out / FORECAST
    if not path.is_file():
        return None
    old = read_forecast(path)
    changes = describe_change(old, forecast, season.household.measures)
    return News(old.as_of, changes, alerts(old, forecast))


def forecast_text(forecast: Forecast, season: Season, news: News | None = None) -> str:
    """First picks with their spread and reason, what changed since the plan, then low, likely and
    high per week and crop."""
    measures = season.household.measures
    lines = [f"The season as it looks on {say(forecast.as_of)}.", ""]
    if not forecast.plantings:
        return lines[0] + " Nothing is planted: add a [[planting]] to garden.toml."
    if news is not None:
        lines += _news_lines(news)
    lines += ["First picks (eight years in ten fall between the two outer dates):", ""]
    for planting in sorted(forecast.plantings, key=lambda p: (p.first_pick_p50, p.planting_id)):
        lines += _planting_lines(planting, measures)
    for crop, weeks in _weeks(forecast).items():
        lines += ["", f"{crop.capitalize()}, week by week: low, likely, high", ""]
        for monday, (low, likely, high) in weeks.items():
            amounts = "  ".join(f"{show(g, 'mass', measures):>10}" for g in (low, likely, high))
            lines.append(f"  week of {say(monday):<12} {amounts}")
    return "\n".join(lines)


def _news_lines(news: News) -> list[str]:
    if not news.changes and not news.alerts:
        return [f"Nothing has changed much since the plan of {say(news.since)}.", ""]
    lines = []
    if news.alerts:
        lines += ["Plan again, for these no longer come when they were planned:", ""]
        lines += [*(part for line in news.alerts for part in wrapped(f"  {line}")), ""]
    if news.changes:
        lines += [f"Changed since the plan of {say(news.since)}:", ""]
        lines += [*(part for line in news.changes for part in wrapped(f"  {line}")), ""]
    return lines


def _planting_lines(planting: PlantingForecast, measures: str) -> list[str]:
    name = called(planting.planting_id, planting.crop)
    if not planting.picks:
        return [f"  {name}: nothing to pick.", *wrapped(f"      {planting.reason}")]
    early, late = say(planting.first_pick_p10), say(planting.first_pick_p90)
    low, high = (
        show(grams, "mass", measures) for grams in (planting.total_g_p10, planting.total_g_p90)
    )
    likely = show(planting.total_g_p50, "mass", measures)
    when = f"{early} to {late}, likely {say(planting.first_pick_p50)}"
    return [
        *wrapped(
            f"  {name}: {early if early == late else when}; {likely} in all (from {low} to {high})."
        ),
        *wrapped(f"      {planting.reason}"),
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


def forecast_json(forecast: Forecast, season: Season, news: News | None = None) -> str:
    """The same as JSON, grams and ISO dates, with a format number.

    Three figures are P10, P50 and P90.
    """
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
    told: dict[str, Any] = {
        "format": 1,
        "as_of": forecast.as_of.isoformat(),
        "season": season.household.name,
        "plantings": plantings,
    }
    if news is not None:
        told |= {"since": news.since.isoformat(), "changes": news.changes, "alerts": news.alerts}
    return json.dumps(told, ensure_ascii=False, indent=1)


def needs_text(needs: Sequence[Need], season: Season) -> str:
    """How much to sow of each crop for what is wanted of it, beside what is planted."""
    if not needs:
        return "Nothing that can be grown is wanted: add a [[want]] or a [[fresh]] to garden.toml."
    lines = wrapped(
        "How much to sow for what is wanted and eaten fresh. The two outer figures do in a good "
        "year and in a poor one, one year in ten each.",
        hang=0,
    )
    for need in needs:
        lines += ["", *_need_lines(need, season.household.measures)]
    return "\n".join(lines)


def _need_lines(need: Need, measures: Measures) -> list[str]:
    if not need.grams:
        return [f"  {crop_many(need.crop)}: enough is in the store."]
    wanted = [
        f"{plural(portions, 'portion')} of {food_name(product)}"
        for product, portions in need.wants
        if portions
    ]
    if need.weeks:
        fresh = mass(need.per_week, measures)
        wanted.append(f"{fresh} a week fresh for {plural(need.weeks, 'week')}")
    low, likely, high, sure, planted, failed = (
        _units(amount, need.measure, measures)
        for amount in (need.low, need.likely, need.high, need.sure, need.planted, need.failed)
    )
    of_row = " of row" if need.measure == "row" else ""
    grown = about(need.planted_grams, measures)
    between = f" (from {low} to {high})" if low != high else ""
    told = [
        f"Grow {likely}{of_row}{between}; to be 80% sure, {sure}.",
        (f"Planted: {planted}{of_row}, likely {grown}" if need.planted else "Planted: none")
        + (f"; {failed}{of_row} failed." if need.failed else "."),
        f"Reckoned with {_each(need, measures)} ({need.basis}).",
    ]
    return [
        *wrapped(
            f"  {crop_many(need.crop)}: {about(need.grams, measures)} as picked, for "
            f"{joined(wanted)}."
        ),
        *(part for line in told for part in wrapped(f"      {line}")),
    ]


def _units(amount: float, measure: Measure, measures: Measures) -> str:
    if measure == "plant":
        return plural(math.ceil(amount - 1e-9), "plant")
    if measure == "area":
        return area(1e4 * amount, measures)
    size, unit = (1.0, "m") if measures == "metric" else (FOOT, "ft")
    return f"{max(round(amount / size), 1 if amount else 0)} {unit}"


def _each(need: Need, measures: Measures) -> str:
    """The likely yield, as tables give it: a plant, 100 ft or 10 m of row, a sq ft or m²."""
    each = need.grams / need.likely
    if need.measure == "plant":
        return f"{mass(each, measures)} a plant"
    if need.measure == "row":
        length, named = (10.0, "10 m") if measures == "metric" else (30.48, "100 ft")
        return f"{about(each * length, measures)} per {named} of row"
    square, named = (1.0, "m2") if measures == "metric" else (FOOT**2, "sq ft")
    return f"{mass(each * square, measures)} per {named}"


def needs_json(needs: Sequence[Need], season: Season) -> str:
    """The same as JSON: grams, and plants, metres of row or square metres."""
    rows = [
        {
            "crop": need.crop,
            "grams": round(need.grams),
            "put_by_grams": round(need.put_by),
            "wants": [{"product": product, "portions": n} for product, n in need.wants],
            "fresh_grams_per_week": round(need.per_week),
            "fresh_weeks": need.weeks,
            "measure": {"plant": "plants", "row": "row_m", "area": "area_m2"}[need.measure],
            "sow": [round(amount, 2) for amount in (need.low, need.likely, need.high)],
            "sow_80_percent_sure": round(need.sure, 2),
            "planted": round(need.planted, 2),
            "planted_grams": round(need.planted_grams),
            "failed": round(need.failed, 2),
            "yield": need.basis,
        }
        for need in needs
    ]
    told = {"format": 1, "season": season.household.name, "needs": rows}
    return json.dumps(told, ensure_ascii=False, indent=1)


def read_forecast(path: Path) -> Forecast:
    """The forecast that `forecast_json` wrote to `path`.

    Raises FilesNeedMending where the file cannot be read, or is no such forecast.
    """
    try:
        told = read_json(path)
        if told["format"] != 1 or any(unseen(told)):
            raise ValueError
        plantings = tuple(_read_planting(planting) for planting in told["plantings"])
        return Forecast(dt.date.fromisoformat(told["as_of"]), plantings)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        message = "this is no forecast that can be read here."
        hint = "Delete it, or write it anew with: harvestplan plan"
        raise FilesNeedMending([Flaw(str(path), None, "", message=message, hint=hint)]) from None


def _read_planting(told: dict[str, Any]) -> PlantingForecast:
    early, likely, late = (dt.date.fromisoformat(day) for day in told["first_pick"])
    low, middle, high = (float(grams) for grams in told["total_grams"])
    picks = tuple(
        ForecastPick(dt.date.fromisoformat(pick["date"]), *(float(g) for g in pick["grams"]))
        for pick in told["picks"]
    )
    return PlantingForecast(
        str(told["planting"]),
        str(told["crop"]),
        early,
        likely,
        late,
        low,
        middle,
        high,
        picks,
        str(told["reason"]),
    )
