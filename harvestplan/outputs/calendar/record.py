"""out/published.json: what we last put on which calendar, by which changes there are told.

It holds no secrets. Without it nothing on a server is deleted.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from harvestplan.disk import write_atomic
from harvestplan.plan.file_names import LEDGER

Sent = Mapping[str, str]
"""An entry as we last sent it: text by name of property, as `one_entry.said` gives it."""
_FORMAT = 2
_LARGEST = 20_000_000
_SEEN_OF_OLD = "seen: "


@dataclass(frozen=True)
class OnCalendar:
    """What we put on one calendar: kinds it `holds`, entries and to-dos `sent` by UID; `seen` are
    changes of the household's that were taken into the diary, told as `Altered.state`; `todos` is
    the address of the collection that takes the to-dos, "" for none; `tasks` are to-dos sent to
    this one."""

    holds: tuple[str, ...] = ()
    sent: Mapping[str, Sent] = field(default_factory=dict)
    seen: Mapping[str, str] = field(default_factory=dict)
    todos: str = ""
    tasks: Mapping[str, Sent] = field(default_factory=dict)


@dataclass(frozen=True)
class Ticked:
    """What was ticked off: so much of it was got, when so much lay in stock. `pending` are the
    words of a diary's line that is to be written yet; None once the household was told."""

    covers: int
    in_stock: int
    pending: str | None = ""


@dataclass(frozen=True)
class Published:
    """The whole record: calendars by address, to-dos ticked by UID. `torn` where there is a file
    that cannot be read."""

    calendars: Mapping[str, OnCalendar] = field(default_factory=dict)
    ticked: Mapping[str, Ticked] = field(default_factory=dict)
    torn: bool = False

    def at(self, url: str) -> OnCalendar:
        """What we put there; nothing where we do not know of it."""
        return self.calendars.get(url, OnCalendar())

    def having(self, url: str, there: OnCalendar) -> Published:
        """The record with `there` at this address."""
        return replace(self, calendars={**self.calendars, url: there}, torn=False)


def read_record(out: Path) -> Published:
    """The record of the out folder; an empty one where there is none, or it is torn."""
    path = out / LEDGER
    if not path.is_file():
        return Published()
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST + 1)
        if len(data) > _LARGEST:
            return Published(torn=True)
        found = json.loads(data)
        return _of_old(found) if found.get("format") != _FORMAT else _read(found)
    except (OSError, ValueError, AttributeError, TypeError, KeyError, RecursionError):
        return Published(torn=True)


def _read(found: dict[str, Any]) -> Published:
    calendars = {
        str(url): OnCalendar(
            tuple(map(str, there["holds"])),
            {str(uid): _texts(sent) for uid, sent in there["sent"].items()},
            _texts(there["seen"]),
            str(there["todos"]),
            {str(uid): _texts(sent) for uid, sent in there["tasks"].items()},
        )
        for url, there in found["calendars"].items()
    }
    ticked = {
        str(uid): Ticked(int(each["covers"]), int(each["in_stock"]), _words(each["pending"]))
        for uid, each in found["ticked"].items()
    }
    return Published(calendars, ticked)


def _of_old(found: dict[str, Any]) -> Published:
    """A record of before entries were kept whole: address → UID → start."""
    calendars: dict[str, OnCalendar] = {}
    for url, entries in found.items():
        if not url.startswith(_SEEN_OF_OLD):
            sent = {str(uid): {"DTSTART": str(start)} for uid, start in entries.items()}
            seen = _texts(found.get(f"{_SEEN_OF_OLD}{url}", {}))
            calendars[url] = OnCalendar((), sent, seen)
    return Published(calendars)


def _words(found: object) -> str | None:
    return None if found is None else str(found)


def _texts(found: dict[Any, Any]) -> dict[str, str]:
    return {str(name): str(text) for name, text in found.items()}


def write_record(out: Path, record: Published) -> None:
    """Keep it for the next time."""
    calendars = {
        url: {
            "holds": list(there.holds),
            "sent": {uid: dict(sent) for uid, sent in there.sent.items()},
            "seen": dict(there.seen),
            "todos": there.todos,
            "tasks": {uid: dict(sent) for uid, sent in there.tasks.items()},
        }
        for url, there in record.calendars.items()
    }
    ticked = {uid: vars(each) for uid, each in record.ticked.items()}
    whole = {"format": _FORMAT, "calendars": calendars, "ticked": ticked}
    text = json.dumps(whole, indent=1, sort_keys=True, ensure_ascii=False)
    write_atomic(out / LEDGER, text.encode("utf-8", "replace"))
