"""The season planned by hand, on squared paper."""

from __future__ import annotations

from dataclasses import replace

from schedule.small_problems import (
    BEANS,
    PACK,
    RAW,
    bean_lots,
    problem,
    solved,
    window,
)

from harvestplan.schedule.goals.portions_put_by import portions_short
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Problem


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
    stated = problem(
        bean_lots(5 * RAW),
        [window(0, 6), window(2, 6)],
        (BEANS, 20),
        freezing_per_day=f"{3 * 340} g",
    )
    made = by_hand(stated)
    assert list(made.pouches.values()) == [3, 2]
    assert [sum(taken.values()) for taken in made.shares.values()] == [3 * RAW, 2 * RAW]


def test_by_hand_is_never_better_than_the_best() -> None:
    for sizes in ((3, 9), (8, 2), (5, 5)):
        lots = bean_lots(*(n * RAW for n in sizes))
        stated = problem(
            lots, [window(d, 2) for d in (0, 1, 7, 8)], (BEANS, 9), freezing_per_day="1 kg"
        )
        assert portions_short(stated, by_hand(stated)) >= solved(stated)["wants"]
