"""V16: washing, soaking and cooling each hold a basin while they last."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.plan.models import Task

IN_BASIN = names_where(lambda kind: kind.vessel == "bath")


def check_basins(facts: Facts) -> Iterator[Finding]:
    """V16."""
    for message in _messages(facts):
        yield Finding("V16", message)


def _messages(facts: Facts) -> Iterator[str]:
    basins = {bath.name for bath in facts.season.bath}
    held: dict[str, list[Task]] = defaultdict(list)
    for session in facts.sessions:
        for task in session.tasks:
            for name in set(task.equipment) & basins:
                held[name].append(task)
    for session in facts.sessions_ahead:
        for task in session.tasks:
            if basins and task.step in IN_BASIN and not basins & set(task.equipment):
                yield f"{facts.clock(session.start)}: {task.id} holds no basin to {task.step} in."
    for name, tasks in sorted(held.items()):
        tasks.sort(key=lambda task: (task.start, task.end))
        last = tasks[0]
        for task in tasks[1:]:
            if task.start < last.end and facts.day(task.start) >= facts.plan.as_of:
                yield (
                    f"{facts.clock(task.start)}: {name} is wanted by {task.id} while {last.id} "
                    f"holds it until {facts.clock(last.end)}."
                )
            last = max(last, task, key=lambda each: each.end)
