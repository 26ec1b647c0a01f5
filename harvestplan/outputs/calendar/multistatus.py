"""What a calendar server answers when it is asked what is there: a multistatus (RFC 4918, 13).

It counts only when it is whole: of what a torn answer leaves out nobody can say that it is gone.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from xml.etree.ElementTree import Element, ParseError

from defusedxml.ElementTree import fromstring

from harvestplan.errors import HarvestPlanError, printable

MOST_MARKS = 500_000
"""Tags and attributes of an answer at most: each takes many times its length in memory."""
DAV, CAL = "{DAV:}", "{urn:ietf:params:xml:ns:caldav}"
_STATUS = re.compile(r"HTTP/\d(?:\.\d)? (\d{3})(?: .*)?")
_TAG = re.compile(r"[\x20-\x7e\x80-\xff]+")
"""What can stand in a header (RFC 9110, 8.8.3); some servers leave out the quotes."""
_STORAGE_FULL = 507
"""How a server says that it sends only a part (RFC 4791, 7.8; RFC 5323, 5.17)."""


class Incomplete(HarvestPlanError):
    """The answer is torn, held back in part, or none; the message says why."""


@dataclass(frozen=True)
class Resource:
    """One calendar object on the server: path, entity tag and content."""

    path: str
    etag: str
    data: bytes


def read_multistatus(body: bytes, locate: Callable[[str], str]) -> list[Resource]:
    """Every resource of a whole answer; `locate` gives the path that an href stands for.

    Raises Incomplete for an answer that is not whole, and what `locate` raises.
    """
    found: dict[str, Resource] = {}
    for response in _root(body).findall(f"{DAV}response"):
        resource = _resource(response, locate)
        if resource.path in found:
            raise Incomplete(f"it names {printable(resource.path)} twice")
        found[resource.path] = resource
    return list(found.values())


def read_properties(body: bytes) -> list[tuple[str, dict[str, Element]]]:
    """Each href of an answer to PROPFIND with the properties that were found, by name.

    What a server does not have, or keeps to itself, is left out. Raises Incomplete for what is no
    sound multistatus.
    """
    found = []
    for response in _root(body).findall(f"{DAV}response"):
        href = (response.findtext(f"{DAV}href") or "").strip()
        if _code(response.findtext(f"{DAV}status") or "HTTP/1.1 200 OK") == _STORAGE_FULL:
            raise _refused(_STORAGE_FULL, [href])
        named: dict[str, Element] = {}
        for propstat in response.findall(f"{DAV}propstat"):
            if _code(propstat.findtext(f"{DAV}status", "")) == 200:
                named |= {child.tag: child for child in propstat.iterfind("*/*")}
        if href and named:
            found.append((href, named))
    return found


def _root(body: bytes) -> Element:
    # Counted as bytes, which holds in every encoding that the parser reads.
    if body.count(b"<") + body.count(b"=") > MOST_MARKS:
        raise Incomplete("it has more parts than any calendar")
    try:
        root: Element = fromstring(body, forbid_dtd=True)
    except (ParseError, ValueError, LookupError):
        raise Incomplete("it is no sound XML") from None
    if root.tag != f"{DAV}multistatus":
        raise Incomplete("it is no multistatus")
    return root


def _resource(response: Element, locate: Callable[[str], str]) -> Resource:
    hrefs = [(href.text or "").strip() for href in response.findall(f"{DAV}href")]
    status = response.findtext(f"{DAV}status")
    if status is not None:
        raise _refused(_code(status), hrefs)
    if len(hrefs) != 1 or not hrefs[0]:
        raise Incomplete("an entry in it has no name, or several")
    path, fields = locate(hrefs[0]), _fields(response, hrefs)
    etag, text = fields.get(f"{DAV}getetag", ""), fields.get(f"{CAL}calendar-data", "")
    if not _TAG.fullmatch(etag):
        raise Incomplete(f"{printable(hrefs[0])} comes without a usable entity tag")
    if not _is_whole(text):
        raise Incomplete(f"{printable(hrefs[0])} is empty or torn in it")
    return Resource(path, etag, text.encode("utf-8", "replace"))


def _fields(response: Element, hrefs: list[str]) -> dict[str, str]:
    """Text of the properties that were asked for and found."""
    found: dict[str, str] = {}
    for propstat in response.findall(f"{DAV}propstat"):
        code = _code(propstat.findtext(f"{DAV}status", ""))
        named = {child.tag: (child.text or "").strip() for child in propstat.iterfind("*/*")}
        if code == 200:
            found |= named
        elif code == _STORAGE_FULL or f"{CAL}calendar-data" in named:
            raise _refused(code, hrefs)
    return found


def _refused(code: int, hrefs: list[str]) -> Incomplete:
    if code == _STORAGE_FULL:
        return Incomplete(f"the server holds a part of it back ({code})")
    return Incomplete(f"it says {code} instead of what {printable(', '.join(hrefs))} holds")


def _code(status: str) -> int:
    match = _STATUS.fullmatch(status.strip())
    if match is None:
        raise Incomplete("a part of it does not say whether it was found")
    return int(match[1])


def _is_whole(text: str) -> bool:
    upper = text.lstrip("\ufeff").upper()
    return upper.startswith("BEGIN:VCALENDAR") and upper.endswith("END:VCALENDAR")
