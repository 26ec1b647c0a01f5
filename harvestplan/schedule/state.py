"""Gathers the problem: lots less what is eaten fresh, windows from now on, wants as demands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from harvestplan.inputs.crops import Library, Product
from harvestplan.inputs.season import Season, Want
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.kitchen import Kitchen
from harvestplan.kitchen.pouches import BOX, GAPS, content_volume
from harvestplan.kitchen.process import Process, make_process, portion_in_grams
from harvestplan.plan import Lot, Plan, Run, Session
from harvestplan.schedule.draws import Draw
from harvestplan.schedule.fresh import fresh_grams
from harvestplan.schedule.problem import (
    Demand,
    Earlier,
    EarlierRun,
    Problem,
    Wanted,
    build_options,
)
from harvestplan.schedule.work import WorkTable


def build_problem(
    season: Season,
    library: Library,
    lots: Sequence[Lot],
    windows: Sequence[FreeWindow],
    as_of: dt.date,
    earlier: Plan | None,
) -> Problem:
    """The season's decision in whole numbers, from what is known on `as_of`."""
    kitchen = Kitchen.from_season(season)
    ahead = tuple(w for w in windows if w.start.date() >= as_of)
    demands, wants = _demands(season, library, kitchen)
    eaten = fresh_grams(lots, season.fresh, library)
    free = tuple(lot.grams - bite for lot, bite in zip(lots, eaten, strict=True))
    work = WorkTable([demand.process for demand in demands])
    return Problem(
        season=season,
        kitchen=kitchen,
        as_of=as_of,
        lots=tuple(lots),
        free=free,
        windows=ahead,
        demands=demands,
        options=build_options(lots, free, ahead, demands, kitchen, work),
        work=work,
        earlier=_earlier(earlier, as_of),
        wants=wants,
        other_stored=_other_stored(season, library, kitchen, demands),
    )


def _demands(
    season: Season, library: Library, kitchen: Kitchen
) -> tuple[tuple[Demand, ...], tuple[Wanted, ...]]:
    demands: list[Demand] = []
    wants: list[Wanted] = []
    for want in season.want:
        found = library.find_product(want.product)
        assert found is not None  # the loader has checked every name
        crop, product = found
        name = f"{crop.name}, {product.form}"
        grams = portion_in_grams(product, want.portion)
        process = make_process(kitchen, crop, product, grams)
        stored = stored_portions(season, library, name)
        if isinstance(process, str):
            wants.append(Wanted(name, want.portions, stored, None, process))
            continue
        wants.append(Wanted(name, want.portions, stored, len(demands)))
        demands.append(_demand(season, want, process, stored))
    return tuple(demands), tuple(wants)


def _demand(season: Season, want: Want, process: Process, stored: int) -> Demand:
    draw = None
    if want.per_week is not None:
        first = want.from_ or season.season.end + dt.timedelta(days=1)
        draw = Draw(want.per_week, first, want.until)
    left = max(0, want.portions - stored)
    frozen = stored if process.frozen else 0
    return Demand(process, left, want.priority, draw, frozen)


def stored_portions(season: Season, library: Library, product: str) -> int:
    """Portions of "crop, form" in store at the start."""
    return sum(
        item.portions for item in season.stored if _full_name(library, item.product) == product
    )


def _full_name(library: Library, name: str) -> str:
    found = library.find_product(name)
    return f"{found[0].name}, {found[1].form}" if found else name


def _other_stored(
    season: Season, library: Library, kitchen: Kitchen, demands: Sequence[Demand]
) -> dict[str, int]:
    """Space of stored products that nobody wants more of; they lie in the first freezer."""
    wanted = {demand.process.name for demand in demands}
    total = 0
    for item in season.stored:
        found = library.find_product(item.product)
        if found is None or _full_name(library, item.product) in wanted:
            continue
        if found[1].storage == "freezer":
            grams = portion_in_grams(found[1], item.portion)
            total += item.portions * _bare_space(found[1], grams)
    return {kitchen.freezers[0].name: total} if kitchen.freezers and total else {}


def _bare_space(product: Product, grams: int) -> int:
    return round(content_volume(product, grams) / BOX * GAPS)


def _earlier(plan: Plan | None, as_of: dt.date) -> Earlier | None:
    if plan is None:
        return None
    ahead = [s for s in plan.sessions if s.status != "cancelled" and s.start.date() >= as_of]
    packing = {
        run.second_sitting_of: (session, run)
        for session in ahead
        for run in session.runs
        if run.second_sitting_of
    }
    runs = []
    for session in ahead:
        for run in session.runs:
            if run.second_sitting_of is None:
                where, packed = packing.get(run.id, (session, run))
                runs.append(
                    EarlierRun(
                        product=run.product,
                        first=session.window_start,
                        second=where.window_start if run.id in packing else None,
                        freezer=_freezer_of(where, packed),
                        pouches=packed.pouches,
                        shares={share.lot: share.grams for share in run.lots},
                    )
                )
    return Earlier(as_of, tuple(runs))


def _freezer_of(session: Session, run: Run) -> str | None:
    for task in session.tasks:
        if task.run == run.id and task.step == "freeze":
            return str(task.settings["freezer"])
    return None
