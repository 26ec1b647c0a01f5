"""Sealing pouches in the machine."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.machine_settings import own_settings
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.sealing import cycles
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in
from harvestplan.plan.models import Task
from harvestplan.words import one_line, plural, span


@dataclass(frozen=True, kw_only=True)
class SealSettings(Settings):
    """Closings of the machine with their pouches; times in s, `machine_s` the machine's running
    time over all of them; what to watch."""

    cycles: int | None
    pouches: int | None
    per_cycle: int | None
    pump_down_s: int | float | None
    seal_s: float | None
    cycle_s: int | float | None
    machine_s: int | float | None
    note: str | None


class Seal(ChainStep):
    """The machine's cycles set the time, whatever a crop file says."""

    name = "seal"
    scope = "table"
    vessel = "sealer"
    settings = SealSettings
    own_time = True

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The machines; what is more than a cycle takes goes in after it."""
        if kitchen.sealer is None:
            raise CannotBeMade("there is no [sealer] in the kitchen")
        return dict.fromkeys(kitchen.sealer.units, math.inf)

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """So many cycles with the household's own settings."""
        packing, sealer = process.packing, process.kitchen.sealer
        assert sealer is not None
        tries = process.kitchen.tries.get(process.name, ())
        cycle = own_settings(process.product, packing.pouch, tries)
        count = cycles(amount.pouches, packing.per_cycle)
        each = cycle.seconds(sealer, packing.per_cycle)
        settings = SealSettings(
            cycles=count,
            pouches=amount.pouches,
            per_cycle=packing.per_cycle,
            pump_down_s=round(cycle.pump_down),
            seal_s=round(cycle.seal, 1),
            cycle_s=math.ceil(each),
            machine_s=math.ceil(count * cycle.machine_seconds()),
            note=cycle.note,
        )
        return StepTime(count * each, settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Cycles, settings, what to watch."""
        known = SealSettings.of(task)
        words = f"Seal {what}{done_in(task, 'with')}"
        if known.pouches is not None:
            words += f": {plural(known.pouches, 'pouch', 'pouches')}"
        if known.cycles is not None:
            words += f" in {plural(known.cycles, 'cycle')}"
        if known.per_cycle is not None:
            words += f", {known.per_cycle} at a time"
        settings = {"pump-down": known.pump_down_s, "seal": known.seal_s, "a cycle": known.cycle_s}
        for name, seconds in settings.items():
            words += "" if seconds is None else f", {name} {span(seconds)}"
        note = one_line(known.note or "").rstrip(".")
        return f"{words}; {note}" if note else words
