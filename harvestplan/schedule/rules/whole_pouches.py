"""Cuts for the season model: what food can be put by in a stretch of time, in whole pouches.

The runs of one product in the windows i to j can fill no more pouches than the lots they may take
of give, rounded down (a Chvátal-Gomory cut of rank one; Chvátal 1973, Discrete Mathematics 4:305).
Where lots spoil in the order in which they come, as those of one crop do, the rows of all stretches
hold exactly what can be filled (Hall's condition on intervals), and they describe it without parts
of a pouch: a stretch is a row of an interval matrix, which is totally unimodular (Fulkerson and
Gross 1965, Pacific Journal of Mathematics 15:835), so that with whole right-hand sides every corner
is whole. Without them the linear relaxation makes parts of a pouch in every window, and its bounds
are far off.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence

from harvestplan.schedule.rules.season_rows import SeasonRows

Span = tuple[int, int]
"""First and last of a product's windows, counted among its own."""


def limit_whole_pouches(season: SeasonRows) -> None:
    """Adds the rows of every product; of those that say no more than others, none."""
    problem = season.problem
    filled: dict[int, dict[int, Counter[int]]] = defaultdict(lambda: defaultdict(Counter))
    lots: dict[tuple[int, int], set[int]] = defaultdict(set)
    for (demand, window, _), options in season.groups.items():
        filled[demand][window].update(season.pouches[option.number] for option in options)
        if (part := season.part.get(options[0].number)) is not None:
            filled[demand][window][part] -= 1
        lots[demand, window] |= set(options[0].lots)
    for demand, by_window in filled.items():
        windows = sorted(by_window)
        process = problem.demands[demand].process
        most = _most([lots[demand, w] for w in windows], problem.free, process.pouches_of)
        for (first, last), pouches in _binding(most, problem.demands[demand].portions):
            terms: Counter[int] = Counter()
            for w in windows[first : last + 1]:
                terms.update(by_window[w])
            season.add("whole pouches", process.name, terms, most=pouches)


def _most(
    lots: Sequence[set[int]], free: Sequence[int], pouches_of: Callable[[int], int]
) -> dict[Span, int]:
    """Whole pouches that the lots within reach give, by first and last window."""
    most: dict[Span, int] = {}
    for first in range(len(lots)):
        within: set[int] = set()
        grams = 0
        for last in range(first, len(lots)):
            grams += sum(free[lot] for lot in lots[last] - within)
            within |= lots[last]
            most[first, last] = pouches_of(grams)
    return most


def _binding(most: Mapping[Span, int], wanted: int) -> list[tuple[Span, int]]:
    """Stretches that no two shorter ones side by side, and then no longer one, make needless."""
    alone: dict[int, list[Span]] = defaultdict(list)
    for (first, last), pouches in most.items():
        halves = (most[first, k] + most[k + 1, last] for k in range(first, last))
        if pouches < wanted and not any(both <= pouches for both in halves):
            alone[pouches].append((first, last))
    return [
        (span, pouches)
        for pouches, spans in alone.items()
        for span in spans
        if not any(_within(span, other) for other in spans)
    ]


def _within(span: Span, other: Span) -> bool:
    return span != other and other[0] <= span[0] and span[1] <= other[1]
