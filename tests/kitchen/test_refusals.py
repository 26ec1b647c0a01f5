"""What is never sealed, rule by rule, and from a household's own crop file."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
import season_tables
from each_case import each
from kitchen.foods import DRAIN, TO_FREEZER, TRIM, WASH, blanch, crop, fig, kitchen, product, step
from places import ROOT
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.errors import CannotBeMade, FilesNeedMending
from harvestplan.inputs.crops import Crop, Product
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.hazards import kinds_of
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.refusals import judge
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

AS_OF = dt.date(2027, 7, 1)
SEAL, STORE = step("seal"), step("store")
SEALED = (step("portion", per_kg="3 min per kg"), SEAL)
COOL, CHILL = step("cool", ratio=1.0, hands=0), step("chill", hands=0)
PIECE = {"shape": "slab", "size": fig("6 mm")}
TRAY = step("tray freeze", fixed="3 min", tray_load="5 kg/m2", pause_limit="2 days", piece=PIECE)
COLD_WATER = step("cool", fixed="20 min", hands=0)
PUREE = step("puree", per_kg="6 min per kg")
SIMMER = step("simmer", time="20 min", hands=0)
RAW = (WASH, TRIM, *TO_FREEZER)


def dry(leaves: float) -> dict[str, Any]:
    return step(
        "dry",
        per_kg="10 min per kg",
        time="8 h",
        tray_load="3 kg/m2",
        leaves=leaves,
        pause_least="9 h",
        pause_limit="21 days",
    )


DRIED = (WASH, TRIM, dry(0.12), *SEALED, STORE)
SHELF: dict[str, Any] = {"storage": "shelf", "texture": "dry"}
FRIDGE: dict[str, Any] = {"storage": "fridge"}


def verdict(name: str, steps: tuple[dict[str, Any], ...], water: float = 0.9, **keys: Any) -> str:
    made = product(steps, **keys)
    return judge(made, crop(made, name=name, water=water)) or ""


@pytest.mark.parametrize(
    ("name", "steps", "keys", "why"),
    [
        # Garlic, onions, fresh mushrooms, soft cheese: equipment practice, no source
        ("garlic", RAW, {}, "not sealed before it is frozen"),
        ("red onions", RAW, {}, "not sealed before it is frozen"),
        ("Brown Mushroom", RAW, {}, "not sealed before it is frozen"),
        ("soft cheese", (WASH, SIMMER, CHILL, *TO_FREEZER), {}, "not sealed before it is frozen"),
        # Raw cabbage kin gives off gas: equipment practice, no source
        ("red cabbage", RAW, {}, "gas"),
        ("broccoli", (WASH, TRAY, *TO_FREEZER), {}, "gas"),
        ("brussels sprout", RAW, {}, "gas"),
        # Southern Nevada Health District: hot food is cooled at once
        ("tomato", (WASH, SIMMER, *TO_FREEZER), {}, "warm food"),
        ("snap bean", (WASH, blanch(), *TO_FREEZER), {}, "warm food"),
        ("tomato", (WASH, SIMMER, DRAIN, *TO_FREEZER), {"texture": "liquid"}, "warm food"),
        ("pumpkin", (WASH, blanch(), COOL, *TO_FREEZER), {"texture": "puree"}, "warm food"),
        ("beet", (WASH, SIMMER, TRAY, *TO_FREEZER), {}, "warm food"),
        ("chard", (WASH, SIMMER, COLD_WATER, *TO_FREEZER), {"texture": "leaf"}, "warm food"),
        ("beef", (SIMMER, COLD_WATER, *TO_FREEZER), {"texture": "meat"}, "(chill or dry)"),
        ("pumpkin", (SIMMER, PUREE, TRAY, *TO_FREEZER), {"texture": "puree"}, "warm food"),
        ("basil", (WASH, PUREE, *TO_FREEZER), {"texture": "puree"}, "after the puree"),
        # Clemson: moist, low-acid food sealed at room temperature
        ("snap bean", (WASH, blanch(), COOL, *SEALED, STORE), SHELF, "room temperature"),
        ("snap bean", (WASH, blanch(), COOL, *SEALED, STORE), SHELF | {"texture": "pieces"},
         "room temperature"),
        ("peach", (WASH, TRIM, dry(0.8), *SEALED, STORE),
         SHELF, "room temperature"),
        # Food Standards Agency 2017: ten days chilled
        ("carrot", (WASH, TRIM, *SEALED, STORE), FRIDGE | {"keeps": fig("11 days")}, "10 days"),
        # Illinois and Minnesota extensions: cooked food three to four days
        ("carrot", (WASH, blanch(), COOL, *SEALED, STORE), FRIDGE | {"keeps": fig("5 days")},
         "4 days"),
        # NCHFP 2015: garlic in oil four days at 40 °F
        ("garlic", (WASH, SIMMER, CHILL, *SEALED, STORE),
         FRIDGE | {"form": "in oil", "keeps": fig("5 days")}, "4 days"),
        ("hot pepper", DRIED, SHELF | {"form": "roasted in oil"}, "4 days"),
        # NCHFP, Clemson: no substitute for canning
        ("snap bean", (WASH, blanch(), COOL, *SEALED, STORE), SHELF | {"form": "canned, whole"},
         "pressure canner"),
    ],
)  # fmt: skip
def test_unsafe_chains_are_refused(
    name: str, steps: tuple[dict[str, Any], ...], keys: dict[str, Any], why: str
) -> None:
    said = verdict(name, steps, **keys)
    assert why in said
    assert "food-safety authority" in said
    assert not said.endswith(".")


@pytest.mark.parametrize(
    ("name", "steps", "keys"),
    [
        ("garlic", (WASH, TRIM, TRAY, *TO_FREEZER), {}),
        ("onion", (WASH, TRIM, SIMMER, CHILL, *TO_FREEZER), {}),
        ("onion", DRIED, SHELF),
        ("broccoli", (WASH, TRIM, blanch(), COOL, *TO_FREEZER), {}),
        ("snap bean", (WASH, TRIM, blanch(), COOL, DRAIN, *TO_FREEZER), {}),
        ("carrot", (WASH, TRIM, *SEALED, STORE), FRIDGE | {"keeps": fig("10 days")}),
        ("carrot", (WASH, blanch(), COOL, *SEALED, STORE), FRIDGE | {"keeps": fig("4 days")}),
        ("garlic", (WASH, SIMMER, CHILL, *SEALED, STORE),
         FRIDGE | {"form": "in oil", "keeps": fig("4 days")}),
        ("beet", (WASH, SIMMER, COLD_WATER, *TO_FREEZER), {}),
        ("beef", (SIMMER, CHILL, *TO_FREEZER), {"texture": "meat"}),
        ("tomato", (WASH, SIMMER, PUREE, dry(0.12), *SEALED, STORE), SHELF),
        ("bonion seed", RAW, {}),  # words, not letters
    ],
)  # fmt: skip
def test_sound_chains_are_not(
    name: str, steps: tuple[dict[str, Any], ...], keys: dict[str, Any]
) -> None:
    assert verdict(name, steps, **keys) == ""


def test_food_bought_dry_may_stand_on_the_shelf() -> None:
    assert verdict("dry bean", (*SEALED, STORE), water=0.11, **SHELF) == ""
    assert verdict("onion powder", (*SEALED, STORE), water=0.05, **SHELF) == ""
    cooked = (SIMMER, CHILL, *SEALED, STORE)
    assert "room temperature" in verdict("dry bean", cooked, water=0.11, **SHELF)


def test_another_trade_name_does_not_hide_what_it_is() -> None:
    made = product(RAW)
    renamed = crop(made, name="winter store").model_copy(update={"also": ("Elephant garlic",)})
    assert "not sealed before it is frozen" in (judge(made, renamed) or "")


LIBRARY = load_library()
SHIPPED = [(c, p) for c in LIBRARY.crops.values() for p in c.products]


@each(("of", "item"), SHIPPED, lambda of, item: f"{of.name}, {item.form}")
def test_the_library_holds_no_unsafe_chain(of: Crop, item: Product) -> None:
    assert judge(item, of) is None


def test_every_source_to_read_is_listed() -> None:
    kitchen_code = ROOT / "harvestplan" / "kitchen"
    text = "".join((kitchen_code / f"{n}.py").read_text("utf-8") for n in ("refusals", "hazards"))
    for cited in (
        "nchfp-vac-copy",
        "msu-beans-news",
        "nchfp-garlicoil-2015",
        "psu-oil",
        "common-practice",
        "usu-vac",
        "snhd-cool",
        "cool-2stage",
        "clemson-vac",
        "fsa-vp-2017",
        "illinois-meat",
        "umn-leftovers",
        "uaf-vacfish",
        "fsis-jerky",
    ):
        assert f'"{cited}"' in text
        assert cited in LIBRARY.sources


def test_no_kitchen_makes_it() -> None:
    made = product(RAW)
    with pytest.raises(CannotBeMade, match=r"^it is refused for safety: garlic"):
        make_process(kitchen(), crop(made, name="garlic"), made, portion_grams=300)


# From a season folder

CHAMBER = 'kind = "chamber"\nbar = "12 in"'
HOUSEHOLD = f"""
[household]
name = "Brook End"
timezone = "Europe/London"
measures = "metric"
[season]
start = 2027-04-01
end = 2027-11-30
{season_tables.LITTLE_TOIL}[[extra_window]]
date = 2027-07-05
start = 17:00:00
end = 22:00:00
"""
HOUSEHOLD += season_tables.kitchen("16 L", "3.5 kW", "20 L", CHAMBER, freezer="200 L", used="0 L")
OWN_CROP = """
name = "{name}"
kind = "bought"
hazard = "other"
water_share = {{ value = 0.9, source = "memory", seen = false }}
raw_density = {{ value = "0.5 kg/L", source = "memory", seen = false }}
[keeping]
fridge = {{ value = "5 days", source = "memory", seen = false }}
[[products]]
form = "{form}"
usual = true
storage = "{storage}"
texture = "{texture}"
density = {{ value = "0.6 kg/L", source = "memory", seen = false }}
keeps = {{ value = "60 days", source = "memory", seen = false }}
"""
WORK = '[[products.steps]]\nstep = "{}"\n'
FIXED = 'fixed = { value = "5 min", source = "memory", seen = false }\n'
TRIED = [
    ("garlic", "peeled", "freezer", "pieces", ("trim", "portion", "seal", "freeze")),
    ("field mushroom", "sliced", "freezer", "pieces", ("trim", "portion", "seal", "freeze")),
    ("soft cheese", "portioned", "freezer", "pieces", ("portion", "seal", "freeze")),
    ("red cabbage", "shredded", "freezer", "pieces", ("trim", "portion", "seal", "freeze")),
    ("pulp", "warm", "freezer", "puree", ("simmer", "portion", "seal", "freeze")),
    ("bean", "shelf", "shelf", "pieces", ("simmer", "chill", "portion", "seal", "store")),
    ("beet", "cooked", "fridge", "pieces", ("simmer", "chill", "portion", "seal", "store")),
    ("cloves", "garlic in oil", "shelf", "liquid", ("simmer", "chill", "seal", "store")),
    ("relish", "canned", "shelf", "liquid", ("simmer", "seal", "store")),
    ("raw mince", "sealed for the fridge", "fridge", "meat", ("portion", "seal", "store")),
    ("shiitake", "sliced", "freezer", "pieces", ("trim", "portion", "seal", "freeze")),
    ("smoked trout", "fillets", "fridge", "meat", ("portion", "seal", "store")),
    ("bean sprouts", "raw", "freezer", "leaf", ("wash", "portion", "seal", "freeze")),
]


def own_file(name: str, form: str, storage: str, texture: str, chain: tuple[str, ...]) -> str:
    text = OWN_CROP.format(name=name, form=form, storage=storage, texture=texture)
    for word in chain:
        text += WORK.format(word) + FIXED
        if word == "tray freeze":
            text += 'tray_load = { value = "5 kg/m2", source = "memory", seen = false }\n'
            text += 'pause_limit = { value = "2 days", source = "memory", seen = false }\n'
            text += 'piece = { shape = "slab", size = { value = "6 mm", source = "memory", '
            text += "seen = false } }\n"
        if word == "simmer":
            text += 'time = { value = "20 min", source = "memory", seen = false }\n'
    return text


def test_a_household_cannot_plan_an_unsafe_chain_of_its_own(tmp_path: Path) -> None:
    (tmp_path / "crops").mkdir()
    season = HOUSEHOLD
    for name, form, storage, texture, chain in TRIED:
        path = tmp_path / "crops" / f"{name.replace(' ', '-')}.toml"
        path.write_text(
            own_file(name, form, storage, texture=texture, chain=chain), encoding="utf-8"
        )
        season += f'[[bought]]\nitem = "{name}"\namount = "3 kg"\non = 2027-07-05\n'
        season += f'[[want]]\nproduct = "{name}, {form}"\nportions = 2\nportion = "300 g"\n'
    (tmp_path / "season.toml").write_text(season, encoding="utf-8")
    household = read_household(tmp_path, AS_OF)
    plan = make_plan(household, AS_OF, None, effort=Effort(), say=lambda text: None)
    assert sum(run.pouches for session in plan.sessions for run in session.runs) == 0
    refused = [w.message for w in plan.warnings if w.code == "cannot-make"]
    for name, form, *_ in TRIED:
        (said,) = [message for message in refused if message.startswith(f"{name}, {form} ")]
        assert "refused for safety" in said
    assert all(line.planned == 0 and line.short == 2 for line in plan.wants)


def test_a_file_without_a_class_is_planned_by_the_strictest_and_told_so(tmp_path: Path) -> None:
    (tmp_path / "crops").mkdir()
    chain = ("trim", "portion", "seal", "freeze")
    text = own_file("mystery", "sticks", "freezer", texture="pieces", chain=chain)
    undeclared = text.replace('hazard = "other"\n', "")
    assert undeclared != text
    season = HOUSEHOLD + '[[bought]]\nitem = "mystery"\namount = "3 kg"\non = 2027-07-05\n'
    season += '[[want]]\nproduct = "mystery, sticks"\nportions = 2\nportion = "300 g"\n'
    (tmp_path / "season.toml").write_text(season, encoding="utf-8")
    told = []
    for each_file in (undeclared, text):
        (tmp_path / "crops" / "mystery.toml").write_text(each_file, encoding="utf-8")
        plan = make_plan(read_household(tmp_path, AS_OF), AS_OF, None, effort=Effort(),
                         say=lambda text: None)  # fmt: skip
        told.append("".join(w.message for w in plan.warnings if w.code == "cannot-make"))
    assert "declares no hazard class" in told[0] and 'hazard = "other"' in told[0]
    assert told[1] == ""


SAFE = ("root", "sticks", "freezer", "pieces", ("trim", "tray freeze", "portion", "seal", "freeze"))
MORE = "to read more: harvestplan cautions"
LAST_WORD = "local food-safety authority has the last word"


@pytest.fixture(scope="module")
def household(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A season folder with one sound crop file and all the unsafe ones, planned."""
    folder: Path = tmp_path_factory.mktemp("refusals")
    (folder / "crops").mkdir()
    season = HOUSEHOLD
    for name, form, storage, texture, chain in (SAFE, *TRIED):
        path = folder / "crops" / f"{name.replace(' ', '-')}.toml"
        path.write_text(
            own_file(name, form, storage, texture=texture, chain=chain), encoding="utf-8"
        )
        season += f'[[bought]]\nitem = "{name}"\namount = "3 kg"\non = 2027-07-05\n'
        season += f'[[want]]\nproduct = "{name}, {form}"\nportions = 2\nportion = "300 g"\n'
    (folder / "season.toml").write_text(season, encoding="utf-8")
    done = CliRunner().invoke(app, ["plan", "--in", str(folder), "--as-of", "2027-07-01"])
    assert done.exit_code == 0, done.output
    return folder


def flat(text: str) -> str:
    return " ".join(text.split())


def test_the_plan_holds_what_is_safe_and_says_why_the_rest_is_not(household: Path) -> None:
    plan = json.loads((household / "out" / "plan.json").read_text("utf-8"))
    made = {run["product"] for session in plan["sessions"] for run in session["runs"]}
    assert made == {"root, sticks"}
    for name, form, *_ in TRIED:
        (said,) = [w["message"] for w in plan["warnings"] if f"{name}, {form} " in w["message"]]
        assert "refused for safety" in said
        assert MORE in said
        assert LAST_WORD in said
        assert not set(re.findall(r"[\w-]+", said)) & {"usu-vac", "clemson-vac", "snhd-cool"}
        assert "common-practice" not in said


@pytest.mark.parametrize("tried", TRIED, ids=lambda tried: f"{tried[0]}, {tried[1]}")
def test_the_crop_s_page_says_never(household: Path, tried: tuple[str, ...]) -> None:
    shown = CliRunner().invoke(app, ["crops", tried[0], "--in", str(household)])
    assert shown.exit_code == 0
    text = flat(shown.output)
    assert "nothing of it may be put by" in text
    assert "Never made: it is refused for safety" in text
    assert MORE in text
    assert LAST_WORD in text


@pytest.mark.parametrize("tried", TRIED, ids=lambda tried: f"{tried[0]}, {tried[1]}")
def test_the_judge_refuses_a_plan_with_it(
    household: Path, tmp_path: Path, tried: tuple[str, ...]
) -> None:
    folder = tmp_path / "season"
    shutil.copytree(household, folder)
    path = folder / "out" / "plan.json"
    text = path.read_text("utf-8").replace("root, sticks", f"{tried[0]}, {tried[1]}")
    path.write_text(text, encoding="utf-8")
    told = CliRunner().invoke(app, ["check", "--in", str(folder)])
    assert told.exit_code != 0
    refused = [line for line in flat(told.output).split("V13") if f"{tried[0]}, {tried[1]}" in line]
    assert any("refused for safety" in line and LAST_WORD in line for line in refused)


def test_the_library_s_own_refusals_are_not_wanted_unnoticed(tmp_path: Path) -> None:
    """Canning times and raw garlic: a want for them is a flaw of the file, with the reason."""
    for product_name in ("snap bean, canned", "garlic, raw, sealed", "garlic, in oil"):
        want = f'[[want]]\nproduct = "{product_name}"\nportions = 2\nportion = "300 g"\n'
        (tmp_path / "season.toml").write_text(HOUSEHOLD + want, encoding="utf-8")
        done = CliRunner().invoke(app, ["plan", "--in", str(tmp_path), "--as-of", "2027-07-01"])
        assert isinstance(done.exception, FilesNeedMending)
        assert "is not put by here" in str(done.exception)


@pytest.mark.parametrize("name", ["fish fillet", "shrimp"])
def test_fish_is_not_thawed_in_its_sealed_pack(name: str, tmp_path: Path) -> None:
    """North Carolina State, Michigan State and Clemson extensions."""
    shown = CliRunner().invoke(app, ["crops", name, "--in", str(tmp_path)])
    text = flat(shown.output)
    assert "Open or pierce the pack before it thaws in the refrigerator" in text
    assert "Thawing vacuum packed fish" in text


def test_raw_kale_waits_for_its_blanching() -> None:
    """Each of the cabbage family is blanched, cooled, drained and frozen in the library."""
    for of, item in SHIPPED:
        if "cabbage kin" in kinds_of(of, item) and item.storage == "freezer":
            words = [each.step for each in item.steps]
            order = [words.index(w) for w in ("blanch", "cool", "drain", "seal", "freeze")]
            assert order == sorted(order), of.name
