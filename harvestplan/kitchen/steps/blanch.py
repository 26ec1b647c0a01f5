"""Blanching, in boiling water or over steam."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.pot import blanch_seconds
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steaming import over_steam
from harvestplan.kitchen.steps.hand_work import mixed_words, said
from harvestplan.kitchen.steps.settings import Settings, Told
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import about_span, at_most, span, volume

MOST_POTFULS = 3
"""Potfuls that one water serves: it is used two or three times (ksu-mf1181)."""
STRENGTH = {"mild": 0, "strong": 1, "colours": 2}
"""What goes into the same water later has a higher number."""
STEAM = "steam"
STEAM_FLAW = "steam belongs to blanch, and needs the piece that lies in one layer"


@dataclass(frozen=True, kw_only=True)
class BlanchSettings(Settings):
    """`over` "steam" or None; times in s, from where the `clock` starts; water in mL; the most food
    in g that the smallest of its pots takes; what to do about pieces of other sizes."""

    over: str | None = None
    clock: str | None
    return_s: int | None = None
    blanch_s: int | float | None
    water_ml: int | None
    pot_limit_g: int | None
    mixed: str | None = None

    def timer(self) -> float:
        """The blanching itself."""
        return self.blanch_s or 0.0

    def water(self) -> float:
        """All that the pot is filled with; what boils below a basket touches no food."""
        return 0.0 if self.over == STEAM else float(self.water_ml or 0)


class Blanch(ChainStep):
    """A short time in the heat that stops what makes raw food age."""

    name = "blanch"
    vessel = "pot"
    settings = BlanchSettings
    controlled = True
    heats = True
    boils = True
    keeps_water = True
    own_time = True

    def flaw(self, step: Step) -> str | None:
        """It needs its time; and steam a piece that tells how deep a layer is."""
        if not (step.time and step.clock and step.water):
            return "blanch needs time, clock and water"
        return STEAM_FLAW if step.steam and not step.piece else None

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The pots, over steam those with a basket."""
        found = {pot.name: pot.limit_grams(step, crop, product) for pot in kitchen.pots}
        if over_steam(step):
            found = {name: grams for name, grams in found.items() if grams >= 1}
            if not found:
                raise CannotBeMade("no [[pot]] has a basket to steam in")
        if not found:
            raise CannotBeMade("there is no [[pot]] to blanch in")
        return found

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """The return to the boil in the slowest pot, and the blanching, altitude included."""
        grams, water_share = amount.grams, process.crop.water_share.value
        pots = [process.kitchen.pot(name) for name in process.vessels[self.name]]
        back = max(p.return_seconds(grams, water_share, step.piece) for p in pots)
        blanch = blanch_seconds(step, process.kitchen.altitude)
        steam = over_steam(step)
        settings = BlanchSettings(
            over=STEAM if steam else None,
            clock=step.clock,
            return_s=None if steam else math.ceil(back),
            blanch_s=round(blanch),
            water_ml=round(min(p.steam_water if steam else p.water for p in pots)),
            pot_limit_g=int(min(p.limit_grams(step, process.crop, process.product) for p in pots)),
            mixed=said(step.mixed),
        )
        wait = back if step.clock == "return to boil" else 0.0
        return StepTime(wait + blanch + work_seconds(step, grams), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Pot and water, the time and where it starts, the most that goes in."""
        known, steam = BlanchSettings.of(task), is_over_steam(task)
        words = f"{'Steam' if steam else 'Blanch'} {what}{done_in(task)}"
        if known.water_ml is not None:
            below = " boiling below the basket" if steam else ""
            words += f", {volume(known.water_ml, measures)} of water{below}"
        if known.blanch_s is not None:
            words += f": {span(known.blanch_s)}"
            if known.clock == "lid on":
                words += " from lid on"
            elif known.return_s is not None:
                words += (
                    f" from when it boils again (that takes about {about_span(known.return_s)})"
                )
        if known.pot_limit_g is not None:
            most = at_most(known.pot_limit_g, measures)
            words += f"; at most {most} in the {'basket, one layer' if steam else 'pot'}"
        return words + mixed_words(known.mixed, measures)


def is_over_steam(task: Told) -> bool:
    """Whether a task blanches over steam; what does not blanch says nothing of it."""
    return BlanchSettings.of(task).over == STEAM
