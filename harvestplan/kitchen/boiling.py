"""Pots brought to the boil, once for all that a session blanches in them."""

from __future__ import annotations

from collections.abc import Sequence

from harvestplan.kitchen.layout import TaskSpec, ticks
from harvestplan.kitchen.pot import Blancher


def blanched_in(pot: Blancher, tasks: Sequence[TaskSpec]) -> list[TaskSpec]:
    """The tasks that may blanch in the pot."""
    return [task for task in tasks if task.step == "blanch" and pot.name in task.units]


def heating(pot: Blancher, tasks: Sequence[TaskSpec]) -> TaskSpec | None:
    """Bringing the pot from cold to the boil for what the tasks blanch in it; None where nothing.

    Only where all of it is over steam is there no more water than the basket wants.
    """
    blanching = blanched_in(pot, tasks)
    if not blanching:
        return None
    steaming = all(task.settings.get("over") == "steam" for task in blanching)
    water = pot.steam_water if steaming else pot.water
    return TaskSpec(
        f"heat:{pot.name}", "heat", None, ticks(pot.heat_up_seconds(water)), 0, (pot.name,), 0,
        {"water_ml": round(water)},
    )  # fmt: skip
