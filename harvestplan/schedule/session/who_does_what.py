"""Whose hands do which task: few changes of person within a batch, and helpers who come for a
stretch that is worth it, not for scattered minutes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

BEAM = 48
"""Ways to go on that are kept at each task."""
CHANGE = 1.0
"""What another person at the same batch costs, in the currency of the others."""
COME_BACK = 3.0
"""What it costs that a helper has to come again after a pause of more than `PAUSE`, or comes at
all; a shorter pause costs its share."""
SLIGHT = 0.01
"""Where it makes no other difference, the first cook does it."""
PAUSE = 15 * 60


@dataclass(frozen=True)
class HandWork:
    """A task that takes hands: seconds from `start` to `end`, and what it belongs to (`thread`: one
    batch of one run, or nothing)."""

    key: str
    start: int
    end: int
    hands: int
    thread: str | None


@dataclass(frozen=True)
class _Way:
    """One way so far: until when each cook is busy (None: not come yet), who was last at each
    thread, who does what."""

    cost: float
    until: tuple[int | None, ...]
    threads: Mapping[str, tuple[int, ...]]
    doing: Mapping[str, tuple[int, ...]]


def share_out(
    work: Sequence[HandWork], hands: int, given: Mapping[str, tuple[int, ...]] | None = None
) -> dict[str, tuple[int, ...]]:
    """The cooks (numbers from 0) of each task by key, cheapest first found by a beam search.

    The tasks never need more than `hands` at once, so that somebody is always free (tasks are the
    vertices of an interval graph). `given` are cooks that stand.
    """
    given = given or {}
    ways = [_Way(0.0, (None,) * hands, {}, {})]
    for task in sorted(work, key=lambda task: (task.start, -task.end, task.key)):
        ways = [more for way in ways for more in _go_on(way, task, given.get(task.key))]
        ways = sorted(ways, key=lambda way: way.cost)[:BEAM]
    return dict(ways[0].doing)


def _go_on(way: _Way, task: HandWork, given: tuple[int, ...] | None) -> list[_Way]:
    free = [cook for cook, until in enumerate(way.until) if until is None or until <= task.start]
    choices = [given] if given is not None else list(combinations(free, task.hands))
    if not choices:  # as a plan that stands, and was written by others, may ask it
        choices = [tuple(range(min(task.hands, len(way.until))))]
    return [_with(way, task, cooks) for cooks in choices]


def _with(way: _Way, task: HandWork, cooks: tuple[int, ...]) -> _Way:
    cost = way.cost + sum(_coming(way.until[cook], task.start) for cook in cooks if cook)
    cost += SLIGHT * sum(cooks)
    threads = way.threads
    if task.thread is not None:
        before = threads.get(task.thread)
        cost += CHANGE * (before is not None and not set(before) & set(cooks))
        threads = {**threads, task.thread: cooks}
    until = tuple(task.end if n in cooks else u for n, u in enumerate(way.until))
    return _Way(cost, until, threads, {**way.doing, task.key: cooks})


def _coming(until: int | None, start: int) -> float:
    """What it costs that a helper who was busy `until` then has work again at `start`."""
    if until is None:
        return COME_BACK
    return COME_BACK if start - until > PAUSE else COME_BACK * (start - until) / PAUSE


NUMBERS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def cook_names(named: Sequence[str], hands: int) -> tuple[str, ...]:
    """The cooks of a session: as the household calls them, else by number."""
    return tuple(
        named[n] if n < len(named) else f"{NUMBERS[n] if n < len(NUMBERS) else n + 1} cook"
        for n in range(hands)
    )
