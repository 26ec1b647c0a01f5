"""`plan --now`: in the middle of a session, lay the rest of it out again."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import typer

from harvestplan.commands.options import read_time

if TYPE_CHECKING:
    from harvestplan.household import Household
    from harvestplan.plan.models import Plan


def laid_out_again(
    household: Household,
    earlier: Plan | None,
    day: dt.date,
    *,
    now: str | None,
    until: str | None,
    behind: int | None = None,
) -> tuple[Household, Plan | None]:
    """The household and the earlier plan as they are without `now`, else with the session of `day`
    going on then, `behind` minutes late, laid out again, to end by `until`; times are the
    household's own.

    Raises typer.BadParameter for what is no time, NoValidPlan where it cannot be done.
    """
    from harvestplan.errors import NoValidPlan
    from harvestplan.planning.make import cut_session

    if now is None:
        for name, given in (("--until", until), ("--behind", behind)):
            if given is not None:
                raise typer.BadParameter("say from when with --now", param_hint=name)
        return household, earlier
    zone = ZoneInfo(household.season.household.timezone)
    start = dt.datetime.combine(day, read_time(now, "--now"), zone)
    end = None if until is None else dt.datetime.combine(day, read_time(until, "--until"), zone)
    if earlier is None:
        raise NoValidPlan("There is no plan yet, so no session is going on; leave out --now.")
    return cut_session(
        household, earlier, start, until=end, behind=dt.timedelta(minutes=behind or 0)
    )
