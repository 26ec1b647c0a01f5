"""Work of hands on the food itself: what is done, how the pieces are then, and those of other
sizes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from harvestplan.inputs.crops import Step
from harvestplan.inputs.figures import Figure
from harvestplan.inputs.measured_text import in_measures
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, PlainStep, StepTime, done_in, work_seconds
from harvestplan.plan.models import Task

FOOD = "…"
"""Where the food stands in a verb; else it follows."""


@dataclass(frozen=True, kw_only=True)
class HandSettings(Settings):
    """What hands do, how the pieces are then, what to do about others; lengths in braces."""

    verb: str | None = None
    size: str | None = None
    mixed: str | None = None


class HandStep(PlainStep):
    """Work that a crop file gives the minutes of, and its own word for."""

    settings = HandSettings
    by_hand = True
    usual_verb: ClassVar[str]
    """What the sheet says where a crop file has no word."""

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        settings = HandSettings(verb=step.verb, size=said(step.size), mixed=said(step.mixed))
        return StepTime(work_seconds(step, amount.grams, amount.rounds), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Like "Peel and dice potato (2 lb): cubes of 1/2 in"."""
        known = HandSettings.of(task)
        verb = known.verb or self.usual_verb
        told = verb.replace(FOOD, what) if FOOD in verb else f"{verb} {what}"
        words = f"{told[:1].upper()}{told[1:]}{done_in(task)}"
        if known.size is not None:
            words += f": {in_measures(known.size, measures)}"
        return words + mixed_words(known.mixed, measures)


def said(figure: Figure[str] | None) -> str | None:
    """The words of a figure, where there is one."""
    return None if figure is None else figure.value


def mixed_words(mixed: str | None, measures: Measures) -> str:
    """Like "; thin spears a minute less", or nothing."""
    return "" if mixed is None else f"; {in_measures(mixed, measures)}"
