"""From an address that a person has, a server's, an account's or a calendar's, to its calendars.

The way is that of RFC 6764 (6: /.well-known/caldav), RFC 5397 (current-user-principal) and
RFC 4791 (6.2.1 calendar-home-set, 5.3.1 MKCALENDAR). It stays on the server that was named: where
that points to another one, the person is told, and goes there by name or not at all.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import urljoin
from xml.etree.ElementTree import Element
from xml.sax.saxutils import escape

from harvestplan.errors import printable
from harvestplan.outputs.calendar.caldav import XML, Part, hint
from harvestplan.outputs.calendar.multistatus import CAL, DAV, Incomplete, read_properties
from harvestplan.outputs.calendar.server import (
    USUAL_TERMS,
    Login,
    Server,
    ServerRefused,
    Terms,
    split_url,
)
from harvestplan.words import one_line

WELL_KNOWN = "/.well-known/caldav"
_PROPERTIES = b"""<?xml version="1.0" encoding="utf-8"?>
<D:propfind xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"><D:prop>
<D:resourcetype/><D:displayname/><D:current-user-principal/><D:current-user-privilege-set/>
<C:calendar-home-set/><C:supported-calendar-component-set/></D:prop></D:propfind>"""
_MAKE = """<?xml version="1.0" encoding="utf-8"?>
<C:mkcalendar xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav"><D:set><D:prop>
<D:displayname>{name}</D:displayname>
<A:calendar-color xmlns:A="http://apple.com/ns/ical/">{color}</A:calendar-color>
<C:supported-calendar-component-set>{parts}</C:supported-calendar-component-set>
</D:prop></D:set></C:mkcalendar>"""
_RENAME = """<?xml version="1.0" encoding="utf-8"?>
<D:propertyupdate xmlns:D="DAV:"><D:set><D:prop>
<D:displayname>{name}</D:displayname></D:prop></D:set></D:propertyupdate>"""
_EVERY_PART: frozenset[Part] = frozenset(("VEVENT", "VTODO"))
_STEPS = 3
"""Redirects and principals in a row at most."""
Properties = dict[str, Element]


@dataclass(frozen=True)
class Calendar:
    """A calendar on the server: what it is called, what it takes, whether this user may write."""

    url: str
    name: str
    takes: frozenset[Part]
    writable: bool = True

    def __str__(self) -> str:
        kinds = [
            word for part, word in (("VEVENT", "events"), ("VTODO", "to-dos")) if part in self.takes
        ]
        says = " and ".join(kinds) or "neither events nor to-dos"
        return f"{printable(self.url)} ({one_line(self.name, 60)}; takes {says})"


@dataclass(frozen=True)
class Place:
    """What stands at an address: a calendar, or an account, whose calendars are in `home` (a path,
    "" where the server does not tell)."""

    calendar: Calendar | None
    home: str
    calendars: tuple[Calendar, ...]

    def taking(self, part: Part) -> list[Calendar]:
        """Those of the account's calendars that take such entries and may be written."""
        return [each for each in self.calendars if part in each.takes and each.writable]


class Account:
    """The way to the calendars of a user at the server of `url`."""

    def __init__(self, url: str, login: Login | None = None, terms: Terms = USUAL_TERMS) -> None:
        self.server = Server(url, login, terms)
        self._start = split_url(url).path or "/"

    def look(self) -> Place:
        """What stands at the address; ServerRefused where it leads to no calendar at all."""
        path, found = self._first()
        if found is None:
            raise ServerRefused(self._nothing_at(path, 404))
        if _is_calendar(found):
            return Place(self._calendar(path, found), *self._beside(path, found))
        home, calendars = self._others(path, found)
        if not home:
            raise ServerRefused(
                f"{printable(self.server.root + path)} is no calendar, and does not tell where "
                "there are any. Look in your calendar program, or on the server's own page, for "
                "the address of the calendar itself."
            )
        return Place(None, home, calendars)

    def make(self, home: str, name: str, *, color: str, parts: frozenset[Part]) -> Calendar:
        """A new calendar of that name in `home`; ServerRefused where there is one, or it may not
        be."""
        slug = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "calendar"
        path = f"{home}{slug}/"
        refused = f"{self.server.host} would not make a calendar at {printable(path)}."
        if self._properties(path) is not None:
            raise ServerRefused(
                f"{refused} There is one of that name already: publish to its address, or give the "
                "new one another name."
            )
        told = "".join(f'<C:comp name="{part}"/>' for part in sorted(parts))
        body = _MAKE.format(name=escape(name), color=color, parts=told).encode()
        answer = self.server.ask("MKCALENDAR", path, body, XML)
        if answer.status not in (200, 201):
            raise ServerRefused(f"{refused} {hint(answer.status, path)}")
        return Calendar(f"{self.server.root}{path}", name, parts)

    def rename(self, calendar: Calendar, name: str) -> bool:
        """Give a calendar another name (RFC 4918, 9.2); whether the server did."""
        path = calendar.url.removeprefix(self.server.root)
        body = _RENAME.format(name=escape(name)).encode()
        answer = self.server.ask("PROPPATCH", path, body, XML)
        found = self._properties(path) if answer.status == 207 else None
        shown = (found or {}).get(f"{DAV}displayname")
        return shown is not None and shown.text == name

    def _first(self) -> tuple[str, Properties | None]:
        """The path from which the way begins, and what is told of it."""
        found = self._properties(self._start)
        useful = found is not None and (_is_calendar(found) or _leads_on(found))
        if useful or self._start.strip("/"):
            return self._start, found
        known = self._well_known()
        return (known, self._properties(known)) if known else (self._start, found)

    def _well_known(self) -> str:
        """Where the server says that calendars begin (RFC 6764, 5), asked without the password."""
        path = WELL_KNOWN
        for _ in range(_STEPS):
            head = {"Depth": "0"} | XML
            answer = self.server.ask("PROPFIND", path, _PROPERTIES, head, anonymous=True)
            if answer.status not in (301, 302, 303, 307, 308):
                return path if answer.status in (207, 401) else ""
            path = self._here(answer.location, path)
        return ""

    def _others(self, path: str, found: Properties) -> tuple[str, tuple[Calendar, ...]]:
        home = self._home(path, found)
        if not home:
            return "", ()
        listed = [(p, f) for p, f in self._list(home) if _is_calendar(f)]
        return home, tuple(self._calendar(p, f) for p, f in listed)

    def _beside(self, path: str, found: Properties) -> tuple[str, tuple[Calendar, ...]]:
        """The account's calendars, as far as the server tells of them: the one is known."""
        try:
            return self._others(path, found)
        except ServerRefused:
            return "", ()

    def _home(self, path: str, found: Properties) -> str:
        for _ in range(_STEPS):
            home = _href(found, f"{CAL}calendar-home-set")
            if home:
                return self._here(home, path).rstrip("/") + "/"
            principal = _href(found, f"{DAV}current-user-principal")
            there = self._here(principal, path) if principal else path
            if there == path:
                return ""
            path, found = there, self._properties(there) or {}
        return ""

    def _properties(self, path: str) -> Properties | None:
        return next((found for _, found in self._list(path, depth="0")), None)

    def _list(self, path: str, depth: str = "1") -> list[tuple[str, Properties]]:
        answer = self.server.ask("PROPFIND", path, _PROPERTIES, {"Depth": depth} | XML)
        if answer.status in (404, 405, 501) or 300 <= answer.status < 400:
            return []
        if answer.status != 207:
            refused = f"{self.server.host} would not tell of its calendars."
            raise ServerRefused(f"{refused} {hint(answer.status, path)}")
        try:
            return [
                (self.server.path_of(href, path), named)
                for href, named in read_properties(answer.body)
            ]
        except Incomplete as why:
            raise ServerRefused(
                f"{self.server.host} sent an answer that is incomplete, or none of a calendar "
                f"server: {why}. Look at the address."
            ) from None

    def _here(self, href: str, base: str) -> str:
        """The path that `href` names on this server; ServerRefused where it is on another one."""
        try:
            return self.server.path_of(href, base)
        except Incomplete:
            other = printable(urljoin(f"{self.server.root}{base}", href))
            raise ServerRefused(
                f"{self.server.host} says that its calendars are at {other}. That is another "
                "server, so your password was not sent there. If you trust it, name that address."
            ) from None

    def _calendar(self, path: str, found: Properties) -> Calendar:
        parts = found.get(f"{CAL}supported-calendar-component-set")
        told = [] if parts is None else [each.get("name", "").upper() for each in parts]
        # Without the property, or with none in it, all kinds are taken (RFC 4791, 5.2.3).
        takes = {part for part in _EVERY_PART if part in told} if told else _EVERY_PART
        name = found.get(f"{DAV}displayname")
        title = (name.text if name is not None else None) or path.rstrip("/").rpartition("/")[2]
        url = f"{self.server.root}{path.rstrip('/')}/"
        return Calendar(url, title, frozenset(takes), _may_write(found))

    def _nothing_at(self, path: str, status: int) -> str:
        return f"{self.server.host}: {hint(status, path)} Its own page shows the right address."


def _is_calendar(found: Properties) -> bool:
    kinds = found.get(f"{DAV}resourcetype")
    return kinds is not None and kinds.find(f"{CAL}calendar") is not None


def _leads_on(found: Properties) -> bool:
    names = (f"{CAL}calendar-home-set", f"{DAV}current-user-principal")
    return any(_href(found, name) for name in names)


def _href(found: Properties, name: str) -> str:
    part = found.get(name)
    return "" if part is None else (part.findtext(f"{DAV}href") or "").strip()


def _may_write(found: Properties) -> bool:
    """Whether this user may write there (RFC 3744, 5.4); yes where the server does not tell."""
    rights = found.get(f"{DAV}current-user-privilege-set")
    if rights is None or not len(rights):
        return True
    may = {right.tag for each in rights for right in each}
    return bool(may & {f"{DAV}{name}" for name in ("all", "write", "write-content", "bind")})
