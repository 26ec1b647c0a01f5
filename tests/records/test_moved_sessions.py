"""What lines on moved sessions and evenings kept free mean for the plan they are about."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from records.diary_folder import make_folder
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Plan
from harvestplan.records.diary import NOTHING_WRITTEN, read_diary, undo
from harvestplan.records.moved_sessions import (
    BEGUN,
    DAY_OFF,
    HELD,
    MOVED_AGAIN,
    NOT_THERE,
    OUTSIDE,
    Wishes,
    read_wishes,
    released,
)

ZONE = ZoneInfo("Europe/London")
TODAY = dt.date(2027, 7, 10)


def session(uid: str, start: str, minutes: int = 120, **more: Any) -> dict[str, Any]:
    begin = dt.datetime.fromisoformat(start).replace(tzinfo=ZONE)
    end = begin + dt.timedelta(minutes=minutes)
    return {
        "uid": uid,
        "sequence": 0,
        "status": "planned",
        "start": begin,
        "end": end,
        "window_start": begin,
        "window_end": end + dt.timedelta(minutes=30),
        "hands": 2,
        "runs": (),
        "tasks": (),
        **more,
    }


def run(name: str, second_of: str | None = None) -> dict[str, Any]:
    return {
        "id": name,
        "product": "tomato, purée",
        "crop": "tomato",
        "lots": (),
        "grams_in": 0,
        "grams_packed": 0,
        "pouch": None,
        "pouches": 0,
        "portion_grams": 1,
        "second_sitting_of": second_of,
    }


def plan_of(*sessions: dict[str, Any], wishes: tuple[Any, ...] = ()) -> Plan:
    return Plan.model_validate(
        {
            "made_at": "2027-07-01T08:00:00+01:00",
            "as_of": "2027-07-01",
            "season": {
                "name": "Test",
                "timezone": "Europe/London",
                "start": "2027-04-01",
                "end": "2027-11-30",
            },
            "lots": (),
            "sessions": sessions,
            "picks": (),
            "freezer": (),
            "balance": (),
            "wants": (),
            "shopping": (),
            "proof": None,
            "warnings": (),
            "wishes": wishes,
        }
    )


A, B = session("A", "2027-07-14T18:00"), session("B", "2027-07-20T18:00")
TO = "2027-07-10 moved session 2027-07-14 18:00 to 2027-07-15 18:30 #aaaa\n"


def wished(folder: Path, plan: Plan | None, *lines: str, on: dt.date = TODAY) -> Wishes:
    diary = read_diary(make_folder(folder, "".join(lines)))
    return read_wishes(diary, plan, ZONE, as_of=on)


def let_go(plan: Plan, wishes: Wishes, *taken: str) -> frozenset[str]:
    """The sessions that need not stand, where all but the `taken` ones' windows are free."""
    free = [
        FreeWindow(s.window_start, s.window_end, s.hands, extra=False)
        for s in plan.sessions
        if s.uid not in taken
    ]
    return released(plan, wishes, free, diary=NOTHING_WRITTEN, as_of=TODAY)


def told(wishes: Wishes) -> list[tuple[str, str, str]]:
    return [(w.session, f"{w.moved_to:%m-%d %H:%M}", w.why) for w in wishes.moves]


def test_a_line_is_about_the_session_that_stood_there(tmp_path: Path) -> None:
    wishes = wished(tmp_path, plan_of(A, B), TO)
    (wish,) = wishes.moves
    assert told(wishes) == [("A", "07-15 18:30", "")]
    assert (wish.seconds, wish.hands) == (7200, 2)
    assert wish.moved_to.utcoffset() == dt.timedelta(hours=1)


def test_it_still_means_that_session_when_another_stands_there(tmp_path: Path) -> None:
    wishes = wished(tmp_path, plan_of(A, B), TO)
    moved = session("A", "2027-07-15T18:30")
    other = session("C", "2027-07-14T18:00", 60)
    again = wished(tmp_path, plan_of(moved, other, wishes=wishes.moves), TO)
    assert again == wishes


def test_said_twice_and_taken_back_it_means_the_same_after_each_plan(tmp_path: Path) -> None:
    other = "2027-07-10 moved session 2027-07-14 18:00 to 2027-07-16 09:00 #bbbb\n"
    there = session("A", "2027-07-16T09:00")
    twice = wished(tmp_path, plan_of(A, B), other, TO, other.replace("bbbb", "cccc"))
    assert told(twice)[1:] == [("A", "07-15 18:30", MOVED_AGAIN), ("A", "07-16 09:00", "")]
    lines = (other, TO, other.replace("bbbb", "cccc"))
    again = wished(tmp_path, plan_of(there, B, wishes=twice.moves), *lines)
    assert again == twice
    undone = "2027-07-10 undo #cccc #dddd\n"
    after = wished(tmp_path, plan_of(there, B, wishes=twice.moves), *lines, undone)
    assert told(after) == [("A", "07-16 09:00", MOVED_AGAIN), ("A", "07-15 18:30", "")]


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["2027-07-10 moved session 2027-07-13 18:00 to 2027-07-15 18:30\n"],
         [("", "07-15 18:30", NOT_THERE)]),
        (["2027-07-10 moved session 2027-07-14 18:00 to 2027-12-15 18:30\n"],
         [("A", "12-15 18:30", OUTSIDE)]),
        ([TO, "2027-07-10 moved session 2027-07-14 18:00 to 2027-07-16 09:00\n"],
         [("A", "07-15 18:30", MOVED_AGAIN), ("A", "07-16 09:00", "")]),
        ([TO, "2027-07-10 keep free 2027-07-15\n"], [("A", "07-15 18:30", DAY_OFF)]),
        ([TO, "2027-07-10 keep free 2027-07-15 09:00\n"], [("A", "07-15 18:30", "")]),
        (["2027-07-10 keep free 2027-07-15\n", TO], [("A", "07-15 18:30", "")]),
        ([TO, "2027-07-10 undo #aaaa #bbbb\n"], []),
        (["2027-07-11 moved session 2027-07-14 18:00 to 2027-07-15 18:30\n"], []),
    ],
)  # fmt: skip
def test_which_moves_count(
    tmp_path: Path, lines: list[str], expected: list[tuple[str, str, str]]
) -> None:
    assert told(wished(tmp_path, plan_of(A, B), *lines)) == expected


def test_without_a_plan_there_is_nothing_to_move(tmp_path: Path) -> None:
    assert not wished(tmp_path, None, TO).moves


def test_without_a_plan_times_are_kept_free_all_the_same(tmp_path: Path) -> None:
    wishes = wished(tmp_path, None, "2027-07-10 keep free 2027-07-14 #aaaa\n")
    assert [event.day for event in wishes.free] == [dt.date(2027, 7, 14)]
    assert wishes.asked


def test_what_was_held_is_not_moved(tmp_path: Path) -> None:
    held = session("A", "2027-07-10T18:00", runs=(run("purée"),))
    line = "2027-07-10 moved session 2027-07-10 18:00 to 2027-07-12 18:00\n"
    froze = '2027-07-10 froze "tomato, purée" 2\n'
    assert told(wished(tmp_path / "moved", plan_of(held), line)) == [("A", "07-12 18:00", "")]
    wishes = wished(tmp_path / "held", plan_of(held), froze, line)
    assert told(wishes) == [("A", "07-12 18:00", HELD)]
    assert not let_go(plan_of(held), wishes)


def test_what_packs_chilled_food_stays(tmp_path: Path) -> None:
    """Food put to chill the day before cannot wait for a better evening."""
    begun = session("X", "2027-07-09T18:00", runs=(run("cook"),))
    packs = session("A", "2027-07-10T18:00", runs=(run("pack", "cook"),))
    lines = (
        "2027-07-10 moved session 2027-07-10 18:00 to 2027-07-12 18:00\n",
        "2027-07-10 keep free 2027-07-10\n",
    )
    wishes = wished(tmp_path, plan_of(begun, packs), *lines)
    assert told(wishes) == [("A", "07-12 18:00", BEGUN)]
    assert not wishes.free and "not followed" in wishes.notes[0]
    assert not let_go(plan_of(begun, packs), wishes)


def test_a_session_goes_with_the_one_that_packs_its_food(tmp_path: Path) -> None:
    cook = session("A", "2027-07-14T18:00", runs=(run("cook"),))
    pack = session("P", "2027-07-15T18:00", runs=(run("pack", "cook"),))
    wishes = wished(tmp_path, plan_of(cook, pack, B), "2027-07-10 keep free 2027-07-14\n")
    assert let_go(plan_of(cook, pack, B), wishes) == {"A", "P"}


def test_a_session_whose_evening_is_taken_goes(tmp_path: Path) -> None:
    assert let_go(plan_of(A, B), wished(tmp_path, plan_of(A, B)), "B") == {"B"}


def test_what_stands_where_it_was_put_is_as_firm_as_others(tmp_path: Path) -> None:
    wishes = wished(tmp_path, plan_of(A, B), TO)
    assert let_go(plan_of(A, B), wishes) == {"A"}
    there = plan_of(session("A", "2027-07-15T18:30"), B, wishes=wishes.moves)
    assert not let_go(there, wished(tmp_path, there, TO))


def test_the_commands(tmp_path: Path) -> None:
    folder = make_folder(tmp_path / "s")
    (folder / "out").mkdir()
    (folder / "out" / "plan.json").write_text(plan_of(A, B).model_dump_json(), encoding="utf-8")
    at = ["--in", str(folder), "--on", "2027-07-10"]
    words = ["moved", "session", "2027-07-14", "18:00", "to", "2027-07-15", "18:30"]
    said = CliRunner().invoke(app, [*words, *at, "--json"])
    told = json.loads(said.output)
    assert (told["event"], told["session"]) == ("moved", "2027-07-14T18:00:00")
    assert "2027-07-10 moved session 2027-07-14 18:00 to 2027-07-15 18:30 #" in told["line"]
    said = CliRunner().invoke(app, ["keep", "free", "2027-07-14", "18:30", *at, "--json"])
    assert json.loads(said.output)["time"] == "18:30:00"
    doubt = CliRunner().invoke(app, [*words[:3], "19:00", *words[4:], *at])
    assert "no session at 2027-07-14 19:00; it has 2027-07-14 18:00" in doubt.output
    assert len(read_diary(folder).events) == 3
    undo(folder, None, TODAY)
    assert len(read_diary(folder).events) == 2


@pytest.mark.parametrize(
    "words",
    [
        ["moved", "session", "2027-07-14", "to", "2027-07-15"],
        ["moved", "session", "2027-02-30", "18:00", "to", "2027-07-15", "18:30"],
        ["moved", "session", "2027-07-14", "18:00", "to", "2027-07-15", "25:30"],
        ["keep", "free", "some day"],
        ["keep", "2027-07-14"],
    ],
)
def test_words_that_are_not_understood(tmp_path: Path, words: list[str]) -> None:
    said = CliRunner().invoke(app, [*words, "--in", str(make_folder(tmp_path / "s"))])
    assert said.exit_code != 0
    assert not (tmp_path / "s" / "diary.txt").exists()
