"""Cities and what is roughly known of them: zone, height, where they lie.

By airports of the library airportsdata: a city is where one says that it serves it. Heights are the
airports' own, so they are a hint and no more.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache

from harvestplan.inputs.ids import fold

FOOT = 0.3048
CALLED = {
    "wien": "vienna", "munchen": "munich", "koln": "cologne", "nurnberg": "nuremberg",
    "hannover": "hanover", "praha": "prague", "warszawa": "warsaw", "krakow": "cracow",
    "roma": "rome", "milano": "milan", "torino": "turin", "firenze": "florence",
    "lisboa": "lisbon", "sevilla": "seville", "geneve": "geneva", "bruxelles": "brussels",
    "antwerpen": "antwerp", "kobenhavn": "copenhagen", "goteborg": "gothenburg",
    "saint louis": "st louis", "st paul": "saint paul",
}  # fmt: skip
"""Cities that the table calls by their English names (own list)."""
_STATES = {
    "al": "alabama", "ak": "alaska", "az": "arizona", "ar": "arkansas", "ca": "california",
    "co": "colorado", "ct": "connecticut", "de": "delaware", "dc": "district of columbia",
    "fl": "florida", "ga": "georgia", "hi": "hawaii", "id": "idaho", "il": "illinois",
    "in": "indiana", "ia": "iowa", "ks": "kansas", "ky": "kentucky", "la": "louisiana",
    "me": "maine", "md": "maryland", "ma": "massachusetts", "mi": "michigan", "mn": "minnesota",
    "ms": "mississippi", "mo": "missouri", "mt": "montana", "ne": "nebraska", "nv": "nevada",
    "nh": "new hampshire", "nj": "new jersey", "nm": "new mexico", "ny": "new york",
    "nc": "north carolina", "nd": "north dakota", "oh": "ohio", "ok": "oklahoma", "or": "oregon",
    "pa": "pennsylvania", "ri": "rhode island", "sc": "south carolina", "sd": "south dakota",
    "tn": "tennessee", "tx": "texas", "ut": "utah", "vt": "vermont", "va": "virginia",
    "wa": "washington", "wv": "west virginia", "wi": "wisconsin", "wy": "wyoming",
}  # fmt: skip
"""US postal codes of states."""


@dataclass(frozen=True)
class NamedCity:
    """A city: "Houston, Texas", its zone, height in m, degrees north and east."""

    name: str
    zone: str
    altitude: float
    latitude: float
    longitude: float
    airports: int


def find_places(said: str, countries: dict[str, str]) -> list[NamedCity]:
    """The cities of that name, the ones with most airports first; "Houston, Texas", "Houston TX"
    and "Vienna, Austria" name one. `countries` are folded names with their codes."""
    words = fold(said.replace(",", " , ")).split()
    for count in range(len(words), 0, -1):
        city = " ".join(words[:count]).strip(" ,").replace(".", "")
        where = " ".join(words[count:]).strip(" ,")
        found = _cities().get(CALLED.get(city, city), ())
        meant = [each for each in found if not where or where in _names(each, countries)]
        if meant:
            return [_place(each) for each in meant]
    return []


def usual_height(near: NamedCity | None, measures: str) -> str:
    """A height above the sea to suggest: a hint, to 50 ft or 10 m."""
    metres = near.altitude if near else 0.0
    if measures == "metric":
        return f"{max(0, 10 * round(metres / 10))} m"
    return f"{max(0, 50 * round(metres / FOOT / 50))} ft"


def usual_place(near: NamedCity | None) -> str:
    """Latitude and longitude to suggest, to some ten kilometres; empty where none is known."""
    if near is None:
        return ""
    north, east = "N" if near.latitude >= 0 else "S", "E" if near.longitude >= 0 else "W"
    return f"{abs(near.latitude):.1f} {north} {abs(near.longitude):.1f} {east}"


@dataclass(frozen=True)
class _City:
    """The airports of a city in a province of a country."""

    city: str
    province: str
    country: str
    airports: tuple[dict[str, object], ...]


def _names(city: _City, countries: dict[str, str]) -> set[str]:
    """What its province and country may be called."""
    province, code = fold(city.province), city.country
    short = {k for k, state in _STATES.items() if code == "US" and state == province}
    return {province, code.lower(), *short, *(n for n, c in countries.items() if c == code)}


def _place(city: _City) -> NamedCity:
    def middle(key: str) -> float:
        return statistics.median(float(str(each[key])) for each in city.airports)

    zones = [str(each["tz"]) for each in city.airports]
    where = city.province or city.country
    return NamedCity(
        name=f"{city.city}, {where}" if where else city.city,
        zone=statistics.mode(zones),
        altitude=middle("elevation") * FOOT,
        latitude=middle("lat"),
        longitude=middle("lon"),
        airports=len(city.airports),
    )


@lru_cache(maxsize=1)
def _cities() -> dict[str, tuple[_City, ...]]:
    # Only who names a city waits for the table, a twelfth of a second.
    import airportsdata

    airports: dict[tuple[str, str, str], list[dict[str, object]]] = defaultdict(list)
    for each in airportsdata.load("ICAO").values():
        if each["tz"]:
            airports[each["city"], each["subd"], each["country"]].append(dict(each))
    found: dict[str, list[_City]] = defaultdict(list)
    for (city, province, country), own in airports.items():
        found[fold(city).replace(".", "")].append(_City(city, province, country, tuple(own)))
    return {name: tuple(sorted(each, key=_rank)) for name, each in found.items()}


def _rank(city: _City) -> tuple[bool, int, str]:
    """Those with an airport that airlines know come first, then those with most."""
    scheduled = any(each["iata"] for each in city.airports)
    return not scheduled, -len(city.airports), city.province
