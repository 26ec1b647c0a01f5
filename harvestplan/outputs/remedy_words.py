"""What would help where something falls short, in plain words: for terminal and book."""

from __future__ import annotations

from harvestplan.plan.models import Plan
from harvestplan.plan.remedy import Remedy
from harvestplan.words import joined, one_line, plural, product_words


def remedy_lines(plan: Plan) -> list[str]:
    """A sentence for each small change that would help, the most worth first."""
    return [one_line(_told(remedy)) for remedy in plan.remedies]


def _told(remedy: Remedy) -> str:
    more = [each for each in remedy.brings if each.portions > 0]
    fewer = [each for each in remedy.brings if each.portions < 0]
    change = remedy.change[0].upper() + remedy.change[1:]
    foods = [
        f"{plural(each.portions, 'portion') if not number else each.portions} of "
        f"{product_words(each.product)}"
        for number, each in enumerate(more)
    ]
    told = f"{change} would bring {joined(foods)}"
    if fewer:
        less = [f"{-each.portions} of {product_words(each.product)}" for each in fewer]
        told += f", for {joined(less)} fewer"
    return told
