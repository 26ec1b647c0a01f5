"""Reads calendar files with libical through GObject introspection; run by the system's Python.

Prints a JSON list: for each file whether libical's restriction check (RFC 5545's tables of what
each component must and may have) passes, how many errors it found, and what it read.
"""

import json
import sys
from pathlib import Path

import gi

gi.require_version("ICalGLib", "3.0")
from gi.repository import ICalGLib  # noqa: E402  (the version has to be asked for first)


def moment(time):
    zone = time.get_timezone() or ICalGLib.Timezone.get_utc_timezone()
    return time.as_timet_with_zone(zone)


def of_kind(component, kind):
    part = component.get_first_component(kind)
    while part is not None:
        yield part
        part = component.get_next_component(kind)


def entry(part):
    sequence = part.get_first_property(ICalGLib.PropertyKind.SEQUENCE_PROPERTY)
    status = part.get_first_property(ICalGLib.PropertyKind.STATUS_PROPERTY)
    start = part.get_dtstart()
    alarms = len(list(of_kind(part, ICalGLib.ComponentKind.VALARM_COMPONENT)))
    return [
        part.get_uid(),
        sequence.get_sequence(),
        status.get_value_as_string(),
        part.get_summary(),
        None if start is None or start.is_date() else moment(start),
        None if start is None or start.is_date() else moment(part.get_dtend()),
        alarms,
    ]


def read(path):
    whole = ICalGLib.Component.new_from_string(Path(path).read_bytes().decode("utf-8"))
    kinds = (ICalGLib.ComponentKind.VEVENT_COMPONENT, ICalGLib.ComponentKind.VTODO_COMPONENT)
    return {
        "sound": bool(whole.check_restrictions()),
        "errors": whole.count_errors(),
        "entries": [entry(part) for kind in kinds for part in of_kind(whole, kind)],
    }


print(json.dumps([read(path) for path in sys.argv[1:]]))
