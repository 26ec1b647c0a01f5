"""The two ways in which a session is laid out, against trying everything."""

from __future__ import annotations

import dataclasses
from random import Random

from each_case import each
from schedule.tiny_evenings import drawn, laid

from harvestplan.kitchen.layout import TICK
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTasks, SessionTimes, TaskTime


@each("seed", range(200))
def test_tiny_evenings_agree_with_trying_everything(seed: int) -> None:
    laid(drawn(seed))


@each("seed", range(60))
def test_what_is_left_of_a_tiny_evening_agrees_too(seed: int) -> None:
    """An evening at work: what is begun stands, all else lies ahead; of potfuls that are not begun
    one is taken out."""
    asked = drawn(seed)
    found = time_session(asked)
    if not isinstance(found, SessionTimes):
        return
    draw = Random(seed)
    now = draw.randint(1, max(1, found.length // TICK - 1)) * TICK
    fixed = _begun(asked, found, now)
    left = _without_one(asked, fixed)
    laid(dataclasses.replace(left, fixed=fixed, earliest=now))


def _begun(asked: SessionTasks, found: SessionTimes, now: int) -> dict[str, TaskTime]:
    """What is begun, and what follows it at once."""
    rigid = [(link.before, link.after) for link in asked.links if link.rigid]
    rigid += [(each.fill.key, each.heat.key) for each in asked.fillings]
    fixed = {key: timed for key, timed in found.times.items() if timed.start < now}
    for _ in rigid:
        fixed |= {b: found.times[b] for a, b in rigid if a in fixed}
    return fixed


def _without_one(asked: SessionTasks, fixed: dict[str, TaskTime]) -> SessionTasks:
    out = next((key for key in asked.potfuls if key not in fixed), None)
    if out is None or len(asked.potfuls) == 1:
        return asked
    gone = {out, f"{out}, cooled"}
    return dataclasses.replace(
        asked,
        tasks=tuple(each for each in asked.tasks if each.key not in gone),
        links=tuple(x for x in asked.links if not {x.before, x.after} & gone),
        potfuls={key: potful for key, potful in asked.potfuls.items() if key not in gone},
        runs=tuple(run for run in asked.runs if run.keys[0] not in gone),
    )
