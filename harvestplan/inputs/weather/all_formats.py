"""The register of weather formats: a text belongs to the first that recognises it."""

from __future__ import annotations

from harvestplan.inputs.weather import (
    australia,
    dwd,
    ecad,
    environment_canada,
    ghcn_fixed,
    ghcn_long,
    ghcn_wide,
    meteo_france,
    nasa_power,
    open_meteo_csv,
    open_meteo_json,
    plain_days,
    typical_year,
)
from harvestplan.inputs.weather.weather_format import WeatherFormat

FORMATS: tuple[WeatherFormat, ...] = (
    plain_days.FORMAT,
    ghcn_wide.FORMAT,
    ghcn_long.FORMAT,
    ghcn_fixed.FORMAT,
    open_meteo_csv.FORMAT,
    open_meteo_json.FORMAT,
    dwd.FORMAT,
    environment_canada.FORMAT,
    ecad.FORMAT,
    nasa_power.FORMAT,
    meteo_france.FORMAT,
    australia.FORMAT,
    typical_year.FORMAT,
)


def format_of(head: str) -> WeatherFormat | None:
    """The format of a text that begins so, or None."""
    return next((each for each in FORMATS if each.recognises(head)), None)
