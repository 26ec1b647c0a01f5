"""From a choice to the values of all variables, and back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice, windows_used


def values_of(season: SeasonRows, choice: Choice) -> dict[int, int]:
    """The choice as values of pouches, switches, shares and windows, by variable number."""
    values: dict[int, int] = {}
    for option in season.problem.options:
        o = option.number
        values[season.pouches[o]] = choice.pouches.get(o, 0)
        values[season.made[o]] = int(o in choice.pouches)
    values.update(grams_of(season, choice))
    used = windows_used(season.problem, choice)
    for w, variable in enumerate(season.used):
        values[variable] = int(w in used)
    return values


def grams_of(season: SeasonRows, choice: Choice) -> Iterator[tuple[int, int]]:
    """Each share with its grams in the choice."""
    for options in season.groups.values():
        for lot in options[0].lots:
            taken = (choice.shares.get(o.number, {}).get(lot, 0) for o in options)
            yield season.share[options[0].number, lot], sum(taken)


def choice_of(season: SeasonRows, values: Sequence[int]) -> Choice:
    """The choice in the values of all variables."""
    options = season.problem.options
    pouches = {
        o.number: values[season.pouches[o.number]] for o in options if values[season.made[o.number]]
    }
    shares: dict[int, dict[int, int]] = {}
    for o in pouches:
        option = options[o]
        head = season.groups[option.demand, option.first, option.second][0].number
        grams = {lot: values[season.share[head, lot]] for lot in option.lots}
        shares[o] = {lot: taken for lot, taken in grams.items() if taken > 0}
    return Choice(pouches, shares)
