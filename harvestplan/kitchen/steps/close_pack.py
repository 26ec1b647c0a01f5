"""Closing zip bags and boxes by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from harvestplan.inputs.crops import Step
from harvestplan.inputs.season import Measures
from harvestplan.inputs.season_kitchen import PackKind
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime
from harvestplan.plan.models import Task
from harvestplan.words import packs

EACH: Mapping[PackKind, float] = {"zip bag": 30.0, "box": 15.0}
"""Seconds for one: press or draw the air out of a bag, close it and lay it flat; wipe the rim of a
box and press its lid on (common practice, no source)."""
HOW: Mapping[str, str] = {
    "zip bag": "press the air out, or draw it out with a straw, and close the zip to its end",
    "box": "lids on tight",
}


@dataclass(frozen=True, kw_only=True)
class ClosePackSettings(Settings):
    """So many containers of a kind."""

    pouches: int | None
    kind: str | None


class ClosePack(ChainStep):
    """What a machine does elsewhere, done by hand; the kitchen puts it in the place of sealing."""

    name = "close"
    scope = "table"
    settings = ClosePackSettings
    own_time = True

    def flaw(self, step: Step) -> str | None:
        """No crop file has it: which packs are closed by hand is a matter of the kitchen."""
        return "a crop file writes that food is sealed, and the kitchen how its packs are closed"

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """So many seconds for each, at the household's own pace."""
        kind = process.packing.pouch.kind
        each = EACH[kind] * process.pace.of(self.name)
        return StepTime(each * amount.pouches, ClosePackSettings(pouches=amount.pouches, kind=kind))

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """How many, and how."""
        known = ClosePackSettings.of(task)
        counted = "" if known.pouches is None else f"{packs(known.pouches, known.kind)} of "
        words = f"Close {counted}{what}"
        how = HOW.get(known.kind or "")
        return f"{words}: {how}" if how else words
