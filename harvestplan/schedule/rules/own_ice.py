"""The ice that windows need, where the household makes it in its freezer the day before."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter

from harvestplan.kitchen.ice import freezing_load, ice_space
from harvestplan.kitchen.layout import Sitting
from harvestplan.kitchen.steps.all_steps import ice_of
from harvestplan.plan.spans import DAY
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.freezer_burden import ice_freezer, ice_made
from harvestplan.schedule.statement.problem import Option, Problem

SLACK = 2
"""Grams of ice per pouch for batches that are rounded up on their own."""


class OwnIce:
    """Ice by window; nothing where it is bought. `freezer` is where it is made."""

    def __init__(self, season: SeasonRows) -> None:
        problem = season.problem
        self.problem = problem
        self.freezer = ice_freezer(problem.season)
        self.needs: dict[int, list[tuple[int, int]]] = {}
        """By window: grams a pouch, and the number of the variable of the pouches."""
        self.kept = ice_made(problem.history.sessions, problem.as_of) if self.freezer else []
        if self.freezer is None:
            return
        for window, runs in season.by_window.items():
            if problem.windows[window].start.date() <= problem.as_of:
                continue  # today's is made already
            needs = [(ice_per_pouch(problem, *run), season.pouches[run[0].number]) for run in runs]
            self.needs[window] = [(grams, pouches) for grams, pouches in needs if grams]

    def made_at(self, window: int) -> dt.datetime:
        """When it begins to freeze."""
        return self.problem.windows[window].start - DAY

    def load(self, window: int) -> Counter[int]:
        """Grams of fresh food that burden the freezer as much as the window's ice."""
        found: Counter[int] = Counter()
        for grams, pouches in self.needs.get(window, ()):
            found[pouches] += math.ceil(freezing_load(grams)) + 1
        return found

    def days(self, freezer: str) -> set[dt.date]:
        """Days on which ice lies in the freezer."""
        if freezer != self.freezer:
            return set()
        coming = {self.made_at(window).date() for window, needs in self.needs.items() if needs}
        return coming | {each.day for each in self.kept}

    def space(self, freezer: str, day: dt.date) -> tuple[Counter[int], int]:
        """Space in mL of ice in the freezer on a day: of windows, and of kept sessions."""
        coming: Counter[int] = Counter()
        if freezer != self.freezer:
            return coming, 0
        for window, needs in self.needs.items():
            if self.made_at(window).date() == day:
                for grams, pouches in needs:
                    coming[pouches] += ice_space(grams)
        return coming, sum(each.space for each in self.kept if each.day == day)


def ice_per_pouch(problem: Problem, option: Option, sitting: Sitting) -> int:
    """The most grams of ice per pouch that such a run asks for, whatever its size."""
    most = 0.0
    for pouches in range(1, option.most + 1):
        raw = problem.work.raw(option.demand, pouches)
        layout = problem.work.layout(option.demand, sitting, raw, pouches=pouches, freezer=None)
        grams = sum(map(ice_of, layout.tasks))
        most = max(most, grams / pouches)
    return math.ceil(most) + SLACK if most else 0
