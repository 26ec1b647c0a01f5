"""Picks that a plan expected and of which the diary tells nothing: they are asked about, since
silence is no answer; "none yet" holds for a week."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from harvestplan.inputs.ids import called
from harvestplan.plan.models import Pick, Plan
from harvestplan.records.events import Event, Failed, NoneYet, Picked
from harvestplan.words import day

ASK_BACK = dt.timedelta(days=10)
"""A pick that was expected longer ago is not asked about; one written in twice that is an answer;
own judgement."""
ANSWER_HOLDS = dt.timedelta(days=7)
"""So long holds "none yet": it is asked for once a week; own judgement."""


def unanswered_picks(plan: Plan, events: Iterable[Event], today: dt.date) -> list[Pick]:
    """The latest pick expected of each planting in the days before `today`, by planting, where
    nothing tells whether it was made."""
    since = today - ASK_BACK
    answered = {name for event in events for name in _answered(event, today)}
    due = {p.planting: p for p in plan.picks if since <= p.date < today and p.grams}
    return [pick for name, pick in sorted(due.items()) if not answered & {name, pick.crop}]


def _answered(event: Event, today: dt.date) -> Iterator[str]:
    """The plantings and crops of which an event tells enough."""
    if isinstance(event, Picked) and event.date >= today - 2 * ASK_BACK:
        yield event.crop
    if isinstance(event, NoneYet) and event.date > today - ANSWER_HOLDS:
        yield event.planting or event.crop
    if isinstance(event, Failed):
        yield event.planting or event.crop


def question(pick: Pick) -> str:
    """Like "Have you picked asparagus yet? It was expected about 3 May."."""
    name = called(pick.planting, pick.crop)
    return f"Have you picked {name} yet? It was expected about {day(pick.date)}."
