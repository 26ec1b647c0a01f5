"""Pots filled with water, brought to the boil and emptied: what blanching needs of a kitchen.

A filling serves a few potfuls and is then changed. Food that is cooked needs an empty pot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.kitchen.layout import TaskSpec, ticks
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.steps.blanch import MOST_POTFULS, Blanch, is_over_steam
from harvestplan.kitchen.steps.empty import WATER, Empty, EmptySettings
from harvestplan.kitchen.steps.fill import Fill, FillSettings, jug_seconds
from harvestplan.kitchen.steps.heat_pot import HeatPot, HeatSettings


@dataclass(frozen=True)
class Filling:
    """One filling of a pot that may be made: its three tasks, and for which kind of potful.

    `fill` and `heat` follow each other at once; `empty` is there where the pot is used again.
    """

    pot: str
    number: int
    steam: bool
    fill: TaskSpec
    heat: TaskSpec
    empty: TaskSpec

    @property
    def tasks(self) -> tuple[TaskSpec, TaskSpec, TaskSpec]:
        return self.fill, self.heat, self.empty


def blanched_in(pot: Blancher, tasks: Sequence[TaskSpec]) -> list[TaskSpec]:
    """The tasks that may blanch in the pot."""
    return [task for task in tasks if task.step == Blanch.name and pot.name in task.units]


def fillings(pot: Blancher, tasks: Sequence[TaskSpec], *, at_least: int = 0) -> list[Filling]:
    """The fillings that the pot may have for what the tasks blanch, over steam and in water apart;
    their numbers run on.

    As few as serve all potfuls, and one more where something is cooked in the pot as well, so that
    there may be water before it and after it.
    """
    potfuls = blanched_in(pot, tasks)
    cooked = any(task.step != Blanch.name and pot.name in task.units for task in tasks)
    found: list[Filling] = []
    for steam in (False, True):
        count = sum(is_over_steam(task) == steam for task in potfuls)
        if count:
            most = min(count, math.ceil(count / MOST_POTFULS) + cooked)
            found += [filling(pot, len(found) + n + 1, steam) for n in range(most)]
    if found and at_least > len(found):
        steam = found[-1].steam
        found += [filling(pot, n, steam) for n in range(len(found) + 1, at_least + 1)]
    return found


def filling(pot: Blancher, number: int, steam: bool) -> Filling:
    """The pot's filling of that number; over steam with no more water than the basket wants."""
    water = pot.steam_water if steam else pot.water
    jug = ticks(jug_seconds(water))

    def task(step: str, seconds: int, hands: int, settings: dict[str, object]) -> TaskSpec:
        return TaskSpec(
            key=f"{step}:{pot.name}:{number}",
            step=step,
            batch=None,
            seconds=seconds,
            hands=hands,
            units=(pot.name,),
            grams=0,
            settings=settings,
        )

    amount = round(water)
    heat = ticks(pot.heat_up_seconds(water))
    return Filling(
        pot.name,
        number,
        steam,
        fill=task(Fill.name, jug, 1, FillSettings(water_ml=amount).as_json()),
        heat=task(HeatPot.name, heat, 0, HeatSettings(water_ml=amount).as_json()),
        empty=task(Empty.name, jug, 1, EmptySettings(held=WATER).as_json()),
    )
