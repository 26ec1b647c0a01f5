"""Freezing loose pieces on trays, before they are packed."""

from __future__ import annotations

import math
from collections.abc import Sequence
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
    """Where it freezes, area of the trays in cm², time in min until it is frozen."""

    freezer: str | None
    area_cm2: int | None
    minutes: float | None


class TrayFreeze(ChainStep):
    """One layer, so that it can be poured later. Its task is the laying in; it lies there until it
    is frozen (`kitchen.tray_times`) and is packed in a second sitting, but for what freezes so soon
    that the evening waits for it."""

    name = "tray freeze"
    settings = TrayFreezeSettings
    controlled = True
    cools = True
    freezes = True

    def flaw(self, step: Step) -> str | None:
        """It needs the pieces' size, a load, and how long they may lie there."""
        if step.piece and step.tray_load and step.pause_limit:
            return None
        return "tray freeze needs piece, tray_load and pause_limit"

    def misplaced(self, steps: Sequence[Step], index: int) -> str | None:
        """Food is put away once: on the trays."""
        if any(step.pause_limit for step in steps[:index]):
            return "no step before a tray freeze can have a pause_limit"
        return None

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """The laying in, as the crop file says; with the freezing where the evening waits."""
        work = work_seconds(step, amount.grams)
        frozen = step.pause_least.value if step.pause_least else work
        settings = TrayFreezeSettings(
            freezer=amount.freezer,
            area_cm2=tray_area(step, amount.grams),
            minutes=math.ceil(frozen / 60),
        )
        return StepTime(work, settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Area, freezer and time."""
        known = TrayFreezeSettings.of(task)
        words = f"Lay {what} on trays in one layer"
        if known.area_cm2 is not None:
            words += f", {area(known.area_cm2, measures)}"
        words += f", to freeze in {known.freezer or ', '.join(task.equipment) or 'the freezer'}"
        return words + ("" if known.minutes is None else f": about {_about(known.minutes)}")


def _about(minutes: float) -> str:
    """Computed times are a third too long or too short: hours from two hours on."""
    return f"{minutes / 60:.0f} h" if minutes >= 120 else span(60 * minutes)


def tray_area(step: Step, grams: float) -> int:
    """Area in cm² that `grams` take on trays in one layer; 0 where the step has no tray load."""
    return math.ceil((grams / step.tray_load.value if step.tray_load else 0.0) * 1e4)
