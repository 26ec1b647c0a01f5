"""A session's timeline: what each machine and each pair of hands does at what time."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.paper.runsheet import cooks, in_order
from harvestplan.outputs.paper.shapes import Bar, Key, Numbers, Strip, Strips, Tick, percent, tick
from harvestplan.outputs.session_names import food_names
from harvestplan.plan.models import Session, Task
from harvestplan.words import clock, day, food_name, joined, one_line, plural

COLOURS = ("c1", "c4", "c3", "c5", "c2", "c7")
"""Fills of the foods in their order, so that those of few foods differ most."""
ALONE = "by itself"
HOUR_STEPS = ((2, 30), (6, 60), (12, 120), (math.inf, 240))
"""(hours up to which, minutes between the words under a timeline)"""


def timeline_chart(session: Session, season: Season) -> Strips:
    """Strips for hands, machines and what goes on by itself; a bar's figure is its food's."""
    measures = season.household.measures
    names = food_names(session)
    hands, machines = _hand_rows(session), _machine_rows(session)
    names_of = [one_line(name) for name in cooks(session)]
    names_of += [f"Hands {n}" for n in range(len(names_of) + 1, len(hands) + 1)]
    strips = [_strip(who, tasks, session) for who, tasks in zip(names_of, hands, strict=True)]
    strips += [_strip(one_line(name), tasks, session) for name, tasks in machines.items()]
    strips += [_strip(ALONE, alone, session)] if (alone := _alone(session)) else []
    keys = tuple(Key(_colour(n), f"{n + 1} {name}") for n, name in enumerate(names))
    other = (Key("rest", "getting ready and clearing up"),)
    numbers = Numbers(("From", "To", "Step", "With"), _rows(session, measures))
    return Strips(
        day(session.start.date()),
        _sentence(session, hands, machines, season=season),
        numbers,
        strips=tuple(strips),
        across=_hours(session, measures),
        keys=keys + other,
    )


def _rows(session: Session, measures: Measures) -> tuple[tuple[str, ...], ...]:
    """Each task: from, to, what is done to which food, with which machine and hands."""
    foods = {run.id: food_name(run.product) for run in session.runs}
    rows = []
    for task in in_order(session):
        food = foods.get(task.run or "", "")
        busy = [one_line(name) for name in task.equipment]
        busy += [plural(task.hands, "pair") + " of hands"] if task.hands else []
        times = clock(task.start, measures), clock(task.end, measures)
        rows.append((*times, f"{task.step} {food}".strip(), ", ".join(busy) or ALONE))
    return tuple(rows)


def _sentence(
    session: Session,
    hands: Sequence[list[Task]],
    machines: dict[str, list[Task]],
    *,
    season: Season,
) -> str:
    measures = season.household.measures
    minutes = round((session.end - session.start).total_seconds() / 60)
    busiest = max(machines, key=lambda name: _seconds(machines[name]), default=None)
    words = (
        f"{clock(session.start, measures)} to {clock(session.end, measures)}, "
        f"{plural(minutes, 'minute')}"
    )
    words += _at_work([round(_seconds(tasks) / 60) for tasks in hands], session.hands)
    if busiest:
        words += f"; {busiest} is in use longest, {round(_seconds(machines[busiest]) / 60)} min"
    return one_line(words) + "."


def _at_work(minutes: Sequence[int], hands: int) -> str:
    """Like "; one person at work for 81 minutes, no helper needed"."""
    busy = [each for each in minutes if each]
    if not busy:
        return ""
    if len(busy) == 1:
        alone = ", no helper needed" if hands > 1 else ""
        return f"; one person at work for {plural(busy[0], 'minute')}{alone}"
    return f"; {len(busy)} people at work, for {joined([str(each) for each in busy])} minutes"


def _seconds(tasks: Sequence[Task]) -> float:
    return sum((task.end - task.start).total_seconds() for task in tasks)


def _hand_rows(session: Session) -> list[list[Task]]:
    """Tasks by cook; where none are named, by pair of hands: each goes to the pairs that are free,
    in order of start."""
    if people := cooks(session):
        return [[task for task in in_order(session) if name in task.cooks] for name in people]
    rows: list[list[Task]] = [[] for _ in range(session.hands)]
    for task in in_order(session):
        wanted = task.hands
        for row in rows:
            if wanted and (not row or row[-1].end <= task.start):
                row.append(task)
                wanted -= 1
    return rows


def _alone(session: Session) -> list[Task]:
    """What needs neither hands nor a machine: it drains, cools, freezes on trays.

    The longest come first, so that the short ones are drawn over them.
    """
    tasks = [task for task in in_order(session) if not task.hands and not task.equipment]
    return sorted(tasks, key=lambda task: task.start - task.end)


def _machine_rows(session: Session) -> dict[str, list[Task]]:
    rows: dict[str, list[Task]] = {}
    for task in in_order(session):
        for name in task.equipment:
            rows.setdefault(name, []).append(task)
    return rows


def _strip(label: str, tasks: Sequence[Task], session: Session) -> Strip:
    names = food_names(session)
    of_run = {run.id: names.index(food_name(run.product)) for run in session.runs}
    whole = (session.end - session.start).total_seconds()
    bars = []
    for task in tasks:
        number = of_run.get(task.run or "")
        x = percent((task.start - session.start).total_seconds(), whole)
        width = percent((task.end - task.start).total_seconds(), whole)
        text = "" if number is None else str(number + 1)
        mark = text if width >= 1 + 3 * len(text) else ""
        bars.append(
            Bar(
                "rest" if number is None else _colour(number),
                x,
                10,
                width=width,
                height=80,
                mark=mark,
            )
        )
    return Strip(label, tuple(_readable(bars)))


def _readable(bars: Sequence[Bar]) -> Iterator[Bar]:
    """The bars, those without their mark in whose middle another is drawn over them."""
    for n, bar in enumerate(bars):
        middle = bar.x + bar.width / 2
        over = (each for each in bars[n + 1 :] if each.x - 2 < middle < each.x + each.width + 2)
        hidden = any(each.x < bar.x + bar.width and bar.x < each.x + each.width for each in over)
        yield replace(bar, mark="") if hidden else bar


def _colour(number: int) -> str:
    return COLOURS[number % len(COLOURS)]


def _hours(session: Session, measures: Measures) -> tuple[Tick, ...]:
    """A tick each hour, each half hour in a short session, seldom in a very long one."""
    whole = (session.end - session.start).total_seconds()
    step = dt.timedelta(minutes=next(m for most, m in HOUR_STEPS if whole <= 3600 * most))
    time = session.start.replace(minute=0, second=0)
    ticks = []
    while time <= session.end:
        if time >= session.start:
            hour = clock(time, measures)
            at = percent((time - session.start).total_seconds(), whole)
            ticks.append(tick(at, hour.replace(":00 ", " ")))
        time += step
    return tuple(ticks)
