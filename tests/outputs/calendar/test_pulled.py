"""What the household moves and deletes in its own calendar, there and back again."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from outputs.calendar.answering_server import (
    Server,
    answering,
    calendar_of,
    multistatus,
    response,
)
from outputs.calendar.dav_server import USER, ask, calendar_server
from outputs.calendar.home_calendar import SEASON, SPRING, Home
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.outputs.calendar.publish_text import published_text, taken_text
from harvestplan.outputs.calendar.pulled import MostAreGone, NothingPutThere
from harvestplan.outputs.calendar.server import ServerRefused
from harvestplan.outputs.terminal.plan_changes import changes_text
from harvestplan.plan.models import Session
from harvestplan.records.diary import append_event, read_diary, undo

CALENDARS = ("sessions.ics", "garden.ics", "shopping.ics", "tasks.ics")


def made_in(session: Session) -> set[tuple[str, int]]:
    return {(run.product, run.pouches) for run in session.runs}


@pytest.fixture(autouse=True)
def login(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the command finds it."""
    monkeypatch.setenv("HARVESTPLAN_CALDAV_USER", USER)
    monkeypatch.setenv("HARVESTPLAN_CALDAV_PASSWORD", "spoon")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav")) as address:
        yield address


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The season and its first plan, made once; files by name."""
    folder = tmp_path_factory.mktemp("first")
    (folder / "season.toml").write_text(SEASON, encoding="utf-8")
    Home(folder, "").plan_again()
    files = [*folder.glob("*.toml"), *(folder / "out" / n for n in ("plan.json", *CALENDARS))]
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


@pytest.fixture
def home(
    planned: dict[str, bytes], server: str, tmp_path: Path, request: pytest.FixtureRequest
) -> Home:
    (tmp_path / "out").mkdir()
    for name, data in planned.items():
        (tmp_path / name).write_bytes(data)
    own = server.replace("preserving/", f"{request.node.name}/")
    assert ask(own, "MKCALENDAR")[0] == 201
    home = Home(tmp_path, own)
    home.put()
    return home


def test_moved_stays_where_put_deleted_is_free_nothing_else_moves(home: Home) -> None:
    first = home.live()
    moved, gone = home.movable(), first[-1]
    start = moved.start + dt.timedelta(days=1, hours=1, minutes=30)
    home.on_phone(moved, start)
    home.on_phone(gone, None)
    lines = {taken.line for taken in home.pull()}
    assert None not in lines
    assert sorted(home.diary()) == [
        f"2027-04-01 keep free {gone.start:%Y-%m-%d}",
        f"2027-04-01 moved session {moved.start:%Y-%m-%d %H:%M} to {start:%Y-%m-%d %H:%M}",
    ]
    waits = home.put()
    assert sorted(waits.waiting) == sorted([moved.uid, gone.uid]) and not waits.put_back
    before = home.plan
    made = home.plan_again()
    assert "No finding" in home.findings()
    now = {session.uid: session for session in home.live()}
    there = now[moved.uid]
    assert there.start == there.window_start == start
    assert there.sequence == moved.sequence + 1
    assert made_in(there) == made_in(moved)
    assert all(session.start.date() != gone.start.date() for session in home.live())
    for session in (s for s in first if s.uid not in (moved.uid, gone.uid)):
        assert (now[session.uid].start, made_in(now[session.uid])) == (
            session.start,
            made_in(session),
        )
    told = " ".join(changes_text(before, made).split())
    assert "where you put it" in told and "moved 2" in told
    phone = int(re.findall(r"SEQUENCE:(\d+)", home.server()[moved.uid])[0])
    done = home.put()
    assert not (done.clashes or done.put_back or done.waiting or done.unread)
    text = home.server()[moved.uid].replace("\r\n ", "")
    assert f"DTSTART:{start.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}" in text, "as the phone has it"
    assert phone <= int(re.findall(r"SEQUENCE:(\d+)", text)[0]) == there.sequence
    assert home.pull() == [] and len(home.diary()) == 2
    again = home.put()
    assert not (again.created or again.updated or again.deleted or again.clashes)
    assert home.plan_again() == made, "without news the plan stays"


def test_a_move_that_cannot_be_is_told_with_its_reason(home: Home) -> None:
    session = home.live()[1]
    start = session.start + dt.timedelta(days=60)
    append_event(
        home.folder,
        "moved",
        f"session {session.start:%Y-%m-%d %H:%M} to {start:%Y-%m-%d %H:%M}",
        on=SPRING,
    )
    made = home.plan_again()
    (said,) = [advice.message for advice in made.warnings if advice.code == "moved-session"]
    lots = {lot.id: lot for lot in home.plan.lots}
    last = max(lots[share.lot].keep_until for run in session.runs for share in run.lots)
    assert f"to {last.day} {last:%B}" in said and "It is planned anew" in said
    assert next(s for s in home.live() if s.uid == session.uid).start == session.start
    assert "No finding" in home.findings()


def test_a_session_dragged_out_of_the_season_is_explained_all_the_way(home: Home) -> None:
    """Where it is taken in, by the plan and its book, and where it is put back."""
    session = home.live()[0]
    home.on_phone(session, session.start.replace(month=4, day=20))
    (taken,) = home.pull()
    assert "outside the season (Sat 1 May to Sun 31 October 2027)" in taken.note
    assert taken.note in taken_text([taken], False)
    made = home.plan_again()
    (said,) = [advice.message for advice in made.warnings if advice.code == "moved-session"]
    assert "outside the season" in said
    book = (home.folder / "out" / "book.html").read_text(encoding="utf-8")
    assert "That day lies outside the season" in book
    done = home.put()
    assert [change.uid for change in done.put_back] == [session.uid]
    shown = published_text(done, home.address, False, made)
    assert "moved to 2027-04-20 18:00" in shown and "That day lies outside the season" in shown


def test_a_session_past_midnight_is_said_and_followed(home: Home) -> None:
    session = home.live()[0]
    start = session.start.replace(hour=22, minute=44)
    home.on_phone(session, start)
    (taken,) = home.pull()
    assert taken.note == "It would go on past midnight." and taken.line is not None
    home.plan_again()
    assert next(s for s in home.live() if s.uid == session.uid).start == start
    assert "No finding" in home.findings()


def test_a_firm_session_follows_the_household(home: Home) -> None:
    """The day before, the plan would not move it; the household may."""
    session = home.movable()
    eve = session.start.date() - dt.timedelta(days=1)
    start = session.start + dt.timedelta(days=1)
    append_event(
        home.folder,
        "moved",
        f"session {session.start:%Y-%m-%d %H:%M} to {start:%Y-%m-%d %H:%M}",
        on=eve,
    )
    home.plan_again(eve)
    now = next(s for s in home.live() if s.uid == session.uid)
    assert now.start == start and {r.product for r in now.runs} == {r.product for r in session.runs}
    home.plan_again(eve)
    assert next(s for s in home.live() if s.uid == session.uid).start == start


def test_moved_back_on_the_phone_takes_the_line_back(home: Home) -> None:
    session = home.live()[0]
    home.on_phone(session, session.start + dt.timedelta(days=1))
    home.pull()
    assert [taken.line for taken in home.pull()] == [None], "once is enough"
    assert len(read_diary(home.folder).events) == 1
    home.on_phone(session, session.start)
    (taken,) = home.pull()
    assert taken.line is not None and " undo #" in taken.line
    assert read_diary(home.folder).events == ()
    assert home.pull() == []


def test_a_line_taken_back_is_no_longer_waited_for(home: Home) -> None:
    session = home.live()[0]
    home.on_phone(session, session.start + dt.timedelta(days=1))
    home.pull()
    undo(home.folder, None, SPRING)
    done = home.put()
    assert not done.waiting and [move.uid for move in done.put_back] == [session.uid]


def test_what_is_no_session_is_only_told(home: Home) -> None:
    uids = set(home.server()) - {session.uid for session in home.live()}
    uid = sorted(uids)[0]
    assert ask(home.address, "DELETE", f"{uid}.ics")[0] == 200
    (taken,) = home.pull()
    assert taken.line is None and taken.move.uid == uid
    assert not home.diary()


@pytest.fixture
def answered(home: Home) -> Iterator[tuple[Home, Server]]:
    """The same home, whose calendar is at a server that answers what it is told to."""
    with answering(207, calendar_of(home.server())) as server:
        ledger = home.folder / "out" / "published.json"
        ledger.write_text(ledger.read_text().replace(home.address, server.address))
        yield Home(home.folder, server.address), server


HELD_BACK = "<response><href>/cal/</href><status>HTTP/1.1 507 Full</status></response>"

HOLLOW = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nEND:VCALENDAR\r\n"


def torn(entries: dict[str, str]) -> dict[str, bytes]:
    """Answers that lack the last entry, or all, and are no whole answers."""
    rest, (name, data) = list(entries.items())[:-1], list(entries.items())[-1]
    others, own = [response(f"/cal/{n}", d) for n, d in rest], response(f"/cal/{name}", data)
    return {
        "another document": b"<a/>",
        "a part held back": multistatus(*others, HELD_BACK),
        "all held back": multistatus(HELD_BACK),
        "one refused": multistatus(*others, own.replace("200 OK", "403 Forbidden")),
        "all refused": calendar_of(entries).replace(b"200 OK", b"403 Forbidden"),
        "one empty": multistatus(*others, response(f"/cal/{name}", "")),
        "one torn": multistatus(*others, response(f"/cal/{name}", data[:-40])),
        "one garbage": multistatus(*others, response(f"/cal/{name}", "garbage")),
        "one hollow": multistatus(*others, response(f"/cal/{name}", HOLLOW)),
        "one without a UID": multistatus(
            *others, response(f"/cal/{name}", data.replace("UID:", "X-UID:"))
        ),
        "all under another path": calendar_of(entries).replace(b"/cal/", b"/other/"),
        "one without a name": multistatus(*others, own.replace(f"<href>/cal/{name}</href>", "")),
        "cut off": calendar_of(entries)[:-500],
    }


def test_what_an_answer_that_is_not_whole_leaves_out_is_not_gone(
    answered: tuple[Home, Server],
) -> None:
    home, server = answered
    assert home.pull() == [], "the test sees what it is for"
    ledger = (home.folder / "out" / "published.json").read_bytes()
    believed = []
    for name, body in torn(home.server()).items():
        server.answer = (207, body)
        try:
            believed.append((name, len(home.pull())))
        except ServerRefused as error:
            assert "othing was taken from" in str(error)
        assert (home.folder / "out" / "published.json").read_bytes() == ledger
    assert not believed and not home.diary()


def test_an_emptied_calendar_is_asked_about(answered: tuple[Home, Server]) -> None:
    """All gone, or most: rather an accident than the wish to keep every evening free."""
    home, server = answered
    entries = home.server()
    words = ["publish", home.address, "--pull", "--as-of", "2027-04-01", "--in", str(home.folder)]
    ledger = (home.folder / "out" / "published.json").read_bytes()
    live = {session.uid for session in home.live()}
    entries = {uid: entries[uid] for uid in sorted(entries, key=lambda uid: uid not in live)}
    for kept in (0, 1):
        server.answer = (207, calendar_of(dict(list(entries.items())[:kept])))
        for more in ([], ["--json"], ["--dry-run"]):
            said = CliRunner().invoke(app, [*words, *more])
            assert said.exit_code == 1 and isinstance(said.exception, MostAreGone)
            assert f"Of the {len(live)} sessions" in str(said.exception)
            assert f", {len(live - set(list(entries)[:kept]))} are gone" in str(said.exception)
            assert "emptied" in str(said.exception)
        assert not home.diary()
        assert (home.folder / "out" / "published.json").read_bytes() == ledger
    server.answer = (207, multistatus())
    said = CliRunner().invoke(app, [*words, "--yes"])
    assert said.exit_code == 0 and len(home.diary()) == len(home.live())


def test_a_calendar_moved_as_a_whole_is_asked_about(answered: tuple[Home, Server]) -> None:
    """Every session an hour later, as an import under another zone makes it."""
    home, server = answered
    entries = home.server()
    moved = {
        uid: re.sub(
            r"(DT(?:START|END);TZID=America/Chicago:\d{8}T)(\d\d)",
            lambda found: f"{found[1]}{int(found[2]) + 1:02d}",
            text,
        )
        for uid, text in entries.items()
    }
    server.answer = (207, calendar_of(moved))
    with pytest.raises(MostAreGone, match=f"{len(home.live())} stand elsewhere"):
        home.pull()
    assert not home.diary()
    done = home.put()
    assert len(done.unread) == len(home.live()) and not done.put_back


def test_an_address_at_which_nothing_was_put(home: Home, server: str) -> None:
    """Nobody takes an empty calendar, or another one, for thirty wishes."""
    other = server.replace("preserving/", "elsewhere/")
    assert ask(other, "MKCALENDAR")[0] == 201
    with pytest.raises(NothingPutThere, match="nothing was put there yet") as caught:
        Home(home.folder, other).pull()
    assert home.address in str(caught.value) and not home.diary()


def test_half_of_the_sessions_gone_is_taken_in(answered: tuple[Home, Server]) -> None:
    home, server = answered
    entries, live = home.server(), {session.uid for session in home.live()}
    gone = sorted(live)[: len(live) // 2]
    server.answer = (207, calendar_of({n: e for n, e in entries.items() if n not in gone}))
    home.pull()
    assert len(home.diary()) == len(gone) > 1


def test_of_two_entries_one_may_go(answered: tuple[Home, Server]) -> None:
    """One alone is never most of them."""
    home, server = answered
    ledger = home.folder / "out" / "published.json"
    whole = json.loads(ledger.read_text())
    put = whole["calendars"][server.address]["sent"]
    first, second = sorted(session.uid for session in home.live())[:2]
    server.answer = (207, multistatus())
    whole["calendars"][server.address]["sent"] = {uid: put[uid] for uid in (first, second)}
    ledger.write_text(json.dumps(whole))
    with pytest.raises(MostAreGone, match=r"Of the 2 sessions .*, 2 are gone"):
        home.pull()
    whole["calendars"][server.address]["sent"] = {first: put[first]}
    ledger.write_text(json.dumps(whole))
    assert len(home.pull()) == 1


def test_a_session_at_no_time_that_can_be_told(answered: tuple[Home, Server]) -> None:
    """Whatever a program made of its start: said, and no line of the diary."""
    home, server = answered
    entries, uid = home.server(), home.live()[0].uid
    wrong = []
    for start in (
        ":garbage",
        ":99991231T235959Z",
        ":00010101T000000",
        ";TZID=Asia/Tokyo:00010101T0000",
    ):
        zone, begin, event = entries[uid].partition("BEGIN:VEVENT")
        event = re.sub(r"DTSTART[^\r\n]*", f"DTSTART{start}", event, count=1)
        server.answer = (207, calendar_of(entries | {uid: zone + begin + event}))
        try:
            (taken,) = home.pull()
        except Exception as error:
            wrong.append((start, repr(error)))
            continue
        if taken.line is not None or "moved to no day" not in str(taken.move):
            wrong.append((start, str(taken)))
    assert not wrong and not home.diary()


def test_all_gone_is_put_back_by_publishing(answered: tuple[Home, Server]) -> None:
    home, server = answered
    count = len(home.server())
    server.answer = (207, multistatus())
    done = home.put()
    assert len(done.created) == count == len(done.put_back)


def test_a_dry_run_writes_nothing(home: Home) -> None:
    home.on_phone(home.live()[0], None)
    ledger = (home.folder / "out" / "published.json").read_bytes()
    words = ["publish", home.address, "--pull", "--dry-run", "--as-of", "2027-04-01"]
    said = CliRunner().invoke(app, [*words, "--in", str(home.folder)])
    assert "would write: keep free 2027-0" in said.output
    assert not home.diary()
    assert (home.folder / "out" / "published.json").read_bytes() == ledger


def test_a_promised_session_gives_way_to_what_comes_between(home: Home) -> None:
    """Tomorrow's session, and now somebody else needs that evening: the plan must still be made."""
    session = home.movable()
    begin, end = (
        f"{moment.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}" for moment in (session.start, session.end)
    )
    busy = (
        "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//test//EN\nBEGIN:VEVENT\nUID:1\n"
        f"DTSTAMP:20270101T000000Z\nDTSTART:{begin}\nDTEND:{end}\nEND:VEVENT\nEND:VCALENDAR\n"
    )
    (home.folder / "family.ics").write_text(busy, encoding="utf-8")
    more = '[calendars]\nbusy = ["family.ics"]\n'
    (home.folder / "calendars.toml").write_text(more, encoding="utf-8")
    home.plan_again(session.start.date() - dt.timedelta(days=1))
    assert "No finding" in home.findings()
    assert all(other.start != session.start for other in home.live())
