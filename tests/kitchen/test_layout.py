"""A run's tasks: batches, groups of pouches, links, limits, sittings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import (
    BEANS,
    CHILL,
    OUNCE,
    POUND,
    PUREE,
    TO_FREEZER,
    WASH,
    fig,
    kitchen,
    pouch,
    process,
    sealer,
    step,
)

from harvestplan.inputs.season_kitchen import Pot
from harvestplan.kitchen.batches import BLANCH_WORK, Begun
from harvestplan.kitchen.layout import ROOM_LIMIT, TICK, Layout, TaskSpec, lay_out
from harvestplan.kitchen.process import Process

PULP: dict[str, Any] = {"texture": "puree", "density": fig("1.03 kg/L")}
DRY = (step("portion", fixed="5 min"), step("seal"), step("store"))
TWO_POTS = (
    Pot(name="left", volume="7.3 L", power="3 kW"),
    Pot(name="right", volume="7.3 L", power="2 kW", kind="gas"),
)


def whole(made: Process, raw: int) -> Layout:
    """All of the raw food in one sitting, as many pouches as it fills."""
    pouches = math.ceil(made.packed(raw, 10_000) / made.portion_grams)
    return lay_out(made, raw, pouches, sitting="whole", freezer="freezer")


def of_step(layout: Layout, name: str) -> list[TaskSpec]:
    return [task for task in layout.tasks if task.step == name]


def keys(tasks: Sequence[TaskSpec]) -> set[str]:
    return {task.key for task in tasks}


def chains() -> st.SearchStrategy[Process]:
    """Beans in one pot, beans in two odd pots, purée, dry goods."""
    return st.sampled_from(
        [
            process(BEANS, 340),
            process(BEANS, 227, kitchen(TWO_POTS), water=0.83),
            process(PUREE, 480, **PULP),
            process(DRY, 454, water=0.11, storage="shelf", texture="dry", density=fig("0.8 kg/L")),
        ]
    )


@given(chains(), st.integers(500, 25_000))
def test_batches_keep_the_limit_and_share_out_the_food(made: Process, raw: int) -> None:
    layout = whole(made, raw)
    cooked = of_step(layout, "blanch") or of_step(layout, "roast")
    if not cooked:
        return
    index = next(i for i, s in enumerate(made.product.steps) if s.step == cooked[0].step)
    entering = raw * made.share_before(index)
    assert sum(task.grams for task in cooked) == pytest.approx(entering, abs=0.5 * len(cooked))
    assert made.batch_limit is not None
    for task in cooked:
        assert task.grams <= made.batch_limit * made.share_before(index) + 0.5
    assert max(t.grams for t in cooked) - min(t.grams for t in cooked) <= 1


@given(st.integers(500, 25_000))
def test_uncut_batches_add_up_to_the_gram(raw: int) -> None:
    layout = whole(process(PUREE, 480, **PULP), raw)
    assert sum(task.grams for task in of_step(layout, "roast")) == raw


@given(chains(), st.integers(1, 15), st.integers(-3, 3))
def test_no_potful_is_over_what_the_pot_takes(made: Process, full: int, over: int) -> None:
    """Near whole numbers of potfuls, where rounding to the gram would show."""
    raw = 5000 if made.batch_limit is None else int(full * made.batch_limit) + over
    for task in of_step(whole(made, raw), "blanch"):
        assert task.grams <= task.settings["pot_limit_g"]
        takes = [made.kitchen.pot(name).water / (3785.411784 / POUND) for name in task.units]
        assert task.grams <= min(takes)


@given(st.integers(500, 20_000))
def test_slow_hand_work_is_shared_out_over_more_potfuls(raw: int) -> None:
    """Five hours at one bowl are no batch, however large the pot: others stand by idle, and what
    was shelled first stands for hours (common practice, no source). Cooked food keeps its potfuls:
    each is long."""
    big = kitchen((Pot(name="big", volume="60 L", power="9 kW", kind="gas"),))
    slow = step("shell", per_kg="60 min per kg", leaves=0.5)
    shelled = whole(process((BEANS[0], slow, *BEANS[2:]), 340, big), raw)
    assert max(task.seconds for task in of_step(shelled, "shell")) <= BLANCH_WORK
    assert len(of_step(shelled, "shell")) == len(of_step(shelled, "blanch"))
    cooked = step("simmer", time="30 min", hands=0)
    boiled = whole(process((BEANS[0], slow, cooked, CHILL, *TO_FREEZER), 340, big), raw)
    assert len(of_step(boiled, "simmer")) == 1


@given(chains(), st.integers(500, 25_000))
def test_groups_add_up_to_the_pouches(made: Process, raw: int) -> None:
    layout = whole(made, raw)
    pouches = math.ceil(made.packed(raw, 10_000) / made.portion_grams)
    for name in ("portion", "seal"):
        groups = of_step(layout, name)
        assert sum(task.settings["pouches"] for task in groups) == pouches
        assert sum(task.grams for task in groups) == made.packed(raw, pouches)
        for task in groups[:-1]:
            assert task.settings["pouches"] % made.packing.per_cycle == 0
            assert task.grams == task.settings["pouches"] * made.portion_grams


@given(chains(), st.integers(500, 25_000))
def test_cycles_are_rounded_up(made: Process, raw: int) -> None:
    seals = of_step(whole(made, raw), "seal")
    per = made.packing.per_cycle
    for task in seals:
        assert task.settings["cycles"] == math.ceil(task.settings["pouches"] / per)
    total = sum(task.settings["pouches"] for task in seals)
    assert sum(task.settings["cycles"] for task in seals) == math.ceil(total / per)


@given(chains(), st.integers(500, 25_000))
def test_times_are_whole_ticks(made: Process, raw: int) -> None:
    layout = whole(made, raw)
    assert all(task.seconds > 0 and task.seconds % TICK == 0 for task in layout.tasks)
    assert layout.hand_seconds() == sum(t.seconds * t.hands for t in layout.tasks)


@given(chains(), st.integers(500, 25_000))
def test_keys_are_unique_and_links_run_forward(made: Process, raw: int) -> None:
    layout = whole(made, raw)
    names = [task.key for task in layout.tasks]
    assert len(set(names)) == len(names)
    place = {name: i for i, name in enumerate(names)}
    for link in layout.links:
        assert place[link.before] < place[link.after]
    for limit in layout.limits:
        assert all(place[before] < place[after] for before, after in limit.waits)


def pairs(layout: Layout, first: str, then: str) -> set[tuple[str, str]]:
    """Keys of each batch's (or group's) tasks of two steps."""
    after = {task.batch: task.key for task in of_step(layout, then)}
    return {(task.key, after[task.batch]) for task in of_step(layout, first)}


def test_cooling_starts_the_second_blanching_ends() -> None:
    layout = whole(process(BEANS, 340), 4000)
    at_once = {(link.before, link.after) for link in layout.links if link.no_wait}
    assert len(of_step(layout, "blanch")) > 1
    assert at_once == pairs(layout, "blanch", "cool") | pairs(layout, "cool", "drain")


def test_each_batch_follows_the_chain() -> None:
    layout = whole(process(BEANS, 340), 4000)
    links = {(link.before, link.after) for link in layout.links}
    (wash,) = of_step(layout, "wash")
    assert {(wash.key, trim.key) for trim in of_step(layout, "trim")} <= links
    assert pairs(layout, "trim", "blanch") <= links
    assert pairs(layout, "portion", "seal") | pairs(layout, "seal", "freeze") <= links
    packing = keys(of_step(layout, "portion"))
    assert {link.before for link in layout.links if link.after in packing} == keys(
        of_step(layout, "drain")
    )


@pytest.mark.parametrize("left", [0.25, 1.0, 1.5, 2.0, 3.0])
def test_of_a_run_that_is_cut_the_first_potfuls_stay_as_they_were(left: float) -> None:
    """Three full potfuls were planned; of so many the whole ones stay, and the last is smaller."""
    made = process(BEANS, 340)
    assert made.batch_limit is not None
    full = int(made.batch_limit)

    def potfuls(raw: int, begun: Begun | None = None) -> list[int]:
        pouches = math.ceil(made.packed(raw, 10_000) / made.portion_grams)
        return [
            t.grams
            for t in of_step(
                lay_out(made, raw, pouches, sitting="whole", freezer="freezer", begun=begun),
                "blanch",
            )
        ]

    planned = potfuls(3 * full)
    (trimmed,) = set(planned)
    cut = potfuls(round(left * full), Begun(3 * full, 99, 0))
    whole_ones, rest = int(left), left % 1
    assert cut[:whole_ones] == planned[:whole_ones]
    assert cut[whole_ones:] == pytest.approx([rest * trimmed] if rest else [], abs=1)


def test_every_potful_counts_its_return_to_the_boil() -> None:
    made = process(BEANS, 340)
    pot = made.kitchen.pots[0]
    for task in of_step(whole(made, 4000), "blanch"):
        back = pot.return_seconds(task.grams, 0.9, None)
        assert task.settings["return_s"] == pytest.approx(back, abs=2)
        assert task.settings["blanch_s"] == 180
        assert task.seconds == math.ceil((back + 180) / TICK) * TICK


def test_a_clock_from_lid_on_counts_no_return() -> None:
    """USDA AIB 410 counts from when the lid is on; other sources from the return to the boil."""
    lid_on = tuple(s | {"clock": "lid on"} if s["step"] == "blanch" else s for s in BEANS)
    for task in of_step(whole(process(lid_on, 340), 4000), "blanch"):
        assert task.seconds == 180


def test_cooling_takes_as_long_as_blanching_altitude_included() -> None:
    """One to one (USDA AIB 410); a minute more from 5,000 ft (Utah State University)."""
    low, high = process(BEANS, 340), process(BEANS, 340, kitchen(altitude=1600))
    assert {t.settings["cool_s"] for t in of_step(whole(low, 3000), "cool")} == {180}
    assert {t.settings["cool_s"] for t in of_step(whole(high, 3000), "cool")} == {240}


def test_cooling_without_a_ratio_takes_its_own_time() -> None:
    ten = tuple(step("cool", fixed="10 min", hands=0) if s["step"] == "cool" else s for s in BEANS)
    for task in of_step(whole(process(ten, 340), 3000), "cool"):
        assert (task.seconds, task.settings["cool_s"]) == (600, 600)


def test_room_limits_pair_cutting_with_the_pot_and_cooling_with_the_freezer() -> None:
    """Two hours in the room in all (USDA), for every group of pouches that holds of a potful."""
    layout = whole(process(BEANS, 340), 4000)
    assert {limit.waits[1] for limit in layout.limits} == pairs(layout, "blanch", "cool")
    shared = 1  # the second of three potfuls fills the last pouches of one group and goes on
    assert len(layout.limits) == len(of_step(layout, "blanch")) + shared
    assert all(limit.seconds == ROOM_LIMIT for limit in layout.limits)
    waits = {wait for limit in layout.limits for wait in limit.waits}
    assert pairs(layout, "trim", "blanch") <= waits
    into_the_cold = waits - pairs(layout, "trim", "blanch") - pairs(layout, "blanch", "cool")
    assert {before for before, _ in into_the_cold} == keys(of_step(layout, "cool"))
    assert {after for _, after in into_the_cold} == keys(of_step(layout, "freeze"))


def test_cooked_food_is_ladled_out_of_its_pot_at_once() -> None:
    """Five minutes in the pot in which it cooked, with hands; what comes next waits for it."""
    stew = (WASH, step("simmer", time="1 h", hands=0), CHILL, *TO_FREEZER)
    two = (
        Pot(name="left", volume="8 L", power="2 kW"),
        Pot(name="right", volume="8 L", power="2 kW"),
    )
    made = process(stew, 400, kitchen(two), texture="liquid", density=fig("1.0 kg/L"))
    layout = whole(made, 9000)
    links = {(x.before, x.after): x for x in layout.links}
    assert len(of_step(layout, "simmer")) == 2
    for pot, out in pairs(layout, "simmer", "empty"):
        link = links[pot, out]
        assert link.no_wait and link.same_unit and not link.at_start
    for task in of_step(layout, "empty"):
        assert (task.seconds, task.hands, task.settings) == (300, 1, {"held": "food"})
        assert set(task.units) == {"left", "right"}
    assert pairs(layout, "empty", "chill") <= set(links)
    assert not pairs(layout, "simmer", "chill") & set(links)


def test_what_was_cooked_has_as_much_less_time_as_it_takes_to_70_f() -> None:
    """Two hours in all down to 70 °F (Southern Nevada Health District), of which stirring it down
    takes 787 s (`test_ice`)."""
    layout = lay_out(process(PUREE, 480, **PULP), 3000, 4, sitting="first", freezer="freezer")
    assert {limit.seconds for limit in layout.limits} == {2 * 3600 - 787}


def test_a_batch_knows_where_it_is_packed() -> None:
    layout = whole(process(BEANS, 340), 4000)
    befores = {link.before: link.after for link in layout.links}
    assert {last for last, _ in layout.packs} == keys(of_step(layout, "drain"))
    assert {table for _, table in layout.packs} == keys(of_step(layout, "portion"))
    assert all(last in befores for last, _ in layout.packs)


def test_shelf_goods_have_no_room_limit() -> None:
    made = process(DRY, 454, water=0.11, storage="shelf", texture="dry", density=fig("0.8 kg/L"))
    assert whole(made, 4000).limits == ()


@given(st.integers(1000, 12_000))
def test_sittings_part_at_the_pause(raw: int) -> None:
    made = process(PUREE, 480, **PULP)
    pouches = math.ceil(made.packed(raw, 10_000) / 480)
    first = lay_out(made, raw, pouches, sitting="first", freezer="freezer")
    second = lay_out(made, raw, pouches, sitting="second", freezer="freezer")
    together = whole(made, raw)
    assert {t.step for t in first.tasks} == {"wash", "roast", "puree", "chill", "stir"}
    assert {t.step for t in second.tasks} == {"portion", "seal", "freeze"}
    assert keys(first.tasks) | keys(second.tasks) == keys(together.tasks)
    assert sum(t.settings["pouches"] for t in of_step(second, "seal")) == pouches
    inside = keys(second.tasks)
    assert all(link.before in inside and link.after in inside for link in second.links)


def test_the_second_sitting_counts_the_time_on_the_table() -> None:
    made = process(PUREE, 480, **PULP)
    second = lay_out(made, 3000, 4, sitting="second", freezer="freezer")
    (limit,) = second.limits
    portion = of_step(second, "portion")[0]
    assert limit.waits == ((portion.key, of_step(second, "freeze")[0].key),)
    assert limit.seconds == ROOM_LIMIT - portion.seconds


def test_two_small_pouches_halve_the_cycles() -> None:
    """8 one-pound bags of dry beans, two 6-inch pouches on a 12-inch bar: 4 cycles
    (common practice, no source)."""
    bag = (pouch("pound", 6, 10),)
    dense: dict[str, Any] = {"storage": "shelf", "texture": "dry", "density": fig("0.92 kg/L")}
    raw, portion = round(8 * POUND), round(POUND)

    def cycles(bar: str) -> int:
        made = process(DRY, portion, kitchen(pouches=bag, machine=sealer(bar)), water=0.11, **dense)
        layout = lay_out(made, raw, 8, sitting="whole", freezer=None)
        return sum(task.settings["cycles"] for task in of_step(layout, "seal"))

    assert cycles("12 in") == 4
    assert cycles("10 in") == 8


@pytest.mark.parametrize(
    "pounds, portion, pouches, last", [(6, POUND, 6, POUND), (4, 12 * OUNCE, 6, 4 * OUNCE)]
)
def test_bought_meat_is_packed_to_the_gram(
    pounds: float, portion: float, pouches: int, last: float
) -> None:
    """6 lb of minced meat in pounds; a 4 lb bag of shrimp in 12 oz (common practice, no source)."""
    made = process(TO_FREEZER, round(portion), texture="meat", density=fig("1.0 kg/L"))
    raw = round(pounds * POUND)
    layout = lay_out(made, raw, pouches, sitting="whole", freezer="freezer")
    packed = of_step(layout, "seal")
    assert sum(task.settings["pouches"] for task in packed) == pouches
    assert sum(task.grams for task in packed) == raw
    assert raw - (pouches - 1) * round(portion) == pytest.approx(last, abs=3)


def test_freezing_states_what_the_freezer_gets() -> None:
    made = process(BEANS, 340)
    layout = whole(made, 4000)
    for task in of_step(layout, "freeze"):
        assert task.settings["freezer"] == "freezer"
        assert task.settings["grams"] == task.grams
        assert task.settings["volume_ml"] == made.packing.space * task.settings["pouches"]
