"""The questions with which a season begins, page by page, and what is assumed of each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from harvestplan.inputs.season import Home
from harvestplan.inputs.season_kitchen import Freezer, Pot, Sealer
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.new_season import read_answers as read
from harvestplan.new_season.places import NamedCity, usual_height, usual_place
from harvestplan.new_season.questions import _own_zone
from harvestplan.new_season.starter import Answers
from harvestplan.new_season.zones import place_near
from harvestplan.words import day

Reader = Callable[[str, dict[str, str]], str]
"""Reads an answer and says back what was understood; raises Unclear."""


@dataclass(frozen=True)
class PageQuestion:
    """One question: what is assumed where nobody knows, and what was understood of an answer."""

    key: str
    label: str
    assumed: Callable[[dict[str, str]], str]
    reads: Reader
    hint: str = ""
    options: tuple[tuple[str, str], ...] = ()
    drawing: str = ""
    keeps: Reader = lambda said, a: said
    """What is kept of an answer that can be read."""


def _metric(a: dict[str, str]) -> bool:
    return measures_of(a) == "metric"


def measures_of(a: dict[str, str]) -> str:
    """How the household measures, as far as it said."""
    return a.get("measures") or "US"


def _near(a: dict[str, str]) -> NamedCity | None:
    """The city that was named for the time zone."""
    said = a.get("zone") or ""
    try:
        return place_near(said, read.zone(said)[0]) if said else None
    except Unclear:
        return None


def _by_measures(us: str, metric: str) -> Callable[[dict[str, str]], str]:
    return lambda a: metric if _metric(a) else us


def _plain(value: str) -> Callable[[dict[str, str]], str]:
    return lambda a: value


def _amount(kind: Any, model: Any, key: str) -> Reader:
    def reads(said: str, a: dict[str, str]) -> str:
        return read.amount(said, kind, model, key=key, whose=measures_of(a))[1]

    return reads


def _understood(reader: Callable[[str], tuple[Any, str]]) -> Reader:
    return lambda said, a: reader(said)[1]


def _chosen(said: str, a: dict[str, str]) -> str:
    return ""


def _day_asked(key: str, label: str, of_year: str) -> PageQuestion:
    """The question for a day of the season; without a year it is the one nearest to the usual
    day, a month and day."""

    def usual(a: dict[str, str]) -> str:
        return f"{year_of(a)}-{of_year}"

    def kept(said: str, a: dict[str, str]) -> str:
        today = dt.date.fromisoformat(a["today"])
        return read.date(said, dt.date.fromisoformat(usual(a)), today)[0].isoformat()

    def told(said: str, a: dict[str, str]) -> str:
        found = kept(said, a)
        return "" if found == said else day(dt.date.fromisoformat(found), year=True)

    return PageQuestion(key, label, usual, told, keeps=kept)


def year_of(a: dict[str, str]) -> int:
    """The year whose summer is ahead."""
    return Answers.example(dt.date.fromisoformat(a["today"])).start.year


YES_KINDS = (
    ("none", "None: zip bags and boxes, closed by hand"),
    ("external", "The bag’s mouth lies in the machine, the bag outside"),
    ("chamber", "The whole bag lies in a chamber under a lid"),
)
PRACTISED = (
    ("beginner", "We are beginning"),
    ("some", "We have done it before"),
    ("practised", "We are practised"),
)
TOIL = (
    ("2", "The usual way: an evening must bring at least two portions"),
    ("5", "As little as may be: only evenings that bring much"),
    ("0.5", "We like doing it: small evenings are welcome"),
)
STOVES = (("electric", "electric"), ("gas", "gas"), ("induction", "induction"))
PAGES: tuple[tuple[str, tuple[PageQuestion, ...]], ...] = (
    (
        "About you",
        (
            PageQuestion(
                "name",
                "What is your household called?",
                _plain("Our kitchen"),
                _understood(read.words),
            ),
            PageQuestion(
                "measures",
                "How do you measure?",
                _plain("US"),
                _chosen,
                options=(
                    ("US", "pounds and quarts (US)"),
                    ("UK", "pounds and pints (UK)"),
                    ("metric", "kilograms and litres"),
                ),
            ),
            PageQuestion(
                "zone",
                "Time zone, or a large city in it",
                lambda a: _own_zone() or "America/Chicago",
                _understood(read.zone),
            ),
            PageQuestion(
                "practised",
                "How practised are you at putting food by?",
                _plain("some"),
                _chosen,
                options=PRACTISED,
            ),
        ),
    ),
    (
        "Where your garden is",
        (
            PageQuestion(
                "place",
                "Latitude and longitude, like 40.1 N 95.2 W",
                lambda a: usual_place(_near(a)),
                _understood(read.place),
                hint="A map shows them. With them the forecast knows your climate roughly.",
            ),
            PageQuestion(
                "altitude",
                "How high above the sea",
                lambda a: usual_height(_near(a), measures_of(a)),
                _amount("length", Home, "altitude"),
                hint="Water boils cooler high up. Suggested is the height of your city's airports.",
            ),
            PageQuestion(
                "last_frost",
                "Last frost in spring, like 12 May",
                _plain(""),
                _understood(read.month_day),
            ),
            PageQuestion(
                "first_frost", "First frost in autumn", _plain(""), _understood(read.month_day)
            ),
            _day_asked("start", "The season begins on", "05-01"),
            _day_asked("end", "and ends on", "10-31"),
        ),
    ),
    (
        "Your evenings",
        (
            PageQuestion(
                "windows",
                "When could you be in the kitchen?",
                _plain("tue thu 18:00-21:00, sat 9:00-12:30"),
                _understood(read.windows),
                hint="Days and hours, like tue thu 18:00-21:00, sat 9:00-12:30.",
            ),
            PageQuestion(
                "per_week",
                "On how many of them a week, at most?",
                _plain("2"),
                _understood(partial(read.whole, low=1, high=21)),
            ),
            PageQuestion(
                "hands",
                "How many people work in the kitchen then?",
                _plain("1"),
                _understood(partial(read.whole, low=1, high=8)),
            ),
            PageQuestion("toil", "How much toil is it worth?", _plain("2"), _chosen, options=TOIL),
            PageQuestion(
                "eaters",
                "How many people eat of it?",
                _plain("2"),
                _understood(partial(read.whole, low=1, high=40)),
            ),
        ),
    ),
    (
        "Stove and machine",
        (
            PageQuestion(
                "pot",
                "How much does your largest cooking pot hold?",
                _by_measures("8 qt", "8 L"),
                _amount("volume", Pot, "volume"),
            ),
            PageQuestion(
                "power",
                "Power of the burner it stands on",
                _plain("1.8 kW"),
                _amount("power", Pot, "power"),
                hint="It stands on the stove’s plate, in W, kW or BTU/h.",
                drawing="plate",
            ),
            PageQuestion(
                "kind", "What kind of stove is it?", _plain("electric"), _chosen, options=STOVES
            ),
            PageQuestion(
                "sealer",
                "Which sealing machine have you?",
                _plain("none"),
                _chosen,
                options=YES_KINDS,
                drawing="sealers",
            ),
            PageQuestion(
                "bar",
                "Length of its sealing bar",
                _by_measures("12 in", "30 cm"),
                _amount("length", Sealer, "bar"),
                hint="Only with a machine.",
                drawing="bar",
            ),
        ),
    ),
    (
        "Freezer and bags",
        (
            PageQuestion(
                "freezer",
                "How much does your freezer hold?",
                _by_measures("7 cu ft", "200 L"),
                _amount("volume", Freezer, "volume"),
                drawing="bags",
            ),
            PageQuestion(
                "used",
                "How much of it is taken already?",
                _by_measures("1 cu ft", "30 L"),
                _amount("volume", Freezer, "used"),
            ),
        ),
    ),
)
