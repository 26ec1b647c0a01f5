"""Three texts of an entry meet: what we sent, what the plan says now, what a person made of it.

Lines that the program does not know are taken from RFC 5545 (3.8), RFC 7986 (5) and RFC 9074.
"""

from __future__ import annotations

import datetime as dt
import io
import re
from typing import Any

import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Alarm, Calendar, Event

from harvestplan.outputs.calendar.merging import (
    NOTES,
    Merge,
    notes_of,
    put_into,
    what_to_take,
)
from harvestplan.outputs.calendar.one_entry import said

OWN_LINES = (
    "ATTENDEE;CN=Ida;PARTSTAT=NEEDS-ACTION:mailto:ida@example.org",
    "ATTACH;FMTTYPE=image/jpeg:https://example.org/a%20bean.jpg",
    "RRULE:FREQ=WEEKLY;COUNT=2",
    "X-PHONE-SORT-ORDER:7",
    "GEO:39.1;-105.2",
    "CONFERENCE;VALUE=URI;FEATURE=AUDIO:tel:+1-555-0100",
    "COMMENT:Mind the gap\\, please",
)
OWN_ALARM = (
    "BEGIN:VALARM", "ACTION:AUDIO", "TRIGGER;RELATED=END:PT0S", "X-RING:loud", "END:VALARM",
)  # fmt: skip


def entry(**more: Any) -> Calendar:
    """Ours, as a plan writes it."""
    told = {
        "hour": 18, "title": "Snap bean, 12 bags", "text": f"Raw food\n{NOTES}", "alarm": 2,
        "place": "Kitchen", "sequence": 0,
    } | more  # fmt: skip
    event = Event()
    event.add("UID", "1")
    for name, hour in (("DTSTART", told["hour"]), ("DTEND", told["hour"] + 2)):
        event.add(name, dt.datetime(2027, 7, 14, hour, tzinfo=dt.UTC))
    event.add("SUMMARY", told["title"])
    event.add("DESCRIPTION", told["text"])
    event.add("LOCATION", told["place"])
    event.add("SEQUENCE", told["sequence"])
    event.add("DTSTAMP", dt.datetime(2027, 7, 1, tzinfo=dt.UTC))
    event.add("LAST-MODIFIED", dt.datetime(2027, 7, 1, tzinfo=dt.UTC))
    alarm = Alarm()
    alarm.add("ACTION", "DISPLAY")
    alarm.add("DESCRIPTION", told["title"])
    alarm.add("TRIGGER", dt.timedelta(hours=-told["alarm"]))
    event.add_component(alarm)
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", "-//test//EN")
    calendar.add_component(event)
    return calendar


def texts(calendar: Calendar) -> dict[str, str]:
    return said(calendar.walk("VEVENT")[0])


def data(calendar: Calendar) -> bytes:
    return bytes(calendar.to_ical(sorted=False))


def by_hand(calendar: Calendar, *changes: tuple[str, str], more: tuple[str, ...] = ()) -> bytes:
    """What a person makes of it: lines replaced, and others added before the end."""
    text = data(calendar).decode().replace("\r\n ", "")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    for line in more:
        text = text.replace("END:VEVENT", f"{line}\r\nEND:VEVENT")
    return text.encode()


def merged(sent: Calendar, now: Calendar, there: bytes, **more: bool) -> tuple[Merge, str]:
    before, here = texts(sent), said(Calendar.from_ical(there).walk("VEVENT")[0])
    merge = what_to_take(texts(now), before, here, **more)
    if not merge.take:
        return merge, there.decode().replace("\r\n ", "")
    new = put_into(there, now, merge, sent=before)
    assert max(map(len, new.split(b"\r\n"))) <= 75
    return merge, new.decode().replace("\r\n ", "")


def test_what_only_the_household_changed_is_left() -> None:
    there = by_hand(
        entry(),
        ("SUMMARY:Snap", "SUMMARY:Our snap"),
        ("LOCATION:Kitchen", "LOCATION:At Ida's"),
        ("T180000Z", "T170000Z"),
        more=OWN_LINES,
    )
    merge, text = merged(entry(), entry(), there)
    assert not merge.take and "Our snap" in text


def test_news_of_the_plan_leaves_every_line_of_the_household() -> None:
    there = by_hand(entry(), ("Kitchen", "At Ida's"), more=(*OWN_LINES, *OWN_ALARM))
    merge, text = merged(entry(), entry(title="Snap bean, 14 bags", hour=19, sequence=1), there)
    assert merge.take >= {"SUMMARY", "DTSTART", "DTEND"} and not merge.overwrites
    for line in (*OWN_LINES, *OWN_ALARM, "LOCATION:At Ida's"):
        assert f"\r\n{line}\r\n" in text, line
    assert "SUMMARY:Snap bean\\, 14 bags" in text and "DTSTART:20270714T190000Z" in text
    assert len(re.findall("SUMMARY|DTSTART|DTEND|LAST-MODIFIED", text)) == 4
    event = vobject.readOne(io.StringIO(text)).vevent
    assert len(event.valarm_list) == 2 and event.sequence.value == "1"


def test_notes_stay_above_and_below_the_line() -> None:
    sent = entry(text=f"Raw food: 3 lb\nIce: 2 lb\n{NOTES}")
    there = by_hand(
        sent,
        ("Raw food: 3 lb\\n", "Raw food: 3 lb\\nRing Ida\\, first\\n"),
        (NOTES, f"{NOTES}\\nBorrow the big pot"),
    )
    _, text = merged(sent, entry(text=f"Raw food: 4 lb\n{NOTES}"), there)
    description = vobject.readOne(io.StringIO(text)).vevent.description.value
    assert description == f"Raw food: 4 lb\n{NOTES}\nRing Ida, first\nBorrow the big pot"
    again = said(Calendar.from_ical(text.encode()).walk("VEVENT")[0])
    assert notes_of(again["DESCRIPTION"], f"Raw food: 4 lb\n{NOTES}") == (
        "Ring Ida, first\nBorrow the big pot"
    )


def test_the_line_itself_may_go() -> None:
    """Whoever empties the description and writes a word of his own keeps the word."""
    there = by_hand(entry(), (f"DESCRIPTION:Raw food\\n{NOTES}", "DESCRIPTION:Mine"))
    merge, _ = merged(entry(), entry(), there)
    assert not merge.take
    _, text = merged(entry(), entry(text=f"More\n{NOTES}"), there)
    assert f"DESCRIPTION:More\\n{NOTES}\\nMine" in text


def test_a_title_that_gives_way_is_named() -> None:
    there = by_hand(entry(), ("SUMMARY:Snap bean\\, 12 bags", "SUMMARY:With Ida!"))
    merge, text = merged(entry(), entry(title="Snap bean, 14 bags"), there)
    assert merge.overwrites == ('its title "With Ida!"',) and "14 bags" in text


def test_an_end_that_gives_way_is_named() -> None:
    there = by_hand(entry(), ("DTEND:20270714T200000Z", "DTEND:20270714T213000Z"))
    assert not merged(entry(), entry(), there)[0].take
    merge, _ = merged(entry(), entry(hour=19), there)
    assert merge.overwrites == ("the end it was given there",)


def test_reminders() -> None:
    """One that the household took away stays away, one of its own stays, ours moves."""
    own = by_hand(entry(), more=OWN_ALARM)
    _, text = merged(entry(), entry(alarm=3), own)
    assert "TRIGGER:-PT3H" in text and "TRIGGER:-PT2H" not in text and "X-RING:loud" in text
    bare = re.sub(rb"BEGIN:VALARM.*END:VALARM\r\n", b"", data(entry()), flags=re.DOTALL)
    assert b"VALARM" not in bare
    _, text = merged(entry(), entry(alarm=3, title="Snap bean, 14 bags"), bare)
    assert "VALARM" not in text and "14 bags" in text


def test_put_back_and_left() -> None:
    there = by_hand(entry(), ("T180000Z", "T150000Z"), ("T200000Z", "T170000Z"))
    _, text = merged(entry(), entry(), there, back=True)
    assert "DTSTART:20270714T180000Z" in text and "DTEND:20270714T200000Z" in text
    merge, text = merged(entry(), entry(hour=20, title="Chard"), there, left=True)
    assert merge.take == {"SUMMARY", "VALARM"} and "DTSTART:20270714T150000Z" in text


def test_what_a_server_drops_is_no_news() -> None:
    """Neither we nor the household changed anything; later news is put in once."""
    bare = re.sub(rb"(LOCATION|DESCRIPTION)[^\r]*\r\n", b"", data(entry()))
    assert not merged(entry(), entry(), bare)[0].take
    assert merged(entry(), entry(title="Chard"), bare)[0].take == {"SUMMARY", "VALARM"}


def test_where_nobody_knows_what_was_sent_a_choice_is_the_household_s() -> None:
    """The record is lost: the plan's title and time are put in, a place and a colour stay."""
    there = said(Calendar.from_ical(by_hand(entry(), ("Kitchen", "At Ida's"))).walk("VEVENT")[0])
    for sent in (None, {"DTSTART": "2027-07-14T18:00:00+00:00", "DTEND": ""}):
        merge = what_to_take(texts(entry(title="Chard")), sent, there)
        assert merge.take == {"SUMMARY", "VALARM"} and not merge.overwrites


def test_a_later_number_of_a_phone_is_passed() -> None:
    """RFC 5545, 3.8.7.4; and stamps never go back."""
    there = by_hand(
        entry(), ("SEQUENCE:0", "SEQUENCE:9"), ("MODIFIED:20270701", "MODIFIED:20270709")
    )
    _, text = merged(entry(), entry(hour=19, sequence=1), there)
    assert "SEQUENCE:10" in text and "LAST-MODIFIED:20270709T000000Z" in text


def test_one_occurrence_that_was_moved_stays() -> None:
    """RFC 5545, 3.8.4.4: of a repeating entry our news goes into the entry itself."""
    other = (
        "BEGIN:VEVENT\r\nUID:1\r\nDTSTAMP:20270701T000000Z\r\nRECURRENCE-ID:20270721T180000Z\r\n"
        "DTSTART:20270721T190000Z\r\nSUMMARY:Later\r\nEND:VEVENT\r\n"
    )
    for first in (True, False):
        there = by_hand(entry(), more=("RRULE:FREQ=WEEKLY;COUNT=2",)).decode()
        place = "BEGIN:VEVENT" if first else "END:VCALENDAR"
        whole = there.replace(place, other + place, 1)
        new = put_into(
            whole.encode(), entry(hour=19), Merge(frozenset({"DTSTART"})), sent=texts(entry())
        )
        assert other.encode() in new and new.count(b"DTSTART:20270714T190000Z") == 1


INNER = "BEGIN:X-THING\r\nSUMMARY:inner\r\nEND:X-THING"
ODD_LINES = st.lists(
    st.sampled_from((*OWN_LINES, INNER, "x-lower;a=b:c", "TITLE:é👩‍👩‍👧‍👦")), unique=True
)


@settings(max_examples=60, deadline=None)
@given(ODD_LINES, st.booleans(), st.sampled_from(["\r\n", "\n"]), st.text(max_size=40))
def test_whatever_else_stands_there_stays(
    lines: list[str], alarm: bool, end: str, title: str
) -> None:
    title = "".join(letter for letter in title if letter.isprintable()) or "x"
    there = by_hand(entry(), more=(*lines, *(OWN_ALARM if alarm else ())))
    there = there.replace(b"\r\n", end.encode())
    merge = what_to_take(texts(entry(title=title)), texts(entry()), texts(entry()))
    new = put_into(there, entry(title=title), merge, sent=texts(entry()))
    text = new.decode().replace("\r\n ", "")
    for line in (*lines, *(OWN_ALARM if alarm else ())):
        assert f"\r\n{line}\r\n" in text
    own = Calendar.from_ical(new).walk("VEVENT")[0]
    assert str(own["SUMMARY"]).strip() == title.strip()
