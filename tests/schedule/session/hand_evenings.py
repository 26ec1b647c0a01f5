"""Whole evenings worked by hand from published directions, and what such directions ask of one.

The table names the source of each line. The same rules are asked of it and of the program's
layouts, by names and times alone.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from places import DATA

TABLE = DATA / "evenings_by_hand.csv"
USES = 3
"""Potfuls to a kettle of water at the most: "two or three times" (ksu-mf1181)."""
STIRRED = 10.0
"""Minutes from one stirring of what chills in ice water to the next (snhd-cool)."""
GRACE = 1.0
"""Minutes by which a stirring may come late: as long as one takes (common practice)."""
MEAT = {"chicken piece"}


@dataclass(frozen=True)
class Line:
    """What is done from `start` to `end`, in minutes from the evening's start; `hands` at it.

    `food` is a crop's name; it and `batch` are empty for what belongs to the kitchen. `timer` is
    what a timer is set to.
    """

    start: float
    end: float
    hands: int
    step: str
    food: str
    batch: str
    vessel: str
    timer: float | None
    source: str = ""
    seen: bool = False

    def meets(self, other: Line) -> bool:
        return self.start < other.end and other.start < self.end


def evenings() -> dict[str, tuple[Line, ...]]:
    """The evenings of the table, each in the order of its lines."""
    found: dict[str, list[Line]] = {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            assert row["what"]
            assert row["why"]
            line = Line(
                float(row["start"]),
                float(row["end"]),
                1 if row["who"] == "cook" else 0,
                row["step"],
                row["food"],
                row["batch"],
                row["vessel"],
                float(row["timer"]) if row["timer"] else None,
                source=row["source"],
                seen=row["seen"] == "yes",
            )
            found.setdefault(row["evening"], []).append(line)
    return {name: tuple(lines) for name, lines in found.items()}


def in_two_places(lines: Sequence[Line], cooks: int = 1) -> Iterator[str]:
    """More hands at once than there are."""
    for line in lines:
        busy = sum(x.hands for x in lines if x.start <= line.start < x.end)
        if busy > cooks:
            yield f"{busy} pairs of hands at minute {line.start:g}"


def filled_twice(lines: Sequence[Line]) -> Iterator[str]:
    """Two things at once in one vessel, or a step that needs a basin without one."""
    for line in lines:
        if line.step in ("wash", "cool", "chill") and not line.vessel:
            yield f"{line.food} is {line.step}ed in no basin"
    held = [line for line in lines if line.vessel and line.vessel != "freezer"]
    for number, line in enumerate(held):
        for other in held[number + 1 :]:
            if line.vessel == other.vessel and line.meets(other):
                yield f"{line.step} and {other.step} at once in {line.vessel}"


def wrong_in_the_pot(lines: Sequence[Line], pot: str = "kettle") -> Iterator[str]:
    """Blanching in water that was not boiled there for it or was used too often; cooking in
    water."""
    uses: int | None = None  # of the water that boils in it; None without any
    full = False
    for line in sorted((x for x in lines if x.vessel == pot), key=lambda x: (x.start, x.end)):
        if line.step in ("empty", "change water"):
            uses, full = None, False
        elif line.step == "heat":
            if full:
                yield "water is put into a pot that holds something"
            uses, full = 0, True
        elif line.step == "blanch":
            if uses is None:
                yield f"{line.food} {line.batch} is blanched in no boiling water"
            elif uses >= USES:
                yield f"{line.food} {line.batch} is potful {uses + 1} of one water"
            uses = (uses or 0) + 1
        elif line.step == "simmer":
            if full:
                yield f"{line.food} is cooked in the water of other food"
            uses, full = None, True


def before_meat(lines: Sequence[Line]) -> Iterator[str]:
    """Other food worked on or packed after raw meat, without a cleaning between."""
    for meat in (line for line in lines if line.food in MEAT and line.hands):
        for other in lines:
            cleaned = any(
                x.step == "sanitise" and meat.end <= x.start and x.end <= other.start for x in lines
            )
            later = other.hands and other.start >= meat.start and not cleaned
            if later and other.food and other.food not in MEAT:
                yield f"{other.step} {other.food} after {meat.step} {meat.food}"


def left_unstirred(lines: Sequence[Line]) -> Iterator[str]:
    """Chilling food that nobody stirs for longer than the directions say."""
    for chill in (line for line in lines if line.step == "chill"):
        stirs = sorted(
            (line.start, line.end)
            for line in lines
            if line.step == "stir" and (line.food, line.batch) == (chill.food, chill.batch)
        )
        spans = [(chill.start, chill.start), *stirs, (chill.end, chill.end)]
        longest = max(after[0] - before[1] for before, after in pairwise(spans))
        if longest > STIRRED + GRACE:
            yield f"{chill.food} stands unstirred for {longest:g} min"


RULES = {
    "hands": in_two_places,
    "vessels": filled_twice,
    "pot": wrong_in_the_pot,
    "meat": before_meat,
    "stirring": left_unstirred,
}
