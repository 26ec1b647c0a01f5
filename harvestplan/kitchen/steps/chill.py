"""Chilling cooked or puréed food in shallow pans that stand in ice water."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.heat import still_share_left, stirred_cooling_seconds, stirred_to
from harvestplan.kitchen.ice import ice_grams
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.soaked import water_share
from harvestplan.kitchen.steps.cool import ice_words
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import (
    Amount,
    Beside,
    ChainStep,
    StepTime,
    done_in,
    work_seconds,
)
from harvestplan.kitchen.steps.stir import Stir, StirSettings
from harvestplan.plan.models import Task
from harvestplan.words import span, temperature

CHILL_SHARE = 0.5
"""Share of a cooling bath the pan takes; the rest is ice water (common practice, no source)."""
CHILL_DEPTH, CHILL_TO, CHILL_BATH = 0.0381, 5.0, 0.5
"""Shallow pan 1 1/2 in deep (2 in at the most where food is thick: snhd-cool), down to 41 °F, in
ice water."""
WARM_END = (70 - 32) / 1.8
"""Where the first stage of the two-stage rule ends, °C: 135 to 70 °F in 2 h, to 41 °F in 4 h more
(snhd-cool)."""
TURN, TURN_STIRRED = 600, 60
"""Seconds from one turn of stirring to the next in the second stage (every 10 min: snhd-cool), and
how long each lasts (own judgement)."""
HOT, ROOM = 95.0, 20.0
"""Temperature in °C of food that was cooked, and of food that only stood in the room."""


@dataclass(frozen=True, kw_only=True)
class ChillSettings(Settings):
    """Time in min, the temperature in °C to reach, ice in g."""

    minutes: float | None
    to_c: float | None
    ice_g: int | None

    def timer(self) -> float:
        """Until it is cold."""
        return 60 * (self.minutes or 0.0)

    def ice(self) -> int:
        """What melts in the bath."""
        return int(self.ice_g or 0)


class Chill(ChainStep):
    """Cold enough for the fridge or the chamber; a second sitting may follow another day."""

    name = "chill"
    vessel = "bath"
    settings = ChillSettings
    controlled = True
    cools = True
    own_time = True
    unattended = True

    def stage_seconds(self, process: Process) -> float:
        """The first stage, down to 70 °F: what waits hot has as much less time."""
        return stages(process.cooked)[0]

    def beside(self, process: Process, amount: Amount) -> tuple[Beside, ...]:
        """The stirring: without a stop at first, then a turn every ten minutes. The hands of the
        turns are counted at the beginning, since each interrupts whatever else is done."""
        first, turns = stages(process.cooked)
        settings = StirSettings(
            stir_s=math.ceil(first) or None,
            to_c=round(WARM_END, 1) if first else None,
            every_s=TURN,
        )
        turn = StirSettings(stir_s=None, to_c=None, every_s=None)
        return (
            Beside(Stir.name, stir_seconds(process.cooked), 1, settings),
            *(
                Beside(Stir.name, TURN_STIRRED, 0, turn, at=first + n * TURN - TURN_STIRRED)
                for n in range(1, turns + 1)
            ),
        )

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The baths, as far as the pan takes them up."""
        if not kitchen.baths:
            raise CannotBeMade("there is no [[bath]] to chill in")
        return {bath.name: CHILL_SHARE * bath.volume for bath in kitchen.baths}

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """The computed time is the least; a crop file may ask for longer."""
        start = HOT if process.cooked else ROOM
        chill = max(chill_seconds(process.cooked), work_seconds(step, amount.grams))
        water = water_share(process.crop, process.product, self.name)
        ice = ice_grams(amount.grams, water, start, end=CHILL_TO)
        return StepTime(
            chill, ChillSettings(minutes=math.ceil(chill / 60), to_c=CHILL_TO, ice_g=ice)
        )

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Bath, temperature, time and ice."""
        known = ChillSettings.of(task)
        down = "" if known.to_c is None else f" down to {temperature(known.to_c, measures)}"
        time = "" if known.minutes is None else f", about {span(60 * known.minutes)}"
        depth = "4 cm" if measures == "metric" else "1 1/2 in"
        return (
            f"Chill {what} in shallow pans, {depth} deep, in ice water{done_in(task)}{down} by the "
            f"thermometer{time}{ice_words(known.ice_g, measures)}"
        )


@cache
def stages(cooked: bool) -> tuple[float, int]:
    """Seconds of stirring without a stop down to 70 °F, and turns of stirring from there to 41 °F;
    0 s for food that was never hot.

    Stirred as in `stirred_cooling_seconds`; between two turns the pan stands still and is cooled
    from below (`still_share_left`), every turn mixing it again.
    """
    start = HOT if cooked else ROOM
    first = 0.0
    if start > WARM_END:
        first = stirred_cooling_seconds(CHILL_DEPTH, start, WARM_END, bath=CHILL_BATH)
        start = WARM_END
    still = still_share_left(CHILL_DEPTH, TURN - TURN_STIRRED)
    left, turns = start - CHILL_BATH, 0
    while left > CHILL_TO - CHILL_BATH:
        after = CHILL_BATH + left * still
        left = stirred_to(CHILL_DEPTH, after, TURN_STIRRED, bath=CHILL_BATH) - CHILL_BATH
        turns += 1
    return first, turns


def chill_seconds(cooked: bool) -> float:
    """Seconds until a pan is down to 41 °F."""
    first, turns = stages(cooked)
    return first + turns * TURN


def stir_seconds(cooked: bool) -> float:
    """Seconds of it that take hands."""
    first, turns = stages(cooked)
    return first + turns * TURN_STIRRED


def waits_chilled(product: Product) -> bool:
    """Whether what a first sitting made waits in the fridge for the second."""
    return any(step.step == Chill.name and step.pause_limit for step in product.steps)


def chilled_volume(process: Process) -> float:
    """mL in the fridge between two sittings, per raw g; 0 where it does not wait there."""
    pause = process.pause
    if pause is None or not waits_chilled(process.product):
        return 0.0
    return process.share_before(pause + 1) / process.product.density.value
