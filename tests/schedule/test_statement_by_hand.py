"""The season stated in whole numbers, on a kitchen small enough to reckon everything by hand.

Beans of 340 g to the pouch; freezing, space and trays are given as so many pouches and a little.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import accumulate, combinations
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_seasons import FIRST, ZONE, kitchen_season

from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.library import load_library
from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.plan.models import Lot
from harvestplan.schedule.goals.late_minutes import overtime_value
from harvestplan.schedule.goals.moved_pouches import ADDED, CHANGE_SCALE, change_value, nearness
from harvestplan.schedule.goals.portions_short import short_value
from harvestplan.schedule.goals.waiting_time import waiting_cost, waiting_value
from harvestplan.schedule.rules.register import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.filled_up import (
    ANOTHER,
    FREEZING,
    HANDS,
    SPACE,
    TIME,
    TRAYS,
    FilledSessions,
)
from harvestplan.schedule.search.levels import Effort, solve_levels
from harvestplan.schedule.search.weekly_plan import key_of
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.freezer_burden import load_per_pouch
from harvestplan.schedule.statement.lower_line import lower_line
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Earlier, EarlierRun, Problem, max_pouches

BEANS, PUREE, DRY, ONIONS = (
    "snap bean, cut", "winter squash, purée", "dry bean, sealed", "onion, chopped",
)  # fmt: skip
LIBRARY = load_library()


def bean_lots(*sizes: int, keeps: int = 2) -> list[Lot]:
    """A lot each week, keeping two days."""
    days = [FIRST + dt.timedelta(days=7 * n) for n in range(len(sizes))]
    return [lot("snap bean", day, keeps, size) for day, size in zip(days, sizes, strict=True)]


def lot(crop: str, ready: dt.date, keeps: int, grams: int, bought: bool = False) -> Lot:
    return Lot(
        id=f"{crop}-{ready}", crop=crop, planting=None if bought else crop,
        bought=crop if bought else None, ready=ready, keep_until=ready + dt.timedelta(days=keeps),
        grams=grams, low_grams=grams, high_grams=grams,
    )  # fmt: skip


def window(day: int, hours: float = 3, start: int = 18, hands: int = 2, extra: bool = False
) -> FreeWindow:  # fmt: skip
    begin = dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(start), ZoneInfo(ZONE))
    return FreeWindow(begin, begin + dt.timedelta(hours=hours), hands, extra)


def problem(
    lots: list[Lot], windows: list[FreeWindow], *wants: tuple[str, int], **freezer: str
) -> Problem:
    wanted = [{"product": p, "portions": n, "portion": "340 g"} for p, n in wants]
    season = kitchen_season(wanted, **freezer)
    return build_problem(season, LIBRARY, lots, windows, FIRST, None)


def beans(**freezer: str) -> Problem:
    """Ten pouches' worth and an evening with time for them."""
    return problem(bean_lots(10 * RAW), [window(0, 6)], (BEANS, 20), **freezer)


def _raw() -> int:
    return problem(bean_lots(9000), [window(0)], (BEANS, 1)).demands[0].process.raw_per_portion


RAW = _raw()
"""g of beans as picked for a pouch."""
PACK = problem(bean_lots(9000), [window(0)], (BEANS, 1)).demands[0].process.packing


def most(stated: Problem) -> int:
    """What the only option allows; 0 where there is none."""
    (option,) = stated.options or (None,)
    return option.most if option else 0


def test_the_food_bounds_a_run() -> None:
    for grams, pouches in ((RAW - 1, 0), (RAW, 1), (2 * RAW - 1, 1), (10 * RAW, 10)):
        assert most(problem(bean_lots(grams), [window(0, 6)], (BEANS, 20))) == pouches
    assert most(problem(bean_lots(10 * RAW), [window(0, 6)], (BEANS, 3))) == 3


@pytest.mark.parametrize("pouches", [0, 1, 4])
def test_freezing_space_and_trays_bound_a_run(pouches: int) -> None:
    """Room for so many pouches and nearly one more; and for exactly so many."""
    for more in (0.0, 0.97):
        count = pouches + more
        assert most(beans(freezing_per_day=f"{340 * count:.1f} g")) == pouches
        used = 100 - PACK.space * count / 1000
        assert most(beans(used=f"{used - 1e-6:.6f} L")) == pouches
        assert most(beans(tray_area=f"{(PACK.footprint * count + 1) / 1e6:.7f} m2")) == pouches


def test_food_frozen_loose_takes_its_trays_before_it_takes_them_packed() -> None:
    onions = [lot("onion", FIRST, 40, 9000, bought=True)]
    one = problem(onions, [window(0, 6)], (ONIONS, 9))
    process = one.demands[0].process
    assert process.loose_area > 0
    area = 3 * (process.packing.footprint + process.loose_area) + 1
    trays = problem(onions, [window(0, 6)], (ONIONS, 9), tray_area=f"{area / 1e6:.7f} m2")
    assert {option.most for option in trays.options if option.second is None} == {3}
    # What is frozen is the food as it comes to the trays, before anything is packed.
    before = process.raw_per_portion * process.share_before(2)
    assert before <= load_per_pouch(process) <= before + 2


def test_bought_food_is_packed_to_the_end_and_grown_food_is_not() -> None:
    """A last pouch is packed from a quarter full on."""
    dry = problem([lot("dry bean", FIRST, 90, 999, bought=True)], [window(0)], (DRY, 9))
    bought, grown = dry.demands[0].process, beans().demands[0].process
    quarter = bought.raw_per_portion / 4
    whole = 3 * bought.raw_per_portion
    assert max_pouches(bought, whole) == 3
    assert max_pouches(bought, int(whole + quarter - 1)) == 3
    assert max_pouches(bought, int(whole + quarter + 1)) == 4
    assert max_pouches(grown, 4 * RAW - 1) == 3


@pytest.mark.parametrize(("hours", "fits"), [(0.5, False), (6.0, True)])
def test_the_evening_bounds_a_run(hours: float, fits: bool) -> None:
    assert (most(problem(bean_lots(10 * RAW), [window(0, hours)], (BEANS, 20))) > 0) == fits


def test_an_evening_loses_its_set_up_and_clean_up() -> None:
    assert problem(bean_lots(RAW), [window(0, 3)], (BEANS, 1)).length(0) == 3 * 3600 - 2400
    assert SET_UP == CLEAN_UP == 1200


def test_food_is_used_between_its_days_only() -> None:
    """Ready on Tuesday 6 July, good until Thursday."""
    tuesday = lot("snap bean", FIRST + dt.timedelta(days=1), 2, 5 * RAW)
    stated = problem([tuesday], [window(d) for d in range(6)], (BEANS, 5))
    assert [option.first for option in stated.options] == [1, 2, 3]
    assert all(option.lots == (0,) for option in stated.options)


def test_the_second_sitting_comes_while_what_is_put_to_chill_keeps() -> None:
    """From the start of the first sitting to the end of the second the pause's limit holds."""
    squash = [lot("winter squash", FIRST, 30, 9000)]
    days = [window(d) for d in range(9)]
    stated = problem(squash, days, (PUREE, 5))
    process = stated.demands[0].process
    assert process.pause is not None
    limit = process.product.steps[process.pause].pause_limit
    assert limit is not None
    pairs = {(o.first, o.second) for o in stated.options}
    for first in range(9):
        assert (first, None) in pairs
        for second in range(9):
            lasts = (days[second].end - days[first].start).total_seconds()
            assert ((first, second) in pairs) == (second > first and lasts <= limit.value)
    # The very last moment counts, and not the next.
    last = days[0].start + dt.timedelta(seconds=limit.value)
    for late, there in ((0, True), (1, False)):
        packs = replace(days[0], start=last - dt.timedelta(hours=5),
                        end=last + dt.timedelta(seconds=late))  # fmt: skip
        stated = problem(squash, [days[0], packs], (PUREE, 5))
        assert any(option.second == 1 for option in stated.options) == there


def test_a_run_is_named_by_its_times() -> None:
    """So that the problem of another week finds it again."""
    squash = [lot("winter squash", FIRST, 30, 9000)]
    stated = problem(squash, [window(0), window(1)], (PUREE, 5))
    starts = [each.start for each in stated.windows]
    keys = {(o.first, o.second): key_of(stated, o) for o in stated.options}
    assert keys[0, None] == (PUREE, starts[0], None, "chest")
    assert keys[0, 1] == (PUREE, starts[0], starts[1], "chest")


def test_what_may_freeze_within_a_day() -> None:
    """Evenings from 18 to 21: the next day's begins within 24 hours of this one's end."""
    stated = problem(bean_lots(RAW), [window(d) for d in (0, 1, 2, 5, 7)], (BEANS, 1))
    assert stated.near_sets() == [(0, 1), (1, 2), (3,), (4,)]
    stated = problem(bean_lots(RAW), [window(0, 3), window(1, 1, start=21)], (BEANS, 1))
    assert stated.near_sets() == [(0,), (1,)]


@given(st.lists(st.integers(0, 400), min_size=1, max_size=9))
def test_of_the_lines_below_a_table_the_nearest_is_taken(steps: list[int]) -> None:
    """Every pair of entries is tried: where nothing lies below the line through them, its slope,
    rounded down, is one to take; a single entry has a level line."""
    values = list(accumulate(steps))
    points = list(enumerate(values, start=1))

    def gap(slope: int) -> int:
        fixed = min(value - slope * n for n, value in points)
        return sum(value - fixed - slope * n for n, value in points)

    slopes = [
        (w - v) // (m - n)
        for (n, v), (m, w) in combinations(points, 2)
        if all((x - v) * (m - n) >= (w - v) * (k - n) for k, x in points)
    ]
    fixed, slope = lower_line(values)
    gaps = [value - fixed - slope * n for n, value in points]
    assert min(gaps) == 0
    assert sum(gaps) == min(map(gap, slopes or [0]))


# What one evening holds.


def test_an_evening_names_the_limit_that_is_reached() -> None:
    for pouches in (2, 3):
        for freezer, limit in (
            ({"freezing_per_day": f"{2 * 340 + 300} g"}, FREEZING),
            ({"used": f"{100 - 2.9 * PACK.space / 1000:.4f} L"}, SPACE),
            ({"tray_area": f"{2.9 * PACK.footprint / 1e6:.6f} m2"}, TRAYS),
        ):
            stated = beans(**freezer)
            # The statement bounds the option already; only the evening's own limits are asked.
            option = replace(stated.options[0], most=9)
            there = FilledSessions(replace(stated, options=(option,)))
            assert there.limit(option, pouches) == (limit if pouches == 3 else None)
            assert there.most(option, 20) == 2


def test_an_evening_is_over_at_its_end() -> None:
    """The longest way through the work is just there, or a second too long."""
    stated = beans()
    work = stated.work_of(stated.options[0], "whole", 5)
    for spare, said in ((0, None), (1, TIME)):
        room = dt.timedelta(seconds=work.path - spare + SET_UP + CLEAN_UP)
        short = replace(stated.windows[0], hands=9, end=stated.windows[0].start + room)
        there = FilledSessions(replace(stated, windows=(short,)))
        assert there.limit(stated.options[0], 5) == said
        assert there.most(stated.options[0], 5) == 5 - spare


def test_two_foods_share_the_hands() -> None:
    """Just as much hand work as there is, or a second too much."""
    lots = [*bean_lots(10 * RAW), lot("dry bean", FIRST, 90, 3400, bought=True)]
    both = problem(lots, [window(0, 6)], (BEANS, 10), (DRY, 10))
    snap, dry = both.options
    works = [both.work_of(snap, "whole", 5), both.work_of(dry, "whole", 5)]
    hand = sum(work.hand for work in works)
    assert all(work.path < hand for work in works)
    for spare, said in ((0, None), (1, HANDS)):
        room = dt.timedelta(seconds=hand - spare + SET_UP + CLEAN_UP)
        alone = replace(both.windows[0], hands=1, end=both.windows[0].start + room)
        evening = FilledSessions(replace(both, windows=(alone,)))
        evening.add(snap, 5)
        assert evening.runs(0) == [(snap, "whole")]
        assert evening.limit(dry, 5) == said


def test_two_foods_share_a_machine() -> None:
    """Two foods on one stove, each with hands of its own: the pot is the limit."""
    lots = [*bean_lots(20 * RAW), lot("broccoli", FIRST, 5, 20_000)]
    both = problem(lots, [window(0, 12, start=8, hands=9)], (BEANS, 20), ("broccoli, florets", 30))
    beans_here, broccoli = both.options
    pot = both.work.machines.index(frozenset({"pot"}))
    works = [both.work_of(beans_here, "whole", 9), both.work_of(broccoli, "whole", 9)]
    heat = max(work.heat[pot] for work in works)  # it boils once, for both
    busy = (
        sum(work.machine[pot] for work in works)
        + max(heat, min(work.heads[pot] for work in works))
        + min(work.tails[pot] for work in works)
    )
    assert all(work.path < busy for work in works)
    for spare, said in ((0, None), (1, "pot")):
        room = dt.timedelta(seconds=busy - spare + SET_UP + CLEAN_UP)
        day = replace(both.windows[0], end=both.windows[0].start + room)
        evening = FilledSessions(replace(both, windows=(day,)))
        evening.add(beans_here, 9)
        assert evening.limit(broccoli, 9) == said


def test_the_same_food_is_made_once_in_an_evening() -> None:
    two = problem(bean_lots(10 * RAW), [window(0, 6)], (BEANS, 20))
    again = replace(two.options[0], number=1)
    there = FilledSessions(replace(two, options=(two.options[0], again)))
    there.add(two.options[0], 2)
    assert there.limit(again, 1) == ANOTHER
    there.add(two.options[0], 3)  # in its own place it may be made more
    assert there.runs(0) == [(two.options[0], "whole")]


def test_freezing_of_two_evenings_counts_where_they_meet_within_a_day() -> None:
    for apart, said in ((1, FREEZING), (2, None)):
        stated = problem(bean_lots(10 * RAW), [window(0, 6), window(apart, 6)], (BEANS, 20),
                         freezing_per_day=f"{4 * 340} g")  # fmt: skip
        there = FilledSessions(stated)
        there.add(stated.options[0], 3)
        assert there.limit(stated.options[1], 1) is None
        assert there.limit(stated.options[1], 2) == said


def test_what_lies_in_the_freezer_leaves_less_room() -> None:
    """Room for five pouches; one of beans lies there, and of other food nothing, as much as two, or
    a millilitre more."""
    two = 2 * PACK.space
    for other, left in (({}, 4), ({"chest": two}, 2), ({"chest": two + 1}, 1)):
        stated = replace(
            beans(used=f"{100_000 - 5 * PACK.space} mL"),
            opening=Opening({(BEANS, "chest"): 1}, other),
        )
        evening = FilledSessions(stated)
        assert evening.limit(stated.options[0], left) is None
        assert evening.limit(stated.options[0], left + 1) == SPACE
        assert solved(stated)["wants"] == 20 - left


def test_what_does_not_fit_is_told_as_few_and_as_small_as_it_is() -> None:
    """Beans and dry beans in one evening, one pair of hands: each food stands in the cut once, and
    with a pouch less of either of them there is time."""
    lots = [*bean_lots(10 * RAW), lot("dry bean", FIRST, 90, 10_000, bought=True)]
    both = problem(lots, [window(0, 2.5, hands=1)], (BEANS, 10), (DRY, 30))
    book = TimedSessions(both, 1)

    def cuts(snap: int, dry: int) -> list[Cut]:
        shares = {0: {0: snap * RAW}, 1: {1: dry * 340}}
        return book.cuts_for(Choice({0: snap, 1: dry}, shares))

    (cut,) = cuts(8, 20)
    (first, _, snap), (second, _, dry) = cut.runs
    assert (first, second, cut.proven) == (0, 1, True)
    assert 0 < snap <= 8 and 0 < dry <= 20
    assert cuts(snap, dry) and not cuts(snap - 1, dry) and not cuts(snap, dry - 1)


# What is best.


def test_a_change_weighs_less_the_farther_it_is() -> None:
    days = [0, 6, 7, 13, 14, 62, 63, 400, -3]
    assert [nearness(d) for d in days] == [10, 10, 9, 9, 8, 2, 1, 1, 10]


def choice(stated: Problem, *made: tuple[int, int]) -> Choice:
    """So many pouches by each option, of its first lot."""
    shares = {}
    for number, pouches in made:
        option = stated.options[number]
        process = stated.demands[option.demand].process
        shares[number] = {option.lots[0]: pouches * process.raw_per_portion}
    return Choice(dict(made), shares)


def test_values_of_a_choice() -> None:
    windows = [window(0), window(1, 2, extra=True), window(2)]
    stated = problem(bean_lots(10 * RAW), windows, (BEANS, 6))
    assert [option.first for option in stated.options] == [0, 1, 2]
    # Waiting from Monday to Wednesday is all of the two days that they keep.
    assert [waiting_cost(stated, o, 0) for o in stated.options] == [0, 50, 100]
    made = choice(stated, (1, 2), (2, 3))
    assert short_value(stated, made) == 100 * (6 - 5)
    assert overtime_value(stated, made) == 120
    assert overtime_value(stated, choice(stated, (2, 3))) == 0
    assert waiting_value(stated, made) == 50 * 2 * RAW + 100 * 3 * RAW


def test_what_differs_from_the_plan_before() -> None:
    """Four pouches on Monday, and two in a week for which there is no food any more: those are lost
    whatever is chosen, and weigh less than two of Monday's would."""
    stated = problem(bean_lots(10 * RAW), [window(0), window(2), window(7)], (BEANS, 6))
    runs = tuple(
        EarlierRun(BEANS, stated.windows[w].start, None, "chest", n, {})
        for w, n in ((0, 4), (2, 2))
    )
    planned = replace(stated, earlier=Earlier(runs))

    def changed(pouches: int) -> int:
        return change_value(planned, choice(planned, (0, pouches)))

    lost, fewer, more = changed(4), changed(3) - changed(4), changed(5) - changed(4)
    assert lost * nearness(0) == 2 * fewer * nearness(7)
    assert changed(1) == lost + 3 * fewer
    assert 0 < more < fewer


def test_to_leave_what_a_poor_year_needs_is_dearer_than_any_move() -> None:
    """Six pouches are wanted of the ten picked, and none was planned: what is used of the six is
    not left, nor is anything of the four more that nobody wants."""
    (picked,) = bean_lots(10 * RAW)
    there = [picked.model_copy(update={"picked": True})]
    stated = problem(there, [window(0, 6)], (BEANS, 6))
    planned = replace(stated, earlier=Earlier(()))

    def left(pouches: int, grams: int) -> int:
        """What is left as a change, apart from the pouches that are made."""
        made = change_value(planned, Choice({0: pouches}, {0: {0: grams}}))
        return made - CHANGE_SCALE * ADDED * pouches

    assert [left(6, 6 * RAW + more) for more in (0, 1, 4 * RAW)] == [0, 0, 0]
    assert left(5, 5 * RAW) > CHANGE_SCALE * (nearness(0) + ADDED)
    assert left(6, 6 * RAW - 1) * RAW == left(5, 5 * RAW)
    assert left(2, 2 * RAW) == 4 * left(5, 5 * RAW)


def test_a_pouch_of_food_left_is_dearer_than_any_move_however_much_it_takes() -> None:
    """It counts by the gram: for squash in whole hundredths as well as for beans."""
    for product, keeps in ((BEANS, 2), (PUREE, 30), ("broccoli, florets", 5)):
        food = lot(product.split(",")[0], FIRST, keeps, 9000).model_copy(update={"picked": True})
        stated = problem([food], [window(0, 6)], (product, 3))
        raw = stated.demands[0].process.raw_per_portion
        planned = replace(stated, earlier=Earlier(()))
        kept, left = (
            change_value(planned, Choice({0: 3}, {0: {0: grams}})) for grams in (3 * raw, 2 * raw)
        )
        assert left - kept > CHANGE_SCALE * (nearness(0) + ADDED)


def solved(stated: Problem) -> dict[str, float]:
    found = solve_levels(stated, TimedSessions(stated, 1), Effort(), lambda text: None)
    return {level.level: level.value for level in found.levels}


def test_the_very_last_pouch_of_what_was_bought_may_be_a_quarter_full() -> None:
    """Of what is left over three pouches: nothing, a little less than a quarter, or a quarter."""
    dry = problem([lot("dry bean", FIRST, 90, 999, bought=True)], [window(0)], (DRY, 9))
    portion = dry.demands[0].process.raw_per_portion
    for rest, short in ((0, 6), (portion // 4 - 2, 6), (portion // 4 + 1, 5)):
        food = [lot("dry bean", FIRST, 90, 3 * portion + rest, bought=True)]
        for evenings in ([window(0, 4)], [window(0, 4), window(1, 4)]):
            assert solved(problem(food, evenings, (DRY, 9)))["wants"] == short


def test_no_more_than_is_wanted_and_in_one_evening_where_one_does() -> None:
    food = bean_lots(10 * RAW)
    assert solved(problem(food, [window(0, 6)], (BEANS, 3)))["wants"] == 0
    assert solved(problem(food, [window(0, 6), window(1, 6)], (BEANS, 3)))["evenings"] == 1


@pytest.mark.parametrize(("missing", "made"), [(0, 3), (1, 2)])
def test_a_freezer_is_filled_to_the_last_millilitre(missing: int, made: int) -> None:
    """Room for three pouches, or for three but a millilitre; on two evenings."""
    used = 100_000 - 3 * PACK.space + missing
    stated = problem(bean_lots(9 * RAW), [window(0), window(2)], (BEANS, 9), used=f"{used} mL")
    assert solved(stated)["wants"] == 9 - made


@pytest.mark.parametrize("room", [3000, 6000])
def test_ice_takes_more_room_than_the_pouches_it_cools(room: int) -> None:
    """Room in mL the evening before. Beans ask for 1.08 times their weight of ice (heat balance;
    NCHFP has about a pound to the pound), and a bag of cubes holds 0.917 g/mL in three fifths
    (common practice, no source)."""
    chest = {"used": f"{100_000 - room} mL"}
    evening = [window(1, 6)]  # today's ice would be made already
    bought = solved(problem(bean_lots(10 * RAW), evening, (BEANS, 10), **chest))
    made = solved(problem(bean_lots(10 * RAW), evening, (BEANS, 10), ice="make", **chest))
    assert 10 - bought["wants"] == room // PACK.space
    assert 10 - made["wants"] == room // (RAW * 1.08 / (0.917 * 0.6))


def test_extra_hours_are_used_only_where_the_usual_ones_do_not_do() -> None:
    usual, extra = window(1, 3), window(0, 2, extra=True)
    two = solved(problem(bean_lots(4 * RAW), [extra, usual], (BEANS, 4)))
    assert (two["evenings"], two["overtime"], two["wants"]) == (1, 0, 0)
    only = solved(problem(bean_lots(4 * RAW), [extra], (BEANS, 4)))
    assert only["overtime"] == 120


# By hand, on squared paper.


def by_hand(stated: Problem) -> Choice:
    return plan_by_hand(state_rules(stated), TimedSessions(stated, 1))


def test_by_hand_what_goes_off_first_is_made_first_and_nothing_twice() -> None:
    stated = problem(bean_lots(3 * RAW, 2 * RAW), [window(d, 6) for d in (0, 1, 7)], (BEANS, 20))
    made = by_hand(stated)
    assert {stated.options[o].first: n for o, n in made.pouches.items()} == {0: 3, 2: 2}
    assert all(
        sum(taken.values()) == RAW * made.pouches[option] for option, taken in made.shares.items()
    )


def test_by_hand_wants_freezing_space_and_weeks_are_heeded() -> None:
    lots, days = bean_lots(9 * RAW, 9 * RAW), [window(d, 6) for d in (0, 1, 7)]

    def made(**freezer: str) -> list[int]:
        return list(by_hand(problem(lots, days, (BEANS, 20), **freezer)).pouches.values())

    assert list(by_hand(problem(lots, days, (BEANS, 5))).pouches.values()) == [5]
    assert made(freezing_per_day=f"{4 * 340 + 300} g") == [4, 4]
    assert made(used=f"{100 - 7.5 * PACK.space / 1000:.4f} L") == [7]
    one = problem(lots, days, (BEANS, 20), freezing_per_day=f"{4 * 340} g")
    limits = one.season.season.model_copy(update={"max_sessions": 1})
    season = one.season.model_copy(update={"season": limits})
    assert list(by_hand(replace(one, season=season)).pouches.values()) == [4]


def test_by_hand_the_last_pouch_of_food_and_of_room_is_made() -> None:
    """Food for one; room for three to the millilitre, and for a millilitre less."""
    one = problem(bean_lots(RAW), [window(0, 6)], (BEANS, 9))
    assert by_hand(one).pouches == {0: 1}
    for missing, made in ((0, 3), (1, 2)):
        used = 100_000 - 3 * PACK.space + missing
        stated = problem(bean_lots(9 * RAW), [window(0, 6)], (BEANS, 9), used=f"{used} mL")
        assert by_hand(stated).pouches == {0: made}
        other = replace(stated, opening=Opening({}, {"chest": PACK.space}))
        assert by_hand(other).pouches == {0: made - 1}


def test_by_hand_the_second_evening_makes_what_the_first_left() -> None:
    """Food for five; the freezer takes three a day, so two are left for Wednesday."""
    stated = problem(bean_lots(5 * RAW), [window(0, 6), window(2, 6)], (BEANS, 20),
                     freezing_per_day=f"{3 * 340} g")  # fmt: skip
    made = by_hand(stated)
    assert list(made.pouches.values()) == [3, 2]
    assert [sum(taken.values()) for taken in made.shares.values()] == [3 * RAW, 2 * RAW]


def test_by_hand_is_never_better_than_the_best() -> None:
    for sizes in ((3, 9), (8, 2), (5, 5)):
        lots = bean_lots(*(n * RAW for n in sizes))
        stated = problem(lots, [window(d, 2) for d in (0, 1, 7, 8)], (BEANS, 9),
                         freezing_per_day="1 kg")  # fmt: skip
        assert short_value(stated, by_hand(stated)) >= 100 * solved(stated)["wants"]
