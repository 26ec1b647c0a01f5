"""The run sheet as a page: printed on paper, or on a tablet with timers that survive a reload."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.kitchen.steps.all_steps import settings_of
from harvestplan.outputs.paper.pages import page_bytes
from harvestplan.outputs.paper.runsheet import (
    ALL_DONE,
    LABELS_FIRST,
    PAUSE,
    RECORD,
    before_lines,
    cooks,
    heading,
    is_done,
    label_lines,
    laid_out_again,
    packed_in,
    pauses,
    product_cautions,
    reading_lines,
    record_lines,
    session_steps,
    stop_lines,
    who,
)
from harvestplan.outputs.session_names import food_names
from harvestplan.plan.models import Session, Task
from harvestplan.words import clock, day, plural, span

LATE_MINUTES = 10
BESIDE = "By itself"
WIDEST = 4
"""Cooks for whom a sheet has columns."""
SHORTEST_TIMER, LONGEST_TIMER = 20.0, 4 * 3600.0
"""s: shorter is counted aloud, longer is no matter of this sheet."""


@dataclass(frozen=True)
class Line:
    """A step: `minute` of the day counts from midnight, `seconds` 0 where nothing is timed;
    before a `pause` one may safely stop; what was `done` when the rest was laid out again is ticked
    from the first. It stands in the `column` of the cook who does it (`who`), from 1 on; what goes
    on by itself in column 0, the last."""

    key: str
    minute: int
    time: str
    words: str
    cautions: tuple[str, ...]
    seconds: int
    timer: str
    pause: bool
    done: bool
    column: int = 0
    who: str = ""


def runsheet_html(session: Session, season: Season, library: Library) -> bytes:
    """One page for a session; complete without scripts, prints on any paper."""
    measures = season.household.measures
    date, what = session.start.date(), packed_in(session, season)
    return page_bytes(
        "runsheet.html.j2",
        key=f"{session.uid}/{session.sequence}",
        uid=session.uid,
        date=day(date, year=True),
        visit=heading(session) if session.is_visit else "",
        hours=f"{clock(session.start, measures)} to {clock(session.end, measures)}",
        hands=f"{plural(session.hands, 'pair')} of hands",
        foods=food_names(session),
        again=laid_out_again(session, season),
        before=before_lines(session, season, library),
        labels_first=LABELS_FIRST.format(what),
        labels=label_lines(session, season, library),
        lines=sheet_lines(session, season, library),
        columns=columns(session),
        pause=PAUSE,
        stops=stop_lines(session, season),
        cautions=product_cautions(session, library),
        all_done=ALL_DONE,
        record=RECORD.format(what),
        records=record_lines(session),
        readings=reading_lines(session, measures),
        half_day=measures == "US",
        late=LATE_MINUTES,
    )


def sheet_lines(session: Session, season: Season, library: Library) -> list[Line]:
    """The session's steps by clock time, each with the time to set a timer to."""
    measures = season.household.measures
    lines, stops, people = [], pauses(session), columns(session)
    at_work = cooks(session)
    for number, (task, words, cautions) in enumerate(session_steps(session, season, library)):
        seconds = timer_seconds(task)
        lines.append(
            Line(
                key=str(number),
                minute=60 * task.start.hour + task.start.minute,
                time=clock(task.start, measures),
                words=words,
                cautions=tuple(cautions),
                seconds=seconds,
                timer=span(seconds) if seconds else "",
                pause=task.id in stops,
                done=is_done(task, session),
                column=people.index(task.cooks[0]) + 1 if task.cooks and people else 0,
                who=who(task, at_work),
            )
        )
    return lines


def columns(session: Session) -> list[str]:
    """The heads of the sheet's columns: a cook each, then what goes on by itself; none for a plan
    that names no cooks, for one cook with nothing beside, nor for more than a sheet is wide."""
    people = cooks(session)
    alone = len(people) == 1 and all(task.cooks for task in session.tasks)
    return [*people, BESIDE] if 0 < len(people) <= WIDEST and not alone else []


def timer_seconds(task: Task) -> int:
    """What a timer is set to at this step in s, or 0."""
    seconds = settings_of(task).timer()
    return round(seconds) if SHORTEST_TIMER <= seconds <= LONGEST_TIMER else 0
