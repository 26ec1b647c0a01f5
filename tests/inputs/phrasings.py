"""Phrasings with the readings wanted, and what is read of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.season import Home
from harvestplan.inputs.season_kitchen import Freezer, Pot, Sealer
from harvestplan.inputs.spoken.said_amounts import read_amount
from harvestplan.inputs.spoken.said_dates import read_date, read_month_day
from harvestplan.inputs.spoken.said_foods import library_foods
from harvestplan.inputs.spoken.said_hours import read_hours
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season import read_answers
from harvestplan.records.names import Names
from harvestplan.records.phrases import read_event

DATA = Path(__file__).parent.parent / "data"
TODAY = dt.date(2027, 7, 15)
LIBRARY = load_library()
FOODS = library_foods(LIBRARY)
MODELS = {"pot": (Pot, "volume"), "freezer": (Freezer, "volume"), "burner": (Pot, "power"),
          "bar": (Sealer, "bar"), "altitude": (Home, "altitude")}  # fmt: skip
GROWN = ("snap bean", "tomato", "sweet corn", "summer squash")


@dataclass(frozen=True)
class Phrasing:
    kind: str
    where: str
    said: str
    wanted: str


def phrasings(file: str) -> list[Phrasing]:
    lines = (DATA / file).read_text(encoding="utf-8").splitlines()
    return [Phrasing(*line.split("|")) for line in lines if line and line[0] != "#"]


def _date(p: Phrasing) -> str:
    toward, _, near = p.where.partition(" ")
    day = read_date(p.said, TODAY, toward, dt.date.fromisoformat(near) if near else None)  # type: ignore[arg-type]
    return day.isoformat()


def _amount(p: Phrasing) -> str:
    measures, kind, *key = p.where.split()
    if key:
        model, name = MODELS[key[0]]
        text, _ = read_answers.amount(p.said, kind, model, key=name, whose=measures)  # type: ignore[arg-type]
        quantity = read_quantity(text, kind, measures)  # type: ignore[arg-type]
    else:
        quantity, _ = read_amount(p.said, kind, measures)  # type: ignore[arg-type]
    return f"{quantity.value:.6g}"


def _grown(p: Phrasing) -> str:
    crop, basis, size, _ = read_answers.grown(p.said, LIBRARY, p.where)
    if basis == "plants":
        return f"{crop} plants {size}"
    value = read_quantity(size, "length" if basis == "row" else "area", p.where).value
    return f"{crop} {basis} {value:.4g}"


def _wanted(p: Phrasing) -> str:
    want, _ = read_answers.wanted(p.said, LIBRARY, p.where, before=())
    size = read_quantity(want.portion, ("mass", "volume"), p.where)
    unit = "g" if size.kind == "mass" else "mL"
    return f"{want.product} {want.portions} {size.value:.5g} {unit}"


def _line(p: Phrasing) -> str:
    names = Names(FOODS.crops, FOODS.products, {each: each for each in GROWN}, p.where)
    verb, _, rest = p.said.partition(" ")
    event = read_event(verb, rest, names, head=(TODAY, "", 1))
    food = next(v for k in ("crop", "product", "name") if (v := getattr(event, k, None)))
    amount = getattr(event, "amount", None)
    portions = getattr(event, "portions", None)
    if amount is not None:
        return f"{food} {amount.value:.6g} {'g' if amount.kind == 'mass' else 'mL'}"
    return f"{food} {portions}" if portions is not None else food


READERS: dict[str, Callable[[Phrasing], str | None]] = {
    "D": _date,
    "M": lambda p: "{:02}-{:02}".format(*read_month_day(p.said)),
    "W": lambda p: "; ".join(map(str, read_hours(p.said))),
    "Q": _amount,
    "C": lambda p: FOODS.crop(p.said),
    "P": lambda p: FOODS.product(p.said),
    "G": _grown,
    "N": _wanted,
    "R": _line,
}


def reading(p: Phrasing) -> str:
    """What is read: the reading, "? a / b" for a question, "!" for a refusal."""
    try:
        found = READERS[p.kind](p)
    except Unclear as error:
        return f"? {' / '.join(error.choices)}" if error.choices else "!"
    return found if found is not None else "!"


def verdict(p: Phrasing) -> str:
    """ "right", "asked" where a question or refusal stands for a reading, or "wrong"."""
    found = reading(p)
    if " / " in p.wanted:  # a question with both readings, not a refusal
        return "right" if " / " in found and found[0] == "?" else "wrong"
    if p.wanted.startswith(("?", "!")):
        return "right" if found.startswith(("?", "!")) else "wrong"
    if found.startswith(("?", "!")):
        return "asked"
    return "right" if _same(found, p.wanted) else "wrong"


def _same(found: str, wanted: str) -> bool:
    one, other = found.split(), wanted.split()
    if len(other) == len(one) + 1 and other[-1] in ("g", "mL", "W", "m", "s"):
        other = other[:-1]
    return len(one) == len(other) and all(map(_alike, one, other))


def _alike(one: str, other: str) -> bool:
    try:
        return abs(float(one) - float(other)) <= 2e-3 * abs(float(other))
    except ValueError:
        return one == other
