"""Tables of season files as forms show them, and forms as season files have them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Any

from harvestplan.inputs.dates import DAYS
from harvestplan.inputs.spoken.said_numbers import decimals
from harvestplan.inputs.spoken.unclear import which
from harvestplan.new_season.starter import quoted
from harvestplan.page.fields import read_day, text_sent
from harvestplan.page.site import Wrong
from harvestplan.page.table_fields import FORMS, FormField, TableForm
from harvestplan.words import day, joined, plural

BY_TABLE = {form.table: form for form in FORMS}
COUNTED = ("want", "stored")
"""Tables told as so many of a size."""
WEEK = tuple(name.lower() for name in DAYS)


def shown(asked: FormField, value: Any) -> str:
    """A value of a file as a field shows it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, dt.time):
        return f"{value:%H:%M}"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, list):
        return ("," if asked.kind == "days" else ", ").join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


def told(form: TableForm, values: Mapping[str, Any]) -> str:
    """A table in a line."""
    briefly = [asked for asked in form.fields if not form.brief or asked.key in form.brief]
    found = {
        asked.key: _told_value(asked, values[asked.key])
        for asked in briefly
        if values.get(asked.key) not in (None, False)
    }
    if "start" in found and "end" in found:
        found["start"] += f" to {found.pop('end')}"
    parts = list(found.values())
    if form.table in COUNTED and len(parts) > 2:
        return f"{parts[0]}: {' of '.join(parts[1:])}"
    return f"{parts[0]}: {', '.join(parts[1:])}" if form.brief and parts[1:] else ", ".join(parts)


def _told_value(asked: FormField, value: Any) -> str:
    """A value as people say it."""
    if value is True:
        return asked.label.lower()
    if asked.kind == "days" and isinstance(value, list):
        return joined([str(each).capitalize() for each in value])
    if isinstance(value, dt.date):
        return day(value, year=True)
    if asked.key == "hands" and isinstance(value, int):
        return plural(value, "person", "people")
    return next((words for key, words in asked.options if key == value), shown(asked, value))


def written(
    form: TableForm, sent: Mapping[str, str], measures: str = "US"
) -> dict[str, str | None]:
    """What was sent as TOML has it, key by key; None for what was left empty. Raises Wrong."""
    return {asked.key: _written(asked, sent, measures) for asked in form.fields}


def _written(asked: FormField, sent: Mapping[str, str], measures: str) -> str | None:
    if asked.kind == "days":
        days = [day for day in WEEK if sent.get(f"{asked.key}-{day}") == "yes"]
        if not days:
            raise Wrong("Choose at least one day.", asked.key)
        return f"[{', '.join(map(quoted, days))}]"
    said = text_sent(sent, asked.key)
    if asked.kind == "yes":
        return "true" if said == "yes" else None
    if not said:
        return None
    if asked.kind == "names":
        names = [name.strip() for name in said.split(",") if name.strip()]
        return f"[{', '.join(map(quoted, names))}]"
    return _one_value(asked, said, measures)


def _one_value(asked: FormField, said: str, measures: str) -> str:
    try:
        match asked.kind:
            case "whole":
                if not said.isascii() or not said.isdigit() or len(said) > 9:
                    raise ValueError
                return str(int(said))
            case "number":
                value = float(said.replace(",", "."))
                if not 0 <= value < 1e9:
                    raise ValueError
                return f"{value:.10g}"
            case "date":
                return read_day(said, asked.key, dt.date.today()).isoformat()
            case "time":
                time = dt.time.fromisoformat(said if len(said) > 4 else f"0{said}")
                if time.tzinfo is not None:
                    raise ValueError
                return f"{time:%H:%M}:00"
            case "choice":
                if said not in {key for key, _ in asked.options}:
                    raise ValueError
    except ValueError:
        raise Wrong(WAYS[asked.kind], asked.key) from None
    return quoted(_plain(asked, said, measures) if asked.kind == "amount" else said)


def _plain(asked: FormField, said: str, measures: str) -> str:
    """An amount with a decimal point; where a comma may part thousands as well, it is asked."""
    ways = decimals(said, measures)
    if len(ways) > 1:
        raise Wrong.unclear(which(said, ways), asked.key)
    return ways[0]


WAYS = {
    "whole": "Write a whole number.",
    "number": "Write a number.",
    "date": "There is no such day. Choose one, or write it like 2027-07-14.",
    "time": "Write a time like 18:30.",
    "choice": "Choose one of those that stand there.",
}
