"""Crops, seasons and weather series for the forecast tests, written as a household would."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd
from places import DATA

from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.season import Season


def figure(value: Any, **more: Any) -> dict[str, Any]:
    return {"value": value, "source": "TEST", "seen": False, **more}


def make_crop(name: str = "snap bean", **changes: Any) -> Crop:
    """A crop with bush-bean figures; `changes` replace growth, picking, yields or keeping keys,
    None removes one."""
    growth = {
        "clock": "sown",
        "days_to_maturity": figure("55 days"),
        "method": "mw2",
        "base": figure("10 C"),
        "upper": figure("30 C"),
        "thermal_time": figure(550),
        "frost": figure("tender"),
    }
    picking = {
        "pattern": "determinate",
        "weekly": figure([0.35, 0.4, 0.2, 0.05]),
        "every": figure("3 days"),
        "stands": figure("3 days"),
    }
    yields = {
        "per_row": figure("1 kg per m", low="500 g per m", high="2 kg per m"),
        "spacing": figure("10 cm"),
        "row_spacing": figure("50 cm"),
    }
    tables = {"growth": growth, "picking": picking, "yields": yields}
    tables["keeping"] = {"fridge": figure("5 days"), "room": figure("1 day")}
    for table, keys in changes.items():
        tables[table] = {k: v for k, v in (tables[table] | keys).items() if v is not None}
    steps = [{"step": "wash"}, {"step": "freeze"}]
    product = {
        "form": "whole",
        "usual": True,
        "storage": "freezer",
        "texture": "pieces",
        "density": figure("0.5 kg per L"),
        "keeps": figure("300 days"),
        "steps": steps,
    }
    return Crop.model_validate(
        {
            "name": name,
            "kind": "grown",
            "water_share": figure(0.9),
            "raw_density": figure("0.5 kg per L"),
            "hazard": "other",
            "products": [product],
            **tables,
        }
    )


def make_library(*crops: Crop) -> Library:
    return Library(crops={crop.name: crop for crop in crops}, sources={})


def make_season(
    *plantings: dict[str, Any], start: str = "2019-03-01", end: str = "2019-11-30", **more: Any
) -> Season:
    rows = [{"id": f"p{n}", "row": "10 m", **row} for n, row in enumerate(plantings, start=1)]
    rows = [{k: v for k, v in row.items() if v is not None} for row in rows]
    return Season.model_validate(
        {
            "household": {"name": "Test", "timezone": "UTC"},
            "season": {"start": dt.date.fromisoformat(start), "end": dt.date.fromisoformat(end)},
            "planting": rows,
            **more,
        }
    )


def read_weather(name: str) -> pd.DataFrame:
    """One of the open series in tests/data/weather (see SOURCE.md there)."""
    return pd.read_csv(DATA / "weather" / f"{name}.csv", index_col="date", parse_dates=True)


def champion() -> pd.DataFrame:
    return read_weather("champion_nebraska_1982_2018")


def even_weather(
    first: str, last: str, mean: float = 12.0, swing: float = 12.0, south: bool = False
) -> pd.DataFrame:
    """Weather that is the same every year: a yearly sine, warmest in mid-July (January)."""
    days = pd.date_range(first, last)
    peak = 15 if south else 196
    daily = mean + swing * np.cos(2 * np.pi * (days.dayofyear.to_numpy() - peak) / 365.25)
    return pd.DataFrame({"tmin_c": daily - 6, "tmax_c": daily + 6}, index=days)
