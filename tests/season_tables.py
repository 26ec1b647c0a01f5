"""The small household and kitchen that most tests work with, and a season file made of texts."""

from __future__ import annotations

from pathlib import Path

LITTLE_TOIL = """\
evening_is_worth = "1/2 portion"
visit_is_worth = "0.1 portions"
food_is_worth = "0.2 portions"
late_hour_is_worth = "0.1 portions"
"""
"""Lines of the season's table for a household that comes to the kitchen for a portion, but not on
two evenings for what one can do. For tests that are about something else than toil."""


def house(
    start: str,
    end: str,
    days: str = "sat",
    hours: tuple[str, str] = ("09:00", "12:00"),
    zone: str = "America/Chicago",
    season: str = "",
    weather: str = "",
) -> str:
    """Household, season and one window as tables of a season file; `days` like "tue thu", `season`
    and `weather` are lines more, of the season's table and of one called so."""
    named = ", ".join(f'"{day}"' for day in days.split())
    return f"""\
[household]
name = "The Lane"
timezone = "{zone}"

[season]
start = {start}
end = {end}
{season}
{f"[weather]{chr(10)}{weather}" if weather else ""}[[window]]
days = [{named}]
start = {hours[0]}:00
end = {hours[1]}:00
"""


def kitchen(
    pot: str = "8 qt",
    power: str = "1.8 kW",
    bath: str = "5 gal",
    sealer: str = 'kind = "external"\nbar = "12 in"',
    pouch: str = "",
    freezer: str = "7 cu ft",
    used: str = "1 cu ft",
) -> str:
    """One pot, bath, sealing machine, size of pouch and freezer as tables of a season file; `pouch`
    are lines more of its table."""
    return f"""\
[[pot]]
name = "kettle"
volume = "{pot}"
power = "{power}"

[[bath]]
name = "sink"
volume = "{bath}"

[sealer]
{sealer}

[[pouch]]
name = "quart"
width = "8 in"
length = "12 in"
film = "3 mil"
{pouch}
[[freezer]]
name = "chest"
volume = "{freezer}"
used = "{used}"
"""


def write_season(folder: Path, text: str, *changes: tuple[str, str]) -> Path:
    """Writes season.toml in `folder`, made if missing, with texts replaced, each of which must be
    there; the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "season.toml").write_text(text, encoding="utf-8")
    return folder
