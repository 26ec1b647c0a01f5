"""All rules over one plan, in the order of their codes."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain

from harvestplan.check.additions import check_ingredients
from harvestplan.check.balance import check_balance
from harvestplan.check.basins import check_basins
from harvestplan.check.chains import check_chains
from harvestplan.check.clean_hands import check_clean
from harvestplan.check.cold import check_cold
from harvestplan.check.facts import Facts, Finding
from harvestplan.check.freezer_limits import check_freezing, check_opening, check_space
from harvestplan.check.freshness import check_freshness
from harvestplan.check.fridge_room import check_fridge
from harvestplan.check.packing import check_packing
from harvestplan.check.past import check_past
from harvestplan.check.potfuls import check_potfuls
from harvestplan.check.pots import check_pots
from harvestplan.check.resources import check_equipment, check_hands, check_trays
from harvestplan.check.safety import check_safety
from harvestplan.check.shopping_covers import check_purchases
from harvestplan.check.time_windows import check_windows
from harvestplan.check.trays_packed import check_trays_packed
from harvestplan.household import Household
from harvestplan.plan.file import absurdities
from harvestplan.plan.models import Plan

RULES = (
    check_windows, check_equipment, check_trays, check_hands, check_chains, check_potfuls,
    check_packing, check_freezing, check_space, check_fridge, check_freshness, check_balance,
    check_purchases, check_safety, check_ingredients, check_pots, check_clean, check_basins,
    check_cold, check_trays_packed,
)  # fmt: skip


def check_plan(
    plan: Plan,
    household: Household,
    earlier: Plan | None = None,
    *,
    in_store: Mapping[tuple[str, str], int] | None = None,
) -> tuple[Finding, ...]:
    """Every way in which `plan` breaks the rules, in the order of their codes.

    The household's windows and visits are the season's free times, its experience is what the diary
    taught before the plan's day. With `earlier`, the plan published before, what was done or firm
    there must not have moved.
    `in_store` are the portions by product and freezer that the season file, the finished sessions
    and the diary know on the plan's day; the plan must open with them. A plan that no program wrote
    is judged all the same: what is missing or makes no sense is a finding, never an error.
    """
    absurd = next(absurdities(plan.model_dump()), None)
    if absurd is not None:
        return (Finding("V10", f"The plan holds {absurd}, which cannot be meant."),)
    facts = Facts.of(plan, household)
    found = chain(chain.from_iterable(rule(facts) for rule in RULES), check_past(facts, earlier))
    found = chain(found, check_opening(facts, in_store))
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: int(finding.code[1:])))
