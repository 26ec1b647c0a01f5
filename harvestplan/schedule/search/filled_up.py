"""Whether one more pouch fits an evening, and which limit says no: by the lines of `work` alone."""

from __future__ import annotations

from collections import defaultdict

from harvestplan.kitchen.layout import Sitting
from harvestplan.schedule.statement.freezer_burden import load_per_pouch
from harvestplan.schedule.statement.problem import DAY, Option, Problem
from harvestplan.schedule.statement.run_work import machine_seconds

HANDS, TIME, FREEZING = "hands", "time", "freezing in 24 hours"
SPACE, TRAYS, ANOTHER = "freezer space", "freezing trays", "another run of the same"


class FilledSessions:
    """The runs made on some evenings, added one by one; nothing is timed to the minute."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.pouches: dict[int, int] = {}
        """Pouches by option number."""
        self._in: dict[int, list[tuple[Option, Sitting]]] = defaultdict(list)

    def add(self, option: Option, pouches: int) -> None:
        """Makes so many pouches by the option, in place of what it made."""
        if option.number not in self.pouches:
            for window, sitting in option.sittings():
                self._in[window].append((option, sitting))
        self.pouches[option.number] = pouches

    def runs(self, window: int) -> list[tuple[Option, Sitting]]:
        """What is made in a window."""
        return self._in[window]

    def most(self, option: Option, wanted: int) -> int:
        """How many of the wanted pouches fit; none where they are not worth the pot."""
        wanted = min(wanted, option.most)
        while wanted > 0 and self.limit(option, wanted) is not None:
            wanted -= 1
        least = self.problem.demands[option.demand].least
        return wanted if wanted >= least else 0

    def limit(self, option: Option, pouches: int) -> str | None:
        """The limit that forbids the option so many pouches in all, or None."""
        for window, sitting in option.sittings():
            if found := self._in_window(option, pouches, window, sitting):
                return found
        if option.freezer is not None and (found := self._in_freezer(option, pouches)):
            return found
        return TIME if pouches > option.most else None

    def _in_window(self, option: Option, pouches: int, window: int, sitting: Sitting) -> str | None:
        problem = self.problem
        others = [run for run in self._in[window] if run[0].number != option.number]
        if any(o.demand == option.demand and s == sitting for o, s in others):
            return ANOTHER
        works = [problem.work_of(o, s, self.pouches[o.number]) for o, s in others]
        works.append(problem.work_of(option, sitting, pouches))
        room, hands = problem.length(window), problem.windows[window].hands
        if any(work.path > room for work in works):
            return TIME
        if sum(work.hand for work in works) > hands * room:
            return HANDS
        for index, machine in enumerate(problem.work.machines):
            if machine_seconds(works, index) > room:
                return " or ".join(sorted(machine))
        return None

    def _in_freezer(self, option: Option, pouches: int) -> str | None:
        problem, name = self.problem, option.freezer
        assert name is not None
        freezer = problem.kitchen.freezer(name)
        made = {**self.pouches, option.number: pouches}
        same = [
            (problem.options[o], n) for o, n in made.items() if problem.options[o].freezer == name
        ]
        processes = {o.number: problem.demands[o.demand].process for o, _ in same}
        space = int(freezer.used) + problem.opening.other.get(name, 0)
        for demand in problem.demands:
            stored = problem.opening.pouches.get((demand.process.name, name), 0)
            space += demand.process.packing.space * stored
        space += sum(processes[o.number].packing.space * n for o, n in same)
        if space > freezer.volume:
            return SPACE
        near = [(o, n) for o, n in same if self._within_a_day(o, option)]
        load = sum(load_per_pouch(processes[o.number]) * n for o, n in near)
        if load > problem.kitchen.freezing_limit(name):
            return FREEZING
        if freezer.tray_area is None:
            return None
        area = sum(
            (processes[o.number].packing.footprint + processes[o.number].loose_area) * n
            for o, n in near
        )
        return TRAYS if area > freezer.tray_area * 1e6 else None

    def _within_a_day(self, one: Option, other: Option) -> bool:
        """Whether what both freeze could meet within 24 hours."""
        first, last = sorted((one.packs_in, other.packs_in))
        return self.problem.windows[last].start < self.problem.windows[first].end + DAY
