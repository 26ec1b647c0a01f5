"""Saying back what was understood."""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any

from harvestplan.inputs.quantities import Quantity
from harvestplan.records.events import Event
from harvestplan.words import day


def said(event: Event) -> str:
    """Like "picked snap bean 5 lb on Wed 14 July 2027 #a1f3"."""
    return f"{event.text} on {day(event.date, year=True)} #{event.code}"


def as_json(event: Event, line: str) -> dict[str, Any]:
    """The event's fields for other programs: masses in `_grams`, volumes in `_ml`."""
    told: dict[str, Any] = {"format": 1, "event": event.text.split()[0], "line": line}
    for field in dataclasses.fields(event):
        value = getattr(event, field.name)
        if field.name in ("line", "text"):
            continue
        if isinstance(value, Quantity):
            unit = "grams" if value.kind == "mass" else "ml"
            told[f"{field.name}_{unit}"] = round(value.value)
        else:
            told[field.name] = value.isoformat() if isinstance(value, dt.date | dt.time) else value
    return told
