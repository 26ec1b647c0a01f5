"""A small household and a sound plan for it, timed one task after another by hand.

Three evenings: beans blanched in three potfuls and a purée cooked, the purée packed
two days later, onions frozen on trays and packed. Figures are round numbers, not handbook ones.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from harvestplan.inputs.crops import Crop, Library, Source
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.fillings import filling
from harvestplan.kitchen.layout import Layout, Sitting, TaskSpec, lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import Process, portion_in_grams
from harvestplan.plan.models import Plan

ZONE = ZoneInfo("America/Chicago")
AS_OF = dt.date(2027, 7, 1)
LAST_DRAW = dt.date(2027, 12, 31)
BEANS, PUREE, ONIONS = "snap bean, cut", "winter squash, purée", "onion, chopped"


def fig(value: Any) -> dict[str, Any]:
    return {"value": value, "source": "TEST", "seen": False}


def step(name: str, **keys: Any) -> dict[str, Any]:
    plain = {"hands", "clock", "piece", "ingredients"}
    return {"step": name} | {k: v if k in plain else fig(v) for k, v in keys.items()}


WASH, TRIM = step("wash", fixed="3 min"), step("trim", per_kg="15 min per kg", leaves=0.9)
TO_FREEZER = [
    step("portion", per_kg="3 min per kg"), step("seal"), step("freeze", fixed="2 min"),
]  # fmt: skip
CHAINS = {
    "snap bean": [
        WASH, TRIM,
        step("blanch", time="3 min", clock="return to boil", water="1 gal per lb", fixed="1 min",
             piece={"shape": "cylinder", "size": fig("8 mm")},
             ingredients=[{"item": "salt", "amount": fig("5 g per L")}]),
        step("cool", ratio=1.0, hands=0), step("drain", fixed="5 min", hands=0), *TO_FREEZER,
    ],
    "winter squash": [
        step("wash", fixed="2 min"),
        step("roast", time="50 min", fixed="2 min", leaves=0.8, hands=0),
        step("puree", per_kg="6 min per kg", leaves=0.8),
        step("chill", fixed="40 min", pause_limit="3 days", hands=0), *TO_FREEZER,
    ],
    "onion": [
        WASH,
        step("trim", per_kg="5 min per kg", leaves=0.9,
             ingredients=[{"item": "lemon juice", "amount": fig("10 g per kg")}]),
        step("tray freeze", fixed="35 min", tray_load="5 kg per m2", pause_limit="2 days",
             piece={"shape": "slab", "size": fig("1 mm")}),
        *TO_FREEZER,
    ],
}  # fmt: skip
FORMS = {"snap bean": ("cut", "pieces"), "winter squash": ("purée", "puree"),
         "onion": ("chopped", "pieces")}  # fmt: skip
GROWN = {
    "growth": {"clock": "sown", "days_to_maturity": fig("55 days"), "method": "mw2",
               "base": fig("10 C"), "frost": fig("tender")},
    "picking": {"pattern": "once-over", "weekly": fig([1.0]), "every": fig("7 days"),
                "stands": fig("2 days")},
    "yields": {"per_row": fig("1 kg per m")},
}  # fmt: skip


def make_crop(name: str) -> Crop:
    form, texture = FORMS[name]
    kind = "bought" if name == "onion" else "grown"
    data = {
        "name": name,
        "kind": kind,
        "water_share": fig(0.9),
        "raw_density": fig("0.5 kg per L"),
        "hazard": "other",
        "keeping": {"fridge": fig("6 days")},
        "refused": [{"form": "canned", "why": "Low in acid.", "source": "TEST", "seen": False}],
        "products": [
            {
                "form": form,
                "usual": True,
                "storage": "freezer",
                "texture": texture,
                "density": fig("0.5 kg per L" if texture == "pieces" else "1 kg per L"),
                "keeps": fig("10 months"),
                "steps": CHAINS[name],
            }
        ],
    }
    return Crop.model_validate(data | (GROWN if kind == "grown" else {}))


def make_library() -> Library:
    return Library(
        crops={name: make_crop(name) for name in CHAINS}, sources={"TEST": Source(title="Made up")}
    )


def make_season(**more: Any) -> Season:
    tables: dict[str, Any] = {
        "household": {"name": "The Lane", "timezone": ZONE.key, "altitude": "1600 m", "hands": 2},
        "season": {
            "start": dt.date(2027, 5, 1),
            "end": dt.date(2027, 9, 30),
            "max_sessions": 4,
            "max_sessions_per_week": 2,
        },
        "window": [{"days": ["mon", "wed"], "start": dt.time(17), "end": dt.time(23)}],
        "pot": [
            {"name": "stockpot", "volume": "16 L", "power": "3.5 kW"},
            {"name": "kettle", "volume": "12 L", "power": "2 kW"},
        ],
        "bath": [{"name": "sink", "volume": "20 L"}, {"name": "tub", "volume": "20 L"}],
        "oven": [{"name": "oven", "trays": 2, "tray_load": "2 kg"}],
        "sealer": {
            "kind": "chamber",
            "bar": "12 in",
            "chamber": "14x15x4 in",
            "service_after": "1 h",
            "run_so_far": "30 min",
        },
        "pouch": [
            {
                "name": "6x14",
                "width": "6 in",
                "length": "14 in",
                "film": "3 mil",
                "pack": 50,
                "price": 9.5,
                "in_stock": 4,
            },
            {"name": "8x12", "width": "8 in", "length": "12 in", "film": "3 mil"},
        ],
        "freezer": [
            {
                "name": "chest",
                "volume": "100 L",
                "used": "20 L",
                "freezing_per_day": "6 kg",
                "tray_area": "0.8 m2",
            },
            {"name": "upright", "volume": "60 L"},
        ],
        "bought": [{"item": "onion", "amount": "3 kg", "on": dt.date(2027, 7, 20)}],
        "want": [
            {
                "product": BEANS,
                "portions": 15,
                "portion": "300 g",
                "per_week": 1.5,
                "from": dt.date(2027, 10, 1),
                "until": LAST_DRAW,
            },
            {"product": PUREE, "portions": 5, "portion": "0.4 L"},
            {
                "product": "onion",
                "portions": 9,
                "portion": "300 g",
                "per_week": 2,
                "from": dt.date(2027, 7, 27),
            },
        ],
        "stored": [
            {
                "product": "snap bean",
                "portions": 2,
                "portion": "300 g",
                "frozen_on": dt.date(2027, 1, 5),
            }
        ],
    }
    return Season.model_validate(tables | more, context={"measures": "US"})


def free() -> tuple[FreeWindow, ...]:
    """Monday and Wednesday evenings, 17:00 to 23:00, of July 2027."""
    days = [dt.date(2027, 7, day) for day in range(1, 32)]
    evenings = [day for day in days if day.weekday() in (0, 2)]
    return tuple(
        FreeWindow(at(day, dt.time(17)), at(day, dt.time(23)), hands=2, extra=False)
        for day in evenings
    )


def at(day: dt.date, time: dt.time) -> dt.datetime:
    return dt.datetime.combine(day, time, ZONE)


@dataclass
class Evening:
    """A session filled one task after another from 17:00."""

    day: dt.date
    uid: str
    season: Season
    kitchen: Kitchen
    several: bool = False

    def __post_init__(self) -> None:
        self.now = at(self.day, dt.time(17))
        self.runs: list[dict[str, Any]] = []
        self.tasks: list[dict[str, Any]] = []
        self.served: dict[str, int] = {}
        self.filled = 0
        self.do(None, TaskSpec("set-up", "set up", None, seconds=1200, hands=1, units=(), grams=0))

    def do(self, run: str | None, spec: TaskSpec, lag: int = 0) -> None:
        """Adds a task after all others; it holds the first unit that serves. Stirring goes on while
        the pan chills, so many seconds after that began."""
        begin = self.now
        if spec.step == "stir":
            chill = next(task for task in reversed(self.tasks) if task["step"] == "chill")
            begin = chill["start"] + dt.timedelta(seconds=lag)
        end = begin + dt.timedelta(seconds=spec.seconds)
        # What is in the water of a pot stays there for all its potfuls.
        salted = spec.step == "blanch" and self.served[spec.units[0]] > 1
        self.tasks.append(
            {
                "id": f"{run}/{spec.key}" if run else spec.key,
                "run": run,
                "step": spec.step,
                "batch": spec.batch,
                "equipment": spec.units[:1],
                "hands": spec.hands,
                "start": begin,
                "end": end,
                "grams": spec.grams,
                "settings": dict(spec.settings),
                "cooks": ("first cook", "second cook")[: spec.hands],
                "ingredients": [] if salted else [each.model_dump() for each in spec.ingredients],
            }
        )
        self.now = max(end, self.now)

    def heat(self, name: str) -> None:
        """Fills the pot and brings it to the boil; what was in it is poured out before."""
        self.filled += 1
        new = filling(self.kitchen.pot(name), self.filled, steam=False)
        if name in self.served:
            self.do(None, new.empty)
        self.served[name] = 0
        self.do(None, new.fill)
        self.do(None, new.heat)

    def make(
        self,
        process: Process,
        run: str,
        lots: dict[str, int],
        raw: int,
        pouches: int,
        sitting: Sitting = "whole",
        first: str | None = None,
    ) -> None:
        packs = sitting != "first"
        pause = process.pause
        grams_in = sum(lots.values())
        if sitting == "second":
            assert pause is not None
            grams_in = round(raw * process.share_before(pause + 1))
        self.runs.append(
            {
                "id": run,
                "product": process.name,
                "crop": process.crop.name,
                "lots": [{"lot": lot, "grams": grams} for lot, grams in lots.items()],
                "grams_in": grams_in,
                "grams_packed": process.packed(raw, pouches) if packs else 0,
                "pouch": process.packing.pouch.name if packs else None,
                "pouches": pouches if packs else 0,
                "portion_grams": process.portion_grams,
                "second_sitting_of": first,
            }
        )
        layout = lay_out(process, raw, pouches, sitting=sitting, freezer="chest")
        if self.several:
            self.do(run, TaskSpec("change-over", "change over", None, 180, 1, units=(), grams=0))
        lags = {link.after: link.lag for link in layout.links}
        for spec in _batch_by_batch(layout.tasks):
            if spec.step == "blanch":
                (pot,) = spec.units[:1]
                if self.served.get(pot, 3) == 3:
                    self.heat(pot)
                self.served[pot] += 1
            self.do(run, spec, lags.get(spec.key, 0))
        self._keep_cold(run, layout)

    def _keep_cold(self, run: str, layout: Layout) -> None:
        """What has been cooled waits in the fridge until it is packed."""
        ours = {task["id"]: task for task in self.tasks if task["run"] == run}
        cooled = {task["batch"] for task in ours.values() if task["step"] == "cool"}
        for last in dict.fromkeys(last for last, _ in layout.packs):
            task = ours[f"{run}/{last}"]
            until = min(ours[f"{run}/{at}"]["start"] for end, at in layout.packs if end == last)
            batch, since = task["batch"], task["end"]
            if batch in cooled and until - since > dt.timedelta(minutes=10):
                spec = TaskSpec(f"cold-{batch}", "keep cold", batch, 0, 0, units=(), grams=0)
                self.do(run, spec)
                self.tasks[-1] |= {"start": since, "end": until}

    def finish(self) -> dict[str, Any]:
        self.do(
            None, TaskSpec("clean-up", "clean up", None, seconds=1200, hands=1, units=(), grams=0)
        )
        start, until = at(self.day, dt.time(17)), at(self.day, dt.time(23))
        return {
            "uid": self.uid,
            "sequence": 0,
            "status": "planned",
            "start": start,
            "end": self.now,
            "window_start": start,
            "window_end": until,
            "hands": 2,
            "runs": self.runs,
            "tasks": self.tasks,
        }


def _batch_by_batch(tasks: tuple[TaskSpec, ...]) -> Iterator[TaskSpec]:
    """A run's tasks so that each batch is finished before the next is begun, packing last."""
    packing = ("portion", "seal", "freeze")
    yield from (task for task in tasks if task.step == "wash")
    batches = [task for task in tasks if task.step not in ("wash", *packing)]
    yield from sorted(batches, key=lambda task: task.batch or 0)
    yield from sorted(
        (task for task in tasks if task.step in packing), key=lambda task: task.batch or 0
    )


def process_of(season: Season, library: Library, product: str) -> Process:
    found = library.find_product(product)
    assert found is not None
    names = (want for want in season.want if library.find_product(want.product) == found)
    grams = portion_in_grams(found[1], next(names).portion)
    return make_process(Kitchen.from_season(season), *found, grams)


def make_sessions(season: Season, library: Library) -> list[dict[str, Any]]:
    beans, puree, onions = (process_of(season, library, p) for p in (BEANS, PUREE, ONIONS))
    kitchen = beans.kitchen
    first = Evening(dt.date(2027, 7, 12), "u1", season, kitchen=kitchen, several=True)
    first.make(beans, "r-beans", {"bean-1": 2400, "bean-2": 1600}, 4000, 12)
    first.make(puree, "r-cook", {"squash-1": 3125}, 3125, 5, "first")
    second = Evening(dt.date(2027, 7, 14), "u2", season, kitchen=kitchen)
    second.make(puree, "r-pack", {}, 3125, 5, "second", "r-cook")
    third = Evening(dt.date(2027, 7, 21), "u3", season, kitchen=kitchen)
    third.make(onions, "r-onions", {"onion-1": 2900}, 2900, 9)
    return [first.finish(), second.finish(), third.finish()]


def make_lot(name: str, crop: str, ready: int, keep: int, grams: int) -> dict[str, Any]:
    bought = crop == "onion"
    return {
        "id": name,
        "crop": crop,
        "planting": None if bought else f"{crop} row",
        "bought": crop if bought else None,
        "ready": dt.date(2027, 7, ready),
        "keep_until": dt.date(2027, 7, keep),
        "grams": grams,
        "low_grams": 0,
        "high_grams": grams * 2,
    }


def make_pick(crop: str, day: int, grams: int, uid: str | None) -> dict[str, Any]:
    date = dt.date(2027, 7, day)
    return {"planting": f"{crop} row", "crop": crop, "date": date, "grams": grams, "session": uid}


def _balance(crop: str, preserved: int, fresh: int, surplus: int) -> dict[str, Any]:
    return {
        "crop": crop,
        "grams": preserved + fresh + surplus,
        "preserved_grams": preserved,
        "fresh_grams": fresh,
        "surplus_grams": surplus,
    }


def _want(product: str, wanted: int, planned: int, stored: int) -> dict[str, Any]:
    return {
        "product": product,
        "wanted": wanted,
        "planned": planned,
        "stored": stored,
        "short": max(0, wanted - planned - stored),
    }


def _staple(item: str, grams: int, order_by: dt.date) -> dict[str, Any]:
    return {
        "item": item,
        "kind": "staple",
        "need": grams,
        "in_stock": 0,
        "buy": grams,
        "packs": 0,
        "pack": None,
        "price": None,
        "order_by": order_by,
    }


def plan_data(season: Season, library: Library) -> dict[str, Any]:
    """A sound plan as nested lists and dictionaries, to be spoilt by the tests."""
    sessions = make_sessions(season, library)
    return {
        "made_at": at(AS_OF, dt.time(9)),
        "as_of": AS_OF,
        "season": {
            "name": "The Lane",
            "timezone": ZONE.key,
            "start": season.season.start,
            "end": season.season.end,
        },
        "lots": [
            make_lot("bean-1", "snap bean", 10, keep=16, grams=2400),
            make_lot("bean-2", "snap bean", 12, keep=18, grams=2000),
            make_lot("squash-1", "winter squash", 6, keep=31, grams=3500),
            make_lot("onion-1", "onion", 20, keep=31, grams=3000),
        ],
        "sessions": sessions,
        "picks": [
            make_pick("snap bean", 12, 4000, uid="u1"),
            make_pick("snap bean", 12, 400, uid=None),
            make_pick("winter squash", 8, 3125, uid="u1"),
            make_pick("winter squash", 6, 375, uid=None),
        ],
        "freezer": list(freezer_rows(season, library, sessions)),
        "balance": [
            _balance("onion", 2900, 0, surplus=100),
            _balance("snap bean", 4000, 300, surplus=100),
            _balance("winter squash", 3125, 0, surplus=375),
        ],
        "wants": [
            _want(BEANS, 15, 12, stored=2),
            _want(PUREE, 5, 5, stored=0),
            _want(ONIONS, 9, 9, stored=0),
        ],
        "shopping": [
            {
                "item": "6x14",
                "kind": "pouch",
                "need": 28,
                "in_stock": 4,
                "buy": 24,
                "packs": 1,
                "pack": 50,
                "price": 9.5,
                "order_by": dt.date(2027, 7, 5),
            },
            {
                "item": "onion",
                "kind": "food",
                "need": 3000,
                "in_stock": 0,
                "buy": 3000,
                "packs": 0,
                "pack": None,
                "price": None,
                "order_by": dt.date(2027, 7, 20),
            },
            # 5 g to each of the 12 L in the stockpot, once; 10 g to each of 2.9 kg of onions.
            _staple("salt", 60, dt.date(2027, 7, 5)),
            _staple("lemon juice", 30, dt.date(2027, 7, 14)),
        ],
        "proof": [],
        "warnings": [{"code": "one-minute", "message": f"{BEANS}: a potful takes over a minute."}],
    }


def freezer_rows(
    season: Season, library: Library, sessions: list[dict[str, Any]]
) -> Iterator[dict[str, Any]]:
    """The two freezers day by day, with the draws of the three wants written out as dates.

    Beans: three a fortnight from 1 October until all are eaten, floor(1.5 n / 7) by day n.
    Onions: two a week from 27 July, on each fourth and seventh day. The purée is not drawn.
    """
    spaces = {p: process_of(season, library, p).packing.space for p in (BEANS, PUREE, ONIONS)}
    stock = {BEANS: 2, PUREE: 0, ONIONS: 0}
    packed = {
        dt.date(2027, 7, 12): (BEANS, 12, 3600),
        dt.date(2027, 7, 14): (PUREE, 5, 2000),
        dt.date(2027, 7, 21): (ONIONS, 9, 2610),
    }
    bean_days = (5, 10, 14, 19, 24, 28, 33, 38, 42, 47, 52, 56, 61, 66)
    draws = {dt.date(2027, 9, 30) + dt.timedelta(days=n): BEANS for n in bean_days}
    onion_days = sorted((*range(4, 36, 7), *range(7, 35, 7)))
    draws |= {dt.date(2027, 7, 26) + dt.timedelta(days=n): ONIONS for n in onion_days}
    day, last = AS_OF, max(draws)
    while day <= last:
        product, pouches, grams = packed.get(day, (BEANS, 0, 0))
        stock[product] += pouches
        used = 20000 + sum(spaces[p] * stock[p] for p in stock)
        yield _row(day, "chest", used, room=100000, load=grams, limit=6000)
        # 2 lb to the cubic foot of 60 L, the rule for freezing (USDA AIB 410).
        yield _row(
            day, "upright", 0, room=60000, load=0, limit=int(2 * 453.59237 * 60 / 28.316846592)
        )
        if stock[draws.get(day, PUREE)] and day in draws:
            stock[draws[day]] -= 1
        day += dt.timedelta(days=1)


def _row(day: dt.date, name: str, used: int, room: int, load: int, limit: int) -> dict[str, Any]:
    return {
        "date": day,
        "name": name,
        "used_ml": used,
        "capacity_ml": room,
        "load_grams": load,
        "load_limit_grams": limit,
    }


SEASON, LIBRARY, WINDOWS = make_season(), make_library(), free()


def sound_plan() -> Plan:
    return Plan.model_validate(plan_data(SEASON, LIBRARY))
