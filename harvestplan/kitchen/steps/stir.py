"""Stirring hot food in its pans of ice water: what makes it cold in time."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task
from harvestplan.words import about_span, span, temperature


@dataclass(frozen=True, kw_only=True)
class StirSettings(Settings):
    """Seconds without a stop, the temperature in °C that ends them, seconds between two turns of
    stirring after that."""

    stir_s: int | None
    to_c: float | None
    every_s: int | None


class Stir(SessionStep):
    """The pans kept in motion, with hands, while the food is hottest."""

    name = "stir"
    settings = StirSettings
    own_time = True

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """How long, to which temperature, and how often from then on."""
        known = StirSettings.of(task)
        words = f"Stir {what} in the pans"
        if not known.every_s:
            return f"{words} for a minute, down to the bottom"
        if known.stir_s and known.to_c is not None:
            words += (
                f" without a stop until the thermometer says {temperature(known.to_c, measures)}"
                f" (about {about_span(known.stir_s)})"
            )
        if known.every_s:
            words += f"; from then on a minute every {span(known.every_s)}, until it is cold"
        return words
