"""What the rules look at: the plan beside the season and the crop files, times in UTC."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal
from zoneinfo import ZoneInfo

from harvestplan.errors import CannotBeMade
from harvestplan.household import Household
from harvestplan.inputs.crops import Crop, Library, Product, Step
from harvestplan.inputs.quantities import Quantity
from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import Freezer, Pouch
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.at_pace import at_pace
from harvestplan.kitchen.closing import closed_in
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.kitchen.machine_settings import own_settings
from harvestplan.kitchen.own_pace import pace_of
from harvestplan.kitchen.pot import Blancher, blanchers
from harvestplan.kitchen.sealing import CycleSettings
from harvestplan.kitchen.steaming import steamed
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.blanch import Blanch, is_over_steam
from harvestplan.kitchen.tray_times import with_tray_times
from harvestplan.plan.models import Lot, Plan, Run, Session, Task

RUN_STEPS = names_where(lambda kind: kind.scope == "run")
"""Steps done once for the whole run."""
PACK_STEPS = names_where(lambda kind: kind.scope == "table")
"""Steps done for several batches at once, at the packing table."""


@dataclass(frozen=True)
class Finding:
    """One breach: `code` is its rule, like "V1", `message` a sentence with times and numbers."""

    code: str
    message: str


@dataclass(frozen=True)
class Sitting:
    """A run whose product is known, with its tasks and the part of the chain it covers.

    The product's hand work is at the pace that the run was reckoned with; it is blanched over
    steam where the run's tasks say so, and closed as its pouch wants it.
    `raw` is the raw food behind it in g: for a second sitting what the first took in. `where`
    begins a sentence.
    """

    session: Session
    run: Run
    crop: Crop
    product: Product
    tasks: tuple[Task, ...]
    kind: Literal["whole", "first", "second"]
    first: Run | None
    raw: int
    where: str

    @property
    def pause(self) -> int | None:
        """Index of the step after which a second sitting may follow."""
        indices = (i for i, step in enumerate(self.product.steps) if step.pause_limit is not None)
        return next(indices, None)

    @property
    def steps(self) -> tuple[tuple[int, Step], ...]:
        """The chain's steps that belong to this sitting, with their indices."""
        pause = self.pause
        numbered = tuple(enumerate(self.product.steps))
        if self.kind == "whole" or pause is None:
            return numbered
        return numbered[: pause + 1] if self.kind == "first" else numbered[pause + 1 :]

    @property
    def name(self) -> str:
        """The product's full name, "crop, form"."""
        return f"{self.crop.name}, {self.product.form}"

    def share_before(self, index: int) -> float:
        """Mass that enters the chain's step `index`, per mass of raw food."""
        return math.prod(s.leaves.value for s in self.product.steps[:index] if s.leaves)

    def tasks_of(self, step: str) -> list[Task]:
        return [task for task in self.tasks if task.step == step]


@dataclass(frozen=True)
class Facts:
    """The plan, judged by what the household wrote. `sessions` are those not cancelled."""

    plan: Plan
    season: Season
    library: Library
    windows: tuple[FreeWindow, ...]
    zone: ZoneInfo
    sessions: tuple[Session, ...]
    sittings: tuple[Sitting, ...]
    lots: dict[str, Lot]
    pots: tuple[Blancher, ...]
    experience: Experience = NOTHING_YET

    @classmethod
    def of(cls, plan: Plan, household: Household) -> Facts:
        season, library = household.season, household.library
        zone = ZoneInfo(season.household.timezone)
        live = (session for session in plan.sessions if session.live)
        sessions = tuple(in_utc(session, zone) for session in live)
        return cls(
            plan=plan,
            season=season,
            library=library,
            windows=tuple(
                replace(window, start=_utc(window.start, zone), end=_utc(window.end, zone))
                for window in (*household.windows, *household.visits)
            ),
            zone=zone,
            sessions=sessions,
            sittings=tuple(_sittings(sessions, library, season, zone=zone)),
            lots={lot.id: lot for lot in plan.lots},
            pots=blanchers(season),
            experience=household.experience,
        )

    @property
    def sessions_ahead(self) -> tuple[Session, ...]:
        """Sessions still to be held.

        What is done was done with the kitchen, the wants and the crop files of its day, which may
        have changed since: only sessions ahead are held against those of today.
        """
        return tuple(session for session in self.sessions if session.status != "done")

    @property
    def ahead(self) -> tuple[Sitting, ...]:
        """Sittings of `sessions_ahead`."""
        return tuple(each for each in self.sittings if each.session.status != "done")

    def day(self, time: dt.datetime) -> dt.date:
        """The household's date at a time."""
        return time.astimezone(self.zone).date()

    def clock(self, time: dt.datetime) -> str:
        return clock(time, self.zone)

    def pouch(self, name: str | None) -> Pouch | None:
        return next((pouch for pouch in self.season.pouch if pouch.name == name), None)

    def pot(self, name: str) -> Blancher | None:
        """The pot on its share of the stove; None also for one that never comes to the boil."""
        return next((pot for pot in self.pots if pot.name == name), None)

    def cycle(self, sitting: Sitting, pouch: Pouch, task: Task) -> CycleSettings:
        """The machine's settings for a sealing task, pump-down as the household's tries bear out.

        What is firm or done was set by what was known then: its own pump-down counts.
        """
        known = own_settings(sitting.product, pouch, self.experience.tries.get(sitting.name, ()))
        written = number(task, "pump_down_s")
        if sitting.session.status == "planned" or written is None:
            return known
        return replace(known, pump_down=written)

    def freezer(self, name: object) -> Freezer | None:
        return next((freezer for freezer in self.season.freezer if freezer.name == name), None)

    def product_name(self, name: str) -> str:
        """The full name "crop, form" of a product as people wrote it."""
        found = self.library.find_product(name)
        return f"{found[0].name}, {found[1].form}" if found else name

    def second_of(self, sitting: Sitting) -> Sitting | None:
        """The sitting that packs what a first sitting put to chill."""
        named = (s for s in self.sittings if s.run.second_sitting_of == sitting.run.id)
        return next(named, None)


def portion_grams(product: Product, portion: Quantity) -> int:
    """A portion in g; a volume is converted with the product's density."""
    density = product.density.value if portion.kind == "volume" else 1.0
    return max(1, round(portion.value * density))


def work_seconds(step: Step, grams: float) -> float:
    """Time in s a step takes for `grams` by the crop file."""
    per_gram = step.per_kg.value if step.per_kg else 0.0
    return per_gram * grams + (step.fixed.value if step.fixed else 0.0)


def seconds(task: Task) -> float:
    """Length of a task in s of real time."""
    return (task.end - task.start).total_seconds()


def number(task: Task, key: str) -> float | None:
    """A number among the task's settings, or None where it is missing or no number."""
    value = task.settings.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if abs(value) < 1e15 else None


def disagreements(where: str, task: Task, expected: dict[str, object]) -> list[str]:
    """A sentence for each setting that is missing or differs from what was worked out anew."""
    said = []
    for key, value in expected.items():
        if key not in task.settings:
            said.append(f'{where}: the task {task.id} does not name "{key}".')
        elif task.settings[key] != value:
            said.append(
                f"{where}: the task {task.id} says {key} = {task.settings[key]!r}, "
                f"but it comes to {value!r}."
            )
    return said


def clock(time: dt.datetime, zone: ZoneInfo) -> str:
    """Like "Tue 13 July 2027 18:30", by the household's clock."""
    there = time.astimezone(zone)
    return f"{there:%a} {there.day} {there:%B %Y %H:%M}"


def _utc(time: dt.datetime, zone: ZoneInfo) -> dt.datetime:
    aware = time if time.tzinfo else time.replace(tzinfo=zone)
    return aware.astimezone(dt.UTC)


def in_utc(session: Session, zone: ZoneInfo) -> Session:
    """The session in UTC: times of one zone are subtracted by the clock on the wall."""
    tasks = (
        task.model_copy(update={"start": _utc(task.start, zone), "end": _utc(task.end, zone)})
        for task in session.tasks
    )
    edges = ("start", "end", "window_start", "window_end")
    times: dict[str, object] = {edge: _utc(getattr(session, edge), zone) for edge in edges}
    times["cut_at"] = None if session.cut_at is None else _utc(session.cut_at, zone)
    return session.model_copy(update=times | {"tasks": tuple(tasks)})


def _sittings(
    sessions: Sequence[Session], library: Library, season: Season, *, zone: ZoneInfo
) -> list[Sitting]:
    pouches = {pouch.name: pouch for pouch in season.pouch}
    runs = {run.id: run for session in sessions for run in session.runs}
    begun = {run.second_sitting_of for run in runs.values() if run.second_sitting_of}
    found = []
    for session in sessions:
        for run in session.runs:
            known = library.find_product(run.product)
            if known is None:
                continue
            first = runs.get(run.second_sitting_of) if run.second_sitting_of else None
            tasks = tuple(task for task in session.tasks if task.run == run.id)
            product, pouch = _as_blanched(known[1], tasks), pouches.get(run.pouch or "")
            product = product if pouch is None else closed_in(product, pouch)
            found.append(
                Sitting(
                    session=session,
                    run=run,
                    crop=known[0],
                    product=_as_made(known[0], product, run),
                    tasks=tasks,
                    kind=_kind(run, begun),
                    first=first,
                    raw=first.grams_in if first else run.grams_in,
                    where=f"{clock(session.start, zone)}, {run.product}",
                )
            )
    return found


def _as_made(crop: Crop, product: Product, run: Run) -> Product:
    """The product at the run's pace, on trays as long as it takes."""
    paced = at_pace(product, pace_of(run))
    try:
        return with_tray_times(crop, paced)
    except CannotBeMade:
        return paced  # V18 says so


def _as_blanched(product: Product, tasks: Sequence[Task]) -> Product:
    """Over steam where a task says so and a steaming time is known, else in water."""
    over = any(is_over_steam(task) for task in tasks if task.step == Blanch.name)
    return (steamed(product) if over else None) or product


def _kind(run: Run, begun: set[str]) -> Literal["whole", "first", "second"]:
    if run.second_sitting_of:
        return "second"
    return "first" if run.id in begun else "whole"
