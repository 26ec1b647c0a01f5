"""What a plan was made from, as a digest: where nothing of it has changed, the plan stands."""

from __future__ import annotations

import datetime as dt
import hashlib

from harvestplan.forecast.lots import lots_from
from harvestplan.household import Household
from harvestplan.plan.models import Plan
from harvestplan.records.events import LabelsPrinted


def basis_of(household: Household, as_of: dt.date, *, move_firm: bool) -> str:
    """SHA-256 of all that planning reads: files, crops, forecast, free times and diary, but for
    what of it plans nothing."""
    lots = lots_from(household.forecast, household.season, household.library)
    told = [
        household.season.model_dump_json(),
        household.library.model_dump_json(),
        *(lot.model_dump_json() for lot in lots),
        repr((household.windows, household.visits, household.begins, as_of, move_firm)),
        *(repr(each) for each in household.diary.events if not isinstance(each, LabelsPrinted)),
    ]
    return hashlib.sha256("\n".join(told).encode("utf-8", "backslashreplace")).hexdigest()


def stands(earlier: Plan | None, basis: str, household: Household) -> bool:
    """Whether the earlier plan was made from the same, and its search went to its end."""
    if earlier is None or earlier.basis != basis or household.impossible:
        return False
    return not any(advice.code == "stopped" for advice in earlier.warnings)
