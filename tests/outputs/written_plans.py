"""A household, its crops and a plan with sessions on both sides of the autumn clock change."""

from __future__ import annotations

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from harvestplan.inputs.crops import Crop, Library, Source
from harvestplan.inputs.season import Season
from harvestplan.plan.models import Plan

AS_OF = dt.date(2027, 10, 25)
BEFORE = dt.date(2027, 10, 28)
"""Before the clocks go back in Europe (31 October) and the United States (7 November)."""
AFTER = dt.date(2027, 11, 9)


def figure(value: Any) -> dict[str, Any]:
    return {"value": value, "source": "TEST", "seen": False}


def make_product(form: str, usual: bool = True, **more: Any) -> dict[str, Any]:
    steps = [
        {"step": "wash"},
        {"step": "trim", "leaves": figure(0.8), "caution": "Snap off both ends."},
        {"step": "seal"},
        {"step": "freeze"},
    ]
    return {
        "form": form,
        "usual": usual,
        "storage": "freezer",
        "texture": "pieces",
        "density": figure("0.5 kg per L"),
        "keeps": figure("300 days"),
        "steps": steps,
        **more,
    }


def make_crop(name: str, *products: dict[str, Any]) -> Crop:
    return Crop.model_validate(
        {
            "name": name,
            "kind": "bought",
            "water_share": figure(0.9),
            "raw_density": figure("0.6 kg per L"),
            "hazard": "other",
            "keeping": {"fridge": figure("5 days")},
            "products": list(products),
        }
    )


def make_library(*more: Crop) -> Library:
    squash = make_product("purée", texture="puree", foams=True, cautions=["Cool it in ice water."])
    crops = (
        make_crop("snap bean", make_product("cut")),
        make_crop("broccoli", make_product("florets")),
        make_crop("winter squash", squash),
        make_crop("hot pepper", make_product("sliced")),
        make_crop("apple", make_product("sauce")),
        *more,
    )
    source = Source(title="Made up for tests")
    return Library(crops={crop.name: crop for crop in crops}, sources={"TEST": source})


def make_season(zone: str = "America/Denver", measures: str = "US", **more: Any) -> Season:
    tables = {
        "household": {"name": "Miller", "timezone": zone, "measures": measures, "hands": 2},
        "season": {"start": dt.date(2027, 5, 1), "end": dt.date(2027, 12, 31)},
        "sealer": {"kind": "chamber", "bar": "12 in", "chamber": "14x15x4 in"},
        "pouch": [
            {
                "name": "8x10",
                "width": "8 in",
                "length": "10 in",
                "film": "0.08 mm",
                "pack": 50,
                "price": 9.5,
                "in_stock": 10,
            },
            {"name": "6x8", "width": "6 in", "length": "8 in", "film": "0.08 mm", "in_stock": 90},
        ],
        "bought": [{"item": "apple", "amount": "20 L", "on": dt.date(2027, 11, 2)}],
        "want": [{"product": "snap bean, cut", "portions": 40, "portion": "340 g"}],
    }
    return Season.model_validate(tables | more, context={"measures": measures})


def at(zone: str, day: dt.date, clock: str) -> str:
    """ISO time with offset of a clock time in the zone."""
    time = dt.datetime.combine(day, dt.time.fromisoformat(clock), ZoneInfo(zone))
    return time.isoformat()


def make_task(zone: str, day: dt.date, start: str, end: str, step: str, **more: Any) -> Any:
    run = more.pop("run", None)
    return {
        "id": f"{run or ''}/{step}-{more.get('batch') or 0}-{start}",
        "run": run,
        "step": step,
        "batch": None,
        "equipment": [],
        "hands": 1,
        "grams": 0,
        "settings": {},
        "start": at(zone, day, start),
        "end": at(zone, day, end),
        **more,
    }


def make_run(run: str, product: str, lots: dict[str, int], pouches: int, **more: Any) -> Any:
    grams = sum(lots.values())
    return {
        "id": run,
        "product": product,
        "crop": product.partition(",")[0],
        "lots": [{"lot": lot, "grams": share} for lot, share in lots.items()],
        "grams_in": grams,
        "grams_packed": pouches * 340 - 40,
        "pouch": "8x10",
        "pouches": pouches,
        "portion_grams": 340,
        **more,
    }


def make_session(zone: str, day: dt.date, number: int, runs: list[Any], tasks: list[Any]) -> Any:
    return {
        "uid": f"0000000{number}-6a52-5c64-9f3c-5a1f0c3c9d11",
        "sequence": 0,
        "status": "planned",
        "start": at(zone, day, "18:00"),
        "end": at(zone, day, "20:30"),
        "window_start": at(zone, day, "18:00"),
        "window_end": at(zone, day, "21:00"),
        "hands": 2,
        "runs": runs,
        "tasks": tasks,
    }


def bean_tasks(zone: str, day: dt.date, run: str, grams: int, pouches: int) -> list[Any]:
    def task(start: str, end: str, step: str, **more: Any) -> Any:
        return make_task(
            zone, day, start, end=end, step=step, **({"run": run, "grams": grams} | more)
        )

    blanch = {
        "clock": "return to boil",
        "return_s": 40,
        "blanch_s": 180,
        "water_ml": 7570,
        "pot_limit_g": 900,
    }
    seal = {
        "cycles": 4,
        "pouches": pouches,
        "per_cycle": 3,
        "pump_down_s": 25,
        "seal_s": 2.5,
        "cycle_s": 50,
        "note": "dry rims",
    }
    frozen = {"freezer": "chest", "pouches": pouches, "volume_ml": 4000, "grams": grams}
    return [
        make_task(zone, day, "18:00", end="18:10", step="set up"),
        make_task(
            zone,
            day,
            "18:05",
            end="18:30",
            step="heat",
            equipment=["big pot"],
            hands=0,
            settings={"water_ml": 7570},
        ),
        task("18:10", "18:15", "wash"),
        task("18:15", "18:35", "trim", batch=1),
        task("18:35", "18:39", "blanch", batch=1, equipment=["big pot"], settings=blanch),
        task("18:39", "18:42", "cool", batch=1, equipment=["sink"], settings={"cool_s": 180}),
        task(
            "18:50",
            "19:00",
            "portion",
            settings={"pouches": pouches, "portion_g": 340, "pouch": "8x10"},
        ),
        task("19:00", "19:04", "seal", equipment=["sealer"], settings=seal),
        task("19:04", "19:10", "freeze", settings=frozen),
        make_task(zone, day, "20:20", end="20:30", step="clean up"),
    ]


def squash_tasks(zone: str, day: dt.date, run: str) -> list[Any]:
    def task(start: str, end: str, step: str, **more: Any) -> Any:
        return make_task(zone, day, start, end=end, step=step, run=run, grams=4000, **more)

    return [
        task("18:00", "18:10", "trim"),
        task("18:10", "19:10", "roast", batch=1, equipment=["oven"], settings={"minutes": 60}),
        task("19:10", "19:50", "chill", batch=1, settings={"minutes": 40, "to_c": 5.0}),
        task("19:50", "20:20", "seal", settings={"pump_down_s": 12}),
        task("20:20", "20:30", "freeze", settings={"area_cm2": 2000}),
    ]


def plan_data(zone: str = "America/Denver") -> dict[str, Any]:
    """A plan as plan.json holds it: 12 portions of beans before the clock change, 8 of broccoli
    and 10 of squash after it; 700 g of beans too many, 40 portions wanted."""
    second = [
        make_run("r2", "broccoli, florets", {"broccoli-1": 4000}, pouches=8),
        make_run("r3", "winter squash, purée", {"squash-1": 4500}, pouches=10),
    ]
    later = [
        *bean_tasks(zone, AFTER, "r2", grams=3200, pouches=8)[2:-1],
        *squash_tasks(zone, AFTER, "r3"),
    ]
    return {
        "format": 1,
        "made_at": "2027-10-25T08:00:00-06:00",
        "as_of": AS_OF.isoformat(),
        "season": {"name": "Miller", "timezone": zone, "start": "2027-05-01", "end": "2027-12-31"},
        "lots": [
            make_lot("bean-1", "snap bean", "2027-10-26", keep_until="2027-10-31", grams=5300),
            make_lot("bean-2", "snap bean", "2027-11-01", keep_until="2027-11-06", grams=400),
            make_lot("broccoli-1", "broccoli", "2027-11-06", keep_until="2027-11-10", grams=4000),
            make_lot(
                "squash-1", "winter squash", "2027-10-20", keep_until="2028-01-10", grams=4500
            ),
        ],
        "sessions": [
            make_session(
                zone,
                BEFORE,
                1,
                runs=[make_run("r1", "snap bean, cut", {"bean-1": 5000}, pouches=12)],
                tasks=bean_tasks(zone, BEFORE, "r1", grams=4000, pouches=12),
            ),
            make_session(zone, AFTER, 2, runs=second, tasks=later),
        ],
        "picks": [
            make_pick("bean row", "snap bean", "2027-10-27", grams=5300, number=1),
            make_pick("bean row", "snap bean", "2027-11-01", grams=400, number=None),
            make_pick("broccoli bed", "broccoli", "2027-11-08", grams=4000, number=2),
        ],
        "freezer": [
            make_row("2027-10-28", 60000),
            make_row("2027-11-09", 90000),
            make_row("2027-11-10", 88000),
        ],
        "balance": [
            make_balance("snap bean", 5700, 5000, fresh=0),
            make_balance("broccoli", 4000, 4000, fresh=0),
            make_balance("winter squash", 4500, 4500, fresh=0),
        ],
        "wants": [
            make_want("snap bean, cut", 40, 12, stored=3),
            make_want("broccoli, florets", 8, 8, stored=0),
            make_want("winter squash, purée", 10, 10, stored=0),
        ],
        "shopping": [
            {
                "item": "8x10",
                "kind": "pouch",
                "need": 32,
                "in_stock": 10,
                "buy": 22,
                "packs": 1,
                "pack": 50,
                "price": 9.5,
                "order_by": "2027-11-02",
            },
            {
                "item": "ice for the week of Mon 25 October",
                "kind": "ice",
                "need": 4320,
                "in_stock": 0,
                "buy": 4320,
                "packs": 0,
                "pack": None,
                "price": None,
                "order_by": "2027-10-27",
            },
        ],
        "proof": {
            "worth": 23.3,
            "bound": 24.8,
            "gap": 0.064378,
            "status": "feasible",
            "seconds": 5.0,
            "parts": [
                {"part": "portions", "portions": 30.0},
                {"part": "freshness", "portions": -0.6},
                {"part": "evenings", "portions": -4.0},
                {"part": "visits", "portions": 0.0},
                {"part": "foods started", "portions": -2.1},
            ],
        },
        "warnings": [{"code": "service", "message": "The sealer passes its service time."}],
    }


def make_lot(name: str, crop: str, ready: str, keep_until: str, grams: int) -> dict[str, Any]:
    return {
        "id": name,
        "crop": crop,
        "planting": f"{crop} row",
        "bought": None,
        "ready": ready,
        "keep_until": keep_until,
        "grams": grams,
        "low_grams": grams // 2,
        "high_grams": grams * 2,
    }


def make_pick(planting: str, crop: str, day: str, grams: int, number: int | None) -> dict[str, Any]:
    uid = None if number is None else f"0000000{number}-6a52-5c64-9f3c-5a1f0c3c9d11"
    return {"planting": planting, "crop": crop, "date": day, "grams": grams, "session": uid}


def make_row(day: str, used: int) -> dict[str, Any]:
    return {
        "date": day,
        "name": "chest",
        "used_ml": used,
        "capacity_ml": 100000,
        "load_grams": 0,
        "load_limit_grams": 10000,
    }


def make_balance(crop: str, grams: int, preserved: int, fresh: int) -> dict[str, Any]:
    return {
        "crop": crop,
        "grams": grams,
        "preserved_grams": preserved,
        "fresh_grams": fresh,
        "surplus_grams": grams - preserved - fresh,
    }


def make_want(product: str, wanted: int, planned: int, stored: int) -> dict[str, Any]:
    short = max(0, wanted - planned - stored)
    return {
        "product": product,
        "wanted": wanted,
        "planned": planned,
        "stored": stored,
        "short": short,
    }


def make_plan(zone: str = "America/Denver", data: dict[str, Any] | None = None) -> Plan:
    return Plan.model_validate(data or plan_data(zone))
