"""What a freezer has to freeze: loose food once, on its trays; own ice the day before.

The limit itself is 2 to 3 lb to the cubic foot in 24 hours (USDA AIB 410); that what is frozen
already burdens no freezer again follows from the heat taken out of it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from pathlib import Path

import pytest
from planning.freezer_folder import BEANS, SPRING, plan_on, write_folder

from harvestplan.check import check_plan
from harvestplan.plan.models import Plan
from harvestplan.planning.read import read_household
from harvestplan.words import ice_mass

DAY = dt.timedelta(days=1)
BERRIES = """\
[[bought]]
item = "berry flat"
amount = "8 kg"
on = 2027-06-15
[[want]]
product = "berry flat"
portions = 14
portion = "500 g"
[household]"""
TIGHT = ('used = "40 L"', 'used = "40 L"\nfreezing_per_day = "3 kg"')
EVENINGS = (
    'days = ["wed", "sat"]\nstart = 16:00:00\nend = 21:00:00',
    'days = ["tue", "wed", "thu", "fri"]\nstart = 16:00:00\nend = 19:15:00',
)


def loads(plan: Plan) -> Counter[dt.date]:
    return Counter({row.date: row.load_grams for row in plan.freezer if row.load_grams})


def steps(plan: Plan, name: str) -> Counter[dt.date]:
    found: Counter[dt.date] = Counter()
    for session in plan.sessions:
        for task in session.tasks:
            if task.step == name:
                found[session.start.date()] += task.grams
    return found


def berries(tmp_path: Path, *changes: tuple[str, str]) -> Plan:
    beans = ("portions = 20", "portions = 0")
    meat = ("portions = 6", "portions = 0")
    folder = write_folder(tmp_path / "b", ("[household]", BERRIES), beans, meat, *changes)
    return plan_on(folder, SPRING)


def test_loose_food_is_frozen_once_also_when_it_is_packed_days_later(tmp_path: Path) -> None:
    plan = berries(tmp_path, EVENINGS)
    seconds = [run for s in plan.sessions for run in s.runs if run.second_sitting_of]
    assert seconds, "the evenings are too short to do it all in one"
    assert steps(plan, "freeze"), "and yet pouches go in"
    assert loads(plan) == steps(plan, "tray freeze")


def test_the_limit_holds_for_what_lies_on_the_trays(tmp_path: Path) -> None:
    plan = berries(tmp_path, EVENINGS, TIGHT)
    frozen = steps(plan, "tray freeze")
    assert max(frozen.values()) > 2500
    for day in frozen:
        assert frozen[day] <= 3000
    assert sum(run.pouches for s in plan.sessions for run in s.runs) > 6


def ice_of(plan: Plan) -> Counter[dt.date]:
    """Ice by the day before the evening that needs it."""
    found: Counter[dt.date] = Counter()
    for session in plan.sessions:
        for task in session.tasks:
            found[session.start.date() - DAY] += task.settings.get("ice_g", 0)
    return +found


def as_food(ice: int) -> int:
    """By hand: ice at -18 °C of water at 15 °C takes 4.19 · 15 + 333.5 + 2.09 · 18 = 434 kJ/kg, the
    food, nine tenths water, from 5 °C about 3.9 · 6 + 0.9 · 333.5 + 2.0 · 17 = 357 kJ/kg."""
    return round(434 / 357 * ice)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    change = ("[[planting]]", '[cold]\nice = "make"\n[[planting]]')
    folder = write_folder(tmp_path_factory.mktemp("made"), change)
    return folder, plan_on(folder, SPRING)


def test_own_ice_is_booked_the_day_before(made: tuple[Path, Plan]) -> None:
    _, plan = made
    ice = ice_of(plan)
    assert len(ice) >= 2
    rows = {row.date: row for row in plan.freezer}
    packed = steps(plan, "freeze")
    for day, grams in ice.items():
        assert rows[day].load_grams - packed[day] == pytest.approx(as_food(grams), rel=0.02)
        # Cubes in a bag: 0.917 g/mL, three fifths of the bag (common practice, no source).
        taken = rows[day].used_ml - rows[day - DAY].used_ml
        assert taken == pytest.approx(grams / (0.917 * 0.6), abs=2)
    assert not [line for line in plan.shopping if line.kind == "ice"]
    (advice,) = (advice for advice in plan.warnings if "ice" in advice.code)
    assert advice.code == "own-ice"
    assert ice_mass(max(ice.values()), "US") in advice.message


def test_bought_ice_is_on_the_list_and_in_no_freezer(tmp_path: Path) -> None:
    plan = plan_on(write_folder(tmp_path / "lane"), SPRING)
    assert [line for line in plan.shopping if line.kind == "ice"]
    assert loads(plan) == steps(plan, "freeze")


def most_beans(plan: Plan) -> int:
    return max(run.pouches for s in plan.sessions for run in s.runs if run.product == BEANS)


def test_own_ice_leaves_the_freezer_less_to_freeze(tmp_path: Path) -> None:
    change = ("[[planting]]", '[cold]\nice = "make"\n[[planting]]')
    plans = [
        plan_on(write_folder(tmp_path / f"lane{n}", TIGHT, *changes), SPRING)
        for n, changes in enumerate(((), (change,)))
    ]
    bought, own = plans
    # 3 kg in 24 hours are 8 pouches of 12 oz; the ice for so many would be more than 3 kg of food.
    assert most_beans(bought) > most_beans(own)
    assert all(row.load_grams <= row.load_limit_grams for row in own.freezer)
    assert max(loads(own).values()) > 0.75 * 3000


def test_the_judge_reckons_the_ice_itself(made: tuple[Path, Plan]) -> None:
    folder, plan = made
    household = read_household(folder, SPRING)
    day = min(ice_of(plan))
    rows = [
        row.model_copy(update={"load_grams": 0}) if row.date == day else row for row in plan.freezer
    ]
    forged = plan.model_copy(update={"freezer": tuple(rows)})
    found = check_plan(forged, household)
    assert [finding.code for finding in found] == ["V8"]
    assert "load_grams" in found[0].message


def test_no_run_asks_for_more_ice_than_the_season_reckoned_with(made: tuple[Path, Plan]) -> None:
    _, plan = made
    for session in plan.sessions:
        for run in session.runs:
            ice = sum(t.settings.get("ice_g", 0) for t in session.tasks if t.run == run.id)
            # 1.08 kg of ice to the kg of beans and a fifth more (heat balance), 1 oz for rounding.
            assert ice <= math.ceil(run.grams_in * 1.08 * 1.2) + 28
