"""Food that waits in the fridge for its evening, and batches worth the pot, reckoned by hand.

Beans are 30 lb to the bushel of 35.239 L, as the crop file has them (Michigan State University
Extension's table of bushel weights); fridges are given as so many portions of them.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from schedule.small_problems import LIBRARY
from schedule.small_seasons import FIRST, ZONE, kitchen_season
from schedule.tiny_seasons import tiny

from harvestplan.household import Household
from harvestplan.inputs.season_kitchen import Cold
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Lot, LotShare, Run, Session
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.fridge import Fridge, Stay, state_fridge
from harvestplan.schedule.statement.problem import Problem
from harvestplan.schedule.written.warnings import plan_warnings

BEANS, PUREE, CARROTS = "snap bean, cut", "winter squash, purée", "carrot, sliced"
BEAN_ML = 35239 / (30 * 453.59237)
"""mL of a gram of beans."""
MANY = 20000


def day(number: int) -> dt.date:
    return FIRST + dt.timedelta(days=number)


def lot(ready: int, grams: int = MANY, crop: str = "snap bean", picked: bool = True) -> Lot:
    return Lot(
        id=f"{crop}-{ready}",
        crop=crop,
        planting=crop,
        bought=None,
        ready=day(ready),
        keep_until=day(ready + 8),
        grams=grams,
        low_grams=grams,
        high_grams=grams,
        picked=picked,
    )


def window(number: int, hours: float = 5) -> FreeWindow:
    start = dt.datetime.combine(day(number), dt.time(16), ZoneInfo(ZONE))
    return FreeWindow(start, start + dt.timedelta(hours=hours), 2, extra=False)


def stated(
    lots: list[Lot],
    windows: list[int],
    *wants: tuple[str, int],
    fridge: float | None = None,
    cellar: bool = False,
    smallest: str | None = None,
) -> Problem:
    """The problem with so many mL of fridge."""
    season = kitchen_season([{"product": p, "portions": n, "portion": "340 g"} for p, n in wants])
    cold: dict[str, Any] = {"cellar": cellar, "fridge": fridge and f"{fridge:.3f} mL"}
    span = {**season.season.model_dump(), "smallest_batch": smallest}
    season = season.model_copy(
        update={
            "cold": Cold.model_validate(cold),
            "season": type(season.season).model_validate(span),
        }
    )
    return build_problem(
        Household(season, LIBRARY, tuple([window(w) for w in windows])), lots, FIRST
    )


def raw(problem: Problem) -> int:
    """Raw grams of a portion of the first want."""
    return problem.demands[0].process.raw_per_portion


BEAN_RAW = raw(stated([lot(0)], [0], (BEANS, 1)))


def made(problem: Problem) -> list[int]:
    """Pouches of the best plan by the windows in which they are begun; it keeps every rule."""
    solved = solve_season(problem, TimedSessions(problem, 1), Effort())
    assert SeasonModel(problem, ()).holds(solved.choice)
    pouches = [0] * len(problem.windows)
    for number, count in solved.choice.pouches.items():
        pouches[problem.options[number].first] += count
    return pouches


# Where food waits.


@pytest.mark.parametrize(
    ("crop", "without", "cellar"),
    [
        ("snap bean", "fridge", "fridge"),
        ("carrot", "fridge", "cellar"),
        ("winter squash", "room", "cellar"),
        ("onion", "room", "cellar"),
        ("potato", "room", "cellar"),
        ("minced meat", "fridge", "fridge"),
        # A week in either: then no room of the fridge is wanted.
        ("tomato", "fridge", "cellar"),
    ],
)
def test_where_food_keeps_best(crop: str, without: str, cellar: str) -> None:
    keeping = LIBRARY.crops[crop].keeping
    assert (keeping.best_place(cellar=False), keeping.best_place(cellar=True)) == (without, cellar)


# As much as the fridge holds.


@pytest.mark.parametrize(("portions", "expected"), [(0.5, 0), (0.99, 0), (1.01, 1), (3.01, 3)])
def test_what_waits_for_its_evening_fits_the_fridge(portions: float, expected: int) -> None:
    room = portions * BEAN_RAW * BEAN_ML
    assert made(stated([lot(0)], [2], (BEANS, 6), fridge=room)) == [expected]


def test_without_a_word_of_the_fridge_all_of_it_waits() -> None:
    assert made(stated([lot(0)], [2], (BEANS, 6))) == [6]


def test_nights_that_are_past_do_not_count() -> None:
    """What was picked yesterday and is put by today is there, however it was kept."""
    assert made(stated([lot(-1)], [0], (BEANS, 6), fridge=500)) == [6]


def test_what_is_put_by_on_its_day_never_waits() -> None:
    """Five portions on the day, and one, which fits the fridge, two days after."""
    room = 1.01 * BEAN_RAW * BEAN_ML
    few = [lot(0, 5 * BEAN_RAW + 10), lot(1, BEAN_RAW)]
    assert made(stated(few, [0, 2], (BEANS, 6), fridge=room)) == [5, 1]


@pytest.mark.parametrize(("evening", "expected"), [(1, 6), (2, 6), (3, 1)])
def test_what_is_still_to_be_picked_stands_two_days(evening: int, expected: int) -> None:
    """Two days on the plant, by the crop file (from memory, no source); then it waits."""
    room = 1.01 * BEAN_RAW * BEAN_ML
    problem = stated([lot(0, picked=False)], [evening], (BEANS, 6), fridge=room)
    assert made(problem) == [expected]


@pytest.mark.parametrize(("cellar", "expected"), [(True, 6), (False, 0)])
def test_what_keeps_in_the_cellar_takes_no_room_of_the_fridge(cellar: bool, expected: int) -> None:
    lots = [lot(0, crop="carrot")]
    problem = stated(lots, [2], (CARROTS, 6), fridge=500, cellar=cellar)
    assert made(problem) == [expected]


def test_two_foods_share_the_fridge_on_the_night_on_which_both_wait() -> None:
    """Beans of Monday and carrots of Tuesday wait for Wednesday together; beans of Thursday have
    it to themselves."""
    carrot = raw(stated([lot(0, crop="carrot")], [0], (CARROTS, 1))) / 0.64  # 0.64 kg per L, memory
    beans = 2 * BEAN_RAW * BEAN_ML
    lots = [lot(0, 2 * BEAN_RAW), lot(1, crop="carrot"), lot(3, 2 * BEAN_RAW)]
    wants = ((BEANS, 4), (CARROTS, 3))
    both = stated(lots, [2, 4], *wants, fridge=beans + 3 * carrot + 5)
    assert made(both) == [2 + 3, 2]
    less = stated(lots, [2, 4], *wants, fridge=beans + 2 * carrot + 5)
    assert made(less) == [2 + 2, 2]


@pytest.mark.parametrize("portions", [0, 1, 3])
def test_what_was_put_to_chill_waits_as_well(portions: int) -> None:
    """Squash keeps in the room; its purée waits overnight in the cold."""
    density = LIBRARY.find_product(PUREE)[1].density.value  # type: ignore[index]
    room = (portions * 340 + 3) / density if portions else 300.0
    problem = stated([lot(0, crop="winter squash")], [1, 2], (PUREE, 4), fridge=room)
    chilled = [o for o in problem.options if o.second is not None]
    assert chilled
    numbered = tuple(dataclasses.replace(o, number=n) for n, o in enumerate(chilled))
    assert made(dataclasses.replace(problem, options=numbered)) == [portions, 0]


def test_a_row_for_nights_after_which_something_goes_and_kept_ones() -> None:
    stays = [Stay(day(0), day(2), 1), Stay(day(1), day(3), 1), Stay(day(4), day(5), 1)]
    empty = Fridge(room=1, crops={}, chilled={}, kept={})
    assert empty.fullest_nights(stays) == [day(1), day(4)]
    assert empty.fullest_nights([]) == []
    one_for_another = [Stay(day(0), day(2), 1), Stay(day(2), day(3), 1)]
    assert empty.fullest_nights(one_for_another) == [day(0), day(2)]
    taken = dataclasses.replace(empty, kept={day(7): 1})
    assert taken.fullest_nights(stays) == [day(1), day(4), day(7)]


# What was promised.


def firm(on: int, *runs: Run) -> Session:
    start = dt.datetime.combine(day(on), dt.time(16), ZoneInfo(ZONE))
    end = start + dt.timedelta(hours=2)
    return Session(
        uid=f"firm-{on}",
        sequence=0,
        status="firm",
        start=start,
        end=end,
        window_start=start,
        window_end=end,
        hands=1,
        runs=runs,
        tasks=(),
    )


def run(
    name: str, product: str, lots: dict[str, int], first: str | None = None, grams: int = 0
) -> Run:
    shares = tuple(LotShare(lot=each, grams=share) for each, share in lots.items())
    return Run(
        id=name,
        product=product,
        crop=product.split(",")[0],
        lots=shares,
        grams_packed=0,
        grams_in=grams or sum(lots.values()),
        pouch="quart",
        pouches=1,
        portion_grams=340,
        second_sitting_of=first,
    )


def kept(sessions: list[Session], lots: list[Lot], as_of: int = 0) -> dict[dt.date, float]:
    """mL of each night that kept sessions take."""
    season = stated(lots, [9], (BEANS, 1), fridge=1e6).season
    found = state_fridge(season, LIBRARY, lots, processes=[], kept=sessions, as_of=day(as_of))
    assert found is not None
    return {night: volume / 1000 for night, volume in found.kept.items()}


def test_food_of_promised_sessions_waits_for_them() -> None:
    beans, later = lot(0), lot(1, picked=False)
    sessions = [firm(2, run("r", BEANS, {beans.id: 1000, later.id: 500}))]
    found = kept(sessions, [beans, later])
    assert found == pytest.approx({day(0): 1000 * BEAN_ML, day(1): 1000 * BEAN_ML}, rel=2e-3)
    assert all(volume >= 1000 * BEAN_ML - 1e-6 for volume in found.values())
    assert list(kept(sessions, [beans, later], as_of=1)) == [day(1)]
    assert kept(sessions, [beans, later], as_of=2) == {}


def test_chilled_food_of_promised_sessions_waits_to_be_packed() -> None:
    squash = lot(0, crop="winter squash")
    sessions = [
        firm(1, run("cook", PUREE, {squash.id: 3000})),
        firm(3, run("pack", PUREE, {}, first="cook", grams=1500)),
    ]
    density = LIBRARY.find_product(PUREE)[1].density.value  # type: ignore[index]
    expected = pytest.approx(1500 / density, abs=3)
    assert kept(sessions, [squash]) == {day(1): expected, day(2): expected}


@pytest.mark.parametrize(("promised", "expected"), [(0.0, 3), (1.0, 2), (2.5, 0), (9.0, 0)])
def test_a_new_plan_has_the_rest_of_the_fridge(promised: float, expected: int) -> None:
    """Even where what is promised is too much already, there is a plan."""
    portion = BEAN_RAW * BEAN_ML
    problem = stated([lot(0)], [2], (BEANS, 6), fridge=3.02 * portion)
    assert problem.fridge is not None
    taken = {night: round(1000 * promised * portion) for night in (day(0), day(1))}
    fridge = dataclasses.replace(problem.fridge, kept=taken)
    assert made(dataclasses.replace(problem, fridge=fridge)) == [expected]


# The plan by hand.


def test_the_plan_by_hand_keeps_the_fridge() -> None:
    """It gives away what could not have waited, and takes the fresher food."""
    lots = [lot(0, 4 * BEAN_RAW), lot(2, 2 * BEAN_RAW)]
    problem = stated(lots, [2], (BEANS, 6), fridge=2.01 * BEAN_RAW * BEAN_ML)
    choice = plan_by_hand(state_rules(problem), TimedSessions(problem, 1))
    assert choice.pouches == {0: 4}
    assert 2 * BEAN_RAW < choice.shares[0][0] <= 2.01 * BEAN_RAW
    assert sum(choice.shares[0].values()) == 4 * BEAN_RAW
    assert SeasonModel(problem, ()).holds(choice)


def test_plans_by_hand_keep_every_rule_of_the_model() -> None:
    limited = 0
    for seed in range(80):
        problem = tiny(seed)
        choice = plan_by_hand(state_rules(problem), TimedSessions(problem, 1))
        assert SeasonModel(problem, ()).holds(choice), seed
        roomy = dataclasses.replace(problem, fridge=None)
        limited += choice != plan_by_hand(state_rules(roomy), TimedSessions(roomy, 1))
    assert limited >= 8


# Batches worth the pot.


@pytest.mark.parametrize(
    ("smallest", "expected"),
    [
        (None, [2, 2]),
        (2 * BEAN_RAW, [2, 2]),
        (2 * BEAN_RAW + 1, [0, 0]),  # three portions, and only two are there at a time
    ],
)
def test_no_pot_for_less_than_the_smallest_batch(smallest: int | None, expected: list[int]) -> None:
    lots = [
        each.model_copy(update={"keep_until": each.ready})
        for each in (lot(0, 2 * BEAN_RAW + 50), lot(1, 2 * BEAN_RAW + 50))
    ]
    written = None if smallest is None else f"{smallest} g"
    assert made(stated(lots, [0, 1], (BEANS, 9), smallest=written)) == expected


@pytest.mark.parametrize(("smallest", "expected"), [(1, [5, 2]), (3, [4, 3])])
def test_portions_are_shared_out_so_that_each_batch_is_worth_it(
    smallest: int, expected: list[int]
) -> None:
    """Five portions of the first day and two of the second; one, not more, could wait."""
    lots = [lot(2, 5 * BEAN_RAW), lot(3, 2 * BEAN_RAW)]
    room, worth = 1.01 * BEAN_RAW * BEAN_ML, f"{smallest * BEAN_RAW} g"
    assert made(stated(lots, [2, 3], (BEANS, 7), fridge=room, smallest=worth)) == expected


def test_a_want_that_is_smaller_is_made_whole() -> None:
    lots = [lot(0)]
    assert made(stated(lots, [1], (BEANS, 2), smallest="5 kg")) == [2]
    half = [lot(0, BEAN_RAW + 5)]
    assert made(stated(half, [1], (BEANS, 2), smallest="5 kg")) == [0]


# What is told.


def reasons(problem: Problem) -> str:
    """What is said of wants that stay short."""
    solved = solve_season(problem, TimedSessions(problem, 1), Effort())
    told = plan_warnings(problem, solved, (), freezer=(), notes=())
    return " ".join(advice.message for advice in told if advice.code == "short")


def test_a_full_fridge_is_told_as_a_reason() -> None:
    room = 3.01 * BEAN_RAW * BEAN_ML
    told = reasons(stated([lot(0)], [2], (BEANS, 6), fridge=room))
    assert "3 portions short" in told and "The fridge is full on the night of 5 July." in told
    assert "fridge" not in reasons(stated([lot(0)], [2], (BEANS, 400), fridge=10**6))


def test_too_little_for_the_pot_is_told_as_a_reason() -> None:
    """Two portions of beans are there, of more that are wanted; no batch of fewer than three."""
    lots = [lot(0, 2 * BEAN_RAW)]
    told = reasons(stated(lots, [0], (BEANS, 9), smallest=f"{3 * BEAN_RAW} g"))
    assert "smallest batch" in told
    assert "smallest batch" not in reasons(stated(lots, [0], (BEANS, 9)))
