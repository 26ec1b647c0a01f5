"""Random but plausible seasons, each fixed by its seed, written as a person would write them."""

from __future__ import annotations

import datetime as dt
import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

from places import CHAMPION

from harvestplan.inputs.crops import Crop, Library

YEAR = 2027
ZONES = ("America/Denver", "America/Chicago", "Europe/London", "Europe/Berlin", "Pacific/Auckland")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
Entry = dict[str, Any]


class Written(str):
    """Text that stands in the file without quotes: a date, a time, a number."""


Packs = Literal["sealed", "by hand", "both"]
BY_HAND: tuple[tuple[str, Entry], ...] = (
    ("[[pouch]]", {"name": "bag", "kind": "zip bag", "width": "7 in", "length": "7.5 in"}),
    ("[[pouch]]", {"name": "big bag", "kind": "zip bag", "width": "27 cm", "length": "26 cm"}),
    ("[[pouch]]", {"name": "pint", "kind": "box", "volume": "500 mL", "mouth": "wide"}),
    ("[[pouch]]", {"name": "jar", "kind": "box", "volume": "1 L", "mouth": "narrow", "pack": 6}),
)


def write_season(folder: Path, seed: int, library: Library, packs: Packs = "sealed") -> dt.date:
    """Write the season of `seed` into `folder`, made if missing; gives the day to plan it on. With
    `packs` its food is sealed in a machine, closed by hand, or one beside the other."""
    draw = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    metric = draw.random() < 0.5
    with_weather = draw.random() < 0.5
    batch = (400, 1500)[seed % 2] if seed % 3 == 2 else None  # not drawn: the rest stays as it was
    if with_weather:
        shutil.copyfile(CHAMPION, folder / "weather.csv")
    parts = {
        "household.toml": [*_household(draw, metric, with_weather, batch=batch), *_times(draw)],
        "kitchen.toml": _packed(list(_kitchen(draw, metric)), packs),
        "garden.toml": list(_garden(draw, metric, library)),
    }
    for name, tables in parts.items():
        (folder / name).write_text("\n".join(_table(*each) for each in tables), encoding="utf-8")
    return dt.date(YEAR, 3, 1) + dt.timedelta(days=draw.choice((0, 0, 30, 95)))


def _packed(tables: list[tuple[str, Entry]], packs: Packs) -> list[tuple[str, Entry]]:
    if packs == "sealed":
        return tables
    if packs == "by hand":
        return [each for each in tables if each[0] not in ("[sealer]", "[[pouch]]")] + [*BY_HAND]
    numbered = enumerate(BY_HAND, start=1)
    renamed = ((heading, entry | {"name": f"by hand {n}"}) for n, (heading, entry) in numbered)
    return [*tables, *renamed]


def _table(heading: str, entry: Entry) -> str:
    lines = (f"{key} = {_value(value)}" for key, value in entry.items() if value is not None)
    return "\n".join([heading, *lines, ""])


def _value(value: Any) -> str:
    if isinstance(value, Written):
        return str(value)
    if isinstance(value, str):
        return '"' + value.replace('"', '\\"') + '"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    return repr(value)


def _mass(grams: float, metric: bool) -> str:
    return f"{grams:.0f} g" if metric else f"{grams / 28.349523:.1f} oz"


def _volume(litres: float, metric: bool) -> str:
    return f"{litres:.1f} L" if metric else f"{litres / 0.946353:.1f} qt"


def _household(
    draw: random.Random, metric: bool, weather: bool, batch: int | None
) -> Iterator[tuple[str, Entry]]:
    yield (
        "[household]",
        {
            "name": draw.choice(("The Lane", "Zoë & Søn", 'The "Old" Mill')),
            "timezone": draw.choice(ZONES),
            "altitude": draw.choice((None, "0 m", "450 ft", "1600 m")),
            "measures": "metric" if metric else draw.choice(("US", "UK")),
            "hands": draw.choice((1, 1, 2, 3)),
        },
    )
    yield (
        "[season]",
        {
            "start": dt.date(YEAR, draw.choice((3, 4, 5)), 1),
            "end": dt.date(YEAR, draw.choice((9, 10, 11)), 30),
            "max_sessions": draw.choice((None, None, 3, 12)),
            "max_sessions_per_week": draw.choice((None, 1, 2, 3)),
            "smallest_batch": batch and _mass(batch, metric),
        },
    )
    frosts = {"last_frost": "05-08", "first_frost": "10-02"} if draw.random() < 0.5 else {}
    if weather or frosts:
        yield "[weather]", {"daily": "weather.csv" if weather else None, **frosts}


def _times(draw: random.Random) -> Iterator[tuple[str, Entry]]:
    for _ in range(draw.randint(1, 3)):
        start = draw.choice((9, 14, 18))
        yield (
            "[[window]]",
            {
                "days": tuple(sorted(draw.sample(DAYS, draw.randint(1, 2)), key=DAYS.index)),
                "start": Written(f"{start:02d}:{draw.choice((0, 30)):02d}:00"),
                "end": Written(f"{start + draw.randint(2, 5):02d}:{draw.choice((0, 15)):02d}:00"),
                "hands": draw.choice((None, None, 1, 2)),
            },
        )
    for _ in range(draw.choice((0, 0, 1, 2))):
        day = dt.date(YEAR, 7, 1) + dt.timedelta(days=draw.randint(0, 60))
        yield (
            "[[extra_window]]",
            {
                "date": day,
                "start": Written("10:00:00"),
                "end": Written("15:00:00"),
            },
        )
    if draw.random() < 0.4:
        start_day = dt.date(YEAR, 7, 1) + dt.timedelta(days=draw.randint(0, 50))
        end_day = start_day + dt.timedelta(days=draw.randint(0, 16))
        yield "[[away]]", {"start": start_day, "end": end_day}


def _kitchen(draw: random.Random, metric: bool) -> Iterator[tuple[str, Entry]]:
    for number in range(draw.randint(1, 3)):
        yield (
            "[[pot]]",
            {
                "name": f"pot {number}",
                "volume": _volume(draw.choice((5, 8, 12, 16)), metric),
                "power": draw.choice(("1.2 kW", "1.8 kW", "2.5 kW", "12000 BTU/h")),
                "kind": draw.choice(("gas", "electric", "induction")),
                "batch": draw.choice((None, None, _mass(draw.choice((250, 450)), metric))),
                "one_minute": draw.random() < 0.15,
            },
        )
    for number in range(draw.randint(1, 2)):
        yield (
            "[[bath]]",
            {"name": f"bath {number}", "volume": _volume(draw.choice((8, 19)), metric)},
        )
    if draw.random() < 0.6:
        yield (
            "[[oven]]",
            {
                "name": "oven",
                "trays": draw.randint(1, 3),
                "tray_load": _mass(1800, metric),
            },
        )
    if draw.random() < 0.4:
        area = draw.choice(("0.1 m2", "12x12 in"))
        yield "[[dryer]]", {"name": "dryer", "trays": draw.randint(4, 9), "tray_area": area}
    yield (
        "[sealer]",
        {
            "kind": draw.choice(("external", "chamber")),
            "bar": draw.choice(("12 in", "35 cm")),
            "service_after": draw.choice((None, "10 h")),
            "run_so_far": draw.choice((None, "9.5 h")),
        },
    )
    for name, width, length in (("pint", 6, 10), ("quart", 8, 12)):
        yield (
            "[[pouch]]",
            {
                "name": name,
                "width": f"{width} in",
                "length": f"{length} in",
                "film": "3 mil",
                "pack": draw.choice((None, 50)),
                "price": draw.choice((None, 9.5)),
                "in_stock": draw.choice((0, 7)),
            },
        )
    for number in range(draw.randint(1, 2)):
        size = draw.choice((40, 120, 250))
        yield (
            "[[freezer]]",
            {
                "name": f"freezer {number}",
                "volume": f"{size} L",
                "used": f"{size * draw.choice((0, 0.3, 0.8)):.0f} L",
                "freezing_per_day": draw.choice((None, _mass(draw.choice((1500, 6000)), metric))),
                "tray_area": draw.choice((None, "0.4 m2", "0.9 m2")),
            },
        )
    fridge = draw.choice((None, _volume(draw.choice((5, 30)), metric)))
    yield "[cold]", {"fridge": fridge, "cellar": draw.random() < 0.3}


def _garden(draw: random.Random, metric: bool, library: Library) -> Iterator[tuple[str, Entry]]:
    grown = sorted(c.name for c in library.crops.values() if c.kind == "grown")
    goods = sorted(c.name for c in library.crops.values() if c.kind == "bought")
    planted = draw.sample(grown, draw.randint(2, 7))
    bought = draw.sample(goods, draw.choice((0, 0, 1, 2)))
    for name in planted:
        for _ in range(draw.choice((1, 1, 2))):
            yield "[[planting]]", _planting(draw, library.crops[name], metric)
    for name in bought:
        yield (
            "[[bought]]",
            {
                "item": name,
                "amount": _mass(draw.choice((1500, 4000)), metric),
                "on": dt.date(YEAR, 6, 5) + dt.timedelta(days=draw.randint(0, 90)),
                "keeps": draw.choice((None, None, "3 days", "12 weeks")),
            },
        )
    for name in planted:
        if draw.random() < 0.4:
            per_week = _mass(draw.choice((400, 1500)), metric)
            yield "[[fresh]]", {"crop": name, "per_week": per_week}
    foods = [library.crops[name] for name in (*planted, *bought)]
    pairs = [(crop.name, product.form) for crop in foods for product in crop.products]
    for crop, form in draw.sample(pairs, min(len(pairs), draw.randint(3, 9))):
        yield from _want(draw, f"{crop}, {form}", metric)


def _planting(draw: random.Random, crop: Crop, metric: bool) -> Entry:
    assert crop.growth is not None
    perennial = crop.growth.clock == "biofix"
    day = dt.date(YEAR, draw.choice((4, 5, 5, 6)), draw.randint(1, 28))
    if perennial:
        day = day.replace(year=YEAR - draw.randint(3, 8))
    place: Entry = draw.choice(
        ({"plants": draw.randint(1, 12)}, {"row": f"{draw.randint(2, 12)} m"}, {"area": "4x10 ft"})
    )
    sown = "sown" if crop.growth.clock == "sown" else "set_out"
    given = {"yield": _mass(draw.choice((2000, 9000)), metric)} if draw.random() < 0.3 else {}
    return {"crop": crop.name, **place, sown: day, **given}


def _want(draw: random.Random, product: str, metric: bool) -> Iterator[tuple[str, Entry]]:
    portion = _mass(draw.choice((150, 340, 450)), metric)
    drawn = draw.random() < 0.5
    yield (
        "[[want]]",
        {
            "product": product,
            "portions": draw.choice((0, 3, 8, 16, 40)),
            "portion": portion,
            "priority": draw.choice((1, 1, 2.5)),
            "per_week": draw.choice((0.5, 1, 3)) if drawn else None,
            "from": dt.date(YEAR, 9, 1) if drawn and draw.random() < 0.5 else None,
        },
    )
    if draw.random() < 0.25:
        yield (
            "[[stored]]",
            {
                "product": product,
                "portions": draw.randint(0, 5),
                "portion": portion,
                "frozen_on": dt.date(YEAR - 1, 9, 3),
            },
        )
