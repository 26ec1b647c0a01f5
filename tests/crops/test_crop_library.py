"""The crop library against published tables, and the rules every chain must keep.

The tables under tests/data name the bulletin beside each row.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import pytest
from each_case import each
from places import CROPS, DATA
from pydantic import BaseModel

from harvestplan.inputs.crops import Crop, Library, Product, Step
from harvestplan.inputs.figures import Figure
from harvestplan.kitchen.crop_library import load_library

LIBRARY: Library = load_library()
PRODUCTS: list[tuple[Crop, Product]] = [(c, p) for c in LIBRARY.crops.values() for p in c.products]
POUND, PINT, BUSHEL, DAY = 453.592, 473.176, 35_239.07, 86_400.0  # g, mL (liquid), mL, s
HOT = ("blanch", "roast", "simmer")
NOT_SEEN = {"common-practice", "memory", "SYNTH"}
CABBAGE_FAMILY = {
    "broccoli", "brussels sprout", "cabbage", "cauliflower", "collard", "kale", "kohlrabi",
    "mustard green", "rutabaga", "turnip",
}  # fmt: skip


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def product(name: str) -> Product:
    found = LIBRARY.find_product(name)
    assert found is not None, name
    return found[1]


def steps(item: Product) -> list[str]:
    return [step.step for step in item.steps]


def figures(part: BaseModel, place: str) -> Iterator[tuple[str, Figure[Any]]]:
    """Every figure of a crop with its place, like "kale.growth.base"."""
    for key in type(part).model_fields:
        value = getattr(part, key)
        for inner in value if isinstance(value, tuple) else (value,):
            if isinstance(inner, Figure):
                yield f"{place}.{key}", inner
            elif isinstance(inner, BaseModel):
                yield from figures(inner, f"{place}.{key}")


FIGURES = [found for crop in LIBRARY.crops.values() for found in figures(crop, crop.name)]
EACH_PRODUCT = each(("crop", "item"), PRODUCTS, told=lambda crop, item: f"{crop.name}, {item.form}")


# What there is


def test_the_library_holds_the_usual_garden_and_the_usual_purchases() -> None:
    kinds = [crop.kind for crop in LIBRARY.crops.values()]
    assert kinds.count("grown") >= 60
    assert kinds.count("bought") >= 15


@pytest.mark.parametrize(
    ("called", "crop"),
    [("Green Bean", "snap bean"), ("zucchini", "summer squash"), ("swede", "rutabaga"),
     ("aubergine", "eggplant"), ("ground beef", "minced meat"), ("blueberry flat", "berry flat"),
     ("fava bean", "broad bean"), ("cowpea", "southern pea"), ("black-eyed pea", "southern pea"),
     ("redcurrant", "red currant"), ("blackcurrant", "black currant")],
)  # fmt: skip
def test_other_trade_names_lead_to_the_crop(called: str, crop: str) -> None:
    found = LIBRARY.find_crop(called)
    assert found is not None
    assert found.name == crop


@each("name", LIBRARY.crops)
def test_a_crop_lies_in_the_file_of_its_name(name: str) -> None:
    folder = CROPS
    assert (folder / f"{name.replace(' ', '-')}.toml").is_file()


# Figures and their sources


def test_every_figure_names_a_listed_source() -> None:
    cited = {f.source for _, f in FIGURES} | {o.source for _, f in FIGURES for o in f.other}
    cited |= {r.source for crop in LIBRARY.crops.values() for r in crop.refused}
    assert cited <= set(LIBRARY.sources)
    assert len(cited) > 100


def test_a_figure_without_a_source_says_that_nothing_was_seen() -> None:
    claims = [place for place, figure in FIGURES if figure.source in NOT_SEEN and figure.seen]
    assert claims == []
    assert sum(figure.seen for _, figure in FIGURES) > 400


def test_every_value_lies_in_its_own_range() -> None:
    for place, figure in FIGURES:
        if isinstance(figure.value, float):
            low = figure.value if figure.low is None else figure.low
            high = figure.value if figure.high is None else figure.high
            assert low <= figure.value * (1 + 1e-9), place
            assert high >= figure.value * (1 - 1e-9), place


def test_a_disagreement_is_recorded_with_its_reason() -> None:
    differing = [
        (place, other)
        for place, figure in FIGURES
        for other in figure.other
        if other.value != figure.value
    ]
    assert [place for place, other in differing if not other.note] == []
    assert len(differing) > 150


def test_garden_yields_span_a_factor_of_two_or_what_the_tables_span() -> None:
    """Tables of yield per row differ two- to fourfold; none is given as if it were exact."""
    for crop in LIBRARY.crops.values():
        if crop.yields is None:
            continue
        for figure in (crop.yields.per_row, crop.yields.per_plant, crop.yields.per_area):
            if figure is not None:
                assert figure.low is not None, crop.name
                assert figure.high is not None, crop.name
                assert figure.high / figure.low >= 1.6, crop.name


# Against the tables

BLANCHING = rows("blanching_minutes.csv")
BLANCHED_BY_TABLE = sorted({row["product"] for row in BLANCHING})


def test_blanching_is_checked_for_a_dozen_vegetables_against_two_bulletins_each() -> None:
    bulletins: dict[str, set[str]] = defaultdict(set)
    for row in BLANCHING:
        bulletins[row["product"].partition(",")[0]].add(row["bulletin"])
    assert sum(len(found) >= 2 for found in bulletins.values()) >= 12


@each("name", BLANCHED_BY_TABLE)
def test_blanching_minutes_are_those_of_the_bulletins(name: str) -> None:
    """Within what the bulletins print, and exactly what at least one of them prints."""
    blanch = next(step for step in product(name).steps if step.step == "blanch")
    assert blanch.time is not None
    minutes = blanch.time.value / 60
    printed = [
        (float(row["minutes_min"]), float(row["minutes_max"]))
        for row in BLANCHING
        if row["product"] == name
    ]
    assert min(low for low, _ in printed) <= minutes <= max(high for _, high in printed)
    assert any(minutes in pair for pair in printed)


def test_the_two_readings_of_carrots_are_both_recorded() -> None:
    """2 min in Minnesota's table, 3 min in Michigan 1997 and Wyoming 2011 (count from lid on)."""
    blanch = next(step for step in product("carrot, sliced").steps if step.step == "blanch")
    assert blanch.time is not None
    assert blanch.time.value == 120
    assert {other.value for other in blanch.time.other} >= {120, 180}


SEEN = [row for row in rows("blanching_seen.csv") if row["product"]]
"""Every row in boiling water that was read in some bulletin and is of a form the library has."""
SIZES = ("small", "medium", "large")


def test_the_table_of_what_was_read_is_a_long_one() -> None:
    assert len(SEEN) > 100
    assert len({row["source"] for row in SEEN}) > 30


@each("row", SEEN)
def test_every_blanching_time_that_was_read_agrees_or_is_recorded(row: dict[str, str]) -> None:
    """The library's time, or a disagreement recorded with its source, or another size in range."""
    blanch = next(step for step in product(row["product"]).steps if step.step == "blanch")
    time = blanch.time
    assert time is not None
    low, high = float(row["minutes_min"]) * 60, float(row["minutes_max"]) * 60
    agrees = low <= time.value <= high
    recorded = any(other.source == row["source"] for other in time.other)
    sized = any(size in row["printed"] for size in SIZES)
    in_range = time.low is not None and time.high is not None and time.low <= low <= high
    assert agrees or recorded or (sized and in_range and high <= (time.high or 0)), row["bulletin"]


@each("row", rows("pints_from_fresh.csv"))
def test_pints_from_fresh_food_are_those_of_the_tables(row: dict[str, str]) -> None:
    """Packed share and density together; 5 % over, since tables count whole pints."""
    item = product(row["product"])
    packed = float(row["fresh_lb"]) * POUND * item.packed_share
    pints = packed / item.density.value / PINT
    assert float(row["pints_min"]) * 0.95 <= pints <= float(row["pints_max"]) * 1.05


@pytest.mark.parametrize(
    ("crop", "pounds", "source"),
    [
        ("southern pea", 25, "Mississippi State University Extension; Georgia Farm Bureau, hulls"),
        ("mustard green", 18, "Georgia Farm Bureau"),
        ("apricot", 50, "customary weight, from memory"),
        ("quince", 48, "customary weight, from memory"),
        ("grape", 48, "customary weight with stems, from memory"),
        ("snap bean", 30, "Mississippi State University Extension; Georgia Farm Bureau"),
        ("sweet corn", 35, "Georgia Farm Bureau; Utah State University Extension"),
        ("tomato", 53, "Georgia Farm Bureau"),
        ("potato", 60, "Mississippi State University Extension"),
        ("asparagus", 45, "Michigan State University Extension, Weights for preservation"),
        ("okra", 26, "Georgia Farm Bureau"),
        ("onion", 57, "Georgia Farm Bureau"),
        ("peach", 50, "Georgia Farm Bureau"),
        ("lima bean", 32, "Mississippi State University Extension"),
        ("pepper", 25, "Mississippi State University Extension"),
    ],
)
def test_a_bushel_weighs_what_the_trade_says(crop: str, pounds: float, source: str) -> None:
    """US bushel of 35.24 L; densities carry two or three figures."""
    raw = LIBRARY.crops[crop].raw_density.value
    assert raw * BUSHEL / POUND == pytest.approx(pounds, rel=0.015), source


@pytest.mark.parametrize(
    ("name", "months"),
    [
        # University of Georgia, Freezer shelf life (2014): ranges in months at 0 °F
        ("blueberry", (8, 12)),
        ("minced meat", (3, 4)),
        ("fish fillet", (3, 6)),
        ("chicken piece", (6, 9)),
        # Kansas State University MF1181 for blanched vegetables, 8 to 12 for vegetables at large
        ("broccoli", (8, 12)),
        # USDA freezer storage chart: soups and stews
        ("winter squash, soup", (2, 3)),
        ("dry pea, soup", (2, 3)),
        # Column with extension advice: raw onion
        ("onion", (3, 6)),
    ],
)
def test_freezer_life_lies_in_the_published_range(name: str, months: tuple[int, int]) -> None:
    kept = product(name).keeps.value / DAY / 30.44
    assert months[0] * 0.97 <= kept <= months[1] * 1.03


# Drying

DRIED = [(crop, item) for crop, item in PRODUCTS if "dry" in steps(item)]


def dry_step(item: Product) -> Step:
    return next(step for step in item.steps if step.step == "dry")


def test_fruit_vegetables_and_herbs_can_be_dried() -> None:
    assert {crop.name for crop, _ in DRIED} >= {
        "apple",
        "tomato",
        "hot pepper",
        "onion",
        "basil",
        "parsley",
    }


@pytest.mark.parametrize(
    ("name", "hours"),
    [
        # Drying tables that match NCHFP's: fruit and vegetables
        ("apple", (6, 12)),
        ("onion", (3, 9)),
        # NCHFP, from memory: tomato, pepper at 140 °F; herbs in a dryer
        ("tomato", (10, 18)),
        ("hot pepper", (8, 12)),
        ("basil", (1, 4)),
        ("parsley", (1, 4)),
        ("apricot", (24, 36)),
        ("mushroom", (8, 10)),
        # NCHFP, from memory: figs in halves, grapes with cracked skins
        ("fig", (6, 12)),
        ("grape", (12, 20)),
    ],
)
def test_drying_hours_are_the_longest_of_the_table(name: str, hours: tuple[int, int]) -> None:
    time = dry_step(product(f"{name}, dried")).time
    assert time is not None
    assert (time.low, time.value, time.high) == (hours[0] * 3600, hours[1] * 3600, hours[1] * 3600)


@each(("crop", "item"), DRIED, told=lambda crop, item: crop.name)
def test_dried_food_is_packed_dry_and_cold_within_three_weeks(crop: Crop, item: Product) -> None:
    """An hour to cool (warm food sweats: NCHFP); by the water at most a fifth of it is left."""
    step = dry_step(item)
    assert step.time is not None and step.leaves is not None
    assert step.pause_least is not None and step.pause_limit is not None
    assert step.pause_least.value >= step.time.value + 3600
    assert 10 * DAY <= step.pause_limit.value <= 21 * DAY  # time for 7 to 10 days of conditioning
    water_left = 1 - (1 - crop.water_share.value) / step.leaves.value
    assert 0 < water_left <= 0.205
    assert item.storage == "shelf"


# Rules for every chain


@EACH_PRODUCT
def test_a_chain_ends_where_it_is_kept(crop: Crop, item: Product) -> None:
    assert (
        steps(item)[-1] == {"freezer": "freeze", "shelf": "store", "fridge": "store"}[item.storage]
    )


@EACH_PRODUCT
def test_a_step_comes_once_in_a_chain(crop: Crop, item: Product) -> None:
    assert len(set(steps(item))) == len(item.steps)


# What the cook is told


@EACH_PRODUCT
def test_hands_are_told_what_to_do(crop: Crop, item: Product) -> None:
    """What is trimmed or shelled has its word: core, hull, husk."""
    unnamed = [step.step for step in item.steps if step.step in ("trim", "shell") and not step.verb]
    assert unnamed == []


@EACH_PRODUCT
def test_what_is_blanched_or_cut_has_a_size(crop: Crop, item: Product) -> None:
    """Blanching times are for pieces of a size, or differ by it; fruit left whole has none."""
    cut = {"trim", "shell"} & set(steps(item))
    blanched = "blanch" in steps(item)
    whole = item.form in ("whole", "pitted", "halves")
    if blanched or (cut and not whole):
        assert any(step.size or step.mixed for step in item.steps), item.form


@EACH_PRODUCT
def test_what_a_step_leaves_beyond_its_food_is_named(crop: Crop, item: Product) -> None:
    """A share above 1 is 1 and what is added, or what is taken up of the step's water."""
    for step in item.steps:
        if step.leaves is None or step.leaves.value <= 1:
            continue
        added = sum(each.grams(1.0, 0.0) for each in step.ingredients)
        if step.water is None:
            assert step.leaves.value == pytest.approx(1 + added, rel=0.005)
        else:
            assert step.leaves.value < 1 + added + step.water.value


def test_every_ingredient_has_its_source_and_stands_on_the_shelf() -> None:
    """Its amount and its density are figures, so that their sources are judged with all others."""
    found = {
        each.item: each
        for crop in LIBRARY.crops.values()
        for item in crop.products
        for step in item.steps
        for each in step.ingredients
    }
    assert set(found) == set(LIBRARY.staples)
    assert all(each.amount.source and each.density for each in found.values())
    cited = {place for place, _ in FIGURES if ".amount" in place}
    assert len(cited) >= 10


def test_leaves_are_squeezed_and_corn_is_drained_before_it_is_cut() -> None:
    """Cool, drain, then cut the kernels off (Michigan State University, HNI30)."""
    for crop in ("spinach", "chard", "kale", "collard", "mustard green"):
        names = steps(product(crop))
        assert names.index("drain") + 1 == names.index("squeeze") == names.index("portion") - 1
    assert steps(product("sweet corn, kernel"))[2:5] == ["cool", "drain", "trim"]


def test_cider_is_heated_before_it_is_frozen() -> None:
    """To 160 °F at least (Oregon State University, SP 50-455): freezing kills no germs."""
    heat = next(step for step in product("apple cider").steps if step.step == "simmer")
    assert heat.heat_to is not None
    assert heat.heat_to.value == pytest.approx((160 - 32) / 1.8)


def test_dry_beans_soak_for_five_hours_and_boil_for_half_an_hour() -> None:
    """The FDA, as Ohio State University quotes it: kidney beans are poisonous half-cooked."""
    chain = {step.step: step for step in product("dry bean, cooked").steps}
    soak, boil = chain["soak"].time, chain["simmer"].time
    assert soak is not None and soak.low == 5 * 3600 and soak.value >= 5 * 3600
    assert boil is not None and boil.value >= 30 * 60
    assert chain["simmer"].heat_to is None
    assert "first 30 minutes" in chain["simmer"].caution


@pytest.mark.parametrize(
    ("crop", "in_water"),
    [("snap bean", "mild"), ("sweet corn", "mild"), ("broccoli", "strong"), ("cabbage", "strong"),
     ("beet", "colours"), ("chard", "colours")],
)  # fmt: skip
def test_what_goes_into_the_same_water_last(crop: str, in_water: str) -> None:
    """Mild food before strong, what colours last (common practice, no source)."""
    assert LIBRARY.crops[crop].in_water == in_water


def test_what_is_eaten_as_it_thaws_is_marked() -> None:
    """Fruit and herbs; nothing that wants cooking first."""
    raw = {f"{crop.name}, {item.form}" for crop, item in PRODUCTS if item.eaten_raw}
    assert {"strawberry, whole", "peach, sliced", "basil, chopped", "apple cider, juice"} <= raw
    assert not any(item.eaten_raw for _, item in PRODUCTS if item.texture == "meat")
    assert "snap bean, cut" not in raw


def test_allergens_are_named() -> None:
    """Of the allergens that food labels in the US and the EU name: fish, shellfish, celery; broad
    beans besides, which make people with G6PD deficiency ill (Nutrients 2023, 15:343)."""
    named = {name: crop.allergens for name, crop in LIBRARY.crops.items() if crop.allergens}
    assert named == {
        "celery": ("celery",), "fish fillet": ("fish",), "shrimp": ("shellfish",),
        "broad bean": ("broad beans (favism)",),
    }  # fmt: skip


@EACH_PRODUCT
def test_food_is_cold_when_it_is_sealed(crop: Crop, item: Product) -> None:
    """Warm food boils in the chamber and is unsafe: USDA two-stage cooling, steam tables."""
    names = steps(item)
    last_heat = max((i for i, name in enumerate(names) if name in HOT), default=-1)
    if last_heat >= 0:
        assert set(names[last_heat : names.index("seal")]) & {"cool", "chill", "tray freeze", "dry"}
    if item.texture in ("puree", "liquid") and last_heat >= 0:
        assert "chill" in names[last_heat : names.index("seal")]


@EACH_PRODUCT
def test_blanching_is_followed_by_cooling_as_long(crop: Crop, item: Product) -> None:
    """NCHFP: cool as long as blanched; corn twice (table of Minnesota Extension)."""
    names = steps(item)
    if "blanch" not in names:
        return
    after = item.steps[names.index("blanch") + 1]
    assert after.step == "cool"
    assert after.ratio is not None
    assert after.ratio.value == (2 if crop.name == "sweet corn" else 1)


@EACH_PRODUCT
def test_leaves_get_two_gallons_of_water(crop: Crop, item: Product) -> None:
    """Kansas State University MF1181: 2 US gal to the pound of leaves, 1 for vegetables."""
    gallon_per_pound = 3785.41 / POUND
    for step in item.steps:
        if step.step == "blanch" and crop.name != "rhubarb":
            assert step.water is not None
            gallons = step.water.value / gallon_per_pound
            assert gallons == pytest.approx(2 if item.texture == "leaf" else 1, rel=1e-4)


def test_nothing_raw_of_the_cabbage_family_is_sealed() -> None:
    """Its gas swells the pack (common practice, no source)."""
    for name in CABBAGE_FAMILY:
        crop = LIBRARY.crops[name]
        for item in crop.products:
            assert "blanch" in steps(item)[: steps(item).index("seal")], name
        assert "raw, sealed" in {refusal.form for refusal in crop.refused}


def test_onions_and_soft_fruit_are_frozen_before_they_are_sealed() -> None:
    """Never raw under vacuum: garlic, onions, soft or juicy food (common practice, no source)."""
    alliums = ["onion", "garlic", "leek"]
    berries = ["strawberry", "raspberry", "blueberry", "blackberry", "berry flat", "red currant",
               "black currant", "gooseberry", "fig", "grape"]  # fmt: skip
    stone_fruit = ["peach", "plum", "sour cherry", "sweet cherry", "peach crate", "apricot"]
    for name in alliums + berries + stone_fruit:
        item = product(name)
        assert "tray freeze" in steps(item)[: steps(item).index("seal")], name
        assert "raw, sealed" in {refusal.form for refusal in LIBRARY.crops[name].refused}


def test_elderberries_are_boiled_for_half_an_hour_and_never_put_by_raw() -> None:
    """The CDC's report of 1984 on raw juice pressed with stems and leaves (MMWR 33:173): nothing of
    it is packed that was not boiled; 20 to 30 min as web pages say, the longer."""
    crop = LIBRARY.crops["elderberry"]
    for item in crop.products:
        boil = next(step for step in item.steps if step.step == "simmer")
        assert boil.time is not None and boil.heat_to is None
        assert boil.time.value >= 30 * 60
        assert steps(item).index("simmer") < steps(item).index("seal")
    assert {"whole", "raw", "dried"} <= {refusal.form for refusal in crop.refused}


def test_mushrooms_are_heated_or_dried_before_they_are_sealed() -> None:
    """Michigan State University, 01600286: steamed 3 min in slices, 3 1/2 as buttons or quarters, 5
    whole; botulinum bacteria grow in raw ones without air."""
    crop = LIBRARY.crops["mushroom"]
    assert crop.hazard == "raw mushroom"
    for item in crop.products:
        assert {"blanch", "dry"} & set(steps(item)[: steps(item).index("seal")])
    steam = next(step for step in product("mushroom").steps if step.step == "blanch").steam
    assert steam is not None
    assert (steam.time.low, steam.time.value, steam.time.high) == (180, 180, 300)


@pytest.mark.parametrize("herb", ["basil", "parsley"])
def test_herbs_under_oil_are_kept_frozen_and_nowhere_else(herb: str) -> None:
    """Pennsylvania State University, Preserving foods in oil: leftovers are frozen; garlic in oil
    keeps for months in the freezer (NCHFP 2015)."""
    oily = [item for item in LIBRARY.crops[herb].products if "oil" in item.form]
    assert [item.storage for item in oily] == ["freezer"]
    assert "thawed" in oily[0].cautions[0]
    assert "tray freeze" in steps(oily[0])[: steps(oily[0]).index("seal")]
    assert "in oil" in {refusal.form for refusal in LIBRARY.crops[herb].refused}


def test_garlic_in_oil_is_refused() -> None:
    """NCHFP, Freezing garlic-in-oil, page reviewed 2015."""
    refused = {refusal.form: refusal for refusal in LIBRARY.crops["garlic"].refused}
    assert "4 days" in refused["in oil"].why
    assert refused["in oil"].source == "nchfp-garlicoil-2015"


@EACH_PRODUCT
def test_only_dry_food_is_sealed_for_the_shelf(crop: Crop, item: Product) -> None:
    """Clemson, Vacuum packaging foods at home: moist, low-acid food grows botulinum bacteria."""
    if item.storage == "shelf":
        assert item.texture == "dry"
        assert crop.water_share.value < 0.15 or "dry" in steps(item)


@EACH_PRODUCT
def test_a_second_sitting_follows_within_three_days(crop: Crop, item: Product) -> None:
    """Cold or frozen on trays, not kept for days on end (common practice, no source)."""
    pauses = [step for step in item.steps if step.pause_limit is not None]
    assert len(pauses) <= 1
    for step in pauses:
        assert step.step in ("chill", "tray freeze", "dry")
        assert step.pause_limit is not None
        assert step.step == "dry" or step.pause_limit.value <= 3 * DAY


@EACH_PRODUCT
def test_thin_or_airy_fillings_are_marked(crop: Crop, item: Product) -> None:
    assert item.foams == (item.texture == "puree")


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("hot pepper, whole", "gloves"),
        ("winter squash, purée", "knife"),
        ("rhubarb, cut", "poisonous"),
        ("elderberry, juice", "cyanide"),
        ("broad bean, shelled", "G6PD"),
        ("runner bean, sliced", "lectin"),
        ("grape, whole", "choke"),
        ("orange, juice", "Freezing kills no germs"),
        ("fish fillet, portioned", "pierce the pack before it thaws"),
        ("shrimp, portioned", "pierce the pack before it thaws"),
    ],
)
def test_dangers_are_told(name: str, word: str) -> None:
    item = product(name)
    told = " ".join([*item.cautions, *(step.caution for step in item.steps)])
    assert word in told
