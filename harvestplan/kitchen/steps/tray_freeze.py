"""Freezing loose pieces on trays, before they are packed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.inputs.crops import Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import area, span


@dataclass(frozen=True, kw_only=True)
class TrayFreezeSettings(Settings):
    """Where it freezes, area of the trays in cm², time in min."""

    freezer: str | None
    area_cm2: int | None
    minutes: float | None

    def timer(self) -> float:
        """Until it is hard."""
        return 60 * (self.minutes or 0.0)


class TrayFreeze(ChainStep):
    """One layer, so that it can be poured later; a second sitting may follow."""

    name = "tray freeze"
    settings = TrayFreezeSettings
    controlled = True
    cools = True
    freezes = True
    unattended = True

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        work = work_seconds(step, amount.grams)
        settings = TrayFreezeSettings(
            freezer=amount.freezer,
            area_cm2=tray_area(step, amount.grams),
            minutes=math.ceil(work / 60),
        )
        return StepTime(work, settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Area, freezer and time."""
        known = TrayFreezeSettings.of(task)
        words = f"Freeze {what} on trays in one layer"
        if known.area_cm2 is not None:
            words += f", {area(known.area_cm2, measures)}"
        words += f", in {known.freezer or ', '.join(task.equipment) or 'the freezer'}"
        return words + ("" if known.minutes is None else f": {span(60 * known.minutes)}")


def tray_area(step: Step, grams: float) -> int:
    """Area in cm² that `grams` take on trays in one layer; 0 where the step has no tray load."""
    return math.ceil((grams / step.tray_load.value if step.tray_load else 0.0) * 1e4)
