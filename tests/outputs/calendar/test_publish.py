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
from outputs.written_plans import make_library, make_plan, make_season, plan_data
from season_tables import house, write_season
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.errors import FilesNeedMending
from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.edits import Altered
from harvestplan.outputs.calendar.folder import write_folder
from harvestplan.outputs.calendar.kinds import KINDS
from harvestplan.outputs.calendar.merging import MARK, STOOD
from harvestplan.outputs.calendar.publish import Done, publish, read_both
from harvestplan.outputs.calendar.publish_text import published_text
from harvestplan.outputs.calendar.server import PASSWORD, Login, ServerRefused
from harvestplan.outputs.calendar.server import USER as USER_NAME
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import read_plan
from harvestplan.plan.file_names import LEDGER

SECOND_UID = "00000002-6a52-5c64-9f3c-5a1f0c3c9d11"
GARDEN_ENTRIES = 3
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


def put(out: Path, address: str, dry_run: bool = False, **more: Any) -> Done:
    """Every kind of entry."""
    return publish(out, calendar(address), dry_run, holds=tuple(KINDS), **more)


def changes(out: Path, address: str) -> list[Altered]:
    return read_both(out, calendar(address), read_plan(out / "plan.json")).changes()


def written(out: Path) -> dict[str, Any]:
    """Our entries of every kind, by UID."""
    found = {}
    for kind in KINDS.values():
        text = (out / kind.file).read_bytes().decode()
        events = getattr(vobject.readOne(io.StringIO(text)), "vevent_list", [])
        found |= {event.uid.value: event for event in events}
    return found


def fields(event: Any) -> dict[str, Any]:
    names = {line.name for line in event.lines()} - {MARK, STOOD}
    return {name: event.contents[name.lower()][0].value for name in names}


def sizes(done: Done) -> tuple[int, int, int, int]:
    return len(done.created), len(done.updated), len(done.deleted), len(done.unchanged)


def test_create_and_again(tmp_path: Path, address: str) -> None:
    """RFC 4791, 4.1: one entry a resource, no METHOD, with the zone it names."""
    write(tmp_path)
    ours = written(tmp_path)
    assert sizes(put(tmp_path, address, dry_run=True)) == (len(ours), 0, 0, 0)
    assert not there(address) and not (tmp_path / LEDGER).exists()
    assert sizes(put(tmp_path, address)) == (len(ours), 0, 0, 0)
    first = {resource.path: resource for resource in calendar(address).read()}
    assert sizes(put(tmp_path, address)) == (0, 0, 0, len(ours))
    assert {resource.path: resource for resource in calendar(address).read()} == first
    found = there(address)
    assert found.keys() == ours.keys()
    for uid, whole in found.items():
        assert fields(whole.vevent) == fields(ours[uid])
        alarms = [alarm.trigger.value for alarm in getattr(whole.vevent, "valarm_list", [])]
        own = [alarm.trigger.value for alarm in getattr(ours[uid], "valarm_list", [])]
        timed = isinstance(whole.vevent.dtstart.value, dt.datetime)
        assert alarms == own and (not timed or dt.timedelta(hours=-2) in own)
        assert hasattr(whole, "vtimezone") == timed
        assert not hasattr(whole, "method")
    names = {Path(path).name for path in first}
    assert names == {f"{uid}.ics" for uid in ours}


def test_a_moved_session_is_updated_alone(tmp_path: Path, address: str) -> None:
    write(tmp_path)
    put(tmp_path, address)
    before = written(tmp_path)
    write(tmp_path, moved_data())
    after = written(tmp_path)
    changed = {uid for uid in after if fields(after[uid]) != fields(before[uid])}
    done = put(tmp_path, address)
    assert set(done.updated) == changed and SECOND_UID in changed
    assert not done.created and not done.deleted and not done.put_back and not done.unread
    assert {uid: fields(one.vevent) for uid, one in there(address).items()} == {
        uid: fields(event) for uid, event in after.items()
    }


def test_what_is_cancelled_is_deleted_there(tmp_path: Path, address: str) -> None:
    """A server tells its readers what is gone, so it needs no entry that says so."""
    write(tmp_path)
    put(tmp_path, address)
    data = later()
    data["sessions"][1] |= {"status": "cancelled", "sequence": 1}
    write(tmp_path, data)
    assert written(tmp_path)[SECOND_UID].status.value == "CANCELLED"
    done = put(tmp_path, address)
    assert done.deleted == [SECOND_UID] and "Broccoli" in done.titles[SECOND_UID]
    assert SECOND_UID not in there(address)
    again = put(tmp_path, address)
    assert not (again.created or again.updated or again.deleted or again.unread)


def test_what_others_put_there_is_left(tmp_path: Path, address: str) -> None:
    assert ask(address, "PUT", "choir.ics", body=STRANGER)[0] == 201
    write(tmp_path)
    put(tmp_path, address)
    assert "choir" in there(address)
    (tmp_path / LEDGER).write_text("{torn")
    data = plan_data()
    data["sessions"].pop()
    data["picks"].clear()
    for kind in KINDS.values():
        (tmp_path / kind.file).unlink()
    write(tmp_path, data)
    done = put(tmp_path, address)
    assert not done.deleted, "without the record nobody can tell what is ours"
    assert {"choir", SECOND_UID, *written(tmp_path)} <= there(address).keys()
    assert done.rebuilt and any("Broccoli and winter squash" in title for title in done.strays)


def move_second(address: str) -> None:
    """An hour earlier, as a calendar program does it."""
    text = ask(address, "GET", f"{SECOND_UID}.ics")[1]
    changed = text
    for old, new in (("T180000", "T170000"), ("T203000", "T193000")):
        changed = changed.replace(f"America/Denver:20271109{old}", f"America/Denver:20271109{new}")
    changed = changed.replace("SEQUENCE:0", "SEQUENCE:9")
    assert changed.count("20271109T170000") == changed.count("20271109T193000") == 1
    assert ask(address, "PUT", f"{SECOND_UID}.ics", body=changed)[0] in (201, 204)


def test_what_nobody_has_read_yet_stays(tmp_path: Path, address: str) -> None:
    """Also where the plan has news of the entry: that is put in, the household's time stays."""
    write(tmp_path)
    put(tmp_path, address)
    assert changes(tmp_path, address) == []
    move_second(address)
    (move,) = changes(tmp_path, address)
    assert isinstance(move.start, dt.datetime)
    assert move.uid == SECOND_UID and move.start.isoformat() == "2027-11-09T17:00:00-07:00"
    assert "(planned for 2027-11-09 18:00): moved to 2027-11-09 17:00" in str(move)
    for data, expected in ((None, []), (later(), [])):
        if data:
            data["sessions"][1]["runs"][0] |= {"pouches": 9}
            write(tmp_path, data)
        done = put(tmp_path, address)
        assert [change.uid for change in done.unread] == [SECOND_UID] and not done.put_back
        event = there(address)[SECOND_UID].vevent
        assert event.dtstart.value.isoformat() == "2027-11-09T17:00:00-07:00"
        assert done.deleted == expected
        assert [change.uid for change in changes(tmp_path, address)] == [SECOND_UID]
    assert event.summary.value == written(tmp_path)[SECOND_UID].summary.value != ""
    assert event.sequence.value == "10"
    shown = published_text(done, address, False)
    assert "You changed these there" in shown and "--pull" in shown and "--put-back" in shown


def test_put_back_where_the_household_says_so(tmp_path: Path, address: str) -> None:
    write(tmp_path)
    put(tmp_path, address)
    move_second(address)
    first = "00000001-6a52-5c64-9f3c-5a1f0c3c9d11"
    assert ask(address, "DELETE", f"{first}.ics")[0] == 200
    done = put(tmp_path, address, put_back=True)
    assert done.updated == [SECOND_UID] and done.created == [first] and len(done.put_back) == 2
    event = there(address)[SECOND_UID].vevent
    assert event.dtstart.value == written(tmp_path)[SECOND_UID].dtstart.value
    assert event.sequence.value == "10", "no reader may take it for the older"
    assert changes(tmp_path, address) == []


def test_a_day_that_the_household_deleted_stays_away(tmp_path: Path, address: str) -> None:
    """Until the plan has it on another day; nothing is to be answered."""
    write(tmp_path)
    put(tmp_path, address)
    (pick,) = (u for u, e in written(tmp_path).items() if e.summary.value.startswith("Broccoli 9"))
    assert ask(address, "DELETE", f"{pick}.ics")[0] == 200
    for _ in range(2):
        done = put(tmp_path, address)
        assert not done.created and not done.unread and not done.put_back
    data = later()
    data["picks"][2]["date"] = "2027-11-07"
    write(tmp_path, data)
    assert put(tmp_path, address).created == [pick]


def test_a_change_in_the_same_moment_is_not_overwritten(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 9110, 13.1: If-Match and If-None-Match guard what is written."""
    write(tmp_path)
    put(tmp_path, address)
    stale = calendar(address).read()
    text = ask(address, "GET", f"{SECOND_UID}.ics")[1]
    ask(
        address,
        "PUT",
        f"{SECOND_UID}.ics",
        body=text.replace("SUMMARY:Broccoli", "SUMMARY:Please put by broccoli"),
    )
    write(tmp_path, moved_data())
    server = calendar(address)
    monkeypatch.setattr(server, "read", lambda part: stale)
    assert publish(tmp_path, server, holds=tuple(KINDS)).clashes == [SECOND_UID]
    assert there(address)[SECOND_UID].vevent.summary.value.startswith("Please")
    monkeypatch.setattr(
        server, "read", lambda part: [one for one in stale if SECOND_UID not in one.path]
    )
    assert SECOND_UID in publish(tmp_path, server, holds=tuple(KINDS)).clashes
    assert put(tmp_path, address).updated == [SECOND_UID]


def test_the_command(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    write_season(tmp_path, house("2027-05-01", "2027-11-30"))
    write(tmp_path / "out")
    monkeypatch.setenv(USER_NAME, USER)
    monkeypatch.setenv(PASSWORD, "tea-spoon-secret")
    words = ["publish", address, "--in", str(tmp_path), "--as-of", "2027-10-26"]
    count = len(written(tmp_path / "out")) - GARDEN_ENTRIES
    said = CliRunner().invoke(app, [*words, "--dry-run"])
    assert said.exit_code == 0 and f"Would be: {count} new, 0 changed" in said.output
    said = CliRunner().invoke(app, words)
    assert f"{address}: {count} new, 0 changed, 0 deleted, 0 as they were." in said.output
    told = CliRunner().invoke(app, [*words, "--json"])
    assert len(json.loads(told.output)["unchanged"]) == count
    ask(address, "DELETE", f"{SECOND_UID}.ics")
    said_pull = CliRunner().invoke(app, [*words, "--pull"])
    assert "deleted in your calendar" in said_pull.output
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
    monkeypatch.setenv(USER_NAME, USER)
    monkeypatch.delenv(PASSWORD, raising=False)
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
    assert [path.name for path in paths] == ["sessions.ics", "shopping.ics", "tasks.ics"]
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
    put(tmp_path, address)
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
        publish(tmp_path, server, holds=tuple(KINDS))
    (kept,) = json.loads((tmp_path / LEDGER).read_text())["calendars"].values()
    assert {f"{uid}.ics" for uid in kept["sent"]} == set(names)
    done = put(tmp_path, address)
    assert len(done.unchanged) == 3 and not done.put_back and not done.clashes
    assert there(address).keys() == written(tmp_path).keys()
