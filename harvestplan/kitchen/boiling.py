"""Pots brought to the boil, once for all that a session blanches in them."""

from __future__ import annotations

from collections.abc import Sequence

from harvestplan.kitchen.layout import TaskSpec, ticks
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.steps.blanch import Blanch, is_over_steam
from harvestplan.kitchen.steps.heat_pot import HeatPot, HeatSettings


def blanched_in(pot: Blancher, tasks: Sequence[TaskSpec]) -> list[TaskSpec]:
    """The tasks that may blanch in the pot."""
    return [task for task in tasks if task.step == Blanch.name and pot.name in task.units]


def heating(pot: Blancher, tasks: Sequence[TaskSpec]) -> TaskSpec | None:
    """Bringing the pot from cold to the boil for what the tasks blanch in it; None where nothing.

    Only where all of it is over steam is there no more water than the basket wants.
    """
    blanching = blanched_in(pot, tasks)
    if not blanching:
        return None
    water = pot.steam_water if all(map(is_over_steam, blanching)) else pot.water
    return TaskSpec(
        key=f"{HeatPot.name}:{pot.name}",
        step=HeatPot.name,
        batch=None,
        seconds=ticks(pot.heat_up_seconds(water)),
        hands=0,
        units=(pot.name,),
        grams=0,
        settings=HeatSettings(water_ml=round(water)).as_json(),
    )
