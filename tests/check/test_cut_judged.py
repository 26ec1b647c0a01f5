"""V11 for an evening cut short, and V12 for a list that has what no kitchen has.

What was begun before the rest was laid out again stands, and nothing is begun before it or added.
"""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable

import pytest
from check.small_season import BEANS
from check.spoilt_plan import (
    DAY,
    MINUTE,
    SOUND,
    Data,
    codes,
    judge,
    move_session,
    run,
    session,
    shift,
    task,
)

from harvestplan.check import Finding
from harvestplan.plan.models import Plan


def begun_at(data: Data, step: str) -> dt.datetime:
    """When the second potful of the beans begins with the step."""
    moment: dt.datetime = task(data, f"r-beans/2.{step}-2")["start"]
    return moment


def evening(cut_at: dt.datetime | None) -> Data:
    data = copy.deepcopy(SOUND)
    session(data, "u1").update(status="firm", cut_at=cut_at)
    return data


BEFORE = Plan.model_validate(evening(None))
NOW = begun_at(SOUND, "blanch") + MINUTE
"""Two potfuls of beans are begun by then."""


def judged(data: Data) -> tuple[Finding, ...]:
    return tuple(finding for finding in judge(data, earlier=BEFORE) if finding.code == "V11")


def test_what_is_only_cut_short_keeps_what_was_begun() -> None:
    assert judged(evening(NOW)) == ()


def _early(data: Data) -> None:
    """A third potful begun before the rest was laid out, though it had been meant for later."""
    late = task(data, "r-beans/2.blanch-3")
    late["id"] = "r-beans/2.blanch-9"
    shift(data, late["id"], NOW - late["start"] - MINUTE)


SPOILT: dict[str, tuple[str, Callable[[Data], None]]] = {
    "a potful that was on the stove is moved": (
        "r-beans/2.blanch-2 was begun", lambda d: shift(d, "r-beans/2.blanch-2", MINUTE)),
    "a potful that was on the stove is gone": (
        "r-beans/2.blanch-1 was begun",
        lambda d: session(d, "u1")["tasks"].remove(task(d, "r-beans/2.blanch-1"))),
    "a potful that was on the stove is in another pot": (
        "r-beans/2.blanch-1 was begun",
        lambda d: task(d, "r-beans/2.blanch-1").update(equipment=["kettle"])),
    "something else was begun before": ("would begin before the rest", _early),
    "more food than before": (
        "more food than before", lambda d: run(d, "r-beans").update(grams_in=10**4)),
    "the whole evening is moved": (
        "has moved, though it had begun", lambda d: move_session(d, "u1", MINUTE)),
}  # fmt: skip


@pytest.mark.parametrize("name", SPOILT)
def test_what_was_begun_stands(name: str) -> None:
    said, spoil = SPOILT[name]
    data = evening(NOW)
    spoil(data)
    assert any(said in finding.message for finding in judged(data)), judged(data)


@pytest.mark.parametrize("number", [2, 3])
def test_what_had_not_been_begun_may_move(number: int) -> None:
    """By the start of a potful only the potfuls before it are begun."""
    data = evening(task(SOUND, f"r-beans/2.blanch-{number}")["start"])
    shift(data, f"r-beans/2.blanch-{number}", MINUTE)
    assert judged(data) == ()
    shift(data, f"r-beans/2.blanch-{number - 1}", MINUTE)
    assert len(judged(data)) == 1


def test_what_begins_no_food_may_be_done_again() -> None:
    """Heating the water is no food begun; so it may stand otherwise afterwards."""
    data = evening(NOW)
    (heating,) = (t for t in session(data, "u1")["tasks"] if t["step"] == "heat")
    heating["end"] += MINUTE
    assert judged(data) == ()


def test_an_evening_cut_short_before_the_plan_was_written_is_promised_as_it_stands() -> None:
    earlier = Plan.model_validate(evening(NOW))
    data = evening(NOW)
    move_session(data, "u1", MINUTE)
    (found,) = (f for f in judge(data, earlier=earlier) if f.code == "V11")
    assert "has moved to Mon 12 July 2027 17:01" in found.message


def test_a_session_that_is_done_is_not_cut_short_afterwards() -> None:
    earlier, data = evening(None), evening(NOW)
    for each in (earlier, data):
        session(each, "u1")["status"] = "done"
    move_session(data, "u1", 7 * DAY)
    found = judge(data, earlier=Plan.model_validate(earlier))
    assert any(f.code == "V11" and "done session" in f.message for f in found)


def test_a_promised_session_with_other_runs_or_off() -> None:
    earlier = Plan.model_validate(evening(None))
    others, off = evening(None), evening(None)
    run(others, "r-beans")["product"] = BEANS.upper()
    session(off, "u1")["status"] = "cancelled"
    for data, said in ((others, "other runs"), (off, "is gone")):
        found = judge(data, earlier=earlier)
        assert any(f.code == "V11" and said in f.message for f in found), found


def test_a_list_with_pouches_and_lines_of_no_kitchen() -> None:
    stranger, twice = copy.deepcopy(SOUND), copy.deepcopy(SOUND)
    stranger["shopping"].append(stranger["shopping"][0] | {"item": "9x99"})
    twice["shopping"].append(twice["shopping"][0])
    for data, said in ((stranger, "no pouch of the kitchen"), (twice, "has 2 lines")):
        found = judge(data)
        assert "V12" in codes(found) and any(said in f.message for f in found), found


def test_food_bought_before_the_plan_is_on_no_list() -> None:
    """The onions of 20 July are to be bought until that day, and no more on the next."""
    data = copy.deepcopy(SOUND)
    data["shopping"] = [line for line in data["shopping"] if line["kind"] != "food"]
    for day, lacking in ((20, True), (21, False)):
        data["as_of"] = dt.date(2027, 7, day)
        said = [f.message for f in judge(data) if f.code == "V12" and "onion" in f.message]
        assert bool(said) == lacking, said
