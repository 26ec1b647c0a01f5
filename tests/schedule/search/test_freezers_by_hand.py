"""The plan made by hand in freezers that hold something already: it keeps the rules of the season
model, and makes no less than they allow. What a pouch takes is reckoned from its own figures."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import replace

import pytest
from schedule.kept_sessions import freezes
from schedule.small_problems import BEANS, PACK, RAW, bean_lots, lot, problem, window
from schedule.small_seasons import FIRST

from harvestplan.inputs.draws import Draw
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Problem

BROCCOLI = "broccoli, florets"


def by_hand(stated: Problem) -> list[int]:
    """Pouches by window; they keep every rule."""
    made = plan_by_hand(state_rules(stated), TimedSessions(stated, 1))
    assert SeasonModel(stated, ()).holds(made)
    pouches = [0] * len(stated.windows)
    for number, count in made.pouches.items():
        pouches[stated.options[number].first] += count
    return pouches


def room_for(pouches: float) -> str:
    """A chest of 100 L that is used but for so many pouches."""
    return f"{100_000 - pouches * PACK.space:.0f} mL"


def lying(stated: Problem, pouches: int) -> Problem:
    return replace(stated, opening=Opening({(BEANS, "chest"): pouches}))


@pytest.mark.parametrize("there", [0, 3, 6, 7, 9])
def test_what_lies_there_takes_its_room(there: int) -> None:
    """Room for seven."""
    stated = problem(bean_lots(9 * RAW), [window(0, 6)], (BEANS, 9), used=room_for(7))
    if there <= 7:
        assert by_hand(lying(stated, there)) == [7 - there]
    else:
        assert not plan_by_hand(state_rules(lying(stated, there)), TimedSessions(stated, 1)).pouches


def test_what_is_eaten_by_then_makes_room() -> None:
    """The freezer is full; a portion is eaten at the end of every day."""
    stated = problem(bean_lots(9 * RAW, keeps=4), [window(3, 6)], (BEANS, 9), used=room_for(5))
    full = lying(stated, 5)
    assert by_hand(full) == [0]
    eaten = replace(full.demands[0], draw=Draw(7, FIRST, None))
    assert by_hand(replace(full, demands=(eaten,))) == [3]
    early = replace(full.demands[0], draw=Draw(7, FIRST - dt.timedelta(days=30), None))
    assert by_hand(replace(full, demands=(early,))) == [3]  # what was eaten before is gone already


def test_what_is_promised_takes_its_room_its_freezing_and_its_week() -> None:
    """Two pouches are promised for Monday noon; the freezer takes five, or freezes five a day."""
    kept = History((freezes("kept", 0, 2, status="firm"),))
    lots, evenings = bean_lots(9 * RAW), [window(0, 6)]
    full = problem(lots, evenings, (BEANS, 9), used=room_for(5))
    slow = problem(lots, evenings, (BEANS, 9), freezing_per_day=f"{5 * 340} g")
    for stated in (full, slow):
        assert by_hand(stated) == [5]
        assert by_hand(replace(stated, history=kept)) == [3]
    limits = slow.season.season.model_copy(update={"max_sessions": 1})
    once = slow.season.model_copy(update={"season": limits})
    assert by_hand(replace(slow, season=once)) == [5]
    assert by_hand(replace(slow, season=once, history=kept)) == [0]


def test_packs_lie_flat_on_the_trays_of_both_evenings() -> None:
    area = f"{(3 * PACK.footprint + 1) / 1e6:.7f} m2"
    lots = bean_lots(9 * RAW, keeps=4)
    assert by_hand(problem(lots, [window(0), window(1)], (BEANS, 9), tray_area=area)) == [3, 0]
    assert by_hand(problem(lots, [window(0), window(3)], (BEANS, 9), tray_area=area)) == [3, 3]


@pytest.mark.parametrize("room", [3000, 6000])
def test_own_ice_lies_there_the_day_before(room: int) -> None:
    """Room in mL. Beans ask for 1.08 times their weight of ice (heat balance; NCHFP has about a
    pound to the pound), a bag of cubes holds 0.917 g/mL in three fifths (common practice, no
    source). Today's is made already."""
    used = f"{100_000 - room} mL"
    lots = bean_lots(10 * RAW)
    bought = problem(lots, [window(1, 6)], (BEANS, 10), used=used)
    made = problem(lots, [window(1, 6)], (BEANS, 10), used=used, ice="make")
    today = problem(lots, [window(0, 6)], (BEANS, 10), used=used, ice="make")
    assert by_hand(bought) == by_hand(today) == [room // PACK.space]
    assert by_hand(made) == [room // (RAW * 1.08 / (0.917 * 0.6))]


def test_own_ice_is_frozen_too() -> None:
    """With ice to make, the same freezer freezes fewer pouches on evenings in a row."""
    lots, evenings = bean_lots(20 * RAW), [window(1, 6), window(2, 6)]
    slow = f"{6 * 340} g"
    bought = problem(lots, evenings, (BEANS, 20), freezing_per_day=slow)
    made = problem(lots, evenings, (BEANS, 20), freezing_per_day=slow, ice="make")
    assert 0 < sum(by_hand(made)) < sum(by_hand(bought))


def tight(seed: int) -> tuple[Problem, Problem]:
    """A season with little left in its freezer of one kind or another, and the same with plenty."""
    draw = random.Random(seed)
    lots = [
        lot(crop, FIRST + dt.timedelta(days=draw.randrange(6)), 5, grams=draw.randrange(8) * RAW)
        for crop in ("snap bean", "snap bean", "broccoli")
    ]
    days = sorted(draw.sample(range(9), 5))
    wants = (BEANS, 12), (BROCCOLI, 6)
    evenings = [window(day, draw.choice((2, 4))) for day in days]
    freezer = {
        "used": room_for(draw.choice((6, 12, 40))),
        "freezing_per_day": f"{draw.choice((3, 6, 40)) * 340} g",
    }
    if draw.random() < 0.5:
        freezer["tray_area"] = f"{draw.choice((3, 6)) * PACK.footprint / 1e6:.6f} m2"
    stated = problem(lots, evenings, *wants, ice=draw.choice((None, "make")), **freezer)  # type: ignore[arg-type]
    eaten = Draw(draw.choice((2, 7)), FIRST, None) if draw.random() < 0.5 else None
    return (
        replace(
            stated,
            demands=tuple(replace(demand, draw=eaten) for demand in stated.demands),
            opening=Opening({(BEANS, "chest"): draw.randrange(4)}, {"chest": PACK.space}),
            history=History(
                tuple(freezes(f"k{n}", n, 1, status="firm") for n in range(draw.randrange(3)))
            ),
        ),
        problem(lots, evenings, *wants),
    )


def test_plans_by_hand_keep_the_rules_of_any_freezer() -> None:
    made = limited = 0
    for seed in range(40):
        stated, roomy = tight(seed)
        made += any(by_hand(stated))
        limited += by_hand(stated) != by_hand(roomy)
    assert made >= 20 and limited >= 20
