"""Who a session of a new plan is, beside the sessions of the one before."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from schedule.kept_sessions import PUREE, freezes, plan_of, run, session

from harvestplan.plan.models import Session
from harvestplan.schedule.written.session_uids import name_sessions


def named(new: list[Session], old: list[Session], **more: Any) -> list[tuple[str, str, int, str]]:
    put = more.pop("put", {})
    kept = more.pop("kept", ())
    found = name_sessions(new, kept, plan_of(*old), seed="The Lane", put=put)
    return [(s.uid, f"{s.start:%a}", s.sequence, s.status) for s in found]


def test_a_session_in_the_same_window_is_the_same() -> None:
    old = [session("a", 0, run("r")), session("b", 1, run("r", PUREE))]
    assert named([session("", 0, run("r")), session("", 1, run("r", PUREE))], old) == [
        ("a", "Mon", 0, "planned"),
        ("b", "Tue", 0, "planned"),
    ]
    assert named([session("", 0, run("r", pouches=4))], [old[0]]) == [("a", "Mon", 1, "planned")]


def test_else_the_one_with_most_in_common_then_the_nearest() -> None:
    both = session("both", 0, run("x"), run("y", PUREE))
    near = session("near", 4, run("x"))
    found = named([session("", 5, run("x"), run("y", PUREE))], [both, near])
    assert found == [
        ("both", "Sat", 1, "planned"),
        ("near", "Fri", 1, "cancelled"),
    ] or found == [("near", "Fri", 1, "cancelled"), ("both", "Sat", 1, "planned")]
    alike = [session("far", 0, run("x")), session("near", 4, run("x"))]
    assert ("near", "Sat", 1, "planned") in named([session("", 5, run("x"))], alike)


@pytest.mark.parametrize(("moved", "same"), [(21, True), (22, False)])
def test_three_weeks_on_it_is_another(moved: int, same: bool) -> None:
    uids = {n[0] for n in named([session("", moved, run("x"))], [session("a", 0, run("x"))])}
    assert ("a" in uids and len(uids) == 1) == same


def test_what_is_dropped_is_cancelled_once_and_its_name_never_used_again() -> None:
    old = [session("a", 0, run("x")), session("off", 1, status="cancelled")]
    found = named([], old)
    assert found == [("a", "Mon", 1, "cancelled"), ("off", "Tue", 0, "cancelled")]
    new = named([session("", 1, run("x", PUREE))], old)
    assert {"a", "off"} < {each[0] for each in new} and len({each[0] for each in new}) == 3


def test_a_session_that_was_put_elsewhere_is_the_same_there() -> None:
    old = [session("a", 0, run("x")), session("b", 3, run("x"))]
    put = {"a": session("", 3).window_start}
    found = named([session("", 3, run("x"))], old, put=put)
    assert ("a", "Thu", 1, "planned") in found and ("b", "Thu", 1, "cancelled") in found


def test_kept_sessions_stand_as_they_are() -> None:
    old = [session("a", 0, run("x")), session("b", 3, run("x"))]
    done = old[0].model_copy(update={"status": "done"})
    assert named([], old, kept=(done,)) == [("a", "Mon", 0, "done"), ("b", "Thu", 1, "cancelled")]


def counted(old: Session, new: Session) -> int:
    """By how much the number of the session grows."""
    ((_, _, number, _),) = named([new.model_copy(update={"uid": ""})], [old])
    return number - old.sequence


def test_the_number_grows_when_people_would_do_something_else() -> None:
    """Another freezer, hand or end does it; seconds, ounces and the order of tasks stand on the
    sheet alone."""
    old = freezes("a", 0, 4)
    (task,) = old.tasks
    (made,) = old.runs
    later = {"start": task.start + dt.timedelta(minutes=4), "grams": task.grams + 20}
    same = [
        {"tasks": (task.model_copy(update=later),)},
        {"runs": (made.model_copy(update={"grams_in": made.grams_in + 30}),)},
        {"start": old.start + dt.timedelta(seconds=20), "end": old.end - dt.timedelta(seconds=20)},
    ]
    assert [counted(old, old.model_copy(update=each)) for each in same] == [0, 0, 0]
    other = task.model_copy(update={"settings": task.settings | {"freezer": "upright"}})
    differs = [
        {"tasks": (other,)},
        {"hands": 2},
        {"end": old.end + dt.timedelta(seconds=20)},
        {"runs": (made.model_copy(update={"pouches": made.pouches + 1}),)},
    ]
    assert [counted(old, old.model_copy(update=each)) for each in differs] == [1, 1, 1, 1]
