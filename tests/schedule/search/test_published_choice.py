"""What was published stays where nothing is better."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from schedule.small_problems import (
    BEANS,
    RAW,
    bean_lots,
    lot,
    problem,
    solve_small,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.search import season_search
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import THOROUGH, Effort
from harvestplan.schedule.search.published_choice import published_choice, published_options
from harvestplan.schedule.search.season_search import SeasonSearch
from harvestplan.schedule.search.solve_season import Solved, solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Earlier, EarlierRun, Problem

TWO_LOTS = [
    each.model_copy(update={"keep_until": each.ready.replace(day=19)})
    for each in bean_lots(5 * RAW, 5 * RAW)
]


def published(*made: tuple[int, int, dict[int, int]], **freezer: str) -> Problem:
    """Beans of two Mondays for six, and what was published of them: window, pouches, grams by
    lot. They can be made on the second Monday and on Tuesday after it."""
    stated = problem(TWO_LOTS, [window(7, 6), window(8, 6)], (BEANS, 6), **freezer)
    runs = tuple(
        EarlierRun(
            BEANS,
            stated.windows[w].start,
            None,
            freezer="chest",
            pouches=pouches,
            shares={stated.lots[lot].id: grams for lot, grams in shares.items()},
        )
        for w, pouches, shares in made
    )
    return replace(stated, earlier=Earlier(runs))


def test_where_no_session_changes_no_lot_is_swapped_either() -> None:
    """Two evenings where one would do, and the older food though the fresher waits less."""
    runs = [(0, 3, {0: 2 * RAW, 1: RAW}), (1, 3, {0: 3 * RAW})]
    stated = published(*runs)
    found = solve_small(stated)
    assert found.choice == Choice({w: n for w, n, _ in runs}, {w: s for w, _, s in runs})
    assert dict(found.parts)["moving"] == 0
    assert found.bound > found.worth


def test_what_was_published_and_cannot_be_made_any_more_is_planned_anew() -> None:
    """More than is frozen in a day; more food than there is; a lot that nobody has."""
    for runs, freezer, most in (
        ([(0, 6, {0: 3 * RAW, 1: 3 * RAW})], {"freezing_per_day": f"{4 * 340 + 50} g"}, 4),
        ([(0, 6, {0: 6 * RAW})], {}, 6),
        ([(0, 6, {0: 5 * RAW, 1: RAW + 1})], {}, 6),
    ):
        stated = published(*runs, **freezer)
        found = solve_small(stated)
        assert SeasonModel(stated, ()).holds(found.choice)
        assert sum(found.choice.pouches.values()) == most
    stated = published((0, 6, {0: 3 * RAW, 1: 3 * RAW}))
    assert stated.earlier is not None
    (run,) = stated.earlier.runs
    others: list[dict[str, Any]] = [
        {"shares": {"somebody's": 6 * RAW}},
        {"freezer": "cellar"},
        {"pouches": 99},
    ]
    for other in others:
        found = solve_small(replace(stated, earlier=Earlier((replace(run, **other),))))
        assert sum(found.choice.pouches.values()) == 6


def test_what_was_published_and_is_best_is_proven_so() -> None:
    """All that is wanted, of the fresher food as much as there is."""
    shares = {0: RAW, 1: 5 * RAW}
    found = solve_small(published((0, 6, shares)))
    assert found.choice == Choice({0: 6}, {0: shares})
    assert found.proven


def test_of_food_that_is_gone_another_lot_does_not_take_the_place() -> None:
    stated = published((0, 6, {0: 3 * RAW, 1: 3 * RAW}))
    assert solve_small(stated).choice.shares == {0: {0: 3 * RAW, 1: 3 * RAW}}
    assert stated.earlier is not None
    (was,) = stated.earlier.runs
    gone = replace(was, shares={stated.lots[0].id: 3 * RAW, "somebody's": 3 * RAW})
    found = solve_small(replace(stated, earlier=Earlier((gone,))))
    assert found.choice == Choice({0: 6}, {0: {0: RAW, 1: 5 * RAW}})


def test_what_is_left_of_the_published_plan_is_begun_from() -> None:
    """A lot that nobody has makes the whole impossible; its evening is there from the start, where
    a plan by hand takes the evening before it."""
    stated = published((1, 6, {0: 3 * RAW, 1: 3 * RAW}))
    assert stated.earlier is not None
    (was,) = stated.earlier.runs
    gone = replace(was, shares={stated.lots[0].id: 3 * RAW, "somebody's": 3 * RAW})
    left = replace(stated, earlier=Earlier((gone,)))
    assert published_choice(left) is None
    assert published_options(left) == {o.number for o in left.options if o.first == 1}
    assert begun_from(left).pouches == {1: 6}
    assert begun_from(replace(left, earlier=None)).pouches == {0: 6}


def begun_from(stated: Problem) -> Choice:
    """The plan before any search."""
    heard: list[Solved] = []
    solve_season(stated, TimedSessions(stated, 1), Effort(rounds=0), heard=heard.append)
    return heard[-1].choice


def test_without_a_published_plan_there_is_nothing_to_begin_from() -> None:
    assert not published_options(problem(TWO_LOTS, [window(7, 6)], (BEANS, 6)))


@pytest.mark.parametrize(
    ("wanted", "effort", "rounds"),
    [(9, Effort(), 1), (17, Effort(), 2), (9, THOROUGH, THOROUGH.rounds), (9, Effort(rounds=0), 0)],
)
def test_less_is_done_where_a_good_part_of_the_published_plan_stands(
    wanted: int, effort: Effort, rounds: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Six pouches stand, of nine wanted or of seventeen; who asks for a thorough search gets it,
    and who asks for none gets none. With rounds in which nothing is found there are as many as
    meant."""
    monkeypatch.setattr(season_search, "SMALL", 0)
    counted = list[bool]()
    monkeypatch.setattr(SeasonSearch, "_round", lambda search: counted.append(True))
    lots = [lot("snap bean", FIRST, 9, grams=17 * RAW)]
    stated = problem(lots, [window(0, 6), window(1, 6), window(2, 6)], (BEANS, wanted))
    run = EarlierRun(BEANS, stated.windows[0].start, None, "chest", 6, {lots[0].id: 6 * RAW})
    stated = replace(stated, earlier=Earlier((run,)))
    solve_season(stated, TimedSessions(stated, 1), effort)
    assert len(counted) == rounds
