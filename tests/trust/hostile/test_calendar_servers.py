"""Answers of a calendar server of every nonsense: each is taken whole or refused in a sentence, and
nothing is written or deleted but in the calendar itself."""

from __future__ import annotations

import itertools
from typing import Any
from unittest import mock

from each_case import each, named

from harvestplan.errors import HarvestPlanError
from harvestplan.outputs.calendar.caldav import ChangedMeanwhile, Collection
from harvestplan.outputs.calendar.multistatus import Resource
from harvestplan.outputs.calendar.server import Answer, ServerRefused
from harvestplan.outputs.calendar.standing import read_there

URL, HOME = "https://calendar.example/u/cal/", "/u/cal/"
DATA = ("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:{}\r\nDTSTART:20270601T180000Z\r\n"
        "{}END:VEVENT\r\nEND:VCALENDAR\r\n")  # fmt: skip
SOUND = DATA.format("a", "")
ELSEWHERE = (
    "", "/", "/u/", "/u/cal", "/u/cal/", "/u/cal/../other/x.ics", "/u/cal/%2e%2e/other/x.ics",
    "/u/cal/%252e%252e/x.ics", "/u/cal/..%2fother%2fx.ics", "/u/cal/a%00.ics", "/u/cal/a/b.ics",
    "/u/cal/a%5c..%5cx.ics", "/u/cal2/x.ics", "/u/CAL/x.ics", "//other.example/u/cal/x.ics",
    "http://calendar.example/u/cal/x.ics", "https://calendar.example:444/u/cal/x.ics",
    "https://other.example/u/cal/x.ics", "https://user@other.example/u/cal/x.ics",
    "file:///etc/passwd", "javascript:alert(1)", "mailto:a@b", "https://[::1/x", "https://a..b/x",
    "/u/cal/x.ics?delete=1", "/u/cal/x.ics#y", "/u/cal/.", "/u/cal/..", "..", "../other/x.ics",
    "/u/cal/" + "x" * 5000, "x" * 600,
)  # fmt: skip
TAGS = ('"1"', "1", 'W/"1"', "", "é", "豆", '"a\nb"', "a\r\nX: y", "\t", "x" * 100_000)
TEXTS = (SOUND, "", SOUND[:40], "BEGIN:VCALENDAR\r\nEND:VCALENDAR", "<html/>", "\0",
         DATA.format("a", "SEQUENCE:99999999999999999999\r\n"),
         DATA.format("a", "LAST-MODIFIED:zz\r\n"), DATA.format("a", "DTEND:99991231T235959\r\n"),
         DATA.format("", ""), DATA.format("a\u202eb", ""),
         SOUND.replace("20270601T180000Z", "rubbish"), SOUND.replace("2027", "9999"),
         SOUND.replace("2027", "0001"), SOUND * 2)  # fmt: skip
STATES = ("HTTP/1.1 200 OK", "HTTP/1.1 403 Forbidden", "HTTP/1.1 404 Not Found", "", "200",
          "HTTP/2", "HTTP/1.1 507 Insufficient Storage", "HTTP/1.1 99999 No")  # fmt: skip


def multistatus(href: str, tag: str, text: str, state: str) -> str:
    def plain(words: str) -> str:
        return words.replace("&", "&amp;").replace("<", "&lt;").replace("\0", "")

    return (
        '<?xml version="1.0"?><D:multistatus xmlns:D="DAV:" '
        'xmlns:C="urn:ietf:params:xml:ns:caldav"><D:response>'
        f"<D:href>{plain(href)}</D:href><D:propstat><D:prop><D:getetag>{plain(tag)}</D:getetag>"
        f"<C:calendar-data>{plain(text)}</C:calendar-data></D:prop><D:status>{state}</D:status>"
        "</D:propstat></D:response></D:multistatus>"
    )


def read(body: bytes, status: int = 207) -> dict[str, Any] | str:
    """Entries by UID that such an answer gives, or the sentence with which it is refused."""
    calendar = Collection(URL)
    with mock.patch.object(calendar.server, "ask", return_value=Answer(status, body)):
        try:
            return {uid: there.resource for uid, there in read_there(calendar).items()}
        except ServerRefused as refused:
            return str(refused)


def test_a_sound_answer_is_taken() -> None:
    found = read(multistatus(f"{HOME}x.ics", '"1"', SOUND, STATES[0]).encode())
    assert isinstance(found, dict) and found["a"].path == f"{HOME}x.ics"


@each(("href", "tag"), itertools.product(ELSEWHERE, TAGS[:3]))
def test_what_leads_elsewhere_is_refused(href: str, tag: str) -> None:
    found = read(multistatus(href, tag, SOUND, STATES[0]).encode())
    assert isinstance(found, str) and found.endswith(".")


@each(("tag", "text"), itertools.product(TAGS, TEXTS))
def test_tags_and_texts(tag: str, text: str) -> None:
    """With each state of the properties; what is taken has a tag that can stand in a header."""
    for state in STATES:
        with named(state):
            found = read(multistatus(f"{HOME}x.ics", tag, text, state).encode())
            if isinstance(found, str):
                continue
            assert state == STATES[0]
            for resource in found.values():
                assert resource.path == f"{HOME}x.ics"
                assert resource.etag.isprintable() and resource.etag


WHOLE = multistatus(f"{HOME}x.ics", '"1"', SOUND, STATES[0])
DOCTYPE = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
ENCODINGS = ("utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-7", "cp037", "rot13", "latin-1",
             "idna", "punycode", "shift_jis", "nowhere")  # fmt: skip


def bodies() -> list[bytes]:
    """Answers that are none: torn, of another kind, with what XML should not hold."""
    found = [WHOLE.encode()[: len(WHOLE) * n // 40] for n in range(40)]
    found += [b"", b"<a/>", b"<a/>" * 1000, b"\0", b"{}", b"<html><body>sign in</body></html>"]
    found += [(DOCTYPE + WHOLE.split("?>", 1)[1]).encode(name) for name in ENCODINGS[:4]]
    for name in ENCODINGS:
        head = f'<?xml version="1.0" encoding="{name}"?>' + WHOLE.split("?>", 1)[1]
        found.append(head.encode("latin-1"))
    deep = b"<a>" * 100_000 + b"</a>" * 100_000
    many = b'<D:multistatus xmlns:D="DAV:">' + b"<a/>" * 600_000 + b"</D:multistatus>"
    return [*found, deep, many]


@each("body", bodies(), told=lambda body: f"{body[:60]!r} of {len(body)}")
def test_answers_that_are_none(body: bytes) -> None:
    found = read(body)
    sound = isinstance(found, dict) and set(found) == {"a"}
    assert sound or isinstance(found, str), found


@each(
    "status", [*range(100, 104), 200, 201, 204, 301, 302, 307, *range(400, 430), *range(500, 512)]
)
def test_a_status_that_is_no_answer(status: int) -> None:
    assert isinstance(read(WHOLE.encode(), status), str)


@each(("path", "tag"), itertools.product(ELSEWHERE, TAGS))
def test_nothing_elsewhere_is_written_or_deleted(path: str, tag: str) -> None:
    """Whatever a resource says that it is: no request leaves for another place."""
    calendar = Collection(URL)
    old = Resource(path, tag, SOUND.encode())
    with mock.patch.object(calendar.server, "ask", return_value=Answer(204, b"")) as asked:
        for do in (lambda: calendar.delete(old), lambda: calendar.update(old, b"x")):
            try:
                do()
            except (HarvestPlanError, ChangedMeanwhile):
                continue
        for call in asked.call_args_list:
            assert call.args[1].startswith(HOME) and call.args[1] != HOME, call
            assert "/" not in call.args[1][len(HOME) :], call
