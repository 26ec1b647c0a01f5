"""Picks that a plan expected and of which the diary tells nothing: they are asked about, since
silence is no answer; "none yet" holds for a week. Until they are answered the plan counts on them
as they were forecast."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence

from harvestplan.inputs.ids import called
from harvestplan.plan.models import Pick, Plan
from harvestplan.records.events import Event, Failed, Froze, NoneYet, Picked
from harvestplan.words import crop_many, day, joined

ASK_BACK = dt.timedelta(days=10)
"""A pick that was expected longer ago is asked about only while its food would keep; one written in
twice that before it is an answer; own judgement."""
ANSWER_HOLDS = dt.timedelta(days=7)
"""So long holds "none yet": it is asked for once a week; own judgement."""


def unanswered_picks(plan: Plan, events: Iterable[Event], today: dt.date) -> list[Pick]:
    """The latest pick expected of each planting before `today`, by planting, where nothing tells
    whether it was made."""
    told = list(events)
    keeps = {lot.planting for lot in plan.lots if lot.keep_until >= today and not lot.picked}
    due: dict[str, Pick] = {}
    for pick in sorted(plan.picks, key=lambda pick: pick.date):
        recent = today - pick.date <= ASK_BACK or pick.planting in keeps
        if pick.date < today and pick.grams and recent:
            due[pick.planting] = pick
    return [
        pick
        for _, pick in sorted(due.items())
        if not any(_answers(event, pick, today) for event in told)
    ]


def _answers(event: Event, pick: Pick, today: dt.date) -> bool:
    """Whether the event tells enough of the pick, or of its crop."""
    if isinstance(event, Froze):
        of_crop = event.product.startswith(f"{pick.crop}, ")
        return of_crop and event.date >= pick.date - 2 * ASK_BACK
    if not isinstance(event, Picked | NoneYet | Failed) or event.crop != pick.crop:
        return False
    if isinstance(event, Picked):
        return event.date >= pick.date - 2 * ASK_BACK
    if event.planting not in (None, pick.planting):
        return False
    return isinstance(event, Failed) or event.date > today - ANSWER_HOLDS


def question(pick: Pick) -> str:
    """Like "Have you picked asparagus yet? It was expected about 3 May."."""
    return f"Have you picked {_named(pick)} yet? It was expected about {day(pick.date)}."


def _named(pick: Pick) -> str:
    """Like "beets", "snap beans (beans-1)"."""
    own, crop = called(pick.planting, pick.crop), crop_many(pick.crop)
    return crop if own == pick.crop else f"{crop} ({own})"


def counted_on(picks: Sequence[Pick]) -> Iterator[str]:
    """A sentence on what is counted on though the diary tells nothing of it, where there is any."""
    if picks:
        foods = [f"{_named(pick)} (expected about {day(pick.date)})" for pick in picks]
        yield (
            f"Nothing is written down of {joined(foods)}: the plan counts on it as forecast. Write "
            f'what you picked, or, for example: harvestplan none yet "{picks[0].crop}"'
        )
