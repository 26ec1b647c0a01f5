"""A second import of the calendar: real programs, a real server, and models of the others.

What the help of `publish --folder` promises for each kind of program is held here.
"""

from __future__ import annotations

import io
import os
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import vobject
from calendar_tools import need
from outputs.calendar.calendar_entries import SECOND_UID, later, read
from outputs.calendar.dav_server import USER, ask, calendar_server
from outputs.written_plans import make_library, make_plan, make_season, plan_data

from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.calendar_files import calendar_files, tasks_bytes
from harvestplan.outputs.calendar.publish import publish
from harvestplan.outputs.calendar.publish_text import FOLDER_ADVICE
from harvestplan.outputs.calendar.server import Login
from harvestplan.outputs.write_all import write_outputs

FIRST_UID = "00000001-6a52-5c64-9f3c-5a1f0c3c9d11"
Store = list[Any]
"""Events as a program keeps them."""


def changed() -> dict[str, Any]:
    """The first session cancelled, the second moved by half an hour."""
    data = later(plan_data())
    data["sessions"][0] |= {"status": "cancelled", "sequence": 1}
    data["sessions"][1] |= {
        "start": "2027-11-09T18:30:00-07:00",
        "end": "2027-11-09T21:00:00-07:00",
    }
    return data


@pytest.fixture(scope="module")
def versions() -> tuple[bytes, bytes]:
    """The calendar before and after."""
    season, library = make_season(), make_library()
    first = calendar_files(make_plan(), season, library)
    second = calendar_files(make_plan(data=changed()), season, library, previous=first)
    return first["sessions.ics"], second["sessions.ics"]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav")) as address:
        yield address


@pytest.fixture
def address(server: str, request: pytest.FixtureRequest) -> str:
    own = server.replace("preserving/", f"{request.node.name}/")
    assert ask(own, "MKCALENDAR")[0] == 201
    return own


def run(command: list[str], home: Path, *words: str) -> str:
    """What the program says; its settings and data lie under `home`."""
    env = os.environ | {"HOME": str(home), "LC_ALL": "C.UTF-8", "PYTHONPATH": ""}
    for name in ("CONFIG", "DATA", "CACHE", "STATE"):
        env[f"XDG_{name}_HOME"] = str(home / name.lower())
    done = subprocess.run(
        [*command, *words], env=env, cwd=home, capture_output=True, text=True, timeout=600
    )
    assert done.returncode == 0, done.stderr
    return done.stdout + done.stderr


def test_khal_takes_the_second_import(versions: tuple[bytes, bytes], tmp_path: Path) -> None:
    """Twice the same, then the changed one: as many entries as before, with the new data."""
    khal = need("khal")
    items = tmp_path / "items"
    items.mkdir()
    (tmp_path / "config" / "khal").mkdir(parents=True)
    settings = f"""[calendars]
[[season]]
path = {items}
type = calendar
[locale]
local_timezone = America/Denver
default_timezone = America/Denver
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
"""
    (tmp_path / "config" / "khal" / "config").write_text(settings)
    before, after = versions
    for data in (before, before, after):
        (tmp_path / "season.ics").write_bytes(data)
        run(khal, tmp_path, "import", "--batch", "-a", "season", "season.ics")
    found = [vobject.readOne(path.read_text("utf-8")).vevent for path in items.glob("*.ics")]
    assert sorted(event.uid.value for event in found) == sorted(read(before))
    for event in found:
        ours = read(after)[event.uid.value]
        assert (event.status.value, event.dtstart.value) == (ours.status.value, ours.dtstart.value)


def test_vdirsyncer_uploads_only_what_changed(
    versions: tuple[bytes, bytes], tmp_path: Path, address: str
) -> None:
    """And keeps every entry, which guards against a UID of the calendar's own."""
    vdirsyncer = need("vdirsyncer")
    settings = f"""[general]
status_path = "{tmp_path}/status/"
[pair season]
a = "file"
b = "server"
collections = null
[storage file]
type = "singlefile"
path = "{tmp_path}/season.ics"
[storage server]
type = "caldav"
url = "{address}"
username = "{USER}"
password = "spoon"
"""
    (tmp_path / "settings").write_text(settings)
    tags: list[dict[str, str]] = []
    for data in versions:
        (tmp_path / "season.ics").write_bytes(data)
        for words in [["discover"], ["sync"]] if not tags else [["sync"]]:
            run(vdirsyncer, tmp_path, "-c", "settings", *words)
        resources = Collection(address, Login(USER, "spoon")).read()
        tags.append({uid_of(one.data): one.etag for one in resources})
    before, after = (read(data) for data in versions)
    assert tags[0].keys() == before.keys() and tags[1].keys() == after.keys()
    news = {uid for uid in after if before[uid].serialize() != after[uid].serialize()}
    assert {uid for uid in tags[1] if tags[1][uid] != tags[0][uid]} == news


def uid_of(data: bytes) -> str:
    return str(vobject.readOne(io.StringIO(data.decode())).vevent.uid.value)


def test_the_whole_file_may_be_put_in_place_of_a_calendar(
    versions: tuple[bytes, bytes], address: str
) -> None:
    """What comes back is what was put, field by field, also the second time."""
    for data in versions:
        assert ask(address, "PUT", "", body=data.decode())[0] == 201
        text = ask(address, "GET")[1]
        there = {e.uid.value: e for e in vobject.readOne(io.StringIO(text)).vevent_list}
        ours = read(data)
        assert there.keys() == ours.keys()
        for uid, event in ours.items():
            for name in {line.name for line in event.lines()}:
                mine, theirs = (e.contents[name.lower()][0].value for e in (event, there[uid]))
                assert mine == theirs, name


def test_a_task_that_is_done_stays_done(tmp_path: Path, address: str) -> None:
    """The shopping list on a server: sending the sessions again leaves the tasks alone."""
    plan, season = make_plan(), make_season()
    write_outputs(plan, season, make_library(), out=tmp_path)
    whole = vobject.readOne(io.StringIO(tasks_bytes(plan, season).decode()))
    for todo in whole.vtodo_list:
        one = vobject.iCalendar()
        one.add(todo)
        assert ask(address, "PUT", f"{todo.uid.value}.ics", body=one.serialize())[0] == 201
    name = f"{whole.vtodo_list[0].uid.value}.ics"
    text = ask(address, "GET", name)[1]
    done = text.replace("STATUS:NEEDS-ACTION", "STATUS:COMPLETED")
    done = done.replace("END:VTODO", "COMPLETED:20271027T080000Z\r\nEND:VTODO")
    assert ask(address, "PUT", name, body=done)[0] in (201, 204)
    calendar = Collection(address, Login(USER, "spoon"))
    for _ in range(2):
        published = publish(tmp_path, calendar)
        assert not published.clashes and not published.deleted
    assert "STATUS:COMPLETED" in ask(address, "GET", name)[1]
    assert "COMPLETED:20271027T080000Z" in ask(address, "GET", name)[1]


def events(data: bytes) -> list[Any]:
    return list(vobject.readOne(io.StringIO(data.decode())).vevent_list)


def replaces(store: Store, new: list[Any]) -> Store:
    """As Google on the web, Evolution and khal."""
    kept = {event.uid.value: event for event in store} | {e.uid.value: e for e in new}
    return list(kept.values())


def skips_known(store: Store, new: list[Any]) -> Store:
    """As Thunderbird, and Nextcloud on the web."""
    known = {event.uid.value for event in store}
    return store + [event for event in new if event.uid.value not in known]


def refuses_all(store: Store, new: list[Any]) -> Store:
    """As GNOME Calendar: one known entry spoils the import."""
    known = {event.uid.value for event in store}
    return store if known & {event.uid.value for event in new} else store + new


def adds_again(store: Store, new: list[Any]) -> Store:
    """As Outlook, and some programs on Android."""
    return store + new


def takes_newer(store: Store, new: list[Any]) -> Store:
    """As some programs on Android: only what has a later LAST-MODIFIED."""
    kept = {event.uid.value: event for event in store}
    for event in new:
        old = kept.get(event.uid.value)
        if old is None or event.last_modified.value > old.last_modified.value:
            kept[event.uid.value] = event
    return list(kept.values())


def takes_first(store: Store, new: list[Any]) -> Store:
    """As some programs on Android: the first entry of a file only."""
    return store + new[:1]


def subscribes(store: Store, new: list[Any]) -> Store:
    """What the feed no longer has goes; the rest by LAST-MODIFIED."""
    there = {event.uid.value for event in new}
    return takes_newer([event for event in store if event.uid.value in there], new)


def is_right(store: Store, data: bytes) -> bool:
    """Whether the program shows what the file holds, no more and no less."""
    shown = sorted((e.uid.value, e.status.value, str(e.dtstart.value)) for e in store)
    return shown == sorted(
        (e.uid.value, e.status.value, str(e.dtstart.value)) for e in events(data)
    )


MODELS: list[tuple[Callable[[Store, list[Any]], Store], bool, bool, str]] = [
    (replaces, True, True, "Google, on the web: replaces what it knows"),
    (replaces, True, True, "Evolution replaces"),
    (skips_known, False, True, "Thunderbird: skips what it knows, so nothing moves"),
    (skips_known, False, True, "Nextcloud, on the web: refuses what it knows, so nothing moves"),
    (refuses_all, False, True, "GNOME Calendar: one known entry, and it refuses the whole file"),
    (adds_again, False, True, "Outlook: everything twice"),
    (adds_again, False, True, "some add everything again"),
    (takes_newer, True, True, "some programs replace what is newer"),
    (takes_first, False, False, "some take only the first entry of the file"),
    (subscribes, True, True, "Sessions that are gone vanish"),
]


@pytest.mark.parametrize(("take", "updated", "emptied", "promise"), MODELS)
def test_the_help_says_what_a_second_import_does(
    take: Callable[[Store, list[Any]], Store],
    updated: bool,
    emptied: bool,
    promise: str,
    versions: tuple[bytes, bytes],
) -> None:
    before, after = versions
    assert promise in " ".join(FOLDER_ADVICE.split())
    first = take([], events(before))
    assert is_right(first, before) == (take is not takes_first)
    assert is_right(take(first, events(before)), before) == (take not in (adds_again, takes_first))
    assert is_right(take(first, events(after)), after) == updated
    assert is_right(take([], events(after)), after) == emptied


def test_what_does_not_move_in_programs_that_skip(versions: tuple[bytes, bytes]) -> None:
    before, after = (events(data) for data in versions)
    shown = {event.uid.value: event for event in skips_known(before, after)}
    old = {event.uid.value: event for event in before}
    assert shown[SECOND_UID].dtstart.value == old[SECOND_UID].dtstart.value
    assert shown[FIRST_UID].status.value != "CANCELLED"
