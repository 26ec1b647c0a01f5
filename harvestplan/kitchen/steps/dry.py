"""Drying in a dryer, long after the session that filled it."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in, work_seconds
from harvestplan.kitchen.steps.tray_freeze import tray_area
from harvestplan.plan.models import Task
from harvestplan.words import area, plural

CONDITIONING_DAYS = 7
"""Dried food stands loose in jars for 7 to 10 days, shaken daily, so that its moisture evens out,
before it is stored for long (NCHFP, from memory)."""
PASTEURISE = "only if it dried in the open: 48 h in the freezer, or 30 min at 160 °F (71 °C)"
"""Michigan State University Extension, msu97-0520; the freezer at 0 °F from memory."""


@dataclass(frozen=True, kw_only=True)
class DrySettings(Settings):
    """Hours in the dryer, area of its trays in cm², what comes before it is sealed."""

    hours: float | None
    area_cm2: int | None
    conditioning_days: int | None
    pasteurise: str | None


class Dry(ChainStep):
    """Laid out on trays; its task is the loading, the drying goes on by itself."""

    name = "dry"
    vessel = "dryer"
    settings = DrySettings
    controlled = True
    final = True
    cools = True
    filled_once = True

    def flaw(self, step: Step) -> str | None:
        """It needs hours, a load, what is left, and the wait until it is dry."""
        if step.time and step.tray_load and step.leaves and step.pause_least:
            return None
        return "dry needs time, tray_load, leaves and pause_least"

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The dryers, one layer on all their trays."""
        if not kitchen.dryers:
            raise CannotBeMade("there is no [[dryer]] to dry in")
        load = step.tray_load.value if step.tray_load else 0.0
        return {dryer.name: dryer.trays * dryer.tray_area * load for dryer in kitchen.dryers}

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """The loading."""
        assert step.time is not None
        settings = DrySettings(
            hours=round(step.time.value / 3600, 1),
            area_cm2=tray_area(step, amount.grams),
            conditioning_days=CONDITIONING_DAYS,
            pasteurise=PASTEURISE,
        )
        return StepTime(work_seconds(step, amount.grams), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Trays, hours, and what comes after."""
        known = DrySettings.of(task)
        words = f"Lay {what} on the trays{done_in(task, 'of')} in one layer"
        if known.area_cm2 is not None:
            words += f", {area(known.area_cm2, measures)}"
        if known.hours is not None:
            words += f"; it dries for about {known.hours:g} h, then cools"
        if known.conditioning_days is not None:
            days = plural(known.conditioning_days, "day")
            words += f"; until it is sealed {days} or more loose in closed jars, shaken daily"
        return words + (f"; pasteurise {known.pasteurise}" if known.pasteurise else "")
