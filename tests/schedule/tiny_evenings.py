"""Tiny evenings, put together food by food or drawn, and laid out by all three ways."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from itertools import pairwise
from random import Random

from benchmarks.judged_times import faults
from schedule.kitchen_by_trying import shortest_by_trying

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TICK, Food, Link, TaskSpec
from harvestplan.schedule.session.list_schedule import list_schedule
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import (
    DoesNotFit,
    OnePotful,
    RunTasks,
    SessionTasks,
    SessionTimes,
)

KETTLE, POT = "kettle", "pot"


def task(key: str, ticks: int, hands: int = 0, units: Sequence[str] = ()) -> TaskSpec:
    return TaskSpec(key, "work", None, ticks * TICK, hands, units=tuple(units), grams=0)


def filling(pot: str, number: int, steam: bool = False, heat: int = 2) -> Filling:
    """A tick of hands to fill, `heat` to the boil, a tick of hands to empty."""

    def on(name: str, ticks: int, hands: int) -> TaskSpec:
        return task(f"{name}:{pot}:{number}", ticks, hands, [pot])

    return Filling(
        pot, number, steam, fill=on("fill", 1, 1), heat=on("heat", heat, 0), empty=on("empty", 1, 1)
    )


@dataclasses.dataclass
class Evening:
    """A session put together food by food."""

    hands: int = 1
    ticks: int = 24
    pots: tuple[str, ...] = (POT,)
    waters: int = 2
    steams: int = 0
    heat: int = 2
    tasks: list[TaskSpec] = dataclasses.field(default_factory=list)
    links: list[Link] = dataclasses.field(default_factory=list)
    potfuls: dict[str, OnePotful] = dataclasses.field(default_factory=dict)
    runs: list[RunTasks] = dataclasses.field(default_factory=list)

    def blanch(
        self, key: str, ticks: int = 1, strength: int = 0, *, steam: bool = False, cool: int = 0,
        pots: Sequence[str] = (),
    ) -> None:  # fmt: skip
        """A potful, and where asked its cooling at once in the one basin."""
        ours = [task(key, ticks, 0, pots or self.pots)]
        if cool:
            ours.append(task(f"{key}, cooled", cool, 0, ["basin"]))
            self.links.append(Link(key, f"{key}, cooled", no_wait=True))
        self.potfuls[key] = OnePotful(steam, strength)
        self._add(ours, Food(key, strength))

    def cook(self, key: str, ticks: int = 2, pots: Sequence[str] = (), *, chill: int = 0) -> None:
        """Food cooked in an empty pot, and ladled out at once; where asked then chilled in the
        basin, stirred by hands in the first tick and turned in the last."""
        units = pots or self.pots
        out = f"{key}, out"
        self.links.append(Link(key, out, no_wait=True, same_unit=True))
        ours = [task(key, ticks, 0, units), task(out, 1, 1, units)]
        if chill:
            cold, stir, turn = (f"{key}, {word}" for word in ("chilled", "stirred", "turned"))
            ours += [task(cold, chill, 0, ["basin"]), task(stir, 1, 1), task(turn, 1, 0)]
            self.links += [
                Link(out, cold),
                Link(cold, stir, at_start=True),
                Link(cold, turn, at_start=True, lag=(chill - 1) * TICK),
            ]
        self._add(ours, Food(key))

    def pack(self, key: str, *ticks: int, raw: bool = False, eaten_raw: bool = False) -> None:
        """Work on the board, one task after the other; then what touches the board no more."""
        ours = [task(f"{key} {n}", each, 1) for n, each in enumerate(ticks)]
        last = task(f"{key}, frozen", 1, 0)
        self.links += [
            Link(one.key, two.key) for one, two in zip(ours, [*ours[1:], last], strict=True)
        ]
        food = Food(key, raw_meat=raw, eaten_raw=eaten_raw)
        self._add([*ours, last], food, [each.key for each in ours])

    def _add(self, tasks: list[TaskSpec], food: Food, open_at: Sequence[str] | None = None) -> None:
        keys = tuple(each.key for each in tasks)
        self.tasks += tasks
        self.runs.append(RunTasks(food, keys, keys if open_at is None else tuple(open_at)))

    def asked(self) -> SessionTasks:
        count = (self.waters, self.steams) if self.potfuls else (0, 0)
        raw = {run.food.raw_meat for run in self.runs}
        return SessionTasks(
            tuple(self.tasks),
            tuple(self.links),
            (),
            hands=self.hands,
            length=self.ticks * TICK,
            runs=tuple(self.runs),
            potfuls=self.potfuls,
            fillings=tuple(
                filling(pot, n + 1, n >= count[0], heat=self.heat)
                for pot in self.pots
                for n in range(sum(count))
            ),
            sanitising=task("sanitise", 2, 1) if len(raw) > 1 else None,
        )


def laid(asked: SessionTasks) -> int | None:
    """The shortest length in ticks: the minute model proves it, trying everything finds none that
    is shorter; the list schedule keeps every rule. None where there is none."""
    listed = list_schedule(asked, best=True)
    if listed is not None:
        assert faults(asked, listed) == []
    found = time_session(asked, effort=5.0)
    if isinstance(found, DoesNotFit):
        assert found.proven and listed is None
        assert shortest_by_trying(asked, asked.length) is None
        return None
    assert faults(asked, found.times) == []
    assert found.proven
    assert shortest_by_trying(asked, found.length - TICK) is None
    first = time_session(asked, improve=False)
    assert isinstance(first, SessionTimes) and faults(asked, first.times) == []
    assert first.bound <= found.length <= first.length
    return found.length // TICK


def drawn(seed: int) -> SessionTasks:
    """A tiny evening: a few potfuls, something cooked, something packed, meat."""
    draw = Random(seed)
    pots = draw.choice([(POT,), (POT, KETTLE)])
    evening = Evening(
        hands=draw.choice([1, 1, 2]),
        ticks=draw.randint(9, 22),
        pots=pots,
        waters=draw.randint(1, 4 - len(pots)),
        steams=draw.choice([0, 0, 1]),
        heat=draw.randint(1, 3),
    )
    for n in range(draw.randint(1, 5 if len(pots) == 1 else 3)):
        evening.blanch(
            f"b{n}",
            draw.randint(1, 2),
            draw.choice([0, 0, 1, 2]),
            steam=bool(evening.steams) and draw.random() < 0.4,
            cool=draw.choice([0, 0, 1, 2]),
            pots=draw.choice([pots, pots, pots[:1]]),
        )
    for n in range(draw.choice([0, 0, 1, 1, 2])):
        ticks, where = draw.randint(1, 3), draw.choice([pots, pots[:1]])
        if len(evening.tasks) < 6:
            few = len(evening.tasks) < 4
            evening.cook(f"c{n}", ticks, where, chill=draw.choice([0, 2, 3]) if few else 0)
    if len(evening.tasks) < 6 and draw.random() < 0.7:
        evening.pack("peas", draw.randint(1, 2), eaten_raw=draw.random() < 0.3)
    if len(evening.tasks) < 7 and draw.random() < 0.5:
        evening.pack("mince", *draw.choice([(1,), (2,), (1, 1)]), raw=True)
    runs = draw.sample(evening.runs, len(evening.runs))
    for one, two in pairwise(runs):
        if draw.random() < 0.3:
            evening.links.append(Link(draw.choice(one.keys), two.keys[0]))
    return evening.asked()
