"""Gathers the problem: lots less what is eaten fresh, windows from now on, wants as demands."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Mapping, Sequence

from harvestplan.errors import CannotBeMade
from harvestplan.household import Household
from harvestplan.inputs.crops import Library
from harvestplan.inputs.draws import draw_of
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import MILLI, Process, portion_in_grams
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.plan.models import Lot, Plan, Run, Session
from harvestplan.plan.spans import overlap
from harvestplan.records.stock import stock
from harvestplan.schedule.statement.freezer_loads import FreezerProduct
from harvestplan.schedule.statement.fresh import fresh_grams
from harvestplan.schedule.statement.fridge import state_fridge
from harvestplan.schedule.statement.history import History, take_over
from harvestplan.schedule.statement.lots_from_now import given_or_lost, lots_from_now, spent_lots
from harvestplan.schedule.statement.opening import open_freezers
from harvestplan.schedule.statement.problem import (
    Demand,
    Earlier,
    EarlierRun,
    Problem,
    WantStated,
    build_options,
)
from harvestplan.schedule.statement.run_work import WorkTable
from harvestplan.schedule.statement.visit_windows import with_visits

LEAST_BATCH = 3
"""Pouches for fewer of which nobody likes to begin a food (own judgement)."""


def build_problem(
    household: Household,
    lots: Sequence[Lot],
    as_of: dt.date,
    *,
    earlier: Plan | None = None,
    move_firm: bool = False,
    released: Collection[str] = (),
    moved: Collection[str] = (),
) -> Problem:
    """The season's decision in whole numbers, from what is known on `as_of`.

    `lots` are the forecast's and the purchases; what the earlier plan's done and firm sessions drew
    on is taken over from it, what was put by, eaten and spoiled from the household's diary.
    `released` sessions need not stand, however near; the `moved` are where the household put them.
    """
    season, library = household.season, household.library
    experience, diary = household.experience, household.diary
    kitchen = Kitchen.from_season(season, experience.own_paces(), experience.tries)
    history = take_over(earlier, as_of, move_firm, diary=diary, released=released, moved=moved)
    gone = tuple(given_or_lost(diary, library, as_of))
    spent = spent_lots(history, lots, as_of, gone=gone)
    lots = lots_from_now(history, lots, as_of, gone=gone)
    evenings = _evenings(household, history, as_of)
    store = stock(season, library, diary, today=as_of, done=history.done, as_meant=True)
    corrected = {shelf.product: shelf.corrected for shelf in store}
    demands, wants = _demands(season, library, kitchen, history=history, corrected=corrected)
    spaces = {shelf.product: shelf.space for shelf in shelves(demands)}
    eaten = fresh_grams((*lots, *spent), season.fresh, library, used=history.used)[: len(lots)]
    free = tuple(
        lot.grams - bite - history.used.get(lot.id, 0)
        for lot, bite in zip(lots, eaten, strict=True)
    )
    work = WorkTable([demand.process for demand in demands])
    ahead = with_visits(
        evenings, household.visits, kept=history.sessions, processes=work.processes, lots=lots
    )
    return Problem(
        season=season,
        kitchen=kitchen,
        as_of=as_of,
        lots=tuple(lots),
        free=free,
        windows=ahead,
        demands=demands,
        options=build_options(lots, free, ahead, demands=demands, kitchen=kitchen, work=work),
        work=work,
        earlier=_earlier(earlier, history),
        wants=wants,
        history=history,
        experience=experience,
        opening=open_freezers(store, spaces, library),
        fridge=state_fridge(
            season, library, lots, processes=work.processes, kept=history.sessions, as_of=as_of
        ),
    )


def shelves(demands: Sequence[Demand]) -> list[FreezerProduct]:
    """The frozen products' places in the ledger."""
    return [
        FreezerProduct(demand.process.name, demand.process.packing.space, demand.draw)
        for demand in demands
        if demand.process.frozen
    ]


def _evenings(household: Household, history: History, as_of: dt.date) -> list[FreeWindow]:
    """The household's windows still to come in which no kept session lies."""
    return [
        window
        for window in household.windows
        if window.start.date() >= as_of
        and (household.begins is None or window.start >= household.begins)
        and not any(overlap(s, window) for s in history.sessions)
    ]


def _demands(
    season: Season,
    library: Library,
    kitchen: Kitchen,
    *,
    history: History,
    corrected: Mapping[str, int],
) -> tuple[tuple[Demand, ...], tuple[WantStated, ...]]:
    demands: list[Demand] = []
    wants: list[WantStated] = []
    for want in season.want:
        found = library.find_product(want.product)
        assert found is not None  # the loader has checked every name
        crop, product = found
        name = f"{crop.name}, {product.form}"
        grams = portion_in_grams(product, want.portion)
        there, more = stored_portions(season, library, name), corrected.get(name, 0)
        try:
            process = make_process(
                kitchen,
                crop,
                product,
                portion_grams=grams,
                steam=want.steam,
                portions=want.portions,
                pouch=want.pouch,
            )
        except CannotBeMade as refused:
            why = refused.why
            wants.append(
                WantStated(name, want.portions, there, demand=None, why=why, corrected=more)
            )
            continue
        wants.append(WantStated(name, want.portions, there, demand=len(demands), corrected=more))
        left = max(0, want.portions - there - more - history.pouches.get(name, 0))
        draw = draw_of(want, season.season.end)
        smallest = math.ceil((season.season.smallest_batch or 0.0) / process.raw_milligrams * MILLI)
        demands.append(
            Demand(
                process, left, want.priority, draw=draw, smallest=smallest, batch=_batch(process)
            )
        )
    return tuple(demands), tuple(wants)


def _batch(process: Process) -> int:
    """Pouches for which it is worth beginning the food, by its crop file."""
    least = process.crop.least_batch
    pouches = 0 if least is None else math.ceil(least.value / process.raw_milligrams * MILLI)
    return max(LEAST_BATCH, pouches)


def stored_portions(season: Season, library: Library, product: str) -> int:
    """Portions of "crop, form" in store at the start."""
    return sum(
        item.portions for item in season.stored if library.full_name(item.product) == product
    )


def _earlier(plan: Plan | None, history: History) -> Earlier | None:
    """The published plan's sessions that may still be moved."""
    if plan is None:
        return None
    kept = {session.uid for session in history.sessions}
    ahead = [s for s in plan.sessions if s.live and s.uid not in kept]
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
                        sessions=(session.uid, where.uid),
                    )
                )
    return Earlier(tuple(runs))


def _freezer_of(session: Session, run: Run) -> str | None:
    for task in session.tasks:
        if task.run == run.id and task.step == Freeze.name:
            return freezer_of(task)
    return None
