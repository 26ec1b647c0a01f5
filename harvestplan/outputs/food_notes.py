"""What labels, sheets and reminders say of a food for safety's sake."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass

from harvestplan.inputs.crops import Crop, Library, Product
from harvestplan.inputs.dates import MONTHS
from harvestplan.kitchen.hazards import (
    DECLARE,
    FLESH,
    UNDECLARED,
    allergens_of,
    classes_of,
    is_reheated,
)
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.plan.models import Plan
from harvestplan.words import joined, month, one_line, plural, product_words

REHEAT = "Reheat to 165 °F (74 °C)"
"""USDA, fsis-reheat."""
COLDER = "Keep below 38 °F (3 °C)"
"""Sealed fish in the refrigerator: University of Alaska Fairbanks, uaf-vacfish."""


def best_words(product: Product, made: dt.date, keeps: dt.timedelta) -> str:
    """By when it is to be eaten: to the day in the refrigerator, to the month elsewhere."""
    by = made + keeps
    if product.storage == "fridge":
        return f"Eat or freeze by {by.day} {month(by)}"
    return f"Best before {month(by)}"


def best_on_label(product: Product, made: dt.date, keeps: dt.timedelta) -> str:
    """The same, short enough for the narrowest label."""
    by = made + keeps
    if product.storage == "fridge":
        return f"Use by {full_date(by)}"
    return f"Best before {short_month(by)}"


def full_date(date: dt.date) -> str:
    """Like "8 Sep 2027"."""
    return f"{date.day} {short_month(date)}"


def short_month(date: dt.date) -> str:
    """Like "Sep 2027"."""
    return f"{MONTHS[date.month - 1][:3]} {date.year}"


def label_notes(crop: Crop, product: Product) -> list[str]:
    """Allergens first, then how cold it is kept and how hot it is made again."""
    allergens = allergens_of(crop, product)
    notes = [f"Contains {joined(allergens)}"] if allergens else []
    if is_reheated(crop, product):
        return [*notes, REHEAT]
    fish = classes_of(crop, product) & {"raw fish", "smoked fish"}
    return [*notes, COLDER] if fish and product.storage == "fridge" else notes


def sheet_notes(crop: Crop, product: Product) -> list[str]:
    """The label's as sentences, and what the sitting itself must mind."""
    notes = [f"{note}." for note in label_notes(crop, product)]
    classes = classes_of(crop, product)
    if classes & FLESH and any(step.step == Dry.name for step in product.steps):
        notes.append(
            "Measure it before it goes into the dryer: meat and fish 160 °F (71 °C) inside, "
            "poultry 165 °F (74 °C)."
        )
    if UNDECLARED in classes:
        notes.append(f"{DECLARE[0].upper()}{DECLARE[1:]}.")
    return notes


@dataclass(frozen=True)
class Chilled:
    """Pouches in the refrigerator of one session; `product` is the full name."""

    product: str
    pouches: int
    made: dt.date

    @property
    def words(self) -> str:
        """Like "mince, for the fridge, 2 pouches of 6 Jul 2027"."""
        count = plural(self.pouches, "pouch", "pouches")
        return one_line(f"{product_words(self.product)}, {count} of {full_date(self.made)}")


def eat_or_freeze(plan: Plan, library: Library) -> dict[dt.date, list[Chilled]]:
    """What of the plan lies in the refrigerator, by the last day on which it is eaten or frozen."""
    found: dict[dt.date, list[Chilled]] = defaultdict(list)
    for session in plan.sessions:
        made = session.start.date()
        for run in session.runs if session.live else ():
            known = library.find_product(run.product)
            if known is None or known[1].storage != "fridge" or not run.pouches:
                continue
            by = made + dt.timedelta(seconds=known[1].keeps.value)
            found[by].append(Chilled(run.product, run.pouches, made))
    return dict(found)
