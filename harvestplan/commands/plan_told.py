"""What is printed of a plan that was just made."""

from __future__ import annotations

from harvestplan.household import Household
from harvestplan.outputs.terminal.cut_text import cut_text
from harvestplan.outputs.terminal.plan_changes import changes_text
from harvestplan.outputs.terminal.plan_short import plan_short
from harvestplan.outputs.terminal.sturdy_text import sturdy_text
from harvestplan.outputs.terminal.summary import summary_text
from harvestplan.plan.file_names import BOOK
from harvestplan.plan.models import Plan

WHERE = "{}: {} is the season as a book. All that the plan says: harvestplan plan --all"


def plan_told(
    made: Plan,
    earlier: Plan | None,
    household: Household,
    files: str,
    *,
    every: bool,
    cut: bool,
) -> str:
    """The plan within a screen, or with `every` line in full; of an evening that was `cut` short
    all is told. `files` says where they are."""
    season, library = household.season, household.library
    kept_free = sturdy_text(made, season)
    if not (every or cut):
        last = WHERE.format(files, BOOK)
        return plan_short(made, season, library, earlier=earlier, besides=kept_free, last=last)
    told = [summary_text(made, season, library), kept_free]
    if earlier is not None:
        told += [cut_text(earlier, made, season, library=library)] if cut else []
        told.append(changes_text(earlier, made, season.household.measures))
    return "\n\n".join(text.strip() for text in (*told, f"{files}.") if text)
