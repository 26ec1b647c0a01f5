"""The questions of `harvestplan new`: asked one by one at a terminal, in plain words."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, TypeVar, get_args

import typer

from harvestplan.errors import printable
from harvestplan.inputs.dates import say
from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.season import Home, Practised
from harvestplan.inputs.season_kitchen import Freezer, Pot, Sealer
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season import read_answers as read
from harvestplan.new_season.starter import Answers, Grown, WantAnswer, season_year

T = TypeVar("T")

WELCOME = """\
A few questions about your garden and kitchen. Press Enter to take what stands
in brackets; you can change everything later in the three files. Nothing is
written before the last answer."""


def ask_all(today: dt.date, folder: Path) -> Answers:
    """The answers to all questions; a bad answer is asked again with the way to write it."""
    usual = Answers.example(today)
    print(WELCOME + "\n")
    name = _ask("What is your household called", usual.name, read.words)
    whose = _ask("Measures: US, UK or metric", usual.measures, read.measures)
    metric = whose == "metric"
    zone = _ask("Time zone, or a large city in it", _own_zone() or usual.timezone, read.zone)
    high = partial(read.amount, kind="length", model=Home, key="altitude", whose=whose)
    altitude = _ask("How high above the sea", "0 m" if metric else "0 ft", high)
    place = _ask("Latitude and longitude, like 40.1 N 95.2 W (Enter if unknown)", "", read.place)
    last = _ask("Last frost in spring, like 12 May (Enter if unknown)", "", read.month_day)
    first = _ask("First frost in autumn (Enter if unknown)", "", read.month_day)
    guess = _rough_frosts(place) if place and not (last and first) else None
    start, end = _span(last or (guess and guess[0]), first or (guess and guess[1]), today)
    hands = _ask("People in the kitchen of an evening", "1", partial(read.whole, low=1, high=8))
    practised = _ask(
        "How practised at putting food by: beginner, some or practised",
        usual.practised,
        partial(_one_of, allowed=get_args(Practised)),
    )
    windows = _ask("Free evenings", "tue thu 18:00-21:00, sat 9:00-12:30", read.windows)
    days = sum(len(window.days) for window in windows)
    often = partial(read.whole, low=1, high=min(21, days))
    per_week = _ask("On how many of them a week, at most", str(min(2, days)), often)
    kitchen = _kitchen(usual, whose)
    grown = _grown(folder, whose, start, last=last)
    wanted = _wanted(folder, whose)
    return Answers(
        start=start,
        end=end,
        name=name,
        timezone=zone,
        altitude=altitude,
        measures=whose,
        place=place,
        hands=hands,
        practised=practised,
        last_frost=last,
        first_frost=first,
        windows=windows,
        per_week=per_week,
        grown=grown,
        wanted=wanted,
        **kitchen,
    )


def _kitchen(usual: Answers, whose: str) -> dict[str, Any]:
    """The answers about kettle, sealing machine and freezer, by the names of `Answers`."""
    metric = whose == "metric"
    own = partial(read.amount, whose=whose)
    volume = partial(own, kind="volume")
    pot = _ask(
        "Largest kettle", "8 L" if metric else "8 qt", partial(volume, model=Pot, key="volume")
    )
    power = _ask(
        "Power of its burner", usual.power, partial(own, kind="power", model=Pot, key="power")
    )
    kind = _ask(
        "Kind of stove: electric, gas or induction",
        usual.kind,
        partial(_one_of, allowed=("electric", "gas", "induction")),
    )
    sealer = _ask(
        "Sealing machine: none (zip bags and boxes, closed by hand), chamber, or external\n"
        "(the bag's mouth lies outside)",
        usual.sealer,
        partial(_one_of, allowed=("none", "chamber", "external")),
    )
    bar = None
    if sealer != "none":
        bar = _ask(
            "Length of its sealing bar",
            "30 cm" if metric else "12 in",
            partial(own, kind="length", model=Sealer, key="bar"),
        )
    freezer = _ask(
        "Size of the freezer",
        "200 L" if metric else "7 cu ft",
        partial(volume, model=Freezer, key="volume"),
    )
    used = _ask(
        "What of it is taken already",
        "30 L" if metric else "1 cu ft",
        partial(volume, model=Freezer, key="used"),
    )
    return {
        "pot": pot,
        "power": power,
        "kind": kind,
        "sealer": sealer,
        "bar": bar,
        "bar_inches": read_quantity(bar, "length", whose).value / 0.0254 if bar else 0.0,
        "freezer": freezer,
        "used": used,
    }


def _ask(question: str, default: str, reader: Callable[[str], tuple[T, str]]) -> T:
    """Asks until the answer can be read, and says what was understood."""
    while True:
        said = typer.prompt(question, default=default, show_default=bool(default))
        try:
            value, understood = reader(printable(said))
        except Unclear as error:
            print(f"  {error}")
            continue
        if understood:
            print(f"  {understood}")
        return value


def _lines(question: str, reader: Callable[[str], T]) -> list[T]:
    """Asks for one thing after another until the answer is empty."""
    found: list[T] = []
    print(question)
    while said := typer.prompt(f"  {len(found) + 1}", default="", show_default=False).strip():
        try:
            found.append(reader(printable(said)))
        except Unclear as error:
            print(f"     {error}")
    return found


def _one_of(said: str, allowed: tuple[str, ...]) -> tuple[str, str]:
    word = said.strip().lower()
    found = [name for name in allowed if word and name.startswith(word)]
    if len(found) != 1:
        raise Unclear(f"Write {', '.join(allowed[:-1])} or {allowed[-1]}.")
    return found[0], ""


def _rough_frosts(place: tuple[float, float]) -> tuple[str, str] | None:
    """The usual last and first frost by a rough climate, from which the season is guessed."""
    from harvestplan.forecast.rough_climate import rough_normals, rough_years
    from harvestplan.forecast.weather_facts import usual_frosts, weather_facts

    frosts = usual_frosts(weather_facts(rough_years(rough_normals(*place, altitude=None), 2000)))
    if frosts is not None:
        (month, day), (other, date) = (map(int, each.split("-")) for each in frosts)
        print(
            f"  Roughly, the last frost is about {say(dt.date(2000, month, day))} there, the first "
            f"about {say(dt.date(2000, other, date))}."
        )
    return frosts


def _span(last: str | None, first: str | None, today: dt.date) -> tuple[dt.date, dt.date]:
    """The season, asked with a guess from two weeks before the last frost to a month after the
    first; 1 May to 31 October where they are not known."""
    begin = dt.date(season_year(today), 5, 1)
    if last is not None:
        frost = _on(last, today.year - 1)
        while frost + dt.timedelta(days=90) < today:
            frost = _on(last, frost.year + 1)
        begin = frost - dt.timedelta(days=14)
    start = _ask("The season begins", _day(begin), partial(read.date, near=begin))
    close = dt.date(start.year, 10, 31) if start.month < 8 else start + dt.timedelta(days=240)
    if first is not None:
        frost, _ = read.date(first, near=start + dt.timedelta(days=30))
        close = frost + dt.timedelta(days=30)

    def later(said: str) -> tuple[dt.date, str]:
        found, told = read.date(said, near=close)
        if not start < found <= start + dt.timedelta(days=800):
            raise Unclear(f"It ends after it begins on {start}, and within two years.")
        return found, told

    return start, _ask("and ends", _day(close), later)


def _day(date: dt.date) -> str:
    return f"{say(date)} {date.year}"


def _on(month_day: str, year: int) -> dt.date:
    month, day = (int(part) for part in month_day.split("-"))
    return dt.date(year, month, min(day, 28) if month == 2 else day)


def _grown(folder: Path, whose: str, start: dt.date, *, last: str | None) -> tuple[Grown, ...]:
    library = load_library(folder)
    example = "carrot 1.2x3 m" if whose == "metric" else "carrot 4x10 ft"
    long = "10 m" if whose == "metric" else "30 ft"
    frost = _on(last, start.year) if last else dt.date(start.year, 5, 10)

    def one(said: str) -> Grown:
        part = read.grown(said, library, whose)
        crop = part[3]
        verb = "sown" if read.begun_by(crop) == "sown" else "set out"
        usual = read.usual_start(crop, frost)
        earliest = min(usual, start - dt.timedelta(days=120))
        day = _ask(f"     {crop.name} is {verb} on", _day(usual), partial(read.date, near=earliest))
        return read.planting(part, day)

    return tuple(
        _lines(
            f"What do you grow? One a line, like: snap bean {long}, or tomato 6 plants,\n"
            f"or {example}. An empty line ends.",
            one,
        )
    )


def _wanted(folder: Path, whose: str) -> tuple[WantAnswer, ...]:
    library = load_library(folder)
    found: list[WantAnswer] = []
    size = "350 g" if whose == "metric" else "12 oz"

    def one(said: str) -> WantAnswer:
        want, told = read.wanted(said, library, whose, before=found)
        print(f"     {told}")
        found.append(want)
        return want

    return tuple(
        _lines(
            f"What shall stand in store by winter? One a line, like:\n"
            f"snap bean 20 of {size}. An empty line ends.",
            one,
        )
    )


def _own_zone() -> str | None:
    """The computer's own time zone, where it says so."""
    named = os.environ.get("TZ", "").lstrip(":")
    try:
        place = "/".join(Path("/etc/localtime").resolve().parts)
        said = named or place.partition("zoneinfo/")[2]
        return read.zone(said)[0] if "/" in said and not said.startswith("Etc/") else None
    except (OSError, Unclear):
        return None
