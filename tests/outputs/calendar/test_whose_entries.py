"""Whose an entry on a calendar server is: only what a season's own record tells is deleted, and no
other season's entry is changed unasked. Against a real server (RFC 4791) on this computer."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from outputs.calendar.answering_server import EVENT, answering, calendar_of, multistatus, response
from outputs.calendar.dav_server import USER, ask, calendar_server
from outputs.written_plans import make_library, make_plan, make_season, plan_data
from typer.testing import CliRunner

from harvestplan.commands.cli import app
from harvestplan.errors import FilesNeedMending
from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.calendar_files import calendar_files
from harvestplan.outputs.calendar.edits import Altered
from harvestplan.outputs.calendar.entry import entry_uid
from harvestplan.outputs.calendar.kinds import KINDS
from harvestplan.outputs.calendar.merging import MARK
from harvestplan.outputs.calendar.publish import Done, NotOurs, publish, read_both
from harvestplan.outputs.calendar.publish_text import published_text
from harvestplan.outputs.calendar.server import Login, ServerRefused
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.file import read_plan
from harvestplan.plan.file_names import LEDGER, SEASON_ID
from harvestplan.plan.season_id import SeasonId, keep_season_id, season_id

HERS, HIS = SeasonId("a" * 32), SeasonId("b" * 32)
OLD_MARK = str(uuid.uuid5(uuid.NAMESPACE_URL, "Miller|2027"))
"""Marks of before seasons had ids were written like this."""
SECOND_UID = "00000002-6a52-5c64-9f3c-5a1f0c3c9d11"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with calendar_server(tmp_path_factory.mktemp("dav")) as address:
        yield address


@pytest.fixture(autouse=True)
def login(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the command finds it."""
    monkeypatch.setenv("HARVESTPLAN_CALDAV_USER", USER)
    monkeypatch.setenv("HARVESTPLAN_CALDAV_PASSWORD", "spoon")


@pytest.fixture
def address(server: str, request: pytest.FixtureRequest) -> str:
    """A calendar of its own for each test."""
    own = server.replace("preserving/", f"{request.node.name}/")
    assert ask(own, "MKCALENDAR")[0] == 201
    return own


def at(address: str) -> Collection:
    return Collection(address, Login(USER, "spoon"))


def put(out: Path, collection: Collection, **more: Any) -> Done:
    """Every kind of entry."""
    return publish(out, collection, holds=tuple(KINDS), **more)


def pull(out: Path, collection: Collection) -> list[Altered]:
    return read_both(out, collection, read_plan(out / "plan.json")).changes()


def write(out: Path, own: SeasonId | None = None, data: dict[str, Any] | None = None) -> None:
    plan = make_plan(data=data)
    write_outputs(plan, make_season(plan.season.timezone), make_library(), out=out, own=own)


def named(session: str) -> dict[str, Any]:
    """The plan with sessions of these names, as each season gives them."""
    text = json.dumps(plan_data())
    return json.loads(text.replace("-6a52-5c64-9f3c-", f"-6a52-5c64-{session}-"))


def fewer(data: dict[str, Any]) -> dict[str, Any]:
    """The same without its last session and without picks."""
    return data | {"sessions": data["sessions"][:-1], "picks": []}


def there(address: str) -> dict[str, str]:
    return {Path(each.path).stem: each.data.decode() for each in at(address).read()}


def begin_anew(out: Path) -> None:
    """Forget the calendar that was written, so that what is gone leaves no trace in it."""
    (out / "sessions.ics").unlink()


def as_before_ids(out: Path, address: str) -> None:
    """The folder and its calendar as they were before seasons had ids."""
    code = season_id(out).code
    for name, text in there(address).items():
        assert code in text
        assert ask(address, "PUT", f"{name}.ics", body=text.replace(code, OLD_MARK))[0] in (
            201,
            204,
        )
    (out / SEASON_ID).unlink()


def test_two_seasons_of_one_household_and_year_in_one_calendar(
    tmp_path: Path, address: str
) -> None:
    hers, his = tmp_path / "hers", tmp_path / "his"
    write(hers, HERS)
    write(his, HIS, named("aaaa"))
    put(hers, at(address))
    first = there(address)
    done = put(his, at(address))
    assert not (done.updated or done.deleted or done.unchanged or done.unread)
    second = there(address)
    assert {uid: second[uid] for uid in first} == first
    assert set(done.others) == first.keys()
    assert f"{len(first)} of another season stand there too" in published_text(done, "", False)
    assert len(second) == len(first) + len(done.created)
    begin_anew(his)
    write(his, HIS, fewer(named("aaaa")))
    assert set(put(his, at(address)).deleted) <= second.keys() - first.keys()
    assert {uid: there(address)[uid] for uid in first} == first
    again = put(hers, at(address))
    assert set(again.unchanged) == set(first)


def test_a_persons_copy_of_a_session_is_hers(tmp_path: Path, address: str) -> None:
    """With our mark in it, a name of its own, and another occasion for a title."""
    write(tmp_path, HERS)
    put(tmp_path, at(address))
    text = there(address)[SECOND_UID]
    copy = text.replace(SECOND_UID, "dinner").replace("SUMMARY:Broccoli", "SUMMARY:Birthday, not")
    assert ask(address, "PUT", "dinner.ics", body=copy)[0] == 201
    begin_anew(tmp_path)
    write(tmp_path, HERS, fewer(plan_data()))
    done = put(tmp_path, at(address))
    assert SECOND_UID in done.deleted and "dinner" not in done.deleted
    assert HERS.code in there(address)["dinner"]


def test_what_is_deleted_is_named(tmp_path: Path, address: str) -> None:
    write(tmp_path / "out", HERS)
    put(tmp_path / "out", at(address))
    begin_anew(tmp_path / "out")
    write(tmp_path / "out", HERS, fewer(plan_data()))
    words = ["publish", address, "--in", str(tmp_path), "--only", "sessions,garden,shopping"]
    asked = CliRunner().invoke(app, [*words, "--dry-run"])
    assert "Would be deleted there:\n" in asked.output
    told = json.loads(CliRunner().invoke(app, [*words, "--dry-run", "--json"]).output)
    assert SECOND_UID in told["deleted"] and "titles" not in told
    said = CliRunner().invoke(app, words)
    assert "Deleted there:\n" in said.output
    assert "  Broccoli and winter squash, 18 bags (2027-11-09 18:00)" in said.output
    assert "  Snap beans 14 oz: pick this week (2027-11-01)" in said.output
    assert said.output.count("\n  ") == len(told["deleted"])


def test_a_season_begun_before_there_were_ids_keeps_its_entries(
    tmp_path: Path, address: str
) -> None:
    """It gets an id with its next plan, or where it is published first; no name changes."""
    for number, plan_first in enumerate((True, False)):
        out = tmp_path / str(number)
        write(out)
        own = f"{address}../before-{number}/".replace(f"{Path(address).name}/../", "")
        assert ask(own, "MKCALENDAR")[0] == 201
        put(out, at(own))
        as_before_ids(out, own)
        before = there(own)
        if plan_first:
            write(out, season_id(out))
            assert season_id(out) == season_id(out)
        done = put(out, at(own))
        assert not (done.created or done.updated or done.deleted or done.unread)
        assert there(own) == before
        kept = season_id(out)
        assert kept.by_name and kept.code != OLD_MARK
        begin_anew(out)
        write(out, kept, fewer(plan_data()))
        done = put(out, at(own))
        assert SECOND_UID in done.deleted and not done.created
        assert there(own).keys() == before.keys() - set(done.deleted)


def test_two_seasons_of_before_there_were_ids_do_not_change_each_other(
    tmp_path: Path, address: str
) -> None:
    """Their entries bear the same names, so the second asks, and says the way out."""
    hers, his = tmp_path / "hers" / "out", tmp_path / "his" / "out"
    write(hers)
    put(hers, at(address))
    before = there(address)
    write(his)
    with pytest.raises(NotOurs, match="calendar of its own"):
        put(his, at(address))
    as_before_ids(hers, address)
    before = there(address)
    with pytest.raises(NotOurs, match=r"Broccoli and winter squash"):
        put(his, at(address))
    assert there(address) == before and not (his / LEDGER).exists()
    assert not put(hers, at(address)).unread
    words = ["publish", address, "--in", str(his.parent), "--only", ",".join(KINDS)]
    assert CliRunner().invoke(app, words).exit_code == 1
    assert CliRunner().invoke(app, [*words, "--yes"]).exit_code == 0
    assert put(his, at(address)).unchanged


def test_another_seasons_mark_outweighs_the_record(tmp_path: Path, address: str) -> None:
    """A record may come from a copied folder; the mark is what the server has."""
    hers, his = tmp_path / "hers", tmp_path / "his"
    write(hers, HERS)
    put(hers, at(address))
    write(his, HIS, fewer(plan_data()))
    (his / LEDGER).write_bytes((hers / LEDGER).read_bytes())
    before = there(address)
    for read in (publish, pull):
        with pytest.raises(NotOurs):
            read(his, at(address))
    assert there(address) == before


def test_a_server_that_drops_our_mark(tmp_path: Path, address: str) -> None:
    """What is named by the season's id is its own, with or without a record."""
    write(tmp_path, HERS, named("aaaa"))
    put(tmp_path, at(address))
    for name, text in there(address).items():
        bare = "".join(line for line in text.splitlines(True) if MARK not in line)
        assert ask(address, "PUT", f"{name}.ics", body=bare)[0] in (201, 204)
    (tmp_path / LEDGER).unlink()
    done = put(tmp_path, at(address))
    assert len(done.unchanged) == len(there(address)) and not done.created


def test_no_answer_makes_us_write_elsewhere(tmp_path: Path) -> None:
    """The collection, another one, another host: neither deleted nor put over (RFC 4918, 8.3)."""
    write(tmp_path, HERS)
    ours = (tmp_path / "sessions.ics").read_text(encoding="utf-8").replace("\n", "\r\n")
    gone = EVENT.replace("UID:1", "UID:gone")
    wrong = []
    with answering(207, b"") as server:
        (tmp_path / LEDGER).write_text(json.dumps({server.address: {"gone": "2027-11-09"}}))
        for href in ("", "/cal/", "/cal/%2e%2e/other/x.ics", "https://else.example/cal/x.ics"):
            for data in (gone, ours):
                body = response(href, data)
                server.answer = (
                    207,
                    multistatus(body if href else body.replace("<href></href>", "")),
                )
                server.asked.clear()
                try:
                    put(tmp_path, at(server.address))
                    wrong.append((href, "was believed"))
                except ServerRefused:
                    wrong += [(href, asked) for asked in server.asked[1:]]
        server.answer = (207, calendar_of({"x.ics": gone}))
        put(tmp_path, at(server.address))
        assert "DELETE /cal/x.ics" in server.asked, "the test sees what it is for"
    assert not wrong


ODD = [
    "DTSTART:garbage",
    "DTSTART:99991231T235959Z",
    "DTSTART:00010101T000000",
    "DTSTART:00010101",
    "DTSTART;TZID=Asia/Tokyo:00010101T000000",
    "DTSTART;TZID=America/Denver:99991231T235959",
    "SEQUENCE:" + "9" * 5000,
    "SEQUENCE:2147483647",
    "SEQUENCE:-1",
    "SEQUENCE:x",
    "SUMMARY:a\r\nSUMMARY:b",
]


def test_odd_values_of_our_own_entry(tmp_path: Path) -> None:
    """Told and put right, whatever a program made of it; an integer stays one (RFC 5545, 3.3.8)."""
    write(tmp_path, HERS)
    wrong = []
    for line in ODD:
        data = EVENT.replace("UID:1\r\n", f"UID:{SECOND_UID}\r\n{line}\r\n")
        with answering(207, calendar_of({"x.ics": data})) as server:
            (tmp_path / LEDGER).write_text(
                json.dumps({server.address: {SECOND_UID: "2027-11-10T01:00:00+00:00"}})
            )
            try:
                pull(tmp_path, at(server.address))
                done = put(tmp_path, at(server.address))
            except Exception as error:
                wrong.append((line[:30], repr(error)[:200]))
                continue
            if done.updated != [SECOND_UID] or "PUT /cal/x.ics" not in server.asked:
                wrong.append((line[:30], server.asked))
    assert not wrong


def test_the_id_is_made_once(tmp_path: Path) -> None:
    first, other = season_id(tmp_path), season_id(tmp_path)
    assert first.code != other.code and not first.by_name
    keep_season_id(tmp_path, first)
    keep_season_id(tmp_path, other)
    assert season_id(tmp_path) == first


def test_names_of_before_there_were_ids() -> None:
    """As the program made them then (RFC 9562, 5.5): they stand in people's calendars."""
    data = plan_data()
    data["shopping"] = [line for line in data["shopping"] if line["kind"] == "pouch"]
    plan = make_plan(data=data)
    assert entry_uid(plan, None, "order|pouch|8x10|1") == "55450c2b-0d73-5b6a-a905-2b6fd4c51da1"
    old = calendar_files(plan, make_season(), make_library())
    assert b"UID:55450c2b-0d73-5b6a-a905-2b6fd4c51da1" in old["shopping.ics"]
    new = calendar_files(plan, make_season(), make_library(), seed=HERS.seed)
    uids = [set(re.findall(rb"(?m)^UID:(\S+)", b"".join(each.values()))) for each in (old, new)]
    assert uids[0] & uids[1] == {session.uid.encode() for session in plan.sessions}


@pytest.mark.parametrize("name", ["plan.json", "sessions.ics", LEDGER])
def test_a_season_begun_without_an_id(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("{}")
    assert season_id(tmp_path).by_name


def test_a_torn_id_is_named(tmp_path: Path) -> None:
    torn = [b"", b"{", b"[]", b"1", b"{}", b'{"id": 1}', b'{"id": "AB"}', b"\xff", b"[" * 999]
    for data in torn:
        (tmp_path / SEASON_ID).write_bytes(data)
        with pytest.raises(FilesNeedMending, match=SEASON_ID):
            season_id(tmp_path)
