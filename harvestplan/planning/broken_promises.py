"""What stands already, held against the files of today: promised sessions that cannot be held as
they were planned, food that is begun, freezers that are too full."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping

from harvestplan.check import Finding, check_plan
from harvestplan.errors import NoValidPlan
from harvestplan.household import Household
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.plan.models import FreezerDay, Plan, Session
from harvestplan.schedule.statement.history import FIRM_DAYS
from harvestplan.words import day, joined, volume

WHY = {
    "V2": "the kitchen no longer has what it uses",
    "V3": "its steps take other hands now",
    "V4": "its steps take another time now",
    "V5": "its batches or their times are others now",
    "V6": "its portions or pouches are others now",
    "V7": "its freezer takes less in a day now",
    "V13": "what it makes is refused now",
    "V14": "its pots take other water now, or take longer",
    "V15": "its raw meat has to come last now",
    "V16": "it washes and cools in other basins now",
    "V17": "its food is chilled in another way now",
    "V18": "what lies on trays takes another time now",
    "V19": "its foods follow each other in another way now",
    "V20": "other things are added to it now",
}
"""Rules that hold a session against the kitchen, the wants and the crop files, in plain words."""


def no_longer_possible(plan: Plan, household: Household, as_of: dt.date) -> dict[str, str]:
    """Why, by uid, each session promised on `as_of` (those of the day and the next, and those that
    pack what a past one began) is forbidden by the files as they are now; with those that pack what
    such a session begins.
    """
    past = {run.id for each in plan.sessions if each.start.date() < as_of for run in each.runs}
    near = [
        session
        for session in plan.sessions
        if session.status in ("planned", "firm")
        and session.start.date() >= as_of
        and (
            (session.start.date() - as_of).days < FIRM_DAYS
            or any(run.second_sitting_of in past for run in session.runs)
        )
    ]
    found: dict[str, str] = {}
    for session in near:
        begun = {run.id for each in near if each.uid in found for run in each.runs}
        if any(run.second_sitting_of in begun for run in session.runs):
            why = "what it packs is begun in a session that is planned anew"
        else:
            alone = _alone(session, plan, as_of)
            why = _gone(session, household) or _forbidden(check_plan(alone, household))
        if why:
            found[session.uid] = why
    return found


def planned_anew(plan: Plan, why: Mapping[str, str]) -> list[str]:
    """A sentence for each session of the plan that is promised and planned anew all the same."""
    return [
        f"The session promised for {day(session.start.date())} is planned anew, since your files "
        f"say otherwise now: {why[session.uid]}."
        for session in plan.sessions
        if session.uid in why
    ]


def refuse_changed(sessions: Iterable[Session], why: Mapping[str, str]) -> None:
    """Raises NoValidPlan where one of the sessions, which cannot be dropped since food is begun, is
    among those that the files forbid."""
    for session in sessions:
        if session.uid in why:
            foods = joined(sorted({run.product for run in session.runs}))
            raise NoValidPlan(
                f"The session of {day(session.start.date())} ({foods}) finishes food that is "
                "begun, and your files, changed since it was planned, no longer allow that: "
                f"{why[session.uid]}. Take the change back (wants, portions, kitchen or crop "
                "files) until that session is held."
            )


def refuse_full(rows: Iterable[FreezerDay], measures: Measures) -> None:
    """Raises NoValidPlan where the freezers cannot hold what stands already, by their `rows`."""
    over = next((row for row in rows if row.used_ml > row.capacity_ml), None)
    if over is not None:
        raise NoValidPlan(
            f"By your files and your diary {over.name} holds "
            f"{volume(over.used_ml - over.capacity_ml, measures)} more than it can on "
            f"{day(over.date)}, before anything new is planned. Count what lies there "
            "(harvestplan count), correct `used` or [[stored]], or add a freezer."
        )


def _gone(session: Session, household: Household) -> str:
    """What of a session is wanted no more, has no freezer to go to, or nobody to do it."""
    season, library = household.season, household.library
    found = (library.find_product(want.product) for want in season.want)
    wanted = {f"{crop.name}, {product.form}" for crop, product in filter(None, found)}
    for run in session.runs:
        if run.product not in wanted:
            return f"{run.product} is wanted no more"
    freezers = {freezer.name for freezer in season.freezer}
    for task in session.tasks:
        name = freezer_of(task)
        if name is not None and name not in freezers:
            return f"there is no freezer {name}"
    for window in household.windows:
        edges = (session.window_start, session.window_end)
        if (window.start, window.end) == edges and session.hands > window.hands:
            return "fewer people are there then"
    return ""


def _alone(session: Session, plan: Plan, as_of: dt.date) -> Plan:
    """The plan with all other sessions as if done: of these the judge asks nothing."""
    sessions = tuple(
        each.model_copy(update={"status": "firm" if each is session else "done"})
        for each in plan.sessions
        if each.live
    )
    return plan.model_copy(update={"as_of": as_of, "sessions": sessions})


def _forbidden(findings: Iterable[Finding]) -> str:
    return next((WHY[each.code] for each in findings if each.code in WHY), "")
