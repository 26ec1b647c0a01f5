"""Rules of the season model one by one, asked of choices written down by hand: what is just allowed
is, and what is a little more is not."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import replace

import pytest
from each_case import each
from schedule.kept_sessions import frozen_on, kept
from schedule.small_problems import (
    BEANS,
    DRY,
    LIBRARY,
    ONIONS,
    PACK,
    RAW,
    bean_lots,
    choice,
    lot,
    problem,
    two_foods,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.draws import Draw
from harvestplan.inputs.season import Dryer
from harvestplan.plan.models import Session
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTimes
from harvestplan.schedule.session.timed_sessions import session_tasks, window_runs
from harvestplan.schedule.statement.build_problem import build_problem, shelves
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Pinned, Problem
from harvestplan.schedule.written.freezer_days import freezer_days

BROCCOLI = "broccoli, florets"


def allowed(stated: Problem, *made: tuple[int, int], cuts: tuple[Cut, ...] = ()) -> bool:
    return SeasonModel(stated, cuts).holds(choice(stated, *made))


# How many sessions there may be.


def evenings_allowed(stated: Problem, *windows: int, **limits: int) -> bool:
    span = stated.season.season.model_copy(update=limits)
    stated = replace(stated, season=stated.season.model_copy(update={"season": span}))
    return allowed(stated, *((w, 1) for w in windows))


def test_promised_sessions_count_among_those_there_may_be() -> None:
    """Monday, Wednesday and the next Monday; one stands on the Tuesday of the first week."""
    food = [lot("snap bean", FIRST, 9, 9 * RAW)]
    free = problem(food, [window(0), window(2), window(7)], (BEANS, 9))
    stands = replace(free, history=History((kept("seal", window(1).start),)))
    for most in range(5):
        for stated, there in ((free, 0), (stands, 1)):
            for windows in ((0,), (0, 2), (0, 1, 2)):
                enough = len(windows) + there <= most
                assert evenings_allowed(stated, *windows, max_sessions=most) == enough
            for windows, in_a_week in (((0,), 1), ((0, 1), 2)):
                enough = in_a_week + there <= most
                assert evenings_allowed(stated, *windows, max_sessions_per_week=most) == enough
            assert evenings_allowed(stated, 2, max_sessions_per_week=most) == (most >= 1)


def test_what_the_household_moved_is_made_there_and_may_be_all() -> None:
    food = [lot("snap bean", FIRST, 9, 9 * RAW)]
    stated = problem(food, [window(0), window(2)], (BEANS, 3))
    stated = replace(stated, held=(Pinned(1, 0, False, 3),))
    assert allowed(stated, (1, 3))
    assert not allowed(stated, (0, 1), (1, 2))
    assert not allowed(stated)


# What was promised.


@pytest.mark.parametrize(("freezer", "most"), [("chest", 3), ("upright", 5)])
def test_what_a_promised_session_lays_on_the_trays_is_taken(freezer: str, most: int) -> None:
    """Trays for five packs and a little; the evening before two lie there, or elsewhere."""
    area = 5 * PACK.footprint + 200
    laid = {"freezer": freezer, "pouches": 2, "area_cm2": 2 * PACK.footprint // 100 + 1}
    there = kept("freeze", window(0).start, **laid)
    stated = problem(
        bean_lots(0, 10 * RAW), [window(7, 6)], (BEANS, 9), tray_area=f"{area / 1e6:.7f} m2"
    )
    near = kept("freeze", window(6).start, **laid)
    assert allowed(replace(stated, history=History((there,))), (0, 5))  # a week before
    stated = replace(stated, history=History((near,)))
    assert allowed(stated, (0, most))
    assert most == 5 or not allowed(stated, (0, most + 1))


# What lies in the freezer from day to day.


@each("seed", range(40))
def test_the_freezer_is_never_fuller_than_it_is_and_may_be_full(seed: int) -> None:
    """Against the ledger, which counts day by day: what lies there, comes, was promised for any
    day, and is drawn; of broccoli there is none to put by."""
    draw = random.Random(seed)
    days = sorted(draw.sample(range(6), 3))
    wanted, room = draw.randint(4, 12), draw.randint(4, 9)
    other = {"chest": 700} if draw.random() < 0.5 else {}
    opening = {(p, "chest"): n for p in (BEANS, BROCCOLI) if (n := draw.choice((0, 0, 1, 2)))}
    used = 100_000 - room * PACK.space - sum(other.values())
    food = [lot("snap bean", FIRST, 9, 20 * RAW)]
    wants = ((BEANS, wanted), (BROCCOLI, 3))
    stated = problem(food, [window(d, 6) for d in days], *wants, used=f"{used} mL")
    begins = FIRST + dt.timedelta(days=draw.choice(days) + draw.choice((0, 0, 1)))
    ends = draw.choice((None, begins))
    draws = [draw.choice((None, Draw(7, begins, ends), Draw(17, begins, ends))) for _ in wants]
    promised = [
        frozen_on(window(draw.randrange(6), start=12).start, draw.randint(1, 3), product)
        for product in draw.choice(((), (BEANS,), (BROCCOLI,)))
    ]
    stated = replace(
        stated,
        demands=tuple(replace(d, draw=w) for d, w in zip(stated.demands, draws, strict=True)),
        opening=Opening(opening, other),
        history=History(tuple(promised)),
    )
    model = SeasonModel(stated, ())
    for _ in range(12):
        made = [draw.randint(0, 5) for _ in days]
        sessions = [frozen_on(w.start, n) for w, n in zip(stated.windows, made, strict=True)]
        rows = freezer_days(
            stated.kitchen,
            shelves(stated.demands),
            dict(opening),
            other,
            [*sessions, *promised],
            stated.season,
            FIRST,
        )
        fits = all(row.used_ml <= row.capacity_ml for row in rows)
        runs = [(o, n) for o, n in enumerate(made) if n]
        assert model.holds(choice(stated, *runs)) == (fits and sum(made) <= wanted), made


def test_what_is_drawn_in_the_evening_lay_there_all_day() -> None:
    """Room for four, and three are there; two are eaten on Monday, and two of Tuesday's take their
    place."""
    stated = problem(
        [lot("snap bean", FIRST, 9, 20 * RAW)],
        [window(0, 6), window(1, 6)],
        (BEANS, 9),
        used=f"{100_000 - 4 * PACK.space} mL",
    )
    demand = replace(stated.demands[0], draw=Draw(14, FIRST, FIRST))
    opening = Opening({(BEANS, "chest"): 3})
    stated = replace(stated, demands=(demand,), opening=opening)
    assert allowed(stated, (0, 1), (1, 2))
    assert not allowed(stated, (0, 1), (1, 3))
    assert not allowed(stated, (0, 2))


# What lies on the trays.


def onions_and_beans() -> Problem:
    """Onions are laid loose on the trays, to be packed within 48 hours: from Monday at 15:00 to
    Wednesday at 15:00. Trays for three pouches' worth and their pouches, in one freezer
    of two."""
    wants = [{"product": p, "portions": 9, "portion": "340 g"} for p in (ONIONS, BEANS)]
    lots = [lot("onion", FIRST, 40, 9000), lot("snap bean", FIRST, 9, 20 * RAW)]
    windows = [
        window(0, 3, start=15, hands=9),
        window(1, 3, start=14, hands=9),
        window(2, 3, start=12, hands=9),
        window(5, 9, start=9, hands=9),
    ]
    season = kitchen_season(wants)
    process = (
        build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST).demands[0].process
    )
    area = 3 * (process.loose_area + process.packing.footprint) + 0.5
    (chest,) = season.freezer
    upright = chest.model_copy(update={"name": "upright"})
    chest = chest.model_copy(update={"tray_area": area / 1e6})
    season = season.model_copy(update={"freezer": (chest, upright)})
    return build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST)


@pytest.mark.parametrize(
    ("onions", "beans"),
    [
        # In the chest from Monday to Wednesday: the pouches of beans that Monday's trays hold
        # beside the loose onions; none where these are packed by the next day; all on Saturday.
        ((0, 2, "chest"), (3, 0, 0, 8)),
        ((0, 1, "chest"), (0, 0, 0, 8)),
        ((1, 2, "chest"), (3, 0, 0, 8)),
        ((0, 2, "upright"), (8, 8, 8, 8)),
    ],
)
def test_loose_food_lies_on_the_trays_until_it_is_packed(
    onions: tuple[int, int, str], beans: tuple[int, ...]
) -> None:
    stated = onions_and_beans()
    options = {(o.demand, o.first, o.second, o.freezer): o.number for o in stated.options}
    there = options[0, *onions]
    grams = [demand.process.raw_per_portion for demand in stated.demands]
    model = SeasonModel(stated, ())

    def holds(loose: int, beside: int, flat: int) -> bool:
        made = {there: loose, options[1, beside, None, "chest"]: flat}
        lots = {there: {0: loose * grams[0]}, options[1, beside, None, "chest"]: {1: flat * RAW}}
        used = {o: n for o, n in made.items() if n}
        return model.holds(Choice(used, {o: lots[o] for o in used}))

    assert holds(3, 3, 0)
    assert holds(4, 3, 0) == (onions[2] == "upright")
    for evening, most in enumerate(beans):
        assert holds(3, evening, most), evening
        assert not holds(3, evening, most + 1), evening


# One run at a time in a dryer.


DRIED = "onion, dried"


def dried(starts: list[int], *sessions: Session) -> Problem:
    """Onions to dry on Monday from 18:00 to 21:00 and on Tuesday for as long from each hour on, and
    evenings of the week after to pack them."""
    season = kitchen_season([{"product": DRIED, "portions": 8, "portion": "80 g"}])
    dryers = (Dryer.model_validate({"name": "cabinet", "trays": 8, "tray_area": "0.14 m2"}),)
    season = season.model_copy(update={"dryer": dryers})
    windows = [window(0), *(window(1, 3, start=hour) for hour in starts), window(3), window(4)]
    lots = [lot("onion", FIRST, 30, 20_000)]
    stated = build_problem(Household(season, LIBRARY, tuple(windows)), lots, FIRST)
    return replace(stated, history=History(sessions))


def begun(stated: Problem, *windows: int) -> Choice:
    """A pouch of each of the windows, packed on evenings of the week after."""
    grams = stated.demands[0].process.raw_per_portion
    last = len(stated.windows) - 1
    found = [
        next(o.number for o in stated.options if (o.first, o.second) == (first, last - late))
        for late, first in enumerate(windows)
    ]
    return Choice(dict.fromkeys(found, 1), {o: {0: grams} for o in found})


def test_a_dryer_is_free_again_when_the_food_is_dry() -> None:
    """Loaded by 21:00 at the latest, it is taken as long as its food dries, to the hour."""
    wait = dried([]).demands[0].process.wait_least
    assert wait % 3600 == 0
    free = int(21 + wait / 3600) % 24
    for hour, both in ((free - 1, False), (free, True)):
        stated = dried([hour])
        two = [stated.options[number] for number in begun(stated, 0, 1).pouches]
        stated = replace(stated, options=tuple(replace(o, number=n) for n, o in enumerate(two)))
        model = SeasonModel(stated, ())
        assert model.holds(begun(stated, 0))
        assert model.holds(begun(stated, 0, 1)) == both


@pytest.mark.parametrize(
    ("unit", "begins", "hours", "free"),
    [
        ("cabinet", -4, 3, True),  # dry at 18:00, when the evening begins
        ("cabinet", -4, 3.1, False),
        ("cabinet", 3, 9, False),  # loaded when the evening ends
        ("other", -4, 9, True),
        ("other", 3, 9, True),
    ],
)
def test_a_dryer_with_food_of_a_promised_session(
    unit: str, begins: int, hours: float, free: bool
) -> None:
    """Loading takes an hour."""
    loads = window(0).start + dt.timedelta(hours=begins)
    stated = dried([], kept("dry", loads, unit=unit, hours=hours))
    model = SeasonModel(stated, ())
    assert model.holds(begun(stated, 0)) == free
    assert model.holds(Choice({}, {}))


def test_a_dryer_promised_from_the_hour_on_when_the_food_is_dry() -> None:
    wait = dried([]).demands[0].process.wait_least
    dry = window(0).end + dt.timedelta(seconds=wait)
    for early, free in ((0, True), (1, False)):
        loads = dry - dt.timedelta(seconds=early)
        stated = dried([], kept("dry", loads, unit="cabinet", hours=9))
        assert SeasonModel(stated, ()).holds(begun(stated, 0)) == free


# Runs that fit, and runs that do not.


@pytest.mark.parametrize("hands", [1, 2, 4])
@pytest.mark.parametrize(("snap", "broccoli", "dry"), [(9, 0, 0), (4, 4, 0), (1, 8, 3), (3, 2, 6)])
def test_what_fits_an_evening_is_never_forbidden(
    hands: int, snap: int, broccoli: int, dry: int
) -> None:
    """Beans, broccoli and dry beans in an evening that is as long as they took when laid out minute
    by minute, and not a second longer."""
    foods = ((BEANS, "snap bean"), (BROCCOLI, "broccoli"), (DRY, "dry bean"))
    lots = [lot(crop, FIRST, 5, 20_000) for _, crop in foods]
    wants = [(product, 9) for product, _ in foods]
    roomy = window(0, 12, start=8, hands=hands)
    stated = problem(lots, [roomy], *wants)

    def made(there: Problem) -> Choice:
        pouches = dict(enumerate((snap, broccoli, dry)))
        numbers = {o.demand: o.number for o in there.options}
        return Choice(
            {numbers[d]: n for d, n in pouches.items() if n},
            {
                numbers[d]: {d: n * there.demands[d].process.raw_per_portion}
                for d, n in pouches.items()
                if n
            },
        )

    runs = window_runs(stated, made(stated))[0]
    times = time_session(session_tasks(stated, 0, runs), effort=0.1)
    assert isinstance(times, SessionTimes) and times.length < 12 * 3600
    tight = replace(roomy, end=roomy.start + dt.timedelta(seconds=times.length))
    stated = problem(lots, [tight], *wants)
    assert SeasonModel(stated, ()).holds(made(stated))


def both(snap: int, dry: int) -> Choice:
    made = {0: (snap, {0: snap * RAW}), 1: (dry, {1: dry * 340})}
    found = {o: each for o, each in made.items() if each[0]}
    return Choice({o: n for o, (n, _) in found.items()}, {o: s for o, (_, s) in found.items()})


@pytest.mark.parametrize("proven", [True, False])
def test_of_runs_that_do_not_fit_together_one_must_shrink(proven: bool) -> None:
    stated = two_foods()
    cut = Cut(((0, "whole", 4), (1, "whole", 3)), stated.length(0), 2, proven)
    model = SeasonModel(stated, (cut,))
    for snap in range(7):
        for dry in range(6):
            assert model.holds(both(snap, dry)) == (snap < 4 or dry < 3), (snap, dry)


def test_what_does_not_fit_does_so_in_windows_no_roomier() -> None:
    stated = two_foods()
    length = stated.length(0)
    for room, hands, forbids in (
        (length, 2, True), (length + 1, 3, True), (length - 1, 2, False), (length, 1, False),
    ):  # fmt: skip
        cut = Cut(((0, "whole", 4),), room, hands, True)
        assert SeasonModel(stated, (cut,)).holds(both(4, 0)) != forbids
    # More than a window's runs can be is no rule for it.
    most = stated.options[0].most
    for pouches in (most, most + 1):
        cut = Cut(((0, "whole", pouches),), length, 2, True)
        assert SeasonModel(stated, (cut,)).holds(both(most, 0)) == (pouches > most)


def test_what_does_not_fit_does_not_in_whichever_freezer() -> None:
    """The chest has room for three; a cut of four pouches is one for the upright all the same."""
    season = kitchen_season(
        [{"product": BEANS, "portions": 9, "portion": "340 g"}],
        used=f"{100_000 - 3 * PACK.space} mL",
    )
    upright = season.freezer[0].model_copy(update={"name": "upright", "used": 0.0})
    season = season.model_copy(update={"freezer": (*season.freezer, upright)})
    stated = build_problem(Household(season, LIBRARY, (window(0, 6),)), bean_lots(9 * RAW), FIRST)
    assert [(o.freezer, o.most) for o in stated.options] == [("chest", 3), ("upright", 9)]
    cut = Cut(((0, "whole", 4),), stated.length(0), 2, True)
    assert allowed(stated, (1, 4)) and not allowed(stated, (1, 4), cuts=(cut,))
    assert allowed(stated, (1, 3), cuts=(cut,))
