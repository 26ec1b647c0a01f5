"""An answer of a calendar server is whole, or it is none (RFC 4918, 13; RFC 4791, 7.8)."""

from __future__ import annotations

import pytest
from outputs.calendar.answering_server import EVENT, multistatus, response

from harvestplan.outputs.calendar.multistatus import Incomplete, Resource, read_multistatus

GOOD = response("1.ics")
NO_TAG = GOOD.replace('<getetag>"7"</getetag>', "")
HELD_BACK = (
    "<response><href>/cal/</href><status>HTTP/1.1 507 Insufficient Storage</status></response>"
)
NOT_FOUND = "<response><href>2.ics</href><status>HTTP/1.1 404 Not Found</status></response>"
PART = (
    "<response><href>2.ics</href><propstat><prop><getetag/></prop>"
    "<status>HTTP/1.1 507 Insufficient Storage</status></propstat></response>"
)
ENTITY = '<!DOCTYPE a [<!ENTITY b "c">]><multistatus xmlns="DAV:">&b;</multistatus>'
BAD = {
    "nothing": b"",
    "torn": multistatus(GOOD)[:-20],
    "another root": b"<a/>",
    "a root of no name space": multistatus(GOOD).replace(b' xmlns="DAV:"', b""),
    "a page": b"<html><body>Log in</body></html>",
    "one held back": multistatus(GOOD, HELD_BACK),
    "a property held back": multistatus(GOOD, PART),
    "an entry not found": multistatus(GOOD, NOT_FOUND),
    "content refused": multistatus(GOOD, response("2.ics", status="HTTP/1.1 403 Forbidden")),
    "no status": multistatus(GOOD, response("2.ics", status="")),
    "a status that is none": multistatus(GOOD, response("2.ics", status="200 OK")),
    "no propstat": multistatus(GOOD, "<response><href>2.ics</href></response>"),
    "no href": multistatus(GOOD.replace("<href>1.ics</href>", "")),
    "an empty href": multistatus(response(" ")),
    "two hrefs": multistatus(GOOD.replace("<href>", "<href>2.ics</href><href>")),
    "one entry twice": multistatus(GOOD, GOOD),
    "empty content": multistatus(GOOD, response("2.ics", data="")),
    "torn content": multistatus(GOOD, response("2.ics", data=EVENT[:-20])),
    "other content": multistatus(GOOD, response("2.ics", data="garbage")),
    "no entity tag": multistatus(NO_TAG),
    "an empty entity tag": multistatus(response("1.ics", etag="")),
    "an entity tag of two lines": multistatus(response("1.ics", etag='"7\n8"')),
    "an entity tag that fits no header": multistatus(response("1.ics", etag='"\u2603"')),
    "an entity": ENTITY.encode(),
    "an entity in UTF-16": f'<?xml version="1.0" encoding="utf-16"?>{ENTITY}'.encode("utf-16"),
    "an encoding that is none": multistatus(GOOD).replace(b"utf-8", b"utf-99"),
    "an encoding of several bytes": multistatus(GOOD).replace(b"utf-8", b"utf-32"),
    "endless tags": multistatus("<a/>" * 600_000),
    "endless attributes": multistatus("<a " + " ".join(f'b{n}=""' for n in range(600_000)) + "/>"),
}


def test_an_answer_that_is_not_whole_is_refused() -> None:
    taken = []
    for name, body in BAD.items():
        try:
            taken.append((name, read_multistatus(body, str)))
        except Incomplete:
            continue
    assert not taken


def test_a_part_held_back_is_told() -> None:
    for body in (BAD["one held back"], BAD["a property held back"]):
        with pytest.raises(Incomplete, match="holds a part of it back"):
            read_multistatus(body, str)


def test_whole_answers() -> None:
    """Empty ones too; and what else a server says of its own accord is passed over."""
    assert read_multistatus(multistatus(), str) == []
    assert read_multistatus('<D:multistatus xmlns:D="DAV:"/>'.encode("utf-16"), str) == []
    more = (
        "<propstat><prop><x/></prop><status>HTTP/1.1 404 Not Found</status></propstat></response>"
    )
    body = multistatus(
        GOOD.replace("</response>", more),
        response("2.ics", etag='W/"8"'),
        "<responsedescription>all</responsedescription><sync-token>x</sync-token>",
    )
    data = EVENT.strip().encode()
    assert read_multistatus(body, lambda href: f"/cal/{href}") == [
        Resource("/cal/1.ics", '"7"', data),
        Resource("/cal/2.ics", 'W/"8"', data),
    ]
