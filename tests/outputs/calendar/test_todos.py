"""The shopping list as to-dos: put on servers of two makes, ticked there, and never asked again."""

from __future__ import annotations

import datetime as dt
import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import vobject
from outputs.calendar.dav_server import MAKES, USER, ask, calendar_server
from outputs.written_plans import make_library, make_plan, make_season, plan_data
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.record import read_record
from harvestplan.outputs.calendar.server import Login
from harvestplan.outputs.calendar.todos import TodosDone, publish_todos, take_ticks
from harvestplan.outputs.write_all import write_outputs

ON = dt.date(2027, 10, 27)
TICK = "STATUS:COMPLETED\r\nPERCENT-COMPLETE:100\r\nCOMPLETED:20271027T080000Z"
SEASON = """\
[household]
name = "Miller"
timezone = "America/Denver"
[season]
start = 2027-05-01
end = 2027-12-31
"""


@pytest.fixture(scope="module", params=MAKES)
def server(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav"), request.param) as address:
        yield address


@pytest.fixture
def address(server: str, request: pytest.FixtureRequest) -> str:
    own = server.replace("preserving/", request.node.name.replace("[", "-").strip("]") + "/")
    assert ask(own, "MKCALENDAR")[0] == 201
    return own


@pytest.fixture
def season(tmp_path: Path) -> Path:
    (tmp_path / "season.toml").write_text(SEASON)
    write(tmp_path)
    return tmp_path


def write(folder: Path, lines: list[dict[str, Any]] | None = None) -> None:
    data = plan_data() | {"made_at": "2027-10-26T08:00:00-06:00"}
    plan = make_plan(data=data | ({} if lines is None else {"shopping": lines}))
    write_outputs(plan, make_season(), make_library(), out=folder / "out")


def line(item: str, kind: str, buy: int, **more: Any) -> dict[str, Any]:
    return {
        "item": item, "kind": kind, "need": buy, "in_stock": 0, "buy": buy, "packs": 0,
        "pack": None, "price": None, "order_by": "2027-11-02",
    } | more  # fmt: skip


def put(season: Path, address: str) -> TodosDone:
    return publish_todos(season / "out", collection(address), beside=address)


def collection(address: str) -> Collection:
    return Collection(address, Login(USER, "spoon"))


def there(address: str) -> dict[str, Any]:
    """To-dos by title as a parser of another make reads them."""
    found = {}
    for resource in collection(address).read("VTODO"):
        todo = vobject.readOne(io.StringIO(resource.data.decode())).vtodo
        found[todo.summary.value] = todo
    return found


def tick(address: str, title: str) -> None:
    """As a task program does it."""
    uid = there(address)[title].uid.value
    text = ask(address, "GET", f"{uid}.ics")[1]
    assert "STATUS:NEEDS-ACTION" in text
    text = text.replace("STATUS:NEEDS-ACTION", TICK)
    assert ask(address, "PUT", f"{uid}.ics", body=text)[0] in (200, 201, 204)


def in_file(season: Path, name: str = "tasks.ics") -> list[str]:
    text = (season / "out" / name).read_text(encoding="utf-8").replace("\n ", "")
    return [
        found.removeprefix("SUMMARY:").replace("\\,", ",")
        for found in text.splitlines()
        if found.startswith("SUMMARY:")
    ]


def diary(season: Path) -> str:
    path = season / "diary.txt"
    return path.read_text(encoding="utf-8") if path.exists() else ""


ICE, POUCHES = "Ice 10 lb: buy", "Pouches 8x10, 1 pack of 50: buy"


def test_put_and_again(season: Path, address: str) -> None:
    assert put(season, address).created == [ICE, POUCHES]
    first = {resource.path: resource for resource in collection(address).read("VTODO")}
    assert put(season, address).unchanged == [ICE, POUCHES]
    assert {resource.path: resource for resource in collection(address).read("VTODO")} == first
    todo = there(address)[ICE]
    assert todo.due.value == dt.date(2027, 10, 27) and todo.status.value == "NEEDS-ACTION"
    assert read_record(season / "out").at(address).todos == address


def test_ticked_is_never_sent_again(season: Path, address: str) -> None:
    """Not by publishing, not by a new plan, not by an import of the file, not once it is gone."""
    put(season, address)
    tick(address, POUCHES)
    done = put(season, address)
    assert done.ticked == [POUCHES] and done.unchanged == [ICE] and not done.updated
    more = [line("8x10", "pouch", 52, in_stock=10, packs=1, pack=50),
            line("ice for the week of Mon 25 October", "ice", 4600)]  # fmt: skip
    write(season, more)
    assert in_file(season) == ["Ice 11 lb: buy"] == in_file(season, "shopping.ics")
    done = put(season, address)
    assert done.updated == ["Ice 11 lb: buy"] and not (done.created or done.deleted or done.ticked)
    assert there(address)[POUCHES].status.value == "COMPLETED"
    uid = there(address)[POUCHES].uid.value
    assert ask(address, "DELETE", f"{uid}.ics")[0] in (200, 204)
    done = put(season, address)
    assert not done.created and sorted(there(address)) == ["Ice 11 lb: buy"]


def test_more_than_was_ticked_is_asked_for_by_itself(season: Path, address: str) -> None:
    put(season, address)
    tick(address, POUCHES)
    put(season, address)
    write(season, [line("8x10", "pouch", 90, in_stock=10, packs=2, pack=50)])
    done = put(season, address)
    assert done.created == ["Pouches 8x10, 2 packs of 50: buy"]
    assert done.deleted == [ICE] and POUCHES in there(address)
    tick(address, "Pouches 8x10, 2 packs of 50: buy")
    put(season, address)
    write(season, [line("8x10", "pouch", 30, in_stock=110, packs=1, pack=50)])
    assert put(season, address).created == [POUCHES], "what lies in stock now is not enough"


def test_food_that_was_ticked_is_bought(season: Path, address: str) -> None:
    write(season, [line("apple", "food", 9000), line("8x10", "pouch", 41, packs=1, pack=50)])
    put(season, address)
    tick(address, "Apples 20 lb: buy")
    tick(address, POUCHES)
    told = take_ticks(season, collection(address), ON, dry_run=True)
    assert told == {"Apples 20 lb: buy": 'bought "apple" 9000 g', POUCHES: ""} and not diary(season)
    told = take_ticks(season, collection(address), ON)
    assert diary(season).startswith('2027-10-27 bought "apple" 9000 g #') or "bought apple" in (
        diary(season)
    )
    assert take_ticks(season, collection(address), ON) == {} and diary(season).count("bought") == 1


def test_a_tick_seen_by_publishing_waits_for_the_diary(season: Path, address: str) -> None:
    """Publishing writes no diary; pulling does, even where the to-do is gone by then."""
    write(season, [line("apple", "food", 9000)])
    put(season, address)
    tick(address, "Apples 20 lb: buy")
    put(season, address)
    uid = there(address)["Apples 20 lb: buy"].uid.value
    assert ask(address, "DELETE", f"{uid}.ics")[0] in (200, 204) and not diary(season)
    told = take_ticks(season, collection(address), ON)
    assert len(told) == 1 and "bought" in diary(season)


def test_what_the_household_wrote_into_a_to_do_stays(season: Path, address: str) -> None:
    put(season, address)
    uid = there(address)[ICE].uid.value
    text = ask(address, "GET", f"{uid}.ics")[1]
    own = "PRIORITY:1\r\nX-SHOP:Corner\r\nLOCATION:Corner shop\r\nEND:VTODO"
    text = text.replace("END:VTODO", own)
    assert ask(address, "PUT", f"{uid}.ics", body=text)[0] in (200, 201, 204)
    assert put(season, address).unchanged == [ICE, POUCHES]
    write(season, [line("ice for the week of Mon 25 October", "ice", 7000)])
    assert put(season, address).updated == ["Ice 16 lb: buy"]
    todo = there(address)["Ice 16 lb: buy"]
    assert todo.location.value == "Corner shop" and todo.priority.value == "1"


def test_a_deleted_to_do_stays_away_until_there_is_news(season: Path, address: str) -> None:
    put(season, address)
    uid = there(address)[ICE].uid.value
    assert ask(address, "DELETE", f"{uid}.ics")[0] in (200, 204)
    assert put(season, address).created == []
    write(season, [line("ice for the week of Mon 25 October", "ice", 7000)])
    assert put(season, address).created == ["Ice 16 lb: buy"]


def test_others_on_the_list_are_left(season: Path, address: str) -> None:
    own = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//x//EN\r\nBEGIN:VTODO\r\nUID:milk\r\nDTSTAMP:20270101T000000Z\r\nSUMMARY:Milk\r\nEND:VTODO\r\nEND:VCALENDAR\r\n"  # noqa: E501
    assert ask(address, "PUT", "milk.ics", body=own)[0] == 201
    put(season, address)
    write(season, [])
    done = put(season, address)
    assert sorted(done.deleted) == [ICE, POUCHES] and list(there(address)) == ["Milk"]


def test_the_command_says_it(season: Path, address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HARVESTPLAN_CALDAV_USER", USER)
    monkeypatch.setenv("HARVESTPLAN_CALDAV_PASSWORD", "spoon")
    write(season, [line("apple", "food", 9000)])
    words = ["publish", address, "--in", str(season), "--as-of", "2027-10-27"]
    assert "To-dos: 1 new" in CliRunner().invoke(app, words).output
    tick(address, "Apples 20 lb: buy")
    said = CliRunner().invoke(app, words).output
    assert "Ticked off there, and not asked for again: Apples 20 lb: buy." in said
    told = json.loads(CliRunner().invoke(app, [*words, "--json"]).output)
    assert told["todos"]["created"] == told["todos"]["ticked"] == []
    dry = CliRunner().invoke(app, [*words, "--pull", "--dry-run", "--json"]).output
    words_of_it = 'bought "apple" 9000 g'
    assert json.loads(dry) == [
        {"what": "ticked", "title": "Apples 20 lb: buy", "line": words_of_it}
    ]
    said = CliRunner().invoke(app, [*words, "--pull"]).output
    assert "Ticked off: Apples 20 lb: buy" in said and "wrote: 2027-10-27 bought" in said
