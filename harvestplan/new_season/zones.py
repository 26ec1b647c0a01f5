"""Time zones by their name, a city in them, or a country: by the tables of the tz database, and by
the cities of `places`."""

from __future__ import annotations

import zoneinfo
from functools import lru_cache
from importlib.resources import files

from harvestplan.inputs.explain import nearest
from harvestplan.inputs.ids import fold
from harvestplan.inputs.spoken.unclear import Unclear, which
from harvestplan.new_season.places import CALLED, NamedCity, find_places

_CALLED = {
    "uk": "britain (uk)", "united kingdom": "britain (uk)", "great britain": "britain (uk)",
    "england": "britain (uk)", "scotland": "britain (uk)", "wales": "britain (uk)",
    "usa": "united states", "us": "united states", "united states of america": "united states",
    "america": "united states", "holland": "netherlands", "the netherlands": "netherlands",
    "czechia": "czech republic", "deutschland": "germany", "osterreich": "austria",
    "schweiz": "switzerland", "suisse": "switzerland", "espana": "spain", "italia": "italy",
    "south korea": "korea (south)",
}  # fmt: skip
"""Common names of countries that the tz database calls otherwise (own list)."""
_MOST = 8


def read_zone(said: str) -> tuple[str, str]:
    """A zone, and how it was understood; raises Unclear with a country's zones to choose from."""
    asked = said.strip()
    named = fold(asked.replace("_", " ")).removesuffix(" time")
    zones = {fold(name.replace("_", " ")): name for name in zoneinfo.available_timezones()}
    cities = {name.rpartition("/")[2]: zones[name] for name in sorted(zones)}
    found = zones.get(named) or cities.get(CALLED.get(named, named))
    if found is None:
        found = _by_country(asked, _CALLED.get(named, named))
    if found is None:
        found = _by_city(asked)
    if found is None:
        near = nearest(named, [*zones, *cities], 0.7)
        hint = f'Did you mean "{zones.get(near) or cities[near]}"?' if near else ""
        raise Unclear(
            f'I know no time zone, city or country "{asked}".',
            f"{hint} Write a large city in your zone, your country, or the zone itself, like "
            "America/Chicago.".strip(),
        )
    return found, found if found != asked else ""


def _by_city(asked: str) -> str | None:
    """The zone of a city; raises Unclear with the cities of that name where zones differ."""
    places = find_places(asked, _countries())
    if len({place.zone for place in places}) > 1:
        names = list(dict.fromkeys(place.name for place in places))[:_MOST]
        raise which(asked, names)
    return places[0].zone if places else None


def place_near(said: str, zone: str) -> NamedCity | None:
    """The city that was named, where it lies in that zone."""
    return next((p for p in find_places(said, _countries()) if p.zone == zone), None)


def _by_country(asked: str, named: str) -> str | None:
    """The only zone of a country; raises Unclear with its zones where it has several."""
    code = _countries().get(named)
    if code is None:
        return None
    zones = [(zone, note) for codes, zone, note in _rows("zone.tab") if codes == code]
    zones.sort(key=lambda row: "most" not in row[1])
    if len(zones) == 1 or code in ("DE", "ES", "PT"):
        return zones[0][0]  # the mainland's; an island writes its own city
    shown = "; ".join(f"{zone} ({note})" if note else zone for zone, note in zones[:_MOST])
    more = f" and {len(zones) - _MOST} more" if len(zones) > _MOST else ""
    raise Unclear(f"{asked} has several zones: {shown}{more}.", "Write one of them.",
                  [zone for zone, _ in zones])  # fmt: skip


@lru_cache(maxsize=1)
def _countries() -> dict[str, str]:
    return {fold(name): code for code, name, _ in _rows("iso3166.tab")}


def _rows(table: str) -> list[tuple[str, str, str]]:
    """(code, name, "") of iso3166.tab, (code, zone, remark) of zone.tab; none without them."""
    try:
        text = (files("tzdata") / "zoneinfo" / table).read_text(encoding="utf-8")
    except (OSError, ModuleNotFoundError):
        return []
    rows = [line.split("\t") for line in text.splitlines() if line and line[0] != "#"]
    if table == "iso3166.tab":
        return [(row[0], row[1], "") for row in rows]
    return [(row[0], row[2], row[3] if len(row) > 3 else "") for row in rows]
