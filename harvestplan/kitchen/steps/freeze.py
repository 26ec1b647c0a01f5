"""Freezing the filled pouches, laid flat."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.inputs.crops import Step
from harvestplan.inputs.measured_text import in_measures
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import area, packs


@dataclass(frozen=True, kw_only=True)
class FreezeSettings(Settings):
    """So many pouches in a freezer: space in mL, food in g, area in cm², hours until hard; no area
    and no hours for what is frozen already."""

    pouches: int | None
    freezer: str | None
    volume_ml: int | None
    grams: int | None
    area_cm2: int | None
    hours: float | None
    kind: str | None = None
    """What kind of containers, where hands close them."""


class Freeze(ChainStep):
    """The pouches laid in the freezer."""

    name = "freeze"
    scope = "table"
    closed = True
    settings = FreezeSettings
    controlled = True
    final = True
    cools = True
    freezes = True

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says; the freezing goes on by itself."""
        packing, frozen = process.packing, process.loose_area > 0
        settings = FreezeSettings(
            pouches=amount.pouches,
            freezer=amount.freezer,
            volume_ml=packing.space * amount.pouches,
            grams=round(amount.grams),
            area_cm2=0 if frozen else math.ceil(packing.footprint * amount.pouches / 100),
            hours=0.0 if frozen else round(process.freezing_hours(), 1),
            kind=packing.pouch.kind if packing.pouch.by_hand else None,
        )
        return StepTime(work_seconds(step, amount.grams, amount.rounds), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Pouches, freezer, area and hours."""
        known = FreezeSettings.of(task)
        count = known.pouches
        pouches = "" if count is None else f"{packs(count, known.kind)} of "
        where = known.freezer or ", ".join(task.equipment) or "the freezer"
        if known.hours == 0:
            return f"Put {pouches}{what} back into {where} at once, frozen as it is"
        apart = in_measures("{1 in}", measures)
        words = f"Lay {pouches}{what} flat in {where}, one layer, {apart} apart, until hard"
        if known.kind == "box":
            words = f"Stand {pouches}{what} in {where}, with gaps, not stacked until hard"
        words += "" if known.area_cm2 is None else f", {area(known.area_cm2, measures)}"
        # Computed hours are a third too long or too short.
        return words + ("" if known.hours is None else f": about {known.hours:.0f} h")
