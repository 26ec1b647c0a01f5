"""One calendar on a CalDAV server (RFC 4791): read, and each entry put and deleted under guard."""

from __future__ import annotations

from typing import Literal
from urllib.parse import quote, unquote

from harvestplan.errors import HarvestPlanError, printable
from harvestplan.outputs.calendar.multistatus import Incomplete, Resource, read_multistatus
from harvestplan.outputs.calendar.server import (
    IN_PATHS,
    PASSWORD,
    USER,
    USUAL_TERMS,
    Login,
    Server,
    ServerRefused,
    Terms,
    find_login,
    segments,
    split_url,
)

Part = Literal["VEVENT", "VTODO"]
"""What an entry of a calendar is (RFC 5545, 3.6)."""
_LONGEST_NAME = 500
"""Letters of a resource's name; file systems hold 255 bytes."""
_QUERY = """<?xml version="1.0" encoding="utf-8"?>
<C:calendar-query xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">
<D:prop><D:getetag/><C:calendar-data/></D:prop>
<C:filter><C:comp-filter name="VCALENDAR"><C:comp-filter name="{}"/></C:comp-filter></C:filter>
</C:calendar-query>"""
XML = {"Content-Type": "application/xml; charset=utf-8"}


class ChangedMeanwhile(HarvestPlanError):
    """Somebody changed a resource between reading and writing (HTTP status 412)."""


class Collection:
    """The calendar at `url`. Its methods raise ServerRefused where the server cannot or will not;
    so does making it, for an address that may not be used (`Server`)."""

    def __init__(self, url: str, login: Login | None = None, terms: Terms = USUAL_TERMS) -> None:
        self.server = Server(url, login, terms)
        self.host = self.server.host
        path = split_url(url).path
        plain = (quote(segment, safe=IN_PATHS) for segment in segments(path.rstrip("/")))
        self.path = f"{'/'.join(plain)}/"
        self.url = f"{self.server.root}{self.path}"

    def read(self, part: Part = "VEVENT") -> list[Resource]:
        """Every resource with such a part in it, as it stands; ServerRefused also where the answer
        is not whole."""
        body = _QUERY.format(part).encode()
        answer = self.server.ask("REPORT", self.path, body, {"Depth": "1"} | XML)
        if answer.status != 207:
            raise self._refusal(answer.status, "read the calendar")
        try:
            return read_multistatus(answer.body, self._entry)
        except Incomplete as why:
            raise ServerRefused(
                f"{self.host} sent an answer that is incomplete, or none of a calendar: {why}. "
                "Nothing was taken from it. Try again later; if it stays so, look at the address."
            ) from None

    def create(self, name: str, data: bytes) -> None:
        """Put a new resource; raises ChangedMeanwhile where there is one of that name."""
        self._put(self.path + quote(name, safe=""), data, {"If-None-Match": "*"})

    def update(self, old: Resource, data: bytes) -> None:
        """Put `data` in place of `old`; raises ChangedMeanwhile where it is no longer so."""
        self._put(old.path, data, _if_match(old))

    def delete(self, old: Resource) -> None:
        """Delete it; that it is gone already is no error."""
        answer = self.server.ask("DELETE", self._sound(old.path), None, _if_match(old))
        if answer.status == 412:
            raise ChangedMeanwhile("it was changed there meanwhile")
        if answer.status not in (200, 202, 204, 404, 410):
            raise self._refusal(answer.status, "delete an entry")

    def _put(self, path: str, data: bytes, head: dict[str, str]) -> None:
        kind = {"Content-Type": "text/calendar; charset=utf-8"}
        answer = self.server.ask("PUT", self._sound(path), data, kind | head)
        if answer.status == 412:
            raise ChangedMeanwhile("it was changed there meanwhile")
        if answer.status not in (200, 201, 204):
            raise self._refusal(answer.status, "write an entry")

    def _entry(self, href: str) -> str:
        """The path of the calendar's entry that `href` names (RFC 4918, 8.3); Incomplete for
        whatever is no entry of this calendar, above all the calendar itself."""
        try:
            path = self.server.path_of(href, self.path)
        except Incomplete:
            path = ""
        folder, _, name = path.rpartition("/")
        inside = segments(folder) == segments(self.path.rstrip("/"))
        if not inside or not _is_name(name):
            raise Incomplete(f"{printable(href)} is no entry of this calendar")
        return path

    def _sound(self, path: str) -> str:
        """The path, if it may be written to."""
        try:
            return self._entry(path)
        except Incomplete as why:
            raise ServerRefused(f"{self.host}: {why}, so nothing was written there.") from None

    def _refusal(self, status: int, doing: str) -> ServerRefused:
        return ServerRefused(f"{self.host} would not let us {doing}. {hint(status, self.path)}")


def hint(status: int, path: str) -> str:
    """What a status that is no success tells, and the way out."""
    if status == 401:
        return f"It wants another user or password: set {USER} and {PASSWORD}."
    if status == 403:
        return "This user may not do that there. Ask whoever runs it for the right to write."
    if status in (404, 405, 409):
        return f"There is no calendar at {printable(path)} (it answered {status})."
    if 300 <= status < 400:
        return "The calendar has moved; look up its new address."
    if status == 507:
        return "It is full (507): make room there, then publish again."
    return f"It answered {status}. Try again later; if it stays so, ask whoever runs it."


def connect(url: str, terms: Terms = USUAL_TERMS) -> Collection:
    """The calendar at `url`, with the user's login where there is one."""
    return Collection(url, login_for(url, terms), terms)


def login_for(url: str, terms: Terms = USUAL_TERMS) -> Login | None:
    """The user's login at the server of `url`, once the address may be used at all."""
    return find_login(Server(url, None, terms).host)


def _is_name(segment: str) -> bool:
    """Whether a path's last segment names an entry, however often a server decodes it."""
    if len(segment) > _LONGEST_NAME:
        return False
    while segment not in ("", ".", "..") and not set(segment) & set("/\\\0"):
        decoded = unquote(segment)
        if decoded == segment:
            return True
        segment = decoded
    return False


def _if_match(old: Resource) -> dict[str, str]:
    # A weak tag never matches (RFC 9110, 13.1.1), so it cannot guard.
    return {"If-Match": old.etag} if old.etag and not old.etag.startswith("W/") else {}
