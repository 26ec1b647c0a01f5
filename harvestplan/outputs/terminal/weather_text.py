"""What the weather files say, as text and JSON, and how to get such a file."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict

import numpy as np

from harvestplan.forecast.coming_days import coming_days
from harvestplan.forecast.rough_climate import RoughNormals, rough_years
from harvestplan.forecast.thermal import show_degree_days
from harvestplan.forecast.weather_facts import (
    FROST,
    WARM,
    Summer,
    WeatherFacts,
    usual_days,
    weather_facts,
)
from harvestplan.inputs.dates import MONTHS, say
from harvestplan.inputs.season import Measures
from harvestplan.inputs.weather.daily_record import WeatherRecord, WeatherSource, gaps
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import day, one_line, plural, temperature

SUMMERS_SHOWN = 10
GAPS_SHOWN = 8
ENOUGH_YEARS = 10
"""Years from which on their spread says how years differ; common practice, no source."""
MODELLED = (
    "A model's values for a cell of a grid: a frost in your hollow is harder, and comes earlier in "
    "autumn and later in spring."
)
HOW = (
    "How to get such a file. Your national weather service hands out the daily lowest and highest "
    "temperature of its stations, as a rule free of charge and as a table (CSV): choose the "
    "station that lies most like your garden, in height above all, and as many years as there "
    "are. The global daily record of stations (GHCN-Daily) has those of most countries. Where no "
    "station is near, services on reanalysed weather give the same for any latitude and longitude. "
    "Put the file into your season folder as it comes, packed or not, and name it:",
    "    [weather]",
    '    daily = ["weather.csv", "next-days.json"]   # or a folder of them',
    "A weather forecast of the next days in one of these forms may stand beside it. Known are: the "
    "plain form (first line date,tmin_c,tmax_c or date,tmin_f,tmax_f), GHCN-Daily (CSV and .dly), "
    "Open-Meteo (CSV and JSON), NASA POWER, ECA&D, and the tables of the German, French, Canadian "
    "and Australian weather services. Typical years (TMY, EPW) are of no use: they are made up.",
)


def record_text(record: WeatherRecord, measures: Measures, as_of: dt.date) -> str:
    """What was read, what it says of the place, and how to get more."""
    facts = weather_facts(record.daily)
    lines = [line for source in record.sources for line in _source(source)]
    lines += [line for told in record.left_out for line in wrapped(told)]
    lines += ["", *_whole(record, as_of), *_gaps(record)]
    lines += ["", *_usual(facts, measures), *_extremes(facts, measures)]
    lines += ["", *_table(facts.summers, measures)]
    if len(facts.whole) < ENOUGH_YEARS:
        told = f"With {ENOUGH_YEARS} whole years or more the forecast knows better how years differ"
        lines += ["", *wrapped(f"{told}.", hang=0)]
    return "\n".join([*lines, "", *_how()])


def rough_text(normals: RoughNormals | None, measures: Measures) -> str:
    """What is reckoned with where there is no weather file, and how to get one."""
    if normals is None:
        told = (
            "There is no weather file, so dates are counted in days. Write latitude and longitude "
            "under [weather] (degrees, north and east), and a rough climate counts; better still, "
            "a file."
        )
        return "\n".join([*wrapped(told, hang=0), "", *_how()])
    name, distance = normals.nearest
    told = (
        "There is no weather file. A rough climate counts, from your latitude and longitude and "
        f"the normals of {name} ({distance:.0f} km away) and one place more; each month may be off "
        f"by {_difference(normals.sd, measures)} or more, and the forecast is spread accordingly."
    )
    facts = weather_facts(rough_years(normals, 2000))
    lines = [*wrapped(told, hang=0), "", f"{'':11}{'lowest':>10}{'highest':>10}"]
    for month, low, high in zip(MONTHS, normals.tmin, normals.tmax, strict=True):
        figures = (temperature(round(float(each)), measures) for each in (low, high))
        lines.append(f"{month:11}" + "".join(f"{each:>10}" for each in figures))
    return "\n".join([*lines, "", *_usual(facts, measures), "", *_how()])


def record_json(record: WeatherRecord, as_of: dt.date) -> str:
    """The same for programs: temperatures in °C, warmth in °C·d."""
    facts = weather_facts(record.daily)
    ahead = coming_days(record.daily, as_of)
    told = {
        "sources": [asdict(source) for source in record.sources],
        "left_out": list(record.left_out),
        "days": len(record.daily),
        "filled": list(record.filled),
        "gaps": [{"before": before, "after": after} for before, after in gaps(record.daily)],
        "forecast_days": 0 if ahead is None else len(ahead),
        "summers": [{**asdict(each), "whole": each.whole} for each in facts.summers],
        "coldest_c": facts.coldest,
        "hottest_c": facts.hottest,
    }
    return json.dumps(told, indent=1, default=str)


def rough_json(normals: RoughNormals | None) -> str:
    """The rough climate for programs, null where there is none; °C and km."""
    told = None
    if normals is not None:
        told = {
            "nearest": normals.nearest[0],
            "distance_km": round(normals.nearest[1]),
            "sd_k": round(normals.sd, 2),
            "tmin_c": np.round(normals.tmin, 1).tolist(),
            "tmax_c": np.round(normals.tmax, 1).tolist(),
        }
    return json.dumps({"rough": told}, indent=1)


def _source(source: WeatherSource) -> Iterator[str]:
    station = f", {one_line(source.station, 60)}" if source.station else ""
    span = f"{source.first} to {source.last}"
    told = f"{source.name}: {source.format}{station}; {plural(source.days, 'day')}, {span}."
    yield from wrapped(told, hang=2)
    for oddity in source.oddities:
        yield from (f"  {line}" for line in wrapped(f"{oddity}.", hang=2))
    if not source.measured:
        yield from (f"  {line}" for line in wrapped(MODELLED, hang=0))


def _whole(record: WeatherRecord, as_of: dt.date) -> Iterator[str]:
    index = record.daily.index
    span = f"{index[0].date()} to {index[-1].date()}"
    yield f"Together: {plural(len(index), 'day')} with both temperatures, {span}."
    ahead = coming_days(record.daily, as_of)
    if ahead is not None:
        last = day(ahead.index[-1].date())
        told = f"The {plural(len(ahead), 'day')} up to {last} count as a weather forecast."
        yield from wrapped(told, hang=0)


def _gaps(record: WeatherRecord) -> Iterator[str]:
    if record.filled:
        yield f"Filled in by straight lines: {plural(len(record.filled), 'missing day')}."
    found = gaps(record.daily)
    if not found:
        return
    yield f"Left open: {plural(len(found), 'gap')} of more than five days."
    longest = sorted(found, key=lambda gap: gap[0] - gap[1])[:GAPS_SHOWN]
    for before, after in sorted(longest):
        missing = (after - before).days - 1
        yield f"  {plural(missing, 'day')} between {before} and {after}"
    if len(found) > GAPS_SHOWN:
        yield f"  and {len(found) - GAPS_SHOWN} shorter ones"


def _usual(facts: WeatherFacts, measures: Measures) -> Iterator[str]:
    whole = facts.whole
    if not whole:
        yield "No growing year is whole, so nothing is said of frosts and warmth."
        return
    yield f"In {plural(len(whole), 'whole growing year')}:"
    frost = temperature(FROST, measures)
    for name, attribute in (("last frost", "last_frost"), ("first frost", "first_frost")):
        days = [date for each in whole if (date := getattr(each, attribute)) is not None]
        if not days:
            yield f"  {name}: none; no night was below {frost}."
            continue
        early, middle, late = (say(each) for each in usual_days(days))
        without = f", none in {len(whole) - len(days)}" if len(days) < len(whole) else ""
        told = f"{name} (below {frost}): usually {middle}, one year in ten by {early}"
        yield from (f"  {line}" for line in wrapped(f"{told}, in one after {late}{without}."))
    sums = np.quantile([each.warmth for each in whole], [0.1, 0.5, 0.9])
    low, usual, high = (show_degree_days(float(each), measures) for each in sums)
    above = temperature(WARM, measures)
    told = f"warmth above {above}: usually {usual}, {low} in a cool year, {high} in a warm one."
    yield from (f"  {line}" for line in wrapped(told))


def _extremes(facts: WeatherFacts, measures: Measures) -> Iterator[str]:
    (low, cold), (high, hot) = facts.coldest, facts.hottest
    yield (
        f"  coldest {temperature(round(low), measures)} on {cold}, "
        f"hottest {temperature(round(high), measures)} on {hot}"
    )


def _table(summers: Sequence[Summer], measures: Measures) -> Iterator[str]:
    yield f"{'year':8}{'days':>5}{'last frost':>15}{'first frost':>15}{'warmth':>22}"
    for each in summers[-SUMMERS_SHOWN:]:
        frosts = (say(f) if f else "none" for f in (each.last_frost, each.first_frost))
        told = "".join(f"{word:>15}" for word in frosts)
        warmth = show_degree_days(each.warmth, measures)
        mark = "" if each.whole else "   not whole"
        yield f"{each.year:<8}{each.days:>5}{told}{warmth:>22}{mark}"
    if len(summers) > SUMMERS_SHOWN:
        yield f"and {len(summers) - SUMMERS_SHOWN} years before"


def _difference(kelvin: float, measures: Measures) -> str:
    """A difference of temperatures, which has no zero to be moved."""
    return f"{kelvin * 9 / 5:.0f} °F" if measures == "US" else f"{kelvin:.0f} °C"


def _how() -> list[str]:
    return [line for part in HOW for line in ([part] if part[0] == " " else wrapped(part, hang=0))]
