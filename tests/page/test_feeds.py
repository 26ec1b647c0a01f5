"""Calendars by subscription: RFC 5545 files under secret paths, with RFC 9110's conditions."""

from __future__ import annotations

import os
from pathlib import Path

import icalendar
import vobject
from page.served import Page

from harvestplan.page.feeds import feed_path, new_feed_paths


def test_a_feed_is_the_plans_file_with_each_sheets_address(page: Page, folder: Path) -> None:
    page.site.shared_address = "192.168.7.7"
    told = page.get(feed_path(page.site, "sessions"))
    assert told.headers["content-type"] == "text/calendar; charset=utf-8"
    read = icalendar.Calendar.from_ical(told.body)
    plain = icalendar.Calendar.from_ical((folder / "out" / "sessions.ics").read_bytes())
    events, before = read.walk("VEVENT"), plain.walk("VEVENT")
    assert [e["uid"] for e in events] == [e["uid"] for e in before]
    urls = [str(e["url"]) for e in events if "url" in e]
    assert urls and all(url.startswith("http://192.168.7.7:8730/sheet/") for url in urls)
    for event in events:
        event.pop("url", None)
    assert [e.to_ical() for e in events] == [e.to_ical() for e in before]
    assert str(read["refresh-interval"].to_ical(), "ascii") == "PT6H"
    assert len(list(vobject.readOne(told.text).vevent_list)) == len(events)
    assert all(len(line) <= 75 for line in told.body.split(b"\r\n"))


def test_what_is_known_already_is_not_sent_again(page: Page, folder: Path) -> None:
    path = feed_path(page.site, "garden")
    told = page.get(path)
    tag, changed = told.headers["etag"], told.headers["last-modified"]
    assert page.get(path, **{"if-none-match": tag}).status == 304
    assert page.get(path, **{"if-none-match": f'"other", {tag}'}).status == 304
    assert page.get(path, **{"if-modified-since": changed}).status == 304
    # Tags count before times (RFC 9110, 13.2.2).
    both = {"if-none-match": '"other"', "if-modified-since": changed}
    assert page.get(path, **both).status == 200
    file = folder / "out" / "garden.ics"
    file.write_bytes(file.read_bytes().replace(b"SUMMARY:", b"SUMMARY:New ", 1))
    later = file.stat().st_mtime + 10
    os.utime(file, (later, later))
    again = page.get(path, **{"if-none-match": tag})
    assert again.status == 200 and again.headers["etag"] != tag
    assert page.get(path, **{"if-modified-since": changed}).status == 200
    for odd in ("yesterday", "", "Thu, 01 Jan 1970", "\xff"):
        assert page.get(path, **{"if-modified-since": odd}).status == 200


def test_a_path_is_a_secret_and_can_be_drawn_anew(page: Page) -> None:
    paths = {name: feed_path(page.site, name) for name in ("sessions", "garden", "shopping")}
    secrets = {path.split("/")[2] for path in paths.values()}
    assert len(secrets) == 3 and all(len(secret) == 43 for secret in secrets)  # 256 bits
    for name, path in paths.items():
        assert page.get(path).status == 200
        for secret in (*(secrets - {path.split("/")[2]}), "x", "x" * 43, path.split("/")[2][:-1]):
            assert page.get(f"/calendar/{secret}/{name}.ics").status == 404
    assert page.get(paths["sessions"].replace("sessions", "tasks")).status == 404
    new_feed_paths(page.site)
    assert {page.get(path).status for path in paths.values()} == {404}


def test_a_feed_wants_no_cookie_and_gives_none(page: Page) -> None:
    page.door, page.site.shared_address = "192.168.7.7", "192.168.7.7"
    told = page.get(feed_path(page.site, "shopping"))
    assert told.status == 200 and "set-cookie" not in told.headers
