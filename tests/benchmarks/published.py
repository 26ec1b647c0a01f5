"""Published scheduling problems with proven makespans, as sessions for the minute model.

Operations are tasks, machines are units, resources that several activities share are pools.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from places import DATA

from harvestplan.kitchen.layout import Link, TaskSpec
from harvestplan.schedule.session.tasks import Pool, SessionTasks

Jobs = Sequence[Sequence[tuple[int, int]]]
"""Per job its operations (machine, time) in their order."""


def job_shops() -> dict[str, tuple[SessionTasks, int]]:
    """Job shops by name, each with its proven makespan (sources in the file)."""
    found = {}
    lines = _lines("job_shops.txt")
    for head in lines:
        name, jobs, _, makespan = head.split()
        rows = [[int(x) for x in next(lines).split()] for _ in range(int(jobs))]
        found[name] = (
            job_shop([list(zip(row[::2], row[1::2], strict=True)) for row in rows]),
            int(makespan),
        )
    return found


def job_shop(jobs: Jobs, length: int | None = None, scale: int = 1) -> SessionTasks:
    """A job shop in a session of `length` (as long as all work together where None)."""
    tasks = tuple(
        TaskSpec(
            f"{j}.{o}",
            "work",
            None,
            seconds=time * scale,
            hands=0,
            units=(f"machine{machine}",),
            grams=0,
        )
        for j, job in enumerate(jobs)
        for o, (machine, time) in enumerate(job)
    )
    chains = [[f"{j}.{o}" for o in range(len(job))] for j, job in enumerate(jobs)]
    if length is None:
        length = sum(task.seconds for task in tasks)
    return SessionTasks(tasks, chain_links(chains), (), hands=None, length=length)


def projects() -> dict[str, tuple[SessionTasks, int]]:
    """Projects by name, each with its proven makespan (sources in the file)."""
    found = {}
    lines = _lines("psplib_j30.txt")
    for head in lines:
        name, makespan = head.split()
        found[name] = (_project(lines), int(makespan))
    return found


def _project(lines: Iterator[str]) -> SessionTasks:
    count, resources = (int(x) for x in next(lines).split())
    capacities = [int(x) for x in next(lines).split()]
    rows = [[int(x) for x in next(lines).split()] for _ in range(count)]
    tasks = tuple(
        TaskSpec(str(i + 1), "work", None, seconds=r[0], hands=0, units=(), grams=0)
        for i, r in enumerate(rows)
    )
    links = tuple(
        Link(str(i + 1), str(after)) for i, r in enumerate(rows) for after in r[resources + 2 :]
    )
    pools = tuple(
        Pool(capacity, {str(i + 1): r[k + 1] for i, r in enumerate(rows) if r[k + 1]})
        for k, capacity in enumerate(capacities)
    )
    return SessionTasks(tasks, links, (), hands=None, length=sum(r[0] for r in rows), pools=pools)


def chain_links(chains: Sequence[Sequence[str]]) -> tuple[Link, ...]:
    """Links that order each chain of task keys one after the other."""
    return tuple(Link(before, after) for chain in chains for before, after in pairwise(chain))


def _lines(name: str) -> Iterator[str]:
    text = (DATA / name).read_text(encoding="utf-8")
    return iter([line for line in text.splitlines() if line and not line.startswith("#")])
