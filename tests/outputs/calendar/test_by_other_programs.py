"""What a household does in its own calendar, done by programs of others: khal and vdirsyncer on a
copy that is synced with a real server of either make, or raw requests. None of our code is on that
side; ours publishes and pulls."""

from __future__ import annotations

import datetime as dt
import io
import os
import re
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import vobject
from calendar_tools import need
from outputs.calendar.dav_server import MAKES, USER, ask, calendar_server
from outputs.written_plans import make_library, make_plan, make_season, plan_data

from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.edits import Altered
from harvestplan.outputs.calendar.kinds import KINDS
from harvestplan.outputs.calendar.publish import Done, publish
from harvestplan.outputs.calendar.publish_text import published_text
from harvestplan.outputs.calendar.pulled import MostAreGone, NothingPutThere, Taken, take_in
from harvestplan.outputs.calendar.server import Login
from harvestplan.outputs.write_all import write_outputs

FIRST = "00000001-6a52-5c64-9f3c-5a1f0c3c9d11"
SECOND = "00000002-6a52-5c64-9f3c-5a1f0c3c9d11"
ON = dt.date(2027, 10, 25)
SEASON = """\
[household]
name = "Miller"
timezone = "America/Denver"
[season]
start = 2027-05-01
end = 2027-12-31
"""
KHAL = """[calendars]
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
VDIRSYNCER = """[general]
status_path = "{home}/status/"
[pair season]
a = "phone"
b = "server"
collections = null
conflict_resolution = "a wins"
[storage phone]
type = "filesystem"
path = "{items}"
fileext = ".ics"
[storage server]
type = "caldav"
url = "{address}"
username = "household"
password = "spoon"
"""


class Phone:
    """A copy of the calendar under `home`, which khal shows and vdirsyncer syncs."""

    def __init__(self, home: Path, address: str) -> None:
        self.home, self.items = home, home / "items"
        self.items.mkdir(parents=True)
        (home / "config" / "khal").mkdir(parents=True)
        (home / "config" / "khal" / "config").write_text(KHAL.format(items=self.items))
        told = VDIRSYNCER.format(home=home, items=self.items, address=address)
        (home / "settings").write_text(told)
        self._run(*need("vdirsyncer"), "-c", "settings", "discover")
        self.sync()

    def _run(self, *words: str) -> str:
        env = os.environ | {"HOME": str(self.home), "LC_ALL": "C.UTF-8", "PYTHONPATH": ""}
        for name in ("CONFIG", "DATA", "CACHE", "STATE"):
            env[f"XDG_{name}_HOME"] = str(self.home / name.lower())
        done = subprocess.run(
            words, env=env, cwd=self.home, capture_output=True, text=True, timeout=600
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout

    def sync(self, emptied: bool = False) -> None:
        force = ["--force-delete"] if emptied else []
        self._run(*need("vdirsyncer"), "-c", "settings", "sync", *force)

    def shows(self, day: str) -> str:
        return self._run(*need("khal"), "list", day, "1d")

    def text(self, uid: str) -> str:
        (path,) = (p for p in self.items.glob("*.ics") if f"UID:{uid}" in p.read_text("utf-8"))
        return re.sub(r"\r?\n ", "", path.read_text("utf-8"))

    def take(self, text: str) -> None:
        """khal reads it in, and it is synced."""
        (self.home / "one.ics").write_text(text, encoding="utf-8")
        self._run(*need("khal"), "import", "--batch", "-a", "season", "one.ics")
        for stray in self.items.glob("*tmp*"):
            stray.unlink()
        self.sync()

    def change(self, uid: str, *changes: tuple[str, str]) -> None:
        """Lines of an entry changed, as a calendar program writes them, and synced."""
        text = self.text(uid)
        head, _, event = text.partition("BEGIN:VEVENT")
        for pattern, new in changes:
            event, count = re.subn(pattern, new.replace("\\", "\\\\"), event, count=1)
            assert count, pattern
        self.take(f"{head}BEGIN:VEVENT{event}")


@dataclass(frozen=True)
class Household:
    """A season folder with a plan, and a calendar on a server with a phone synced to it."""

    folder: Path
    address: str
    phone: Phone

    @property
    def out(self) -> Path:
        return self.folder / "out"

    @property
    def calendar(self) -> Collection:
        return Collection(self.address, Login(USER, "spoon"))

    def plan(self, data: dict[str, Any] | None = None) -> None:
        plan = make_plan(data=data)
        write_outputs(plan, make_season(), make_library(), out=self.out)

    def put(self, **more: Any) -> Done:
        return publish(self.out, self.calendar, holds=tuple(KINDS), **more)

    def pull(self, **more: Any) -> list[Taken]:
        return take_in(self.folder, self.calendar, ON, **more)

    def diary(self) -> list[str]:
        path = self.folder / "diary.txt"
        lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        return [re.sub(r" #\w+$", "", line) for line in lines]

    def there(self) -> dict[str, Any]:
        found = {}
        for resource in self.calendar.read():
            event = vobject.readOne(io.StringIO(resource.data.decode())).vevent
            found[event.uid.value] = event
        return found


@pytest.fixture(scope="module", params=MAKES)
def server(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav"), request.param) as address:
        yield address


@pytest.fixture
def house(server: str, tmp_path: Path, request: pytest.FixtureRequest) -> Household:
    name = request.node.name.replace("[", "-").strip("]")
    address = server.replace("preserving/", f"{name}/")
    assert ask(address, "MKCALENDAR")[0] == 201
    folder = tmp_path / "season"
    folder.mkdir()
    (folder / "season.toml").write_text(SEASON)
    house = Household(folder, address, None)  # type: ignore[arg-type]
    house.plan()
    house.put()
    return Household(folder, address, Phone(tmp_path / "phone", address))


def later(**more: Any) -> dict[str, Any]:
    return plan_data() | {"made_at": "2027-10-26T08:00:00-06:00"} | more


def bigger() -> dict[str, Any]:
    """The second session with more of it, so that the plan has news of its entry."""
    data = later()
    data["sessions"][1]["runs"][0]["pouches"] += 2
    data["sessions"][1] |= {"sequence": 1, "end": "2027-11-09T20:45:00-07:00"}
    return data


def altered(taken: list[Taken]) -> list[Altered]:
    return [each.move for each in taken]


def test_a_an_emptied_calendar_takes_no_evening(house: Household) -> None:
    for path in house.phone.items.iterdir():
        path.unlink()
    house.phone.sync(emptied=True)
    assert not house.there()
    with pytest.raises(MostAreGone, match="2 are gone"):
        house.pull()
    assert not house.diary()
    done = house.put()
    assert len(done.created) == len(done.put_back) > 2 and not done.unread
    assert house.there().keys() >= {FIRST, SECOND}
    house.phone.sync()
    assert "Snap beans, 12 bags" in house.phone.shows("2027-10-28")


def test_c_a_copy_of_a_session_stays(house: Household) -> None:
    """A UID of its own, our mark in it; the plan drops the session."""
    text = house.phone.text(SECOND)
    house.phone.take(text.replace(f"UID:{SECOND}", "UID:birthday").replace("Broccoli", "Birthday"))
    data = later()
    data["sessions"][1] |= {"status": "cancelled", "sequence": 1, "runs": [], "tasks": []}
    house.plan(data)
    done = house.put()
    assert done.deleted == [SECOND] and "birthday" in house.there()
    assert any("Birthday" in title for title in done.strays)
    house.phone.sync()
    assert "Birthday" in house.phone.shows("2027-11-09")


ALARM = "BEGIN:VALARM\nACTION:DISPLAY\nDESCRIPTION:Go\nTRIGGER:-PT10M\nEND:VALARM\n"


def test_d_what_the_household_adds_stays(house: Household) -> None:
    """Place, note, attendee, attachment, alarm; the plan has news of title, text and end."""
    own = (
        "ATTENDEE;CN=Ida:mailto:ida@example.org\nATTACH:https://example.org/pot.jpg\nX-OWN:yes\n"
        f"{ALARM}END:VEVENT"
    )
    house.phone.change(
        SECOND,
        ("LOCATION:Kitchen", "LOCATION:At Ida's"),
        ("this line stay ---", "this line stay ---\\nBring the big pot\\, please"),
        ("COLOR:seagreen", "COLOR:tomato"),
        ("END:VEVENT", own),
    )
    assert house.pull() == []
    quiet = house.put()
    assert not (quiet.created or quiet.updated or quiet.deleted)
    house.plan(bigger())
    done = house.put()
    assert done.updated == [SECOND] and not done.overwritten
    event = house.there()[SECOND]
    assert event.summary.value == "Broccoli and winter squash, 20 bags"
    assert event.location.value == "At Ida's" and event.color.value == "tomato"
    assert event.description.value.endswith("this line stay ---\nBring the big pot, please")
    assert "10 bags of 12 oz" in event.description.value
    assert event.attendee.value == "mailto:ida@example.org" and event.x_own.value == "yes"
    assert event.attach.value == "https://example.org/pot.jpg"
    assert dt.timedelta(minutes=-10) in [alarm.trigger.value for alarm in event.valarm_list]
    house.phone.sync()
    assert "At Ida's" in house.phone.text(SECOND)


def test_d_another_end_is_named_and_left(house: Household) -> None:
    house.phone.change(
        SECOND, (r"DTEND([^\n]*)T203000", "DTEND;TZID=America/Denver:20271109T193000")
    )
    (change,) = altered(house.pull())
    assert change.what == "longer or shorter" and "another end" in str(change)
    assert not house.diary()
    assert not house.put().updated and house.there()[SECOND].dtend.value.hour == 19
    house.plan(bigger())
    done = house.put()
    assert "the end it was given there" in done.overwritten[SECOND]
    assert "Gave way" in published_text(done, house.address, False)


def test_d_a_cancelled_session_is_a_wish(house: Household) -> None:
    house.phone.change(SECOND, ("STATUS:CONFIRMED", "STATUS:CANCELLED"))
    assert [change.what for change in house.put().unread] == ["cancelled"]
    (taken,) = house.pull()
    assert taken.line is not None and "keep free 2027-11-09" in taken.line
    assert house.diary() == ["2027-10-25 keep free 2027-11-09"]
    done = house.put(waiting={SECOND})
    assert done.waiting == [SECOND] and house.there()[SECOND].status.value == "CANCELLED"


def test_d_a_whole_day_and_a_repeating_session_are_named(house: Household) -> None:
    house.phone.change(
        FIRST,
        (r"DTSTART[^\n]*", "DTSTART;VALUE=DATE:20271030"),
        (r"DTEND[^\n]*", "DTEND;VALUE=DATE:20271031"),
    )
    house.phone.change(SECOND, ("END:VEVENT", "RRULE:FREQ=WEEKLY;COUNT=3\nEND:VEVENT"))
    unread = house.put().unread
    assert [change.what for change in unread] == ["all day"]
    found = {change.uid: change for change in altered(house.pull())}
    assert "whole of 2027-10-30, without a time" in str(found[FIRST])
    assert "the plan heeds the first time alone" in str(found[SECOND])
    assert not house.diary()
    done = house.put()
    assert [change.uid for change in done.put_back] == [FIRST]
    assert "A session begins at a time of day" in published_text(done, house.address, False)
    assert house.there()[FIRST].dtstart.value.hour == 18
    assert house.there()[SECOND].rrule.value == "FREQ=WEEKLY;COUNT=3"


def move(house: Household) -> None:
    """The second session to the evening before, in another zone."""
    house.phone.change(
        SECOND,
        (r"DTSTART[^\n]*", "DTSTART:20271109T010000Z"),
        (r"DTEND[^\n]*", "DTEND:20271109T033000Z"),
        (r"SEQUENCE:\d+", "SEQUENCE:1"),
    )


def test_d_a_moved_session_is_told_in_the_household_s_zone(house: Household) -> None:
    move(house)
    (taken,) = house.pull()
    assert "(planned for 2027-11-09 18:00): moved to 2027-11-08 18:00" in str(taken.move)
    assert house.diary() == ["2027-10-25 moved session 2027-11-09 18:00 to 2027-11-08 18:00"]


def test_f_without_the_record_a_move_is_still_seen(house: Household) -> None:
    """The entry itself tells when we put it."""
    move(house)
    (house.out / "published.json").unlink()
    done = house.put(sure=True)
    assert [change.uid for change in done.unread] == [SECOND] and done.rebuilt
    assert not done.updated and house.there()[SECOND].dtstart.value.day == 8 + 1  # UTC
    said = published_text(done, house.address, False)
    assert "record of what was put there was lost" in said
    house.pull()
    assert house.diary() == ["2027-10-25 moved session 2027-11-09 18:00 to 2027-11-08 18:00"]


def test_f_where_the_entry_does_not_tell_it_nobody_is_overruled(house: Household) -> None:
    """A program that dropped our properties, and no record: it is said, and nothing is moved."""
    text = re.sub(r"X-HARVESTPLAN[^\n]*\n", "", house.phone.text(SECOND))
    house.phone.take(text)
    move(house)
    (house.out / "published.json").unlink()
    with pytest.raises(NothingPutThere, match="is lost"):
        for uid in house.there():
            bare(house, uid)
        house.pull(sure=True)
    done = house.put(sure=True)
    assert done.rebuilt and len(done.in_doubt) == 1 and not done.updated
    assert "the plan has it on 2027-11-09 18:00" in done.in_doubt[0]
    assert house.there()[SECOND].dtstart.value.day == 9 and not house.diary()
    assert "nobody can tell who moved" in published_text(done, house.address, False)


def bare(house: Household, uid: str, *more: str) -> None:
    """The entry without our own properties and those named, by a raw request."""
    (resource,) = (r for r in house.calendar.read() if uid.encode() in r.data)
    text = re.sub(r"\r?\n ", "", resource.data.decode())
    for name in ("X-HARVESTPLAN[^:]*", *more):
        text = re.sub(rf"(?m)^{name}[:;].*\r?\n", "", text)
    name = resource.path.rpartition("/")[2]
    assert ask(house.address, "PUT", name, body=text)[0] in (200, 201, 204)


def test_i_a_server_that_drops_what_it_does_not_know(house: Household) -> None:
    """CATEGORIES, COLOR, our own properties: the same plan again writes nothing."""
    for uid in house.there():
        bare(house, uid, "CATEGORIES", "COLOR", "TRANSP")
    before = {r.path: r.etag for r in house.calendar.read()}
    done = house.put()
    assert not (done.created or done.updated or done.deleted or done.put_back)
    assert {r.path: r.etag for r in house.calendar.read()} == before
    house.plan(bigger())
    assert house.put().updated == [SECOND]


def test_ends_are_whole_minutes(house: Household) -> None:
    data = later()
    data["sessions"][1] |= {"end": "2027-11-09T20:29:13-07:00", "sequence": 1}
    house.plan(data)
    house.put()
    house.phone.sync()
    assert not re.findall(r"DT(?:START|END)[^\n]*T\d{4}(?!00)\d\d", house.phone.text(SECOND))
    assert "18:00-20:30" in house.phone.shows("2027-11-09")
