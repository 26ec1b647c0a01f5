"""Sessions that the household moved: held where they can be, refused for the reason one would say.

Beans are there on the evenings of 5, 7 and 8 July; the plan has them on Monday the 5th.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest
from schedule.kept_sessions import plan_of, run, session
from schedule.small_problems import BEANS, PUREE, RAW, bean_lots, lot, problem, window
from schedule.small_seasons import FIRST

from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Session, Wish
from harvestplan.records.moved_sessions import chosen_windows, places
from harvestplan.schedule.search import pinned_sessions as wishes
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.problem import Earlier, EarlierRun, Problem

LOT = "snap bean-2027-07-05"
SHRIMP = "shrimp, portioned"


def wish(to: FreeWindow, uid: str = "a", why: str = "") -> Wish:
    seconds = int((to.end - to.start).total_seconds())
    return Wish(
        session=uid,
        moved_from=window(0).start,
        moved_to=to.start,
        seconds=seconds,
        hands=2,
        why=why,
    )


def moved_to(
    *days: int,
    made: tuple[tuple[str, str, int], ...] = (("a", BEANS, 3),),
    hours: float = 4,
    free: tuple[int, ...] = (0, 2, 3, 4),
) -> Problem:
    """The season with each session's run (uid, product, pouches), read where it was put to."""
    lots = [*bean_lots(10 * RAW), lot("winter squash", FIRST, 30, grams=9000)]
    lots[0] = lots[0].model_copy(update={"keep_until": FIRST + dt.timedelta(days=3)})
    stated = problem(lots, [window(d, hours) for d in free], (BEANS, 9), (PUREE, 3))
    runs = tuple(
        EarlierRun(
            product,
            window(d).start,
            None,
            freezer="chest",
            pouches=pouches,
            shares={LOT: pouches * RAW},
            sessions=(uid, uid),
        )
        for d, (uid, product, pouches) in zip(days, made, strict=True)
    )
    return replace(stated, earlier=Earlier(runs))


def settled(stated: Problem, *moves: Wish) -> tuple[Problem, Choice | None] | tuple[Wish, str]:
    return wishes.settle(stated, moves, TimedSessions(stated, 1))


def held(stated: Problem, *moves: Wish) -> tuple[Problem, Choice]:
    there, start = settled(stated, *moves)
    assert isinstance(there, Problem) and isinstance(start, Choice)
    return there, start


def why(stated: Problem, *moves: Wish) -> str:
    blamed, reason = settled(stated, *moves)
    assert isinstance(blamed, Wish) and isinstance(reason, str)
    return reason


def test_it_is_held_with_all_its_pouches() -> None:
    stated = moved_to(2)
    there, start = held(stated, wish(window(2)))
    (hold,) = there.pinned
    assert (stated.windows[hold.window].start, hold.pouches) == (window(2).start, 3)
    (made,) = start.pouches
    assert stated.windows[stated.options[made].first].start == window(2).start
    assert start.pouches[made] >= 3


def test_of_what_is_too_much_as_much_is_held_as_there_can_be() -> None:
    """Food for ten pouches, of which nine are wanted: twelve cannot be made anywhere."""
    there, start = held(moved_to(2, made=(("a", BEANS, 12),), hours=6), wish(window(2)))
    assert [each.pouches for each in there.pinned] == [9]
    assert sum(start.pouches.values()) == 9


def test_what_was_given_up_or_lies_on_no_window_is_not_held() -> None:
    stated = moved_to(2)
    assert wishes.pin(stated, [wish(window(2), why="It was moved again.")]).pinned == ()
    assert wishes.pin(stated, [wish(window(1))]).pinned == ()
    there, start = settled(stated, wish(window(2), why="It was moved again."))
    assert isinstance(there, Problem) and there.pinned == () and isinstance(start, Choice | None)


@pytest.mark.parametrize(
    ("day", "reason"),
    [(-3, wishes.PAST), (1, "That time is not free."),
     (4, "The snap bean for it is there from 5 July to 8 July.")],
)  # fmt: skip
def test_why_it_cannot_be_there(day: int, reason: str) -> None:
    assert why(moved_to(day), wish(window(day))) == reason


def test_what_is_bought_that_day_is_not_there_in_the_morning() -> None:
    """Shops are open by noon (common practice, no source)."""
    bought = lot("shrimp", FIRST + dt.timedelta(days=2), 2, grams=3 * 340, bought=True)
    morning = window(2, 4, 8)
    stated = problem([bought], [morning, window(3)], (SHRIMP, 3))
    run = EarlierRun(SHRIMP, morning.start, None, "chest", 3, {bought.id: 3 * 340}, ("a", "a"))
    stated = replace(stated, earlier=Earlier((run,)))
    reason = "The shrimp for it is bought that day, and there by noon."
    assert why(stated, wish(morning)) == reason


def test_where_there_is_no_time_for_it() -> None:
    short = moved_to(2, hours=0.75)
    assert why(short, wish(window(2, 0.75))) == (
        f"There is no time for {BEANS} in 45 minutes: setting up and cleaning up leave 5 of them."
    )


def test_a_session_that_is_off_or_of_which_nothing_is_wanted() -> None:
    stated = moved_to(2)
    assert why(stated, wish(window(2), uid="b")) == wishes.OFF
    unwanted = moved_to(2, made=(("a", "kale, leaf", 3),))
    assert why(unwanted, wish(window(2))) == wishes.NOT_WANTED


def standing(uid: str, day: int) -> Session:
    base = session(uid, 0, run(f"r{uid}"))
    there = window(day, 2)
    return base.model_copy(
        update={
            "start": there.start,
            "end": there.end,
            "window_start": there.start,
            "window_end": there.end,
        }
    )


def test_a_time_that_is_promised_already() -> None:
    stated = replace(moved_to(3, free=(0, 2)), history=History((standing("b", 3),)))
    told = why(stated, wish(window(3)))
    assert told == "The session of 18:00 on that day is promised already."


def test_a_session_that_stands_there_already_needs_nothing_more() -> None:
    stated = replace(moved_to(2), history=History((standing("a", 2),)))
    there, _ = settled(stated, wish(window(2)))
    assert isinstance(there, Problem)
    elsewhere = replace(moved_to(2), history=History((standing("a", 3),)))
    assert why(elsewhere, wish(window(2))) == wishes.OFF


@pytest.mark.parametrize(("most", "refused"), [(1, True), (2, False)])
def test_a_full_week(most: int, refused: bool) -> None:
    stated = replace(moved_to(3), history=History((standing("b", 1),)))
    limits = stated.season.season.model_copy(update={"max_sessions_per_week": most})
    season = stated.season.model_copy(update={"season": limits})
    answer = settled(replace(stated, season=season), wish(window(3)))
    told = "1 sessions of that week are promised; your season allows 1 a week."
    assert (answer[1] == told) == refused


def test_two_sessions_at_one_time() -> None:
    made = (("a", BEANS, 2), ("b", PUREE, 2))
    stated = moved_to(2, 2, made=made)
    answer = settled(stated, wish(window(2)), wish(window(2), uid="b"))
    assert isinstance(answer[0], Wish) and answer[0].session == "b"
    assert answer[1] == wishes.TOGETHER
    # An hour later the first is not over; there is no window of its own for it.
    later = window(2, start=19)
    stated = replace(
        stated,
        earlier=Earlier(
            (
                *stated.earlier.runs[:1],
                replace(  # type: ignore[union-attr]
                    stated.earlier.runs[1], first=later.start
                ),
            )
        ),  # type: ignore[union-attr]
    )
    answer = settled(stated, wish(window(2)), wish(later, uid="b"))
    assert answer[1] == wishes.TOGETHER


def test_each_goes_alone_but_not_both() -> None:
    """Freezing for three pouches a day, and two sessions of three within a day."""
    made = (("a", BEANS, 3), ("b", BEANS, 3))
    stated = moved_to(2, 3, made=made)
    tight = problem(
        list(stated.lots),
        list(stated.windows),
        (BEANS, 9),
        (PUREE, 3),
        freezing_per_day=f"{340 + 100} g",
    )
    both = replace(tight, earlier=stated.earlier)
    one, other = wish(window(2, 4)), wish(window(3, 4), uid="b")
    assert isinstance(settled(both, one)[0], Problem)
    assert isinstance(settled(both, other)[0], Problem)
    blamed, reason = settled(both, one, other)
    assert isinstance(blamed, Wish)
    assert (blamed.session, reason) == ("b", wishes.TOGETHER)


def test_the_published_plan_is_read_with_the_session_where_it_was_put() -> None:
    """Its length stays, its tasks move along; what is over or off does not move."""
    planned = session("a", 0, run("r"))
    to = dt.datetime(2027, 7, 9, 9, 30, tzinfo=dt.UTC)
    move = Wish(session="a", moved_from=planned.start, moved_to=to, seconds=7200, hands=1)
    (found,) = wishes.as_wished(plan_of(planned), [move], FIRST).sessions
    assert (found.start, found.end) == (to, to + dt.timedelta(hours=2))
    assert (found.window_start, found.window_end) == (found.start, found.end)
    for stays in (planned.model_copy(update={"status": "cancelled"}), planned):
        today = FIRST if stays is not planned else FIRST + dt.timedelta(days=1)
        assert wishes.as_wished(plan_of(stays), [move], today).sessions == (stays,)
    given_up = move.model_copy(update={"why": "It was moved again."})
    assert wishes.as_wished(plan_of(planned), [given_up], FIRST).sessions == (planned,)


def test_the_times_that_were_chosen_are_windows() -> None:
    """From the clock time where it was put, for as long as the session lasts: over the night when
    the clocks go back, an hour by the clock is two hours long."""
    night = dt.datetime(2027, 11, 7, 0, 30, tzinfo=ZoneInfo("America/Denver"))
    move = Wish(session="a", moved_from=night, moved_to=night, seconds=7200, hands=2)
    (found,) = chosen_windows([move], night.date())
    assert (found.start, found.hands, found.extra) == (night, 2, True)
    assert f"{found.end:%H:%M}" == "01:30"
    assert chosen_windows([move], night.date() + dt.timedelta(days=1)) == ()
    assert places([move], night.date()) == {"a": night}
    assert places([move], night.date() + dt.timedelta(days=1)) == {}


def test_what_could_not_be_is_told_while_it_lies_ahead() -> None:
    move = wish(window(2), why=wishes.PAST)
    (told,) = wishes.refused_moves([move], FIRST)
    assert told.code == "moved-session"
    assert (
        "The session of Monday 5 July, 18:00 cannot be on Wednesday 7 July, 18:00" in told.message
    )
    assert wishes.PAST in told.message
    assert wishes.refused_moves([move], FIRST + dt.timedelta(days=3)) == []
    assert wishes.refused_moves([move.model_copy(update={"given_up": True})], FIRST) == []
    assert wishes.refused_moves([wish(window(2))], FIRST) == []
