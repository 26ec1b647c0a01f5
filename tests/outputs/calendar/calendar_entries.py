"""Entries of a calendar file, and a plan told later."""

from __future__ import annotations

import io
from typing import Any

import vobject

SECOND_UID = "00000002-6a52-5c64-9f3c-5a1f0c3c9d11"


def read(data: bytes) -> dict[str, Any]:
    """Events by UID, as vobject reads them."""
    calendar = vobject.readOne(io.StringIO(data.decode("utf-8")))
    calendar.validate(raiseException=True)
    return {event.uid.value: event for event in calendar.vevent_list}


def later(data: dict[str, Any]) -> dict[str, Any]:
    return data | {"made_at": "2027-10-26T08:00:00-06:00"}
