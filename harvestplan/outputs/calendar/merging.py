"""Our news put into an entry as it stands on a server: what the household made of it stays.

Three texts meet in each property: what we last sent, what the plan says now, and what stands
there. Where the plan is as it was sent, nothing is written, whatever a person or a server made of
it. Where it has news, it takes the property, but for what people choose for themselves (place,
colour, categories, busy or free, reminders, notes). Lines that we do not know stay to the letter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from icalendar import Calendar, Component

from harvestplan.outputs.calendar.one_entry import ALARMS, SAID, TIMES, said
from harvestplan.outputs.calendar.record import Sent

MARK = "X-HARVESTPLAN-SEASON"
"""The property of each entry on a server that holds the season's id."""
STOOD = "X-HARVESTPLAN-STOOD"
"""The property that tells when we put an entry: start and end, should the record be lost."""
NOTES = "--- Your own notes below this line stay ---"
"""The last line of ours in a description."""
_OWN_CHOICE = ("LOCATION", "COLOR", "CATEGORIES", "TRANSP")
_MAY_VANISH = (*_OWN_CHOICE, "DESCRIPTION", "STATUS", ALARMS)
"""What servers and programs are known to drop: that it is gone is nobody's word."""
_LAST_SEQUENCE = 2**31 - 1
"""The largest integer of RFC 5545 (3.3.8)."""
_STAMPS = ("DTSTAMP", "LAST-MODIFIED", "SEQUENCE")
_OCTETS = 75


@dataclass(frozen=True)
class Merge:
    """What an entry there is to take over: names of properties, and in words what of the
    household's that overwrites; `timed` unless its time is left as the household has it."""

    take: frozenset[str]
    overwrites: tuple[str, ...] = ()
    timed: bool = True


def what_to_take(
    ours: Sent, sent: Sent | None, there: Sent, *, back: bool = False, left: bool = False
) -> Merge:
    """The properties in which the plan has news; with `back` its time also where it has none, with
    `left` not even where it has.

    Of what is not known to have been sent, what stands there is taken for it.
    """
    take, overwrites = set(), []
    for name in (*SAID, ALARMS):
        now, here = ours.get(name, ""), _ours_of(there, name)
        # A record of old, or an entry's own, knows times alone.
        known = sent is not None and (name in sent or "SUMMARY" in sent)
        before = sent.get(name, "") if sent is not None and known else here
        now, before = _bare(now, name), _bare(before, name)
        about_time = name in (*TIMES, "STATUS")
        if now == here or (about_time and left) or (now == before and not (back and about_time)):
            continue
        # Of what nobody knows to have been sent, what people choose is rather theirs.
        theirs = (here != before or not known) and not (here == "" and name in _MAY_VANISH)
        if theirs and name in _OWN_CHOICE:
            continue
        take.add(name)
        if theirs and known and name == "SUMMARY":
            overwrites.append(f'its title "{here}"')
        same_start = there.get("DTSTART") == _of(sent, "DTSTART")
        if theirs and known and name == "DTEND" and same_start and not back:
            overwrites.append("the end it was given there")
    if take & set(TIMES):
        take |= {name for name in TIMES if name in ours}
    return Merge(frozenset(take), tuple(overwrites), not left)


def _of(sent: Sent | None, name: str) -> str | None:
    return None if sent is None else sent.get(name)


def _bare(text: str, name: str) -> str:
    return _own_part(text) if name == "DESCRIPTION" else text


def _ours_of(there: Sent, name: str) -> str:
    """The part of what stands there that we wrote."""
    return _bare(there.get(name, ""), name)


def _own_part(description: str) -> str:
    return description.partition(NOTES)[0].strip()


def notes_of(there: str, sent: str) -> str:
    """What the household wrote into a description: all below our line, and above it whole lines
    that we did not send."""
    own, _, below = there.partition(NOTES)
    known = {each.strip() for each in sent.split("\n")}
    added = [each for each in own.split("\n") if each.strip() not in known] if sent else []
    return "\n".join([*(each for each in added if each.strip()), below.strip()]).strip()


def put_into(there: bytes, ours: Calendar, merge: Merge, *, sent: Sent) -> bytes:
    """The resource `there` with what `merge` takes of `ours`, and a later stamp; all else is as it
    was."""
    take = merge.take
    lines = _unfolded(there)
    own = next(part for part in ours.subcomponents if part.name != "VTIMEZONE")
    begin, end = _span(lines, str(own.name), str(own["UID"]))
    old = lines[begin + 1 : end]
    plain = dict(_lines_of(own))
    taken = {name: plain[name] for name in take if name in plain}
    if "DESCRIPTION" in take:
        taken["DESCRIPTION"] = _with_notes(own, old, sent)
    taken |= {name: plain[name] for name in (MARK, STOOD) if name in plain}
    if not merge.timed:
        taken.pop(STOOD, None)
    taken |= _stamps(plain, dict(_own_lines(old)))
    gone = {*taken, *(name for name in take if name != ALARMS)}
    gone |= {"DURATION"} if "DTEND" in take else set()
    kept, alarms = _parted(old, gone)
    if ALARMS in take:
        alarms = _alarms(own, alarms, sent)
    entry = [*kept, *taken.values(), *alarms]
    whole = [*lines[: begin + 1], *entry, *lines[end:]]
    return _folded(_with_zones(whole, ours))


def _with_notes(own: Component, old: Sequence[str], sent: Sent) -> str:
    there = said(Calendar.from_ical(_wrapped(str(own.name), old)).subcomponents[0])
    notes = notes_of(there.get("DESCRIPTION", ""), sent.get("DESCRIPTION", ""))
    text = _own_part(str(own.get("DESCRIPTION", "")))
    if notes or NOTES in str(own.get("DESCRIPTION", "")):
        text = f"{text}\n{NOTES}\n{notes}".strip()
    return f"DESCRIPTION:{_escaped(text)}"


def _wrapped(kind: str, lines: Sequence[str]) -> bytes:
    return _folded(["BEGIN:VCALENDAR", f"BEGIN:{kind}", *lines, f"END:{kind}", "END:VCALENDAR"])


def _escaped(text: str) -> str:
    """RFC 5545, 3.3.11."""
    for plain, written in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(plain, written)
    return text


def _stamps(ours: Mapping[str, str], there: Mapping[str, str]) -> dict[str, str]:
    """Ours, but none that a reader could take for the older."""
    found = {}
    for name in ("DTSTAMP", "LAST-MODIFIED"):
        mine, other = (_value(each.get(name, "")) for each in (ours, there))
        later = max(mine, other) if re.fullmatch(r"\d{8}T\d{6}Z", other) else mine
        found[name] = f"{name}:{later}"
    number, other_number = (_number(each.get("SEQUENCE", "")) for each in (ours, there))
    # A program that moved it counted on; with the same number both tell of the same promise.
    if other_number > number:
        number = min(other_number + 1, _LAST_SEQUENCE)
    return found | {"SEQUENCE": f"SEQUENCE:{number}"}


def _value(line: str) -> str:
    return line.partition(":")[2].strip()


def _number(line: str) -> int:
    written = _value(line)
    short = written.isdecimal() and len(written) <= len(str(_LAST_SEQUENCE))
    return min(int(written), _LAST_SEQUENCE) if short else 0


def _alarms(own: Component, there: Sequence[str], sent: Sent) -> list[str]:
    """Our reminders, and those of the household; one of ours that it took away stays away."""
    ours = [_unfolded(alarm.to_ical(sorted=False)) for alarm in own.walk("VALARM")]
    known = {line.partition(" ")[0] for line in sent.get(ALARMS, "").split("\n")} - {""}
    blocks = list(_blocks(there))
    standing = {_trigger(block) for block in blocks}
    if known and not known & standing:
        return list(there)
    dropped = known - standing
    kept = [block for block in blocks if _trigger(block) not in known]
    fresh = [b for b in ours if _trigger(b) not in dropped | {_trigger(block) for block in kept}]
    return [line for block in (*fresh, *kept) for line in block if line]


def _trigger(block: Sequence[str]) -> str:
    return next((_value(line) for line in block if _name(line) == "TRIGGER"), "")


def _blocks(lines: Sequence[str]) -> Iterator[list[str]]:
    block: list[str] = []
    depth = 0
    for line in lines:
        depth += line.upper().startswith("BEGIN:")
        depth -= line.upper().startswith("END:")
        block.append(line)
        if depth == 0:
            yield block
            block = []


def _parted(lines: Sequence[str], gone: set[str]) -> tuple[list[str], list[str]]:
    """The entry's own lines without those named, and its inner components."""
    own, inner, depth = [], [], 0
    for line in lines:
        if depth or line.upper().startswith("BEGIN:"):
            depth += line.upper().startswith("BEGIN:")
            depth -= line.upper().startswith("END:")
            inner.append(line)
        elif _name(line) not in gone:
            own.append(line)
    return own, inner


def _own_lines(lines: Sequence[str]) -> Iterator[tuple[str, str]]:
    own, _ = _parted(lines, set())
    yield from ((_name(line), line) for line in own)


def _lines_of(component: Component) -> Iterator[tuple[str, str]]:
    whole = _unfolded(component.to_ical(sorted=False))
    yield from _own_lines([line for line in whole[1:-1] if line])


def _name(line: str) -> str:
    return re.split("[:;]", line, maxsplit=1)[0].upper()


def _span(lines: Sequence[str], kind: str, uid: str) -> tuple[int, int]:
    """Where the entry of this UID begins and ends; not a single occurrence of it."""
    begins = [n for n, line in enumerate(lines) if line.upper() == f"BEGIN:{kind}"]
    found = []
    for begin in begins:
        end = next(n for n in range(begin, len(lines)) if lines[n].upper() == f"END:{kind}")
        named = dict(_own_lines(lines[begin + 1 : end]))
        if _value(named.get("UID", "")) == uid:
            found.append(("RECURRENCE-ID" in named, begin, end))
    _, begin, end = min(found)
    return begin, end


def _with_zones(lines: list[str], ours: Calendar) -> list[str]:
    """With the zones that our lines name, where they are not there yet (RFC 5545, 3.2.19)."""
    there = {_value(line) for line in lines if _name(line) == "TZID"}
    first = next(n for n, line in enumerate(lines) if line.upper() in _ENTRIES)
    for zone in ours.walk("VTIMEZONE"):
        key = str(zone["TZID"])
        if key not in there and any(f"TZID={key}" in line for line in lines):
            more = [line for line in _unfolded(zone.to_ical(sorted=False)) if line]
            lines = [*lines[:first], *more, *lines[first:]]
    return lines


_ENTRIES = ("BEGIN:VEVENT", "BEGIN:VTODO")


def _unfolded(data: bytes) -> list[str]:
    text = data.decode("utf-8", "replace").lstrip("\ufeff")
    return [line for line in re.split("\r\n|\n|\r", re.sub("(\r\n|\n|\r)[ \t]", "", text)) if line]


def _folded(lines: Sequence[str]) -> bytes:
    """RFC 5545, 3.1: at most 75 octets a line, no character split."""
    written = []
    for line in lines:
        part = b""
        for letter in line:
            octets = letter.encode("utf-8", "replace")
            if len(part) + len(octets) > _OCTETS:
                written.append(part)
                part = b" "
            part += octets
        written.append(part)
    return b"\r\n".join(written) + b"\r\n"
