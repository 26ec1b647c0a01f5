"""The season's decision stated in whole numbers, free of any solver.

Lots wait between `ready` and `keep_until`; windows are stretches of free kitchen time; an option
is a product made in one window, or begun in one and packed in a second (two sittings).
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from harvestplan.inputs.draws import Draw
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.kitchen.layout import Sitting
from harvestplan.kitchen.process import MILLI, Process
from harvestplan.kitchen.visit import clean_up_seconds, set_up_seconds
from harvestplan.plan.models import Lot, Session
from harvestplan.plan.spans import DAY
from harvestplan.schedule.statement.freezer_burden import load_per_pouch
from harvestplan.schedule.statement.fridge import Fridge, Stay
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.run_work import Work, WorkTable
from harvestplan.schedule.statement.visit_windows import packing_visits, second_windows

LEAST_PART = 0.25
"""A last pouch is packed when it is at least a quarter full (own judgement)."""
SHOPPED_BY = dt.time(12)
"""What is bought on a day is in the kitchen by noon (common practice, no source)."""


@dataclass(frozen=True)
class Demand:
    """A want that can be made: `portions` are those still to be put by. The household never gets
    out the pot for fewer than `smallest`; for fewer than `batch` it is hardly worth it."""

    process: Process
    portions: int
    priority: float
    draw: Draw | None
    smallest: int = 1
    batch: int = 1

    @property
    def least(self) -> int:
        """The fewest pouches of a run: all that are wanted, where that is less than the
        smallest."""
        return max(1, min(self.smallest, self.portions))

    @property
    def worthwhile(self) -> int:
        """The fewest pouches for which it is worth beginning: all that are wanted, where that is
        less than a batch."""
        return max(1, min(self.batch, self.portions))


@dataclass(frozen=True)
class WantStated:
    """A want as written: `demand` is its number, or None where it cannot be made (`why`).

    `stored` portions were there at the season's start; `corrected` by the diary, see the plan.
    """

    product: str
    wanted: int
    stored: int
    demand: int | None
    why: str = ""
    corrected: int = 0


@dataclass(frozen=True)
class Option:
    """A run that could be made. `first` and `second` are window numbers; `second` is None for a
    run finished in one sitting. `most` bounds its pouches; `lots` are numbers of usable lots."""

    number: int
    demand: int
    first: int
    second: int | None
    freezer: str | None
    most: int
    lots: tuple[int, ...]

    @property
    def packs_in(self) -> int:
        return self.first if self.second is None else self.second

    def sittings(self) -> tuple[tuple[int, Sitting], ...]:
        if self.second is None:
            return ((self.first, "whole"),)
        return ((self.first, "first"), (self.second, "second"))


@dataclass(frozen=True)
class EarlierRun:
    """A run of the published plan: its windows by their starts, and grams by lot id."""

    product: str
    first: dt.datetime
    second: dt.datetime | None
    freezer: str | None
    pouches: int
    shares: Mapping[str, int]
    sessions: tuple[str, ...] = ()
    """Uids of the sessions of its first sitting and, the same where there is one only, its last."""


@dataclass(frozen=True)
class Earlier:
    """What the published plan decided and a new one may still move."""

    runs: tuple[EarlierRun, ...]

    @property
    def pouches(self) -> dict[tuple[dt.datetime, str], int]:
        """Pouches by (start of the window in which the run begins, product)."""
        found: Counter[tuple[dt.datetime, str]] = Counter()
        for run in self.runs:
            found[run.first, run.product] += run.pouches
        return dict(found)

    @property
    def freezers(self) -> dict[tuple[dt.datetime, str], set[str | None]]:
        """Where they go, by (start of the window in which the run begins, product)."""
        found: dict[tuple[dt.datetime, str], set[str | None]] = {}
        for run in self.runs:
            found.setdefault((run.first, run.product), set()).add(run.freezer)
        return found


@dataclass(frozen=True)
class Pinned:
    """At least so many pouches of a demand are worked on in a window, where the household put
    their session; in their second sitting where `second`."""

    window: int
    demand: int
    second: bool
    pouches: int

    def among(self, options: Sequence[Option]) -> list[Option]:
        """The options that would be such work."""
        return [
            o
            for o in options
            if o.demand == self.demand and (o.second if self.second else o.first) == self.window
        ]


@dataclass(frozen=True)
class Problem:
    """All numbers of one season. `free` is what of each lot may be preserved, g."""

    season: Season
    kitchen: Kitchen
    as_of: dt.date
    lots: tuple[Lot, ...]
    free: tuple[int, ...]
    windows: tuple[FreeWindow, ...]
    demands: tuple[Demand, ...]
    options: tuple[Option, ...]
    work: WorkTable
    earlier: Earlier | None = None
    wants: tuple[WantStated, ...] = ()
    history: History = field(default_factory=History)
    experience: Experience = NOTHING_YET
    opening: Opening = field(default_factory=Opening)
    """What lies in the freezers on `as_of`."""
    pinned: tuple[Pinned, ...] = ()
    fridge: Fridge | None = None
    """Where the household says how much of its fridge is for food that waits."""

    @property
    def evenings(self) -> tuple[FreeWindow, ...]:
        """The windows without visits."""
        return tuple(window for window in self.windows if not window.is_visit)

    def length(self, window: int) -> int:
        """Seconds of a window left after set-up and clean-up."""
        return working_seconds(self.windows[window])

    def kept_near(self, windows: Sequence[int]) -> list[Session]:
        """Kept sessions whose freezing could fall within 24 hours of that of the windows."""
        first, last = self.windows[windows[0]], self.windows[windows[-1]]
        return [
            session
            for session in self.history.sessions
            if session.start < last.end + DAY and first.start < session.end + DAY
        ]

    def window_days(self) -> list[dt.date]:
        return sorted({window.start.date() for window in self.windows})

    def work_of(self, option: Option, sitting: Sitting, pouches: int) -> Work:
        return self.work.of(option.demand, sitting, pouches)

    def stays(self, option: Option, lot: int) -> list[Stay]:
        """The stays in the fridge of what a lot gives to an option."""
        if self.fridge is None:
            return []
        first, second = (
            None if w is None else self.windows[w].start.date()
            for w in (option.first, option.second)
        )
        assert first is not None
        product = self.demands[option.demand].process.name
        stays = self.fridge.stays(self.as_of, self.lots[lot], product, first=first, second=second)
        return list(stays)

    def near_sets(self) -> list[tuple[int, ...]]:
        """Windows whose freezing could fall within one stretch of 24 hours, largest sets only."""
        sets: list[tuple[int, ...]] = []
        for i, window in enumerate(self.windows):
            near = tuple(
                j for j in range(i, len(self.windows)) if self.windows[j].start < window.end + DAY
            )
            if not sets or not set(near) <= set(sets[-1]):
                sets.append(near)
        return sets


def real_seconds(window: FreeWindow) -> int:
    """Length of a window in real time, whatever the clocks do in it."""
    return int(window.end.timestamp() - window.start.timestamp())


def working_seconds(window: FreeWindow) -> int:
    """Seconds of a window left after set-up and clean-up."""
    around = set_up_seconds(window.kind) + clean_up_seconds(window.kind)
    return real_seconds(window) - around


def in_the_kitchen(lot: Lot, begin: dt.datetime) -> bool:
    """Whether the lot is there, and good, when a session begins: what is still to be bought that
    day is not there in the morning."""
    still_out = lot.bought is not None and not lot.picked and begin.time() < SHOPPED_BY
    first = lot.ready + dt.timedelta(days=1) if still_out else lot.ready
    return first <= begin.date() <= lot.keep_until


def build_options(
    lots: Sequence[Lot],
    free: Sequence[int],
    windows: Sequence[FreeWindow],
    *,
    demands: Sequence[Demand],
    kitchen: Kitchen,
    work: WorkTable,
) -> tuple[Option, ...]:
    """Every run worth considering: some lot is fresh, and enough pouches fit the window."""
    options: list[Option] = []
    for d, demand in enumerate(demands):
        for w, window in enumerate(windows):
            if window.is_visit:
                continue
            usable = tuple(
                i
                for i, lot in enumerate(lots)
                if lot.crop == demand.process.crop.name
                and in_the_kitchen(lot, window.start)
                and free[i] > 0
            )
            if not usable:
                continue
            supply = sum(free[i] for i in usable)
            alone = [] if demand.process.wait_least else [None]
            for second in (*alone, *_second_windows(demand, windows, w)):
                for freezer in _freezers(demand, kitchen):
                    most = _most(
                        demand,
                        d,
                        w,
                        second=second,
                        freezer=freezer,
                        supply=supply,
                        windows=windows,
                        kitchen=kitchen,
                        work=work,
                    )
                    if most >= demand.least:
                        options.append(
                            Option(
                                len(options),
                                d,
                                w,
                                second=second,
                                freezer=freezer,
                                most=most,
                                lots=usable,
                            )
                        )
    return tuple(options)


def _second_windows(demand: Demand, windows: Sequence[FreeWindow], first: int) -> list[int]:
    """Windows in which food put to chill or to freeze in `first` may be packed: sessions, and the
    next visit where it froze on trays."""
    visits = packing_visits(demand.process, windows, first)
    within = second_windows(demand.process, windows, first)
    return [w for w in within if w in visits or not windows[w].is_visit]


def _freezers(demand: Demand, kitchen: Kitchen) -> list[str | None]:
    if not demand.process.frozen:
        return [None]
    return [freezer.name for freezer in kitchen.freezers]


def _most(
    demand: Demand,
    number: int,
    first: int,
    *,
    second: int | None,
    freezer: str | None,
    supply: int,
    windows: Sequence[FreeWindow],
    kitchen: Kitchen,
    work: WorkTable,
) -> int:
    """The most pouches such a run can have by supply, freezer and each sitting's length."""
    process = demand.process
    if process.sitting_limit is not None:
        supply = min(supply, process.sitting_limit)
    most = min(demand.portions, max_pouches(process, supply))
    if freezer is not None:
        most = min(most, _freezer_pouches(process, kitchen, freezer))
    sittings: list[tuple[int, Sitting]] = (
        [(first, "whole")] if second is None else [(first, "first"), (second, "second")]
    )
    for window, sitting in sittings:
        span = windows[window]
        room = working_seconds(span)
        while most > 0 and not work.of(number, sitting, most).fits(room, span.hands):
            most -= 1
    return most


def _freezer_pouches(process: Process, kitchen: Kitchen, name: str) -> int:
    freezer = kitchen.freezer(name)
    by_load = kitchen.freezing_limit(name) // load_per_pouch(process)
    by_space = int((freezer.volume - freezer.used) // process.packing.space)
    if freezer.tray_area is None:
        return min(by_load, by_space)
    area = process.loose_area or process.packing.footprint
    by_area = int(freezer.tray_area * 1e6 // max(1, area))
    return min(by_load, by_space, by_area)


def max_pouches(process: Process, supply: int) -> int:
    """Pouches from `supply` raw grams; what was bought is packed to the last, part-full pouch."""
    whole = process.pouches_of(supply)
    rest = MILLI * supply - whole * process.raw_milligrams
    part = process.crop.kind == "bought" and rest >= LEAST_PART * process.raw_milligrams
    return whole + 1 if part else whole
