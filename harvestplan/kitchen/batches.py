"""How a run is divided: into batches that go through the steps together, and into groups of them
that are packed together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.all_steps import kind_of
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.step_kind import Scope, work_seconds

PREP_CHUNK = 1200
"""Hand work without a vessel is split into pieces of about 20 minutes, so that two can share it
(own judgement)."""
BLANCH_WORK = 3600
"""Hand work at the most for a potful that is blanched: so several can share it, and what was cut
first does not stand long. One more costs minutes of the pot; one more that is cooked, an hour (own
judgement)."""
GROUP_WORK = 3000
"""Packing happens after about this much hand work, so that nothing waits on the table (own
judgement)."""


@dataclass(frozen=True)
class Batch:
    """Raw grams that go through the steps together; `number` counts from 1."""

    number: int
    raw: int


@dataclass(frozen=True)
class Group:
    """Consecutive batches packed together. `last` is the number of its last batch."""

    number: int
    last: int
    pouches: int
    grams: int


@dataclass(frozen=True)
class Begun:
    """A run already at work: its raw grams and pouches as they were planned, and how many of its
    packing groups are begun. `before` is the same of the plan before, where that was cut to this
    one in the middle of the evening."""

    raw: int
    pouches: int
    groups: int
    before: Begun | None = None


def begun_grams(process: Process, planned: Begun, batch: int, *, group: int) -> int:
    """Raw grams of the batches up to `batch`, and of those that fill the packing groups up to
    `group` (0: none), of a run as it was planned."""
    batches, groups = split(process, planned)
    if group:
        batch = max(batch, groups[group - 1].last)
    return sum(each.raw for each in batches[:batch])


def split(process: Process, run: Begun) -> tuple[list[Batch], list[Group]]:
    """The run's batches and packing groups; of one that was cut the first as they were before."""
    if run.before is None:
        batches, kept = _batches(process, run.raw), []
    else:
        batches, groups = split(process, run.before)
        batches, kept = _first_of(batches, run.raw), groups[: run.before.groups]
    return batches, _groups(process, run.raw, run.pouches, batches=batches, kept=kept)


def rounds(process: Process, run: Begun) -> int:
    """How many packing groups the run had before it was cut, were it several times."""
    return rounds(process, run.before) if run.before else len(split(process, run)[1])


def _batches(process: Process, raw: int) -> list[Batch]:
    """As few as the vessels take, more where hand work is to be shared."""
    limit = process.batch_limit
    potfuls = 0 if limit is None else math.ceil(raw / limit - 1e-9)
    shares = math.ceil(_hand_estimate(process, raw, without="table") / _most_work(process))
    count = max(1, potfuls, shares)
    base, rest = divmod(raw, count)
    return [Batch(i + 1, base + (1 if i < rest else 0)) for i in range(count)]


def _most_work(process: Process) -> float:
    """Seconds of hand work for one batch at the most."""
    if process.batch_limit is None:
        return PREP_CHUNK
    return BLANCH_WORK if Blanch.name in process.vessels else math.inf


def _first_of(batches: list[Batch], raw: int) -> list[Batch]:
    """The batches up to `raw` grams in all."""
    found, left = [], raw
    for batch in batches:
        if left > 0:
            found.append(Batch(batch.number, min(batch.raw, left)))
            left -= batch.raw
    return found


def _hand_estimate(process: Process, raw: int, without: Scope) -> float:
    total = 0.0
    for index, step in enumerate(process.product.steps):
        if kind_of(step.step).scope != without and step.hands:
            total += step.hands * work_seconds(step, raw * process.share_before(index))
    return total


def _groups(
    process: Process,
    raw: int,
    pouches: int,
    *,
    batches: list[Batch],
    kept: Sequence[Group] = (),
) -> list[Group]:
    """Pouches filled after each group of batches: whole cycles, the rest with the last group; those
    `kept` come first."""
    packed = process.packed(raw, pouches)
    per_batch = _hand_estimate(process, batches[0].raw, without="run") + 1
    size = max(1, int(GROUP_WORK // per_batch))
    at = kept[-1].last if kept else 0
    ends = [*(end for end in range(size, len(batches), size) if end > at), len(batches)]
    groups = list(kept)
    done, done_grams = sum(g.pouches for g in kept), sum(g.grams for g in kept)
    raw_so_far = sum(batch.raw for batch in batches[:at])
    for end in ends:
        raw_so_far += sum(batch.raw for batch in batches[at:end])
        at = end
        if end == len(batches):
            count, grams = pouches - done, packed - done_grams
        else:
            full = process.packed(raw_so_far, pouches) // process.portion_grams - done
            count = full - full % process.packing.per_cycle
            grams = count * process.portion_grams
        if count <= 0:
            continue
        groups.append(Group(len(groups) + 1, end, count, grams=grams))
        done, done_grams = done + count, done_grams + grams
    return groups
