"""The questions of `harvestplan new`: asked one by one at a terminal, in plain words."""

from __future__ import annotations

import datetime as dt
import os
from functools import partial
from pathlib import Path
from textwrap import wrap
from typing import Any, get_args

from harvestplan.inputs.dates import say
from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.season import Home, Practised
from harvestplan.inputs.season_kitchen import Freezer, Pot, Sealer
from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.said_hours import WEEK, FreeHours
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season import read_answers as read
from harvestplan.new_season.interview import Interview
from harvestplan.new_season.places import usual_height, usual_place
from harvestplan.new_season.starter import Answers, Grown, WantAnswer, season_year
from harvestplan.new_season.zones import place_near
from harvestplan.words import crop_many, joined, plural, product_words

WELCOME = """\
A few questions about your garden and kitchen. Press Enter to take what stands
in brackets; "?" tells more, "back" goes to the question before. Each answer is
kept: after Ctrl-C the same command goes on. All can be changed later in the
three files."""
FROST = "  The day after which frost is rare, like 12 May; neighbours and weather services know."
MEASURES = "  US: pounds, US pints. UK: pounds, UK pints. metric: kilograms and litres."
HEIGHT = "  Water boils cooler high up: blanching takes longer from 5000 ft (1500 m) on."
HOLIDAYS = ((12, 24), (12, 25), (12, 31), (1, 1))
"""Month and day of evenings that most households keep free (own judgement)."""


def ask_all(today: dt.date, folder: Path) -> tuple[Answers, Interview]:
    """The answers to all questions, and the interview that keeps them until the files are
    written; a bad answer is asked again with the way to write it."""
    interview = Interview(folder)
    print(WELCOME + "\n")
    if interview.resumed:
        print(f"Going on after {plural(interview.resumed, 'answer')} that you gave before.\n")
    return interview.run(partial(_asked, today=today, folder=folder)), interview


def _asked(talk: Interview, today: dt.date, folder: Path) -> Answers:
    usual, ask = Answers.example(today), talk.ask
    name = ask("What is your household called", usual.name, read.words)
    whose = ask("Measures: US, UK or metric", usual.measures, read.measures,
                MEASURES)  # fmt: skip
    zone, altitude, place = _where(talk, usual, whose)
    last = ask("Last frost in spring, like 12 May (Enter if unknown)", "", read.month_day, FROST)
    first = ask("First frost in autumn (Enter if unknown)", "", read.month_day, FROST)
    guess = _rough_frosts(talk, place) if place and not (last and first) else None
    start, end = _span(
        talk, last or (guess and guess[0]), first or (guess and guess[1]), today=today
    )
    people = partial(read.whole, low=1, high=8)
    hands = ask("People in the kitchen of an evening", "1", people)
    practised = ask(
        "How practised at such work: beginner, some or practised",
        usual.practised,
        partial(_one_of, allowed=get_args(Practised)),
    )
    windows = ask("Free evenings", "tue thu 18:00-21:00, sat 9:00-12:30", read.windows,
                  "  Like Mon-Fri 6-9pm, or weekday evenings, Sat 9-12.")  # fmt: skip
    days = sum(len(window.days) for window in windows)
    often = partial(read.whole, low=1, high=min(21, days))
    per_week = ask("On how many of them a week, at most", str(min(2, days)), often)
    away = _holidays(talk, windows, start, end)
    kitchen = _kitchen(talk, usual, whose)
    grown = _grown(talk, folder, whose, span=(start, end), last=last)
    wanted = _wanted(talk, folder, whose, grown=grown)
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
        away=away,
        grown=grown,
        wanted=wanted,
        **kitchen,
    )


def _where(
    talk: Interview, usual: Answers, whose: str
) -> tuple[str, str, tuple[float, float] | None]:
    """Zone, height and place; what is known of the city that was named is suggested."""
    named: list[str] = []

    def read_zone(said: str) -> tuple[str, str]:
        found = read.zone(said)
        named[:] = [said]
        return found

    zone = talk.ask(
        "Time zone: a large city in it, or your country",
        _own_zone() or usual.timezone,
        read_zone,
        "  Like Chicago, Houston TX, Austria, or America/Chicago.",
    )
    near = place_near("".join(named), zone)
    if near:
        talk.say(f"  {near.name}: the airports there stand for its height and place.")
    high = partial(read.amount, kind="length", model=Home, key="altitude", whose=whose)
    altitude = talk.ask("How high above the sea", usual_height(near, whose), high, HEIGHT)
    unknown = "" if near else " (Enter if unknown)"
    place = talk.ask(
        f"Latitude and longitude, like 40.1 N 95.2 W{unknown}", usual_place(near), read.place
    )
    return zone, altitude, place


def _holidays(
    talk: Interview, windows: tuple[FreeHours, ...], start: dt.date, end: dt.date
) -> tuple[dt.date, ...]:
    """Holidays that fall on a free evening and are left free unless they are wanted."""
    span = (start + dt.timedelta(days=n) for n in range((end - start).days + 1))
    free = {name for window in windows for name in window.days}
    days = tuple(d for d in span if (d.month, d.day) in HOLIDAYS and WEEK[d.weekday()] in free)
    if not days:
        return ()
    named = joined([say(each) for each in days])
    keep = talk.ask(
        f"Leave {named} free: yes or no", "yes", partial(_one_of, allowed=("yes", "no"))
    )
    return days if keep == "yes" else ()


def _kitchen(talk: Interview, usual: Answers, whose: str) -> dict[str, Any]:
    """The answers about pot, sealing machine and freezer, by the names of `Answers`."""
    metric, ask = whose == "metric", talk.ask
    own = partial(read.amount, whose=whose)
    volume = partial(own, kind="volume")
    pot = ask(
        "Largest cooking pot",
        "8 L" if metric else "8 qt",
        partial(volume, model=Pot, key="volume"),
    )
    power = ask(
        "Power of its burner", usual.power, partial(own, kind="power", model=Pot, key="power"),
        "  It stands on the stove's plate or in its manual: 2000 for watts, 1.8 kW, 12,000 btu.",
    )  # fmt: skip
    kind = ask(
        "Kind of stove: electric, gas or induction",
        usual.kind,
        partial(_one_of, allowed=("electric", "gas", "induction")),
    )
    sealer = ask(
        "Vacuum sealing machine: none (zip bags and boxes), external (the bag's mouth lies\n"
        "in it), or chamber (the whole bag does)",
        "none",
        partial(_one_of, allowed=("none", "external", "chamber")),
        "  Without one, food goes into zip bags and boxes closed by hand; plans work as well.",
    )
    bar = None
    if sealer != "none":
        bar = ask(
            "Length of its sealing bar",
            "30 cm" if metric else "12 in",
            partial(own, kind="length", model=Sealer, key="bar"),
        )
    freezer = ask(
        "Size of the freezer",
        "200 L" if metric else "7 cu ft",
        partial(volume, model=Freezer, key="volume"),
    )
    used = ask(
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


def _one_of(said: str, allowed: tuple[str, ...]) -> tuple[str, str]:
    word = said.strip().lower()
    found = [name for name in allowed if word and name.startswith(word)]
    if len(found) != 1:
        raise Unclear(f"Write {', '.join(allowed[:-1])} or {allowed[-1]}.")
    return found[0], ""


def _rough_frosts(talk: Interview, place: tuple[float, float]) -> tuple[str, str] | None:
    """The usual last and first frost by a rough climate, from which the season is guessed."""
    from harvestplan.forecast.rough_climate import rough_normals, rough_years
    from harvestplan.forecast.weather_facts import usual_frosts, weather_facts

    frosts = usual_frosts(weather_facts(rough_years(rough_normals(*place, altitude=None), 2000)))
    if frosts is not None:
        (month, day), (other, date) = (map(int, each.split("-")) for each in frosts)
        talk.say(
            f"  Roughly, the last frost is about {say(dt.date(2000, month, day))} there, the first "
            f"about {say(dt.date(2000, other, date))}."
        )
    return frosts


def _span(
    talk: Interview, last: str | None, first: str | None, *, today: dt.date
) -> tuple[dt.date, dt.date]:
    """The season, asked with a guess from two weeks before the last frost to a month after the
    first; 1 May to 31 October where they are not known."""
    begin = dt.date(season_year(today), 5, 1)
    if last is not None:
        frost = _on(last, today.year - 1)
        while frost + dt.timedelta(days=90) < today:
            frost = _on(last, frost.year + 1)
        begin = frost - dt.timedelta(days=14)
    start = talk.ask("The season begins", _day(begin), partial(read.date, near=begin, today=today))
    close = dt.date(start.year, 10, 31) if start.month < 8 else start + dt.timedelta(days=240)
    if first is not None:
        frost = read_date(first, start, "next", start + dt.timedelta(days=30))
        close = frost + dt.timedelta(days=30)

    def later(said: str) -> tuple[dt.date, str]:
        found, told = read.date(said, near=close, today=today)
        if not start < found <= start + dt.timedelta(days=800):
            raise Unclear(f"It ends after it begins on {start}, and within two years.")
        return found, told

    return start, talk.ask("and ends", _day(close), later)


def _day(date: dt.date) -> str:
    return f"{say(date)} {date.year}"


def _on(month_day: str, year: int) -> dt.date:
    month, day = (int(part) for part in month_day.split("-"))
    return dt.date(year, month, min(day, 28) if month == 2 else day)


def _grown(
    talk: Interview, folder: Path, whose: str, *, span: tuple[dt.date, dt.date], last: str | None
) -> tuple[Grown, ...]:
    library = load_library(folder)
    example = "carrot 1.2x3 m" if whose == "metric" else "carrot 4x10 ft"
    long = "10 m" if whose == "metric" else "30 ft"
    start, middle = span[0], span[0] + (span[1] - span[0]) / 2
    frost = _on(last, start.year) if last else dt.date(start.year, 5, 10)
    named: list[str] = []

    def one(said: str) -> Grown:
        part = read.grown(said, library, whose)
        crop = part[3]
        talk.say(f"     {crop_many(crop.name)}, {_how_much(part[1], part[2])}")
        if crop.name in named:
            talk.say('     You have that already: this is a second planting. "back" takes it out.')
        verb = "sown" if read.begun_by(crop) == "sown" else "set out"
        usual = read.usual_start(crop, frost)
        # A day without its year lies in the season, or with what stays near the years before.
        near = usual if usual < start - dt.timedelta(days=365) else middle
        day = talk.ask(f"     {crop.name} is {verb} on", _day(usual), partial(read.date, near=near))
        named.append(crop.name)
        return read.planting(part, day)

    crops = joined(sorted(crop_many(c.name) for c in library.crops.values() if c.kind != "bought"))
    return tuple(
        talk.lines(
            f"What do you grow? One a line, like: snap bean {long}, or tomato 6 plants,\n"
            f"or {example}. An empty line ends.",
            one,
            "\n".join(wrap(f"Known are {crops}.", 78)),
            empty="You have named nothing yet. Press Enter again if nothing grows.",
        )
    )


def _how_much(basis: str, size: str | int) -> str:
    return plural(size, "plant") if isinstance(size, int) else f"{size} of {basis}"


def _wanted(
    talk: Interview, folder: Path, whose: str, *, grown: tuple[Grown, ...]
) -> tuple[WantAnswer, ...]:
    library = load_library(folder)
    found: list[WantAnswer] = []
    likely = [each.crop for each in grown]
    size = "350 g" if whose == "metric" else "12 oz"

    def one(said: str) -> WantAnswer:
        want, told = read.wanted(said, library, whose, before=found, likely=likely)
        talk.say(f"     {told}")
        crop = library.crops[want.product.partition(",")[0]]
        if crop.name not in likely:
            where = "bought: write it as [[bought]] in garden.toml" if crop.kind == "bought" else (
                "not among what you grow"
            )  # fmt: skip
            talk.say(f"     {crop_many(crop.name).capitalize()}: {where}, or none of it comes in.")
        found.append(want)
        return want

    own = [f"{c.name}, {p.form}" for c in library.crops.values() for p in c.products
           if not likely or c.name in likely]  # fmt: skip
    return tuple(
        talk.lines(
            f"What would you like in the freezer and on the shelf by winter? One a line, like:\n"
            f"snap bean 20 of {size}, or tomato sauce 15 pints. An empty line ends.",
            one,
            "\n".join(wrap(f"Possible are: {'; '.join(map(product_words, own))}.", 78)),
            empty="You have asked for nothing yet, and a plan would be empty. Press Enter again if "
            "you mean so.",
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
