"""Seeded, realistic seasons for benchmarks, written as a person writes them and read by the tool.

    household()   14 foods, about 100 lots, about 60 windows, one cook and a helper on Saturdays
    by_hand()     the same without a sealing machine: zip bags and boxes
    big()         30 foods, about 250 lots
    shared(n)     n households' gardens in one kitchen: 4 pots, 3 sealing machines, 3 freezers,
                  a cold room as large as n fridges, 6 hands
    wide()        8 to 24 foods, 1 to 4 cooks, 1 to 3 pots, from one evening a week to every day,
                  cellar or none, with and without a machine, in one of two climates

What is drawn lies in ranges of ordinary gardens and kitchens (common practice, no source). Weather:
Champion, Nebraska 1982-2018 (tests/data/weather); for wide() also Suffolk, England 1991-2021.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import random
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from places import CHAMPION, DATA

from harvestplan.forecast.lots import lots_from
from harvestplan.household import Household
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Lot, Plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem

CLIMATES = (
    CHAMPION,
    DATA / "weather" / "suffolk_england_1991_2021.csv",
)
FRIDGE = 60
"""Litres of a household's fridge for food that waits."""
YEAR = 2027
AS_OF = dt.date(YEAR, 3, 1)


@dataclass(frozen=True)
class Instance:
    """A season read from its folder, with the lots that its forecast brings."""

    name: str
    household: Household
    lots: tuple[Lot, ...]

    @property
    def season(self) -> Season:
        return self.household.season

    @property
    def library(self) -> Library:
        return self.household.library

    @property
    def windows(self) -> tuple[FreeWindow, ...]:
        return self.household.windows

    def problem(self, as_of: dt.date = AS_OF, earlier: Plan | None = None) -> Problem:
        """The decision to take on `as_of`, against the earlier plan where there is one."""
        return build_problem(self.household, self.lots, as_of, earlier=earlier)


@dataclass(frozen=True)
class Grown:
    """How a household grows a crop: place and dates are drawn, sown or set out as its file says.

    `place` is the key and the range of its size; `days` the first and last month-day, for this
    year or, for what stands for years, long ago. `times` is how often it is sown.
    """

    crop: str
    place: tuple[str, int, int]
    days: tuple[str, str]
    product: str
    times: int = 1


GROWN = (
    Grown("snap bean", ("row", 20, 40), ("05-08", "05-16"), product="cut", times=3),
    Grown("sweet corn", ("row", 40, 70), ("05-05", "05-12"), product="kernel", times=3),
    Grown("tomato", ("plants", 6, 14), ("05-18", "05-30"), product="purée"),
    Grown("strawberry", ("row", 20, 40), ("04-10", "04-30"), product="whole"),
    Grown("shelling pea", ("row", 60, 100), ("04-01", "04-12"), product="shelled", times=2),
    Grown("broccoli", ("plants", 8, 14), ("04-18", "04-28"), product="florets", times=2),
    Grown("spinach", ("row", 25, 45), ("03-25", "04-05"), product="leaf", times=2),
    Grown("carrot", ("row", 15, 30), ("04-15", "05-05"), product="sliced", times=2),
    Grown("pepper", ("plants", 5, 12), ("05-22", "06-02"), product="strips"),
    Grown("winter squash", ("plants", 4, 9), ("05-18", "05-28"), product="purée"),
    Grown("kale", ("plants", 6, 12), ("07-01", "07-15"), product="leaf"),
    Grown("raspberry", ("row", 15, 30), ("04-15", "05-05"), product="whole"),
    Grown("rhubarb", ("plants", 3, 6), ("04-10", "05-01"), product="cut"),
    Grown("beet", ("row", 12, 24), ("04-15", "05-05"), product="sliced", times=2),
    Grown("apple", ("plants", 1, 2), ("04-01", "04-20"), product="sauce"),
    Grown("edible-pod pea", ("row", 15, 30), ("04-01", "04-15"), product="whole"),
    Grown("cauliflower", ("plants", 8, 14), ("04-18", "04-28"), product="florets", times=2),
    Grown("lima bean", ("row", 20, 40), ("05-15", "05-28"), product="shelled"),
    Grown("chard", ("row", 8, 16), ("04-15", "05-01"), product="leaf"),
    Grown("blueberry", ("plants", 3, 6), ("04-10", "05-01"), product="whole"),
    Grown("okra", ("row", 12, 24), ("05-20", "06-01"), product="whole"),
    Grown("eggplant", ("plants", 4, 8), ("05-25", "06-05"), product="sliced"),
    Grown("cabbage", ("plants", 6, 12), ("04-20", "05-10"), product="shredded"),
    Grown("plum", ("plants", 1, 2), ("04-01", "04-20"), product="halves"),
    Grown("parsnip", ("row", 15, 30), ("04-10", "05-01"), product="cubes"),
)
BOUGHT = (
    ("minced meat", "portioned", "450 g"),
    ("chicken piece", "portioned", "680 g"),
    ("dry bean", "sealed", "450 g"),
    ("fish fillet", "portioned", "400 g"),
    ("beef cut", "portioned", "800 g"),
)
Food = Grown | tuple[str, str, str]
PORTIONS = (280, 340, 340, 450)
"""Grams of a portion: 10 to 16 oz."""


def household(seed: int = 1) -> Instance:
    """14 foods of one household."""
    draw = random.Random(f"household {seed}")
    foods: list[Food] = [
        *draw.sample(GROWN[:8], 5),
        *draw.sample(GROWN[8:], 6),
        *draw.sample(BOUGHT, 3),
    ]
    garden = _garden(draw, foods, (8, 40))
    return _read(f"household-{seed}", [*_evenings(draw, 2), *_home(draw), *garden])


def by_hand(seed: int = 1) -> Instance:
    """14 foods of a household that closes zip bags and boxes by hand."""
    draw = random.Random(f"by hand {seed}")
    foods: list[Food] = [
        *draw.sample(GROWN[:8], 5),
        *draw.sample(GROWN[8:], 6),
        *draw.sample(BOUGHT, 3),
    ]
    garden = _garden(draw, foods, (8, 40))
    home = _home(draw, packs=_bags_and_boxes(draw))
    return _read(f"by-hand-{seed}", [*_evenings(draw, 2), *home, *garden])


def big(seed: int = 1) -> Instance:
    """30 foods of a household that lives on its land."""
    return _read(f"big-{seed}", _big(seed))


def write_big(folder: Path, seed: int = 1) -> None:
    """The same as a season folder."""
    shutil.copyfile(CHAMPION, folder / "weather.csv")
    (folder / "season.toml").write_text("\n\n".join(_big(seed)) + "\n", encoding="utf-8")


def _big(seed: int) -> list[str]:
    draw = random.Random(f"big {seed}")
    garden = _garden(draw, (*GROWN, *BOUGHT), (10, 50))
    return [*_evenings(draw, 3), *_home(draw, 3), *garden]


def wide(seed: int = 1) -> Instance:
    """A household drawn from wide ranges."""
    draw = random.Random(f"wide {seed}")
    cooks, pots, count = draw.randint(1, 4), draw.randint(1, 3), draw.randint(8, 24)
    bought = draw.randint(0, min(len(BOUGHT), count // 4))
    foods: list[Food] = [*draw.sample(GROWN, count - bought), *draw.sample(BOUGHT, bought)]
    packs = _bags_and_boxes(draw) if draw.random() < 0.3 else None
    home = list(_home(draw, draw.randint(1, 3), packs))
    kettles = [table for table in home if table.startswith("[[pot]]")]
    others = [table for table in home if table not in kettles]
    kettles += [kettles[-1].replace('"stock pot"', '"old pot"')]
    garden = _garden(draw, foods, (6, 40))
    tables = [*_any_evenings(draw, cooks), *kettles[:pots], *others, *garden]
    return _read(f"wide-{seed}", tables, draw.choice(CLIMATES))


def shared(households: int, seed: int = 1) -> Instance:
    """So many households, six foods each, in one kitchen; equal wants are added up."""
    draw = random.Random(f"shared {households} {seed}")
    garden: list[str] = []
    wanted: dict[str, int] = {}
    for number in range(1, households + 1):
        foods: list[Food] = [*draw.sample(GROWN, 5), draw.choice(BOUGHT)]
        garden += [x for food in foods for x in _supply(draw, f"h{number:02d}-", food)]
        for food in foods:
            product = _product(food)
            wanted[product] = wanted.get(product, 0) + _portions(draw, food, (8, 30))
    wants = [_want(draw, product, portions) for product, portions in wanted.items()]
    return _read(f"shared-{households}-{seed}", [*_common_kitchen(households), *garden, *wants])


def shifted(instance: Instance, crop: str, days: int) -> Instance:
    """The same season with every pick of the crop so many days later (earlier where negative)."""
    move = dt.timedelta(days=days)
    lots = (
        lot.model_copy(update={"ready": lot.ready + move, "keep_until": lot.keep_until + move})
        if lot.crop == crop and lot.planting is not None
        else lot
        for lot in instance.lots
    )
    moved = tuple(sorted(lots, key=lambda lot: (lot.ready, lot.id)))
    return dataclasses.replace(instance, name=f"{instance.name} {crop} {days:+d} d", lots=moved)


def _read(name: str, tables: list[str], weather: Path = CHAMPION) -> Instance:
    """The season written into a folder of its own and read back as any household's."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder)
        shutil.copyfile(weather, path / "weather.csv")
        (path / "season.toml").write_text("\n\n".join(tables) + "\n", encoding="utf-8")
        read = read_household(path, AS_OF)
    return Instance(name, read, lots_from(read.forecast, read.season, read.library))


def _head(name: str, hands: int, fridge: int = FRIDGE, cellar: bool = True) -> Iterator[str]:
    yield (
        f'[household]\nname = "{name}"\ntimezone = "America/Denver"\naltitude = "1000 m"\n'
        f'measures = "metric"\nhands = {hands}'
    )
    yield '[weather]\ndaily = "weather.csv"'
    yield f'[cold]\nfridge = "{fridge} L"\ncellar = {str(cellar).lower()}'


def _evenings(draw: random.Random, evenings: int) -> Iterator[str]:
    """So many evenings a week and Saturday morning, less two holidays."""
    yield from _head("Benchmark", 1)
    yield f"[season]\nstart = {YEAR}-05-15\nend = {YEAR}-10-31\nmax_sessions_per_week = {evenings}"
    days = sorted(draw.sample(("mon", "tue", "wed", "thu"), evenings))
    listed = ", ".join(f'"{day}"' for day in days)
    minutes = draw.choice((0, 15, 30))
    yield f"[[window]]\ndays = [{listed}]\nstart = 18:00:00\nend = 21:{minutes:02d}:00"
    yield '[[window]]\ndays = ["sat"]\nstart = 08:00:00\nend = 12:30:00\nhands = 2'
    for month in (7, 8):
        first = dt.date(YEAR, month, draw.randint(1, 20))
        last = first + dt.timedelta(days=draw.randint(5, 12))
        yield f"[[away]]\nstart = {first}\nend = {last}"


def _any_evenings(draw: random.Random, cooks: int) -> Iterator[str]:
    """From one evening a week to every day, with a holiday in half of the households."""
    yield from _head("Benchmark", cooks, draw.randint(30, 120), draw.random() < 0.5)
    yield f"[season]\nstart = {YEAR}-05-01\nend = {YEAR}-11-15"
    days = draw.sample(("mon", "tue", "wed", "thu", "fri", "sat", "sun"), draw.randint(1, 7))
    listed = ", ".join(f'"{day}"' for day in days)
    begin, hours = draw.choice(((18, 3), (17, 4), (19, 2), (9, 4)))
    yield f"[[window]]\ndays = [{listed}]\nstart = {begin:02d}:00:00\nend = {begin + hours}:30:00"
    if draw.random() < 0.5:
        first = dt.date(YEAR, draw.choice((7, 8)), draw.randint(1, 20))
        last = first + dt.timedelta(days=draw.randint(5, 18))
        yield f"[[away]]\nstart = {first}\nend = {last}"


def _home(
    draw: random.Random, freezers: int = 2, packs: Iterator[str] | None = None
) -> Iterator[str]:
    for name, litres, watts in (("kettle", 15, 3000), ("stock pot", 8, 1800)):
        power = draw.randint(watts - 300, watts + 300)
        yield f'[[pot]]\nname = "{name}"\nvolume = "{litres} L"\npower = "{power} W"'
    yield f'[[bath]]\nname = "sink"\nvolume = "{draw.randint(20, 35)} L"'
    yield '[[oven]]\nname = "oven"\ntrays = 2\ntray_load = "2 kg"'
    if packs is None:
        yield _sealer("15 s")
        yield from _pouches()
    else:
        yield from packs
    for number in range(1, freezers + 1):
        volume = draw.randint(110, 180)
        yield _freezer(number, volume, draw.randint(0, volume // 4))


def _common_kitchen(households: int) -> Iterator[str]:
    yield from _head("Shared kitchen", 6, FRIDGE * households)
    yield f"[season]\nstart = {YEAR}-05-15\nend = {YEAR}-10-31"
    yield (
        '[[window]]\ndays = ["mon", "tue", "wed", "thu", "fri"]\n'
        "start = 17:00:00\nend = 21:30:00\nhands = 6"
    )
    yield '[[window]]\ndays = ["sat"]\nstart = 08:00:00\nend = 14:00:00\nhands = 6'
    for number in range(1, 5):
        yield f'[[pot]]\nname = "pot {number}"\nvolume = "20 L"\npower = "5 kW"\nkind = "gas"'
    for number in range(1, 4):
        yield f'[[bath]]\nname = "bath {number}"\nvolume = "60 L"'
    yield '[[oven]]\nname = "oven"\ntrays = 8\ntray_load = "3 kg"'
    yield _sealer("10 s", 3)
    yield from _pouches()
    for number in range(1, 4):
        yield _freezer(number, 900, 0)


def _sealer(handling: str, count: int = 1) -> str:
    return f'[sealer]\nkind = "chamber"\ncount = {count}\nbar = "40 cm"\nhandling = "{handling}"'


def _pouches() -> Iterator[str]:
    for name, width, length in (("pint", 15, 25), ("quart", 20, 30), ("large", 25, 35)):
        yield (
            f'[[pouch]]\nname = "{name}"\nwidth = "{width} cm"\nlength = "{length} cm"\n'
            'film = "80 um"'
        )


def _bags_and_boxes(draw: random.Random) -> Iterator[str]:
    """Said to be without a machine, or not said at all; bags, and boxes or jars."""
    if draw.random() < 0.5:
        yield '[sealer]\nkind = "none"'
    for name, width, length in (("small bag", 18, 19), ("large bag", 27, 26)):
        yield (
            f'[[pouch]]\nname = "{name}"\nkind = "zip bag"\nwidth = "{width} cm"\n'
            f'length = "{length} cm"'
        )
    mouth = draw.choice(("wide", "narrow"))
    for name, volume in (("half litre", 0.5), ("litre", 1)):
        yield (
            f'[[pouch]]\nname = "{name}"\nkind = "box"\nvolume = "{volume} L"\nmouth = "{mouth}"'
        )


def _freezer(number: int, volume: int, used: int) -> str:
    return f'[[freezer]]\nname = "freezer {number}"\nvolume = "{volume} L"\nused = "{used} L"'


def _product(food: Food) -> str:
    return f"{food.crop}, {food.product}" if isinstance(food, Grown) else f"{food[0]}, {food[1]}"


def _garden(draw: random.Random, foods: Sequence[Food], portions: tuple[int, int]) -> list[str]:
    tables: list[str] = []
    for food in foods:
        tables += _supply(draw, "", food)
        tables.append(_want(draw, _product(food), _portions(draw, food, portions)))
    return tables


def _portions(draw: random.Random, food: Food, garden: tuple[int, int]) -> int:
    """Wants of garden food lie in the range; of a purchase about what it gives."""
    return draw.randint(*garden) if isinstance(food, Grown) else draw.randint(6, 14)


def _supply(draw: random.Random, prefix: str, food: Food) -> Iterator[str]:
    """The food's plantings, or its purchase."""
    if not isinstance(food, Grown):
        day = dt.date(YEAR, 6, 1) + dt.timedelta(days=draw.randint(0, 120))
        grams = draw.randint(3, 7) * 1000
        yield f'[[bought]]\nitem = "{food[0]}"\namount = "{grams} g"\non = {day}'
        return
    key, least, most = food.place
    first, last = (dt.date.fromisoformat(f"{YEAR}-{day}") for day in food.days)
    day = first + dt.timedelta(days=draw.randint(0, (last - first).days))
    size = draw.randint(least, most)
    place = f'row = "{size} ft"' if key == "row" else f"plants = {size}"
    for time in range(food.times):
        sown = day + dt.timedelta(days=21 * time)
        name = f"{prefix}{food.crop.replace(' ', '-')}-{time + 1}"
        lines = [f'id = "{name}"', f'crop = "{food.crop}"', place, f"{_how(food.crop)} = {sown}"]
        yield "\n".join(["[[planting]]", *lines])


SOWN = {
    "snap bean", "sweet corn", "shelling pea", "spinach", "carrot", "winter squash", "beet",
    "edible-pod pea", "lima bean", "chard", "okra", "parsnip",
}  # fmt: skip


def _how(crop: str) -> str:
    return "sown" if crop in SOWN else "set_out"


def _want(draw: random.Random, product: str, portions: int) -> str:
    grams = {f"{n}, {f}": size for n, f, size in BOUGHT}.get(product)
    size = grams or f"{draw.choice(PORTIONS)} g"
    lines = [f'product = "{product}"', f"portions = {portions}", f'portion = "{size}"']
    lines.append(f"priority = {draw.choice((1, 1, 2, 3))}")
    if draw.random() < 0.4:
        lines.append(f"per_week = 1\nfrom = {YEAR}-10-01")
    return "\n".join(["[[want]]", *lines])
