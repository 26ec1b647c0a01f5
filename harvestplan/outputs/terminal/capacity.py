"""What a kitchen can do: of each product per evening and per hour, and what sets the limit."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Library, Product, Step
from harvestplan.inputs.season import Season, Want
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.kitchen.ice import freezing_load
from harvestplan.kitchen.layout import Sitting, lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.pot import HIGH_ALTITUDE, blanch_seconds
from harvestplan.kitchen.process import Process, portion_in_grams
from harvestplan.kitchen.steaming import over_steam
from harvestplan.kitchen.steps.all_steps import ice_of, kind_of
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.cool import Cool, cool_seconds
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.kitchen.steps.step_kind import Amount
from harvestplan.outputs.terminal.pack_capacity import Pack, pack_of
from harvestplan.schedule.statement.run_work import Work, WorkTable, machine_seconds

USUAL_PORTION = 340
"""Portion in g of a product that nobody wants yet: 12 oz."""
SAMPLE = 10_000
"""Raw food in g of the run whose second half measures steady work."""
POTFUL = (Blanch.name, Cool.name)
"""Steps that are told with the potful; other batches by themselves."""
MOST = 4096
"""More pouches than any evening takes."""


@dataclass(frozen=True)
class Limit:
    """What sets a limit: `kind` is "hands", "machine", "time", "freezer", "trays", "space" or
    "dryer"; `name` the equipment; `grams` the daily load of a freezer or a dryer's filling."""

    kind: str
    name: str = ""
    grams: int = 0


@dataclass(frozen=True)
class UsualWindow:
    """The longest usual window: seconds in all, and hands."""

    seconds: int
    hands: int

    @property
    def room(self) -> int:
        """Seconds left after setting up and cleaning up."""
        return max(0, self.seconds - SET_UP - CLEAN_UP)


@dataclass(frozen=True)
class Potful:
    """One batch in one pot. Grams entering the pot, water mL, times s; `one_minute` is the batch
    that would be back at the boil within a minute. With `steam` it lies in the pot's basket over
    the water, and nothing comes back to the boil."""

    pot: str
    grams: int
    water: int
    back: float
    one_minute: int
    blanch: float
    clock: str
    altitude_minute: bool
    cool: float
    ice: int
    steam: bool


@dataclass(frozen=True)
class VesselBatch:
    """Another step with a vessel: grams entering it, seconds, ice in g."""

    step: str
    vessels: tuple[str, ...]
    grams: int
    seconds: float
    ice: int


@dataclass(frozen=True)
class Capacity:
    """One product in this kitchen. Grams are raw food; an evening's figures are upper bounds.

    `ice_load` is the fresh food in g that making the evening's `ice` burdens the freezer with.
    """

    product: str
    evening_pouches: int
    evening_grams: int
    evening_limit: Limit
    hour_grams: int
    hour_limit: Limit
    potfuls: tuple[Potful, ...]
    batches: tuple[VesselBatch, ...]
    pack: Pack
    ice: int
    ice_load: int
    drying_hours: float | None
    tray_hours: float | None
    """Until its loose pieces are frozen, where they are packed another time."""


@dataclass(frozen=True)
class CannotMake:
    """A product this kitchen cannot make, and why (no full stop)."""

    product: str
    why: str


def usual_window(season: Season) -> UsualWindow:
    """The longest usual window; without any, the longest extra one; else three hours."""
    hands = season.household.hands
    spans = [
        (_clock_seconds(window.start, window.end), window.hands or hands)
        for window in season.window or season.extra_window
    ]
    return UsualWindow(*max(spans, default=(3 * 3600, hands)))


def _clock_seconds(start: dt.time, end: dt.time) -> int:
    day = dt.date(2000, 1, 1)
    span = dt.datetime.combine(day, end) - dt.datetime.combine(day, start)
    return int(span.total_seconds()) % 86400


def capacities(
    season: Season,
    library: Library,
    every: bool = False,
    *,
    experience: Experience = NOTHING_YET,
) -> tuple[Capacity | CannotMake, ...]:
    """The card's rows: of what the household wants, or of every product of the library."""
    kitchen = Kitchen.from_season(season, experience.own_paces(), experience.tries)
    usual = usual_window(season)
    rows: list[Capacity | CannotMake] = []
    for crop, product, grams, want in _products(season, library, every):
        name = f"{crop.name}, {product.form}"
        steam, portions = (want.steam, want.portions) if want else (False, None)
        pouch = want.pouch if want else None
        try:
            process = make_process(
                kitchen,
                crop,
                product,
                portion_grams=grams,
                steam=steam,
                portions=portions,
                pouch=pouch,
            )
        except CannotBeMade as refused:
            rows.append(CannotMake(name, refused.why))
        else:
            rows.append(capacity_of(process, usual))
    return tuple(rows)


def _products(
    season: Season, library: Library, every: bool
) -> list[tuple[Crop, Product, int, Want | None]]:
    """Crop, product, portion in g, and the want that asks for it."""
    found: dict[tuple[str, int], tuple[Crop, Product, int, Want | None]] = {}
    for want in season.want:
        if (known := library.find_product(want.product)) is not None:
            grams = portion_in_grams(known[1], want.portion)
            found[f"{known[0].name}, {known[1].form}", grams] = (*known, grams, want)
    wanted = {name for name, _ in found}
    rows = list(found.values())
    if every:
        rows += [
            (crop, product, _usual_portion(product), None)
            for crop in library.crops.values()
            for product in crop.products
            if f"{crop.name}, {product.form}" not in wanted
        ]
    return sorted(rows, key=lambda row: (row[0].name, row[1].form, row[2]))


def _usual_portion(product: Product) -> int:
    # A light food fills its pouch long before it weighs 12 oz.
    return min(USUAL_PORTION, round(473 * product.density.value))


def capacity_of(process: Process, usual: UsualWindow) -> Capacity:
    """What one evening and one hour of steady work give of a product."""
    table = WorkTable([process])
    sitting: Sitting = "first" if process.wait_least else "whole"
    pouches, limit = _in_a_session(table, sitting, usual)
    grams_per_hour, pace = _hour(table, usual.hands)
    raw = process.raw_per_portion * pouches
    ice = _ice(process, raw, pouches, sitting=sitting)
    return Capacity(
        product=process.name,
        evening_pouches=pouches,
        evening_grams=raw,
        evening_limit=limit,
        hour_grams=grams_per_hour,
        hour_limit=pace,
        potfuls=_potfuls(process),
        batches=_batches(process),
        pack=pack_of(process),
        ice=ice,
        ice_load=round(freezing_load(ice)),
        drying_hours=_drying_hours(process),
        tray_hours=process.wait_least / 3600 if process.packed_cold else None,
    )


def _in_a_session(table: WorkTable, sitting: Sitting, usual: UsualWindow) -> tuple[int, Limit]:
    """The most pouches of one evening, and the tightest of all that bounds them."""
    room, hands = usual.room, usual.hands
    bounds = _store_bounds(table.processes[0])
    most = min((pouches for pouches, _ in bounds), default=MOST)

    def fit(fits: Callable[[Work], bool]) -> int:
        low, high = 0, most + 1
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if fits(table.of(0, sitting, middle)) else (low, middle)
        return low

    bounds.append((fit(lambda work: work.hand <= hands * room), Limit("hands")))
    for index, machine in enumerate(table.machines):

        def in_time(work: Work, index: int = index) -> bool:
            return machine_seconds([work], index) <= room

        count = fit(in_time)
        busy = 2 * table.of(0, sitting, max(1, count)).machine[index] > room
        name = " and ".join(sorted(machine))
        bounds.append((count, Limit("machine", name) if busy else Limit("time")))
    bounds.append((fit(lambda work: work.path <= room), Limit("time")))
    return min(bounds, key=lambda bound: bound[0])


def _store_bounds(process: Process) -> list[tuple[int, Limit]]:
    """Pouches by what takes them after the work: the roomiest freezer, or the dryer's trays."""
    bounds: list[tuple[int, Limit]] = []
    if process.dryer is not None and process.sitting_limit is not None:
        filling = process.sitting_limit
        dryer = Limit("dryer", process.dryer, filling)
        bounds.append((filling // process.raw_per_portion, dryer))
    if process.frozen:
        each = [
            min(_freezer_bounds(process, freezer.name), key=lambda bound: bound[0])
            for freezer in process.kitchen.freezers
        ]
        bounds.append(max(each, key=lambda bound: bound[0]))
    return bounds


def _freezer_bounds(process: Process, name: str) -> list[tuple[int, Limit]]:
    kitchen, packing = process.kitchen, process.packing
    freezer, load = kitchen.freezer(name), kitchen.freezing_limit(name)
    bounds = [
        (load // process.portion_grams, Limit("freezer", name, load)),
        (int((freezer.volume - freezer.used) // packing.space), Limit("space", name)),
    ]
    if freezer.tray_area is not None:
        area = max(1, process.loose_area or packing.footprint)
        bounds.append((int(freezer.tray_area * 1e6 // area), Limit("trays", name)))
    return bounds


def _hour(table: WorkTable, hands: int) -> tuple[int, Limit]:
    """Raw grams of an hour of steady work: what a long run's second half takes longer."""
    process = table.processes[0]
    half = max(4, math.ceil(SAMPLE / process.raw_per_portion))
    one, two = table.of(0, "whole", half), table.of(0, "whole", 2 * half)
    costs = [((two.hand - one.hand) / half / hands, Limit("hands"))]
    for machine, a, b in zip(table.machines, one.machine, two.machine, strict=True):
        # A dryer is not a matter of minutes: its trays bound the evening.
        if process.dryer not in machine:
            costs.append(((b - a) / half, Limit("machine", " and ".join(sorted(machine)))))
    seconds, limit = max(costs, key=lambda cost: cost[0])
    return round(3600 / max(seconds, 1e-9) * process.raw_per_portion), limit


def _potfuls(process: Process) -> tuple[Potful, ...]:
    found = _step(process, Blanch.name)
    if found is None or process.batch_limit is None:
        return ()
    index, step = found
    water_share, altitude = process.crop.water_share.value, process.kitchen.altitude
    grams = process.batch_limit * process.share_before(index)
    cooling = _step(process, Cool.name)
    cool, ice = 0.0, 0
    if cooling is not None:
        entering = process.batch_limit * process.share_before(cooling[0])
        cool = cool_seconds(process, cooling[1])
        ice = _batch(process, cooling[1], entering).ice
    steam = over_steam(step)
    return tuple(
        Potful(
            pot=pot.name,
            grams=int(grams),
            water=round(pot.steam_water if steam else pot.water),
            back=0.0 if steam else pot.return_seconds(grams, water_share, step.piece),
            one_minute=0 if steam else int(pot.one_minute_grams(water_share, step.piece)),
            blanch=blanch_seconds(step, altitude),
            clock=step.clock or "",
            altitude_minute=altitude >= HIGH_ALTITUDE - 1e-6,
            cool=cool,
            ice=ice,
            steam=steam,
        )
        for pot in map(process.kitchen.pot, process.vessels[Blanch.name])
    )


def _step(process: Process, name: str) -> tuple[int, Step] | None:
    steps = enumerate(process.product.steps)
    return next(((i, step) for i, step in steps if step.step == name), None)


def _batches(process: Process) -> tuple[VesselBatch, ...]:
    """Full batches of the steps with another vessel than the blanching pot."""
    found = []
    for index, step in enumerate(process.product.steps):
        kind = kind_of(step.step)
        told = kind.vessel is None or kind.filled_once or step.step in POTFUL
        if kind.scope == "batch" and not told and process.batch_limit is not None:
            grams = process.batch_limit * process.share_before(index)
            found.append(_batch(process, step, grams))
    return tuple(found)


def _batch(process: Process, step: Step, grams: float) -> VesselBatch:
    time = kind_of(step.step).time(process, step, Amount(grams))
    vessels = process.vessels[step.step]
    return VesselBatch(
        step.step, vessels, int(grams), seconds=time.seconds, ice=time.settings.ice()
    )


def _ice(process: Process, raw: int, pouches: int, *, sitting: Sitting) -> int:
    if pouches == 0:
        return 0
    tasks = lay_out(process, raw, pouches, sitting=sitting, freezer=None).tasks
    return sum(map(ice_of, tasks))


def _drying_hours(process: Process) -> float | None:
    found = _step(process, Dry.name)
    return found[1].time.value / 3600 if found and found[1].time else None
