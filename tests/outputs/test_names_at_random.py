"""Names drawn from all of Unicode: each is refused where it is read, or is written in the diary and
read back the same, and no control and no mark of direction stands in anything that people see."""

from __future__ import annotations

import datetime as dt
import random
import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from outputs.written_plans import AS_OF, make_library, make_plan, make_season, plan_data

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.ids import fold, planting_ids
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.card_text import card_text
from harvestplan.outputs.terminal.cautions_text import cautions_text
from harvestplan.outputs.terminal.crop_text import crop_text, crops_text
from harvestplan.outputs.terminal.settings_text import settings_text
from harvestplan.outputs.terminal.summary import next_text, summary_text
from harvestplan.outputs.write_all import output_bytes
from harvestplan.plan.models import Plan
from harvestplan.records import diary, tell
from harvestplan.records.names import Names, names_in

CROPS = Path(__file__).resolve().parents[2] / "crops"
BEAN = (CROPS / "snap-bean.toml").read_text(encoding="utf-8")
DAY = dt.date(2027, 7, 14)
COUNT = 300
PLACES = ("crop", "form", "planting", "pouch", "household")
SEASON = """\
[household]
name = {household}
timezone = "Europe/London"
[season]
start = 2027-04-01
end = 2027-11-30
[[planting]]
crop = "snap bean"
id = {planting}
row = "5 m"
sown = 2027-05-10
[[pouch]]
name = {pouch}
width = "8 in"
length = "10 in"
film = "3 mil"
"""
PIECES = (
    *"\"'“”«;#,.:\\/=<>&{}[]()|$%\t\n\r\x1b\x00\x7f\x85\u2028\u2029\u200b\u200d\u200e\u202e\u2067",
    " ",
    " ",
    "  ",
    "\u00a0",
    " planting ",
    "planting",
    " and ",
    "6 pouches",
    "5 lb",
    "12 oz",
    "#a1f3",
    "2027-05-20",
    "lost all",
    "1 failed seal",
    "95 minutes",
    "é",
    "e\u0301",
    "½",
    "٣",
    "ﬁ",
    "İ",
    "ß",
    "，",
    "；",
    "👩\u200d🌾",
    "🇬🇧",
    "\ufeff",
    "\U000e0041",
)


def drawn() -> list[str]:
    """Half of them of letters and blanks with one oddity, half of anything at all."""
    dice = random.Random(20270714)
    by_category: dict[str, list[str]] = defaultdict(list)
    for point in range(0x110000):
        by_category[unicodedata.category(chr(point))].append(chr(point))
    kinds = sorted(by_category)

    def anything() -> str:
        return dice.choice([dice.choice(PIECES), dice.choice(by_category[dice.choice(kinds)])])

    def plain() -> str:
        letters = [dice.choice(by_category[dice.choice(("Ll", "Lo", "Mn"))]) for _ in range(3)]
        return "".join(letters)

    texts = []
    for number in range(COUNT):
        parts = [plain(), anything(), plain()] if number % 2 else [anything() for _ in range(4)]
        texts.append("".join(dice.sample(parts, dice.randint(1, len(parts))))[:60])
    return [text or "x" for text in texts]


def basic(text: str) -> str:
    """A TOML string of escapes, where it has one for the letter; a surrogate it cannot hold."""
    return '"' + "".join(f"\\U{ord(letter):08x}" for letter in text) + '"'


def crop_file(name: str, form: str) -> str:
    """The snap bean's file under another name, its first product of another form."""
    text = BEAN
    for pattern, line in (
        ("also = .*", "also = []"),
        ("name = .*", f"name = {basic(name)}"),
        ('form = "cut"', f"form = {basic(form)}"),
    ):
        text = re.sub(f"(?m)^{pattern}$", line.replace("\\", r"\\"), text, count=1)
    return text


def accepted(folder: Path, place: str, text: str) -> bool:
    """Whether the text is taken as the name of this kind of thing."""
    folder.mkdir()
    if place in ("crop", "form"):
        (folder / "crops").mkdir()
        name, form = (text, "cut") if place == "crop" else ("lane bean", text)
        (folder / "crops" / "own.toml").write_text(crop_file(name, form), encoding="utf-8")
    names = {each: basic(text if each == place else "x") for each in PLACES}
    (folder / "season.toml").write_text(SEASON.format(**names), encoding="utf-8")
    try:
        load_season(folder, load_library(folder))
    except FilesNeedMending as refused:
        assert all(flaw.line for flaw in refused.flaws), ascii(text)
        return False
    return True


def steering(text: str) -> str:
    """The controls and marks of direction in a text, by Unicode's own properties."""
    turns = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
    return "".join(
        letter
        for letter in text
        if (unicodedata.category(letter) in ("Cc", "Cs", "Zl", "Zp") and letter not in "\r\n")
        or unicodedata.bidirectional(letter) in turns
        or letter in "\u061c\u200e\u200f"
    )


def events(
    crop: str, form: str, planting: str | None
) -> Iterator[tuple[str, str, str | None, str]]:
    """Verb and words as they are typed, the planting, and what the event is to name."""
    product = f"{crop}, {form}"
    yield "picked", f'"{crop}" 5 lb', None, crop
    yield "picked", f'"{crop}" 5 lb', planting, crop
    yield "flowering", f'"{crop}"', planting, crop
    yield "emerged", f'"{crop}"', None, crop
    yield "none", f'yet "{crop}"', planting, crop
    yield "failed", f'"{crop}"', planting, crop
    yield "bought", f'"{crop}" 20 lb', None, crop
    yield "lost", f'"{crop}" 2 lb', None, crop
    yield "gave", f'"{product}" 2', None, product
    yield "count", f'"{product}" 6', None, product
    yield "froze", f'"{product}" 6 pouches of 12 oz, 1 failed seal, 95 minutes', None, product
    yield "timed", f'"{product}" trim 25 minutes for 6 lb', None, product
    yield "setting", f'"{product}" pump-down 22 s foamed', None, product


def comes_back(folder: Path, names: Names, crop: str, form: str, planting: str | None) -> None:
    """Every kind of event that names something is written, and the diary says the same."""
    folder.mkdir()
    (folder / "season.toml").write_text('[household]\nname = "A"\n', encoding="utf-8")
    written = []
    for verb, words, where, name in events(crop, form, planting):
        done = diary.append_event(folder, verb, words, on=DAY, planting=where)
        event: Any = done.event
        named = next(
            getattr(event, key) for key in ("crop", "product", "name") if hasattr(event, key)
        )
        assert named == name and getattr(event, "planting", where) == where, ascii(done.line)
        assert not steering(done.line) and not steering(tell.said(event)), ascii(done.line)
        written.append(event)
    assert list(diary.read_diary(folder, names).events) == written, ascii((crop, form, planting))


def shown(names: dict[str, str], out: Path) -> Iterator[tuple[str, str]]:
    """All that people see of a plan with these names, by what it is."""
    product = f"{names['crop']}, {names['form']}"
    calls = {
        "snap bean, cut": product,
        "snap bean": names["crop"],
        "bean row": names["planting"],
        "snap bean row": names["planting"],
        "8x10": names["pouch"],
        "Miller": names["household"],
    }
    plan = make_plan(data=renamed(plan_data(), calls))
    season = make_season().model_copy(update=new_names(make_season(), calls))
    library = make_library()
    bean = library.crops["snap bean"]
    forms = tuple(p.model_copy(update={"form": names["form"]}) for p in bean.products)
    crops = {c.name: c for c in library.crops.values() if c is not bean}
    own: Crop = bean.model_copy(update={"name": names["crop"], "products": forms})
    sources = {**load_library().sources, **library.sources}
    library = Library.model_construct(crops={own.name: own, **crops}, sources=sources)
    for name, data in output_bytes(plan, season, library, out=out).items():
        yield name, data.decode("utf-8-sig")
    yield from said(plan, season, library)


def said(plan: Plan, season: Season, library: Library) -> Iterator[tuple[str, str]]:
    """What the commands print."""
    printed: dict[str, Callable[[], str]] = {
        "plan": lambda: summary_text(plan, season, library),
        "next": lambda: next_text(plan, AS_OF, season, library=library),
        "card": lambda: card_text(season, library),
        "crops": lambda: crops_text(library),
        "a crop": lambda: crop_text(library, next(iter(library.crops))),
        "cautions": lambda: cautions_text(library),
        "settings": lambda: settings_text(season, library, {}),
    }
    for command, text in printed.items():
        yield command, text()


def renamed(value: Any, calls: dict[str, str]) -> Any:
    if isinstance(value, dict):
        return {key: renamed(inner, calls) for key, inner in value.items()}
    if isinstance(value, list):
        return [renamed(inner, calls) for inner in value]
    return calls.get(value, value) if isinstance(value, str) else value


def new_names(season: Season, calls: dict[str, str]) -> dict[str, Any]:
    """The season's tables of names, with those names changed."""
    house = season.household.model_copy(update={"name": calls["Miller"]})
    pouches = (season.pouch[0].model_copy(update={"name": calls["8x10"]}), *season.pouch[1:])
    wants = (season.want[0].model_copy(update={"product": calls["snap bean, cut"]}),)
    return {"household": house, "pouch": pouches, "want": wants}


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """The names drawn that are taken at each place."""
    folder = tmp_path_factory.mktemp("read")
    found: dict[str, list[str]] = defaultdict(list)
    for number, text in enumerate(drawn()):
        for place in PLACES:
            if accepted(folder / f"{place}-{number}", place, text):
                found[place].append(text)
    return found


def test_every_name_is_refused_or_comes_back(
    taken: dict[str, list[str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert all(COUNT * 0.2 < len(taken[place]) < COUNT * 0.95 for place in PLACES)
    # One folder of all crops: of names that are the same but for capitals and accents only one.
    crops = list({fold(name): name for name in taken["crop"]}.values())
    world = tmp_path / "world"
    (world / "crops").mkdir(parents=True)
    for number, name in enumerate(crops):
        form = taken["form"][number % len(taken["form"])]
        path = world / "crops" / f"{number}.toml"
        path.write_text(crop_file(name, form), encoding="utf-8")
    ids = list(dict.fromkeys(planting_ids([("x", each) for each in taken["planting"]])))
    tables = (
        f"[[planting]]\ncrop = {basic(crops[n % len(crops)])}\nid = {basic(each)}\n"
        for n, each in enumerate(ids)
    )
    (world / "season.toml").write_text("".join(tables), encoding="utf-8")
    names = replace(names_in(world), at_home=True)
    load_library(world)
    monkeypatch.setattr(diary, "names_in", lambda folder: names)
    unplanted = [crop for crop in crops if crop not in names.plantings.values()]
    grown = [*names.plantings.items(), *((None, crop) for crop in unplanted)]
    for number, (planting, crop) in enumerate(grown):
        form = taken["form"][crops.index(crop) % len(taken["form"])]
        comes_back(tmp_path / f"kept-{number}", names, crop, form=form, planting=planting)


def test_no_name_that_is_taken_steers_what_shows_it(
    taken: dict[str, list[str]], tmp_path: Path
) -> None:
    for number in range(max(map(len, taken.values()))):
        names = {place: texts[number % len(texts)] for place, texts in taken.items()}
        for what, text in shown(names, tmp_path):
            assert not steering(text), (what, ascii(names), ascii(steering(text)))
