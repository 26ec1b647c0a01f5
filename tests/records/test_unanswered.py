"""What is asked about the garden, and what counts as an answer."""

from __future__ import annotations

import datetime as dt

import pytest
from outputs.written_plans import make_plan

from harvestplan.inputs.quantities import Quantity
from harvestplan.plan.models import Lot, Plan
from harvestplan.records.events import Event, Failed, Froze, NoneYet, Picked
from harvestplan.records.unanswered import counted_on, question, unanswered_picks

WHOLE: Plan = make_plan()
PICK = next(pick for pick in WHOLE.picks if pick.grams)
PLAN = WHOLE.model_copy(update={"picks": (PICK,), "lots": ()})
CROP, PLANTING, DUE = PICK.crop, PICK.planting, PICK.date


def picked(days: int) -> Event:
    on = DUE + dt.timedelta(days)
    return Picked(on, "", 1, "", CROP, Quantity(900.0, "mass"), None)


def none_yet(days: int, planting: str | None = None) -> Event:
    return NoneYet(DUE + dt.timedelta(days), "", 1, "", CROP, planting)


def asked(after: int, *told: Event) -> bool:
    today = DUE + dt.timedelta(days=after)
    return any(p.planting == PLANTING for p in unanswered_picks(PLAN, told, today))


@pytest.mark.parametrize(("after", "is_asked"), [(0, False), (1, True), (10, True), (11, False)])
def test_it_is_asked_from_the_day_after_for_ten_days(after: int, is_asked: bool) -> None:
    assert asked(after) == is_asked


def test_none_yet_holds_for_a_week() -> None:
    assert not asked(8, none_yet(2))
    assert asked(9, none_yet(2))
    assert not asked(9, none_yet(9, PLANTING))
    assert asked(9, none_yet(9, "another"))


def test_a_pick_and_a_failing_are_answers() -> None:
    assert not asked(5, picked(3))
    assert asked(5, picked(-30))
    assert not asked(5, Failed(DUE, "", 1, "", CROP, PLANTING))
    assert asked(5, Failed(DUE, "", 1, "", CROP, "another"))


def test_the_question_names_crop_and_day() -> None:
    assert question(PICK).startswith("Have you picked ")
    assert question(PICK).endswith(".") and "expected about" in question(PICK)


def test_plantings_are_named_as_people_do() -> None:
    pick = PICK.model_copy(update={"crop": "snap bean", "planting": "beans-1"})
    assert question(pick).startswith("Have you picked snap beans (beans-1) yet?")
    only = PICK.model_copy(update={"crop": "snap bean", "planting": "snap-bean"})
    assert question(only).startswith("Have you picked snap beans yet?")


def test_what_would_keep_is_asked_about_for_as_long() -> None:
    """Squash in the cellar: the plan counts on it, so it is asked about; a pick written at the
    time is an answer for all of that."""
    lot = Lot(
        id="s-1",
        crop=CROP,
        planting=PLANTING,
        bought=None,
        ready=DUE,
        keep_until=DUE + dt.timedelta(90),
        grams=9000,
        low_grams=9000,
        high_grams=9000,
    )
    plan = PLAN.model_copy(update={"lots": (lot,)})
    for after, is_asked in ((11, True), (90, True), (91, False)):
        today = DUE + dt.timedelta(after)
        assert bool(unanswered_picks(plan, (), today)) == is_asked
        assert not unanswered_picks(plan, [picked(2)], today)


def test_what_was_frozen_was_picked() -> None:
    def froze(crop: str, days: int) -> Event:
        return Froze(DUE + dt.timedelta(days), "", 1, "", f"{crop}, cut", 4, None, 0)

    assert not asked(5, froze(CROP, 3))
    assert asked(5, froze("another " + CROP, 3))
    assert asked(5, froze(CROP, -30))


def test_what_is_counted_on_is_told_in_one_sentence() -> None:
    assert list(counted_on([])) == []
    (told,) = counted_on([PICK])
    assert "Nothing is written down of" in told and "expected about" in told
    assert f'harvestplan none yet "{CROP}"' in told
