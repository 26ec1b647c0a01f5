"""`harvestplan publish` against a real CalDAV server (RFC 4791) on this computer."""

from __future__ import annotations

import datetime as dt
import io
import json
import logging
import sys
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import vobject
from outputs.calendar.dav_server import USER, ask, calendar_server
from outputs.written_plans import AFTER, make_library, make_plan, make_season, plan_data
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.errors import FilesNeedMending
from harvestplan.outputs.calendar import caldav
from harvestplan.outputs.calendar.caldav import Collection, Login, ServerRefused
from harvestplan.outputs.calendar.publish import MARK, Published, publish, pull, write_folder
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file_names import LEDGER

SECOND_UID = "00000002-6a52-5c64-9f3c-5a1f0c3c9d11"
STRANGER = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//harvestplan//season plan//EN\r\nBEGIN:VEVENT\r\n"
    "UID:choir\r\nDTSTAMP:20270101T000000Z\r\nDTSTART:20271103T180000Z\r\nSUMMARY:Choir\r\n"
    "END:VEVENT\r\nEND:VCALENDAR\r\n"
)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav")) as address:
        yield address


@pytest.fixture
def address(server: str, request: pytest.FixtureRequest) -> str:
    """A calendar of its own for each test."""
    own = f"{server}../{request.node.name}/".replace("preserving/../", "")
    assert ask(own, "MKCALENDAR")[0] == 201
    return own


def calendar(address: str) -> Collection:
    return Collection(address, Login(USER, "spoon"))


def write(out: Path, data: dict[str, Any] | None = None) -> None:
    plan = make_plan(data=data)
    write_outputs(plan, make_season(plan.season.timezone), make_library(), out=out)


def later(hour: int = 8, **more: Any) -> dict[str, Any]:
    return plan_data() | {"made_at": f"2027-10-26T{hour:02d}:00:00-06:00"} | more


def moved_data() -> dict[str, Any]:
    data = later()
    data["sessions"][1] |= {
        "start": "2027-11-09T18:30:00-07:00",
        "end": "2027-11-09T21:00:00-07:00",
    }
    return data


def there(address: str) -> dict[str, Any]:
    """Calendars by UID as the server gives them, read by a parser of another make."""
    found = {}
    for resource in calendar(address).read():
        read = vobject.readOne(io.StringIO(resource.data.decode()))
        assert len(read.vevent_list) == 1
        found[read.vevent.uid.value] = read
    return found


def written(out: Path) -> dict[str, Any]:
    text = (out / "sessions.ics").read_bytes().decode()
    return {event.uid.value: event for event in vobject.readOne(io.StringIO(text)).vevent_list}


def fields(event: Any) -> dict[str, Any]:
    names = {line.name for line in event.lines()} - {MARK}
    return {name: event.contents[name.lower()][0].value for name in names}


def sizes(done: Published) -> tuple[int, int, int, int]:
    return len(done.created), len(done.updated), len(done.deleted), len(done.unchanged)


def test_create_and_again(tmp_path: Path, address: str) -> None:
    """RFC 4791, 4.1: one entry a resource, no METHOD, with the zone it names."""
    write(tmp_path)
    ours = written(tmp_path)
    assert sizes(publish(tmp_path, calendar(address), dry_run=True)) == (len(ours), 0, 0, 0)
    assert not there(address) and not (tmp_path / LEDGER).exists()
    assert sizes(publish(tmp_path, calendar(address))) == (len(ours), 0, 0, 0)
    first = {resource.path: resource for resource in calendar(address).read()}
    assert sizes(publish(tmp_path, calendar(address))) == (0, 0, 0, len(ours))
    assert {resource.path: resource for resource in calendar(address).read()} == first
    found = there(address)
    assert found.keys() == ours.keys()
    for uid, whole in found.items():
        assert fields(whole.vevent) == fields(ours[uid])
        alarms = [alarm.trigger.value for alarm in getattr(whole.vevent, "valarm_list", [])]
        timed = isinstance(whole.vevent.dtstart.value, dt.datetime)
        assert alarms == ([dt.timedelta(hours=-2)] if timed else [])
        assert hasattr(whole, "vtimezone") == timed
        assert not hasattr(whole, "method")
    names = {Path(path).name for path in first}
    assert names == {f"{uid}.ics" for uid in ours}


def test_a_moved_session_is_updated_alone(tmp_path: Path, address: str) -> None:
    write(tmp_path)
    publish(tmp_path, calendar(address))
    before = written(tmp_path)
    write(tmp_path, moved_data())
    after = written(tmp_path)
    changed = {uid for uid in after if fields(after[uid]) != fields(before[uid])}
    done = publish(tmp_path, calendar(address))
    assert set(done.updated) == changed and SECOND_UID in changed
    assert not done.created and not done.deleted and not done.moves
    assert {uid: fields(one.vevent) for uid, one in there(address).items()} == {
        uid: fields(event) for uid, event in after.items()
    }


def test_cancelled_and_then_deleted_when_past(tmp_path: Path, address: str) -> None:
    write(tmp_path)
    publish(tmp_path, calendar(address))
    data = later()
    data["sessions"][1] |= {"status": "cancelled", "sequence": 1}
    write(tmp_path, data)
    done = publish(tmp_path, calendar(address))
    assert SECOND_UID in done.updated and not done.deleted
    event = there(address)[SECOND_UID].vevent
    assert (event.status.value, event.transp.value) == ("CANCELLED", "TRANSPARENT")
    write(tmp_path, data | {"as_of": (AFTER + dt.timedelta(days=1)).isoformat()})
    done = publish(tmp_path, calendar(address))
    assert SECOND_UID in done.deleted
    assert there(address).keys() == written(tmp_path).keys()


def test_what_others_put_there_is_left(tmp_path: Path, address: str) -> None:
    assert ask(address, "PUT", "choir.ics", body=STRANGER)[0] == 201
    write(tmp_path)
    publish(tmp_path, calendar(address))
    assert "choir" in there(address)
    (tmp_path / LEDGER).write_text("{torn")
    data = plan_data()
    data["sessions"].pop()
    data["picks"].clear()
    (tmp_path / "sessions.ics").unlink()
    write(tmp_path, data)
    done = publish(tmp_path, calendar(address))
    assert not done.deleted, "without the record nobody can tell what is ours"
    assert {"choir", SECOND_UID, *written(tmp_path)} <= there(address).keys()


def test_what_the_household_moved_is_told_and_put_back(tmp_path: Path, address: str) -> None:
    write(tmp_path)
    publish(tmp_path, calendar(address))
    assert pull(tmp_path, calendar(address)) == []
    text = ask(address, "GET", f"{SECOND_UID}.ics")[1]
    changed = text.replace(
        "DTSTART;TZID=America/Denver:20271109T180000", "DTSTART;TZID=America/Denver:20271109T170000"
    )
    changed = changed.replace("SEQUENCE:0", "SEQUENCE:9")
    assert changed != text
    assert ask(address, "PUT", f"{SECOND_UID}.ics", body=changed)[0] in (201, 204)
    gone = next(uid for uid in written(tmp_path) if uid != SECOND_UID)
    assert ask(address, "DELETE", f"{gone}.ics")[0] == 200
    moves = {move.uid: move for move in pull(tmp_path, calendar(address))}
    assert moves.keys() == {SECOND_UID, gone}
    assert moves[gone].deleted and moves[gone].start is None
    start = moves[SECOND_UID].start
    assert isinstance(start, dt.datetime) and start.isoformat() == "2027-11-09T17:00:00-07:00"
    assert "moved to 2027-11-09 17:00 by somebody" in str(moves[SECOND_UID])
    done = publish(tmp_path, calendar(address))
    assert done.updated == [SECOND_UID] and done.created == [gone] and len(done.moves) == 2
    event = there(address)[SECOND_UID].vevent
    assert event.dtstart.value == written(tmp_path)[SECOND_UID].dtstart.value
    assert event.sequence.value == "10", "no reader may take it for the older"
    assert pull(tmp_path, calendar(address)) == []


def test_a_change_in_the_same_moment_is_not_overwritten(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 9110, 13.1: If-Match and If-None-Match guard what is written."""
    write(tmp_path)
    publish(tmp_path, calendar(address))
    stale = calendar(address).read()
    text = ask(address, "GET", f"{SECOND_UID}.ics")[1]
    ask(
        address,
        "PUT",
        f"{SECOND_UID}.ics",
        body=text.replace("SUMMARY:Put by", "SUMMARY:Please put by"),
    )
    write(tmp_path, moved_data())
    server = calendar(address)
    monkeypatch.setattr(server, "read", lambda: stale)
    assert publish(tmp_path, server).clashes == [SECOND_UID]
    assert there(address)[SECOND_UID].vevent.summary.value.startswith("Please")
    monkeypatch.setattr(
        server, "read", lambda: [one for one in stale if SECOND_UID not in one.path]
    )
    assert SECOND_UID in publish(tmp_path, server).clashes
    assert publish(tmp_path, calendar(address)).updated == [SECOND_UID]


def test_the_command(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    write(tmp_path / "out")
    monkeypatch.setenv(caldav.USER, USER)
    monkeypatch.setenv(caldav.PASSWORD, "tea-spoon-secret")
    words = ["publish", address, "--in", str(tmp_path)]
    count = len(written(tmp_path / "out"))
    said = CliRunner().invoke(app, [*words, "--dry-run"])
    assert said.exit_code == 0 and f"Would be: {count} new, 0 changed" in said.output
    said = CliRunner().invoke(app, words)
    assert f"{address}: {count} new, 0 changed, 0 deleted, 0 as they were." in said.output
    told = CliRunner().invoke(app, [*words, "--json"])
    assert len(json.loads(told.output)["unchanged"]) == count
    ask(address, "DELETE", f"{SECOND_UID}.ics")
    said_pull = CliRunner().invoke(app, [*words, "--pull"])
    assert "deleted by somebody" in said_pull.output
    for text in (said.output, told.output, said_pull.output, caplog.text):
        assert "tea-spoon-secret" not in text
    for path in tmp_path.rglob("*"):
        assert path.is_dir() or b"tea-spoon-secret" not in path.read_bytes()


def test_a_password_from_the_keyring_goes_nowhere_else(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    write(tmp_path / "out")
    ring = types.ModuleType("keyring")
    ring.get_password = lambda service, user: "ladle-secret"  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "keyring", ring)
    monkeypatch.setenv(caldav.USER, USER)
    monkeypatch.delenv(caldav.PASSWORD, raising=False)
    words = ["publish", address, "--in", str(tmp_path)]
    for more in ([], ["--pull"], ["--json"]):
        said = CliRunner().invoke(app, [*words, *more])
        assert said.exit_code == 0 and "ladle-secret" not in said.output + caplog.text
    for path in tmp_path.rglob("*"):
        assert path.is_dir() or b"ladle-secret" not in path.read_bytes()


def test_no_calendar_at_that_address(tmp_path: Path, server: str) -> None:
    write(tmp_path)
    with pytest.raises(ServerRefused, match="no calendar at"):
        publish(tmp_path, calendar(server + "nowhere/"))


def test_folder(tmp_path: Path) -> None:
    write(tmp_path / "out")
    web = tmp_path / "web" / "calendars"
    paths = write_folder(tmp_path / "out", web)
    assert [path.name for path in paths] == ["sessions.ics", "tasks.ics"]
    for path in paths:
        assert path.read_bytes() == (tmp_path / "out" / path.name).read_bytes()
    said = CliRunner().invoke(app, ["publish", "--folder", str(web), "--in", str(tmp_path)])
    assert said.exit_code == 0
    order = [said.output.index(words) for words in ("CalDAV", "subscription", "empty that")]
    assert order == sorted(order)


def test_without_a_plan_or_an_address(tmp_path: Path) -> None:
    said = CliRunner().invoke(app, ["publish", "--in", str(tmp_path)])
    assert said.exit_code == 2
    said = CliRunner().invoke(
        app, ["publish", "--folder", str(tmp_path / "web"), "--in", str(tmp_path)]
    )
    assert said.exit_code != 0 and "harvestplan plan" in str(said.exception)


@pytest.mark.parametrize("torn", [b"", b"BEGIN:VCALENDAR\r\nBEGIN:VEV", b"\xff", b"garbage"])
def test_a_torn_calendar_is_named(tmp_path: Path, server: str, torn: bytes) -> None:
    write(tmp_path)
    (tmp_path / "sessions.ics").write_bytes(torn)
    with pytest.raises(FilesNeedMending, match=r"sessions\.ics: it is torn"):
        publish(tmp_path, calendar(server))
    assert not there(server)


def test_what_was_cancelled_before_anybody_saw_it_is_not_put(tmp_path: Path, address: str) -> None:
    data = plan_data()
    data["sessions"][1] |= {"status": "cancelled", "sequence": 1}
    write(tmp_path, data)
    publish(tmp_path, calendar(address))
    assert SECOND_UID in written(tmp_path)
    assert there(address).keys() == written(tmp_path).keys() - {SECOND_UID}


def test_after_a_failure_half_way_the_rest_follows(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path)
    server = calendar(address)
    real, names = server.create, []

    def create(name: str, data: bytes) -> None:
        if len(names) == 3:
            raise ServerRefused("the line went dead")
        names.append(name)
        real(name, data)

    monkeypatch.setattr(server, "create", create)
    with pytest.raises(ServerRefused, match="went dead"):
        publish(tmp_path, server)
    (kept,) = json.loads((tmp_path / LEDGER).read_text()).values()
    assert {f"{uid}.ics" for uid in kept} == set(names)
    done = publish(tmp_path, calendar(address))
    assert len(done.unchanged) == 3 and not done.moves and not done.clashes
    assert there(address).keys() == written(tmp_path).keys()
