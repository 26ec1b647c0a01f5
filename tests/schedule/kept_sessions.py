"""Sessions of a published plan, written down by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

from harvestplan.plan.models import Lot, Plan, Run, Session, Task

BEANS, PUREE = "snap bean, cut", "winter squash, purée"


MONDAY = dt.date(2027, 7, 5)


NO_PLAN: dict[str, Any] = dict.fromkeys(Plan.model_fields, ())


def day(number: int) -> dt.date:
    return MONDAY + dt.timedelta(days=number)


def run(name: str, product: str = BEANS, pouches: int = 3, **more: Any) -> Run:
    return Run(
        id=name,
        product=product,
        crop=product.split(",")[0],
        grams_in=1200,
        grams_packed=1000,
        pouch="quart",
        pouches=pouches,
        portion_grams=340,
        lots=more.pop("lots", ()),
        **more,
    )


def session(uid: str, on: int, *runs: Run, **more: Any) -> Session:
    start = dt.datetime.combine(day(on), dt.time(18), dt.UTC)
    end = start + dt.timedelta(hours=2)
    return Session(
        uid=uid,
        sequence=0,
        status=more.pop("status", "planned"),
        start=start,
        end=end,
        window_start=start,
        window_end=end,
        hands=1,
        runs=runs,
        tasks=more.pop("tasks", ()),
        **more,
    )


def plan_of(*sessions: Session, lots: tuple[Lot, ...] = ()) -> Plan:
    return Plan.model_construct(**NO_PLAN | {"sessions": sessions, "lots": lots})


def lot(name: str, ready: int, keeps: int = 3, grams: int = 1000, crop: str = "snap bean") -> Lot:
    return Lot(
        id=name,
        crop=crop,
        planting=f"my {crop}",
        bought=None,
        ready=day(ready),
        keep_until=day(ready + keeps),
        grams=grams,
        low_grams=grams,
        high_grams=grams,
    )


def freezes(uid: str, on: int, pouches: int, status: str = "planned") -> Session:
    base = session(uid, on, run("r"))
    task = Task(
        id="f",
        run="r",
        step="freeze",
        batch=None,
        equipment=(),
        hands=1,
        start=base.start,
        end=base.end,
        grams=340 * pouches,
        settings={"freezer": "chest", "pouches": pouches},
    )
    return base.model_copy(update={"tasks": (task,), "status": status})


def kept(step: str, start: dt.datetime, **settings: object) -> Session:
    """A promised session of one task, which takes an hour."""
    end = start + dt.timedelta(hours=1)
    equipment = (str(settings.pop("unit")),) if "unit" in settings else ()
    task = Task(
        id="t",
        run="r",
        step=step,
        batch=None,
        equipment=equipment,
        hands=1,
        start=start,
        end=end,
        grams=340,
        settings=settings,
    )
    base = session("kept", 0, run("r", pouches=1), tasks=(task,), status="firm")
    return base.model_copy(update={"start": start, "end": end})


def frozen_on(start: dt.datetime, pouches: int, product: str = BEANS) -> Session:
    base = kept("freeze", start, freezer="chest", pouches=pouches)
    return base.model_copy(update={"runs": (run("r", product, pouches),)})
