"""Portioning into pouches, zip bags or boxes."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.crops import Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen.boxes import head_space
from harvestplan.kitchen.pouches import ZIP_FILL
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import inches, mass, packs_called


@dataclass(frozen=True, kw_only=True)
class PortionSettings(Settings):
    """How many containers of which size, with g each; what kind they are where hands close them,
    and the head space in mm: below the lid of a box, or of a zip bag that is still open."""

    pouches: int | None
    portion_g: int | None
    pouch: str | None
    kind: str | None = None
    head_mm: int | None = None


class Portion(ChainStep):
    """Weighed and filled; food from the fridge warms meanwhile."""

    name = "portion"
    scope = "table"
    settings = PortionSettings
    warms = True
    by_hand = True
    also = ("fill",)

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        settings = PortionSettings(
            pouches=amount.pouches,
            portion_g=process.portion_grams,
            pouch=process.packing.pouch.name,
            kind=process.packing.pouch.kind if process.packing.pouch.by_hand else None,
            head_mm=head_mm(process.packing.pouch, process.product),
        )
        return StepTime(work_seconds(step, amount.grams, amount.rounds), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """How many pouches, and how much in each."""
        known = PortionSettings.of(task)
        words = f"Portion {what}"
        if known.pouches is not None:
            name = "" if known.pouch is None else known.pouch
            words += f" into {packs_called(known.pouches, known.kind, name)}".rstrip()
        if known.portion_g is not None:
            words += f", {mass(known.portion_g, measures)} each"
        if known.head_mm is not None:
            head = inches(known.head_mm, measures)
            bag = known.kind == "zip bag"
            words += f", filled to {head} below the top" if bag else f", {head} of head space"
        return words + (", rims clean and dry" if known.kind else ", flat, rims clean and dry")


def head_mm(pouch: Pouch, product: Product) -> int | None:
    """Head space in mm that the sheet asks for; None where it asks for none."""
    if product.storage != "freezer" or not pouch.by_hand:
        return None
    return round((ZIP_FILL if pouch.kind == "zip bag" else head_space(pouch, product)) * 1000)
