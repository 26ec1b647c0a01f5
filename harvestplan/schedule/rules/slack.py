"""What the rows leave, as runs are written down one after the other.

For plans that are made step by step: by hand, or as an evening is filled up with what is there.
Only rows with a reason are asked; the others say what variables mean.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping

from harvestplan.schedule.rules.row import Row, RunLine
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.problem import Option


class Slack:
    """The runs written down so far, and what each row has left beside them.

    `but` names rules that are not asked.
    """

    def __init__(self, season: SeasonRows, but: Collection[str] = ()) -> None:
        self.season = season
        self.pouches: dict[int, int] = {}
        """Pouches by option number."""
        self._values: defaultdict[int, int] = defaultdict(int)
        self._rows = [row for row in season.rows if row.reason and row.rule not in but]
        self._weights: dict[int, list[tuple[int, int]]] = defaultdict(list)
        """By variable: each row that it counts in, by its place, and its weight there."""
        self._runs: dict[int, list[tuple[int, RunLine]]] = defaultdict(list)
        for place, row in enumerate(self._rows):
            for variable, weight in row.terms.items():
                self._weights[variable].append((place, weight))
            for run in row.runs:
                self._runs[run.option].append((place, run))
        self._totals: defaultdict[int, int] = defaultdict(int)
        for stock in season.stocks.values():
            self._settle(dict(stock.when_drawn(self._values)))

    def forbids(self, option: Option, pouches: int) -> Row | None:
        """The first row that leaves no room for so many pouches of the option in all, or None."""
        totals = self._moved(self._changes(option, pouches))
        for place, run in self._runs[option.number]:
            more = run.exactly(pouches) - run.exactly(self.pouches.get(option.number, 0))
            totals[place] = totals.get(place, 0) + more
        found = (place for place in sorted(totals) if self._breaks(place, totals[place]))
        return next((self._rows[place] for place in found), None)

    def most(self, option: Option, wanted: int) -> int:
        """How many pouches of the wanted the rows leave room for, those there included."""
        low, high = 0, max(0, min(wanted, option.most))
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (low, middle - 1) if self.forbids(option, middle) else (middle, high)
        return low

    def food_left(self, share: int, taken: Mapping[int, int]) -> int | None:
        """Grams that may still be taken by a share, beside those `taken` by others in the same
        run; None where no row counts it."""
        totals = self._moved({each: self._values[each] + grams for each, grams in taken.items()})
        rooms = [
            (most - self._totals[place] - totals.get(place, 0)) // weight
            for place, weight in self._weights[share]
            if (most := self._rows[place].most) is not None and weight > 0
        ]
        return max(0, min(rooms)) if rooms else None

    def put(self, option: Option, pouches: int, taken: Mapping[int, int] | None = None) -> None:
        """Writes down so many pouches of the option, in place of what it made, and the grams that
        shares take more."""
        for place, run in self._runs[option.number]:
            more = run.exactly(pouches) - run.exactly(self.pouches.get(option.number, 0))
            self._totals[place] += more
        self._settle(self._changes(option, pouches))
        self._settle({each: self._values[each] + grams for each, grams in (taken or {}).items()})
        self.pouches[option.number] = pouches

    def _changes(self, option: Option, pouches: int) -> dict[int, int]:
        """The variables that so many pouches of the option set anew."""
        season = self.season
        changes = {
            season.pouches[option.number]: pouches,
            season.made[option.number]: int(pouches > 0),
        }
        if pouches:
            changes |= {season.used[window]: 1 for window, _ in option.sittings()}
        if option.freezer is not None:
            stock = season.stocks.get((option.demand, option.freezer))
            if stock is not None:
                changes |= dict(stock.when_drawn({**self._values, **changes}))
        return changes

    def _settle(self, changes: Mapping[int, int]) -> None:
        for place, more in self._moved(changes).items():
            self._totals[place] += more
        self._values.update(changes)

    def _moved(self, changes: Mapping[int, int]) -> dict[int, int]:
        """By how much the changes move the total of each row that they touch."""
        totals: dict[int, int] = {}
        for variable, value in changes.items():
            if more := value - self._values[variable]:
                for place, weight in self._weights[variable]:
                    totals[place] = totals.get(place, 0) + weight * more
        return totals

    def _breaks(self, place: int, more: int) -> bool:
        """Whether the row is broken by it; one that was broken before and gets no worse is not."""
        most, total = self._rows[place].most, self._totals[place]
        return most is not None and more > 0 and total + more > most
