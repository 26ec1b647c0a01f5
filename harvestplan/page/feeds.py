"""Calendars by subscription (RFC 5545 files under addresses that nobody guesses), while this
computer is on."""

from __future__ import annotations

import email.utils
import hashlib
import hmac
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.outputs.calendar.kinds import KINDS
from harvestplan.page.site import Site

LARGEST = 20_000_000


def routes(site: Site) -> list[Route]:
    """A feed for each kind of calendar, under a secret path; no form and no cookie is needed."""
    return [
        Route(
            "/calendar/{secret}/{name}.ics",
            lambda request: _feed(site, request),
            methods=["GET"],
        )
    ]


def feed_path(site: Site, name: str) -> str:
    """The path of a kind's feed: 256 bits drawn by lot for this season and kind."""
    return f"/calendar/{site.keep.secret(_secret(site, name))}/{name}.ics"


def _secret(site: Site, name: str) -> str:
    return f"feed-{site.key}-{name}"


def new_feed_paths(site: Site) -> None:
    """Other paths from now on; those subscribed to the old ones get nothing more."""
    for name in KINDS:
        site.keep.drop_secret(_secret(site, name))


def _feed(site: Site, request: Request) -> Response:
    name, secret = request.path_params["name"], request.path_params["secret"]
    # Any name takes the same way, so that neither answers nor times tell which there are.
    known = site.keep.secret(_secret(site, name)) if name in KINDS and site.folder else "x" * 43
    right = hmac.compare_digest(known.encode(), secret.encode("utf-8", "replace"))
    if not right or name not in KINDS or site.folder is None:
        return Response("There is nothing here.", 404, media_type="text/plain")
    path = site.folder / "out" / KINDS[name].file
    if path.is_symlink() or not path.is_file() or path.stat().st_size > LARGEST:
        return Response("There is no plan yet.", 404, media_type="text/plain")
    changed = path.stat().st_mtime
    base = f"http://{site.shared_address or site.own_address()}:{site.port}"
    data, tag = _served(path, changed, base)
    headers = {
        "etag": tag,
        "last-modified": email.utils.formatdate(changed, usegmt=True),
        "cache-control": "private, max-age=900",
    }
    if _is_known(request, tag, changed):
        return Response(status_code=304, headers=headers)
    headers["content-disposition"] = f'inline; filename="{name}.ics"'
    return Response(data, media_type="text/calendar; charset=utf-8", headers=headers)


def _is_known(request: Request, tag: str, changed: float) -> bool:
    """Whether the reader has this very file (RFC 9110, 13.2.2: tags count before times)."""
    tags = request.headers.get("if-none-match")
    if tags is not None:
        return tags.strip() == "*" or tag in [each.strip() for each in tags.split(",")]
    try:
        since = email.utils.parsedate_to_datetime(request.headers.get("if-modified-since", ""))
    except (ValueError, TypeError):
        return False
    return int(changed) <= since.timestamp()


@lru_cache(maxsize=8)
def _served(path: Path, changed: float, base: str) -> tuple[bytes, str]:
    text = path.read_bytes().decode("utf-8", "replace")
    data = "".join(_with_sheets(text, base)).encode()
    return data, f'"{hashlib.sha256(data).hexdigest()[:24]}"'


def _with_sheets(text: str, base: str) -> Iterator[str]:
    """The file with the address of its sheet in each session; how often to look again, the file
    itself says (RFC 7986, 5.7)."""
    uid, is_event, depth = "", False, 0
    for line in text.splitlines(keepends=False):
        if line == "BEGIN:VEVENT":
            uid, is_event, depth = "", True, 0
        elif is_event and line.startswith("BEGIN:"):
            depth += 1
        elif is_event and line.startswith("END:") and line != "END:VEVENT":
            depth -= 1
        elif is_event and not depth and line.startswith("UID:"):
            uid = line.removeprefix("UID:")
        elif is_event and not depth and line.startswith("URL"):
            uid = ""  # the household serves its sheets elsewhere
        if line == "END:VEVENT":
            is_event = False
            if uid and "@" not in uid and "|" not in uid:
                yield _folded(f"URL;VALUE=URI:{base}/sheet/{uid}")
        yield f"{line}\r\n"


def _folded(line: str) -> str:
    """Lines of at most 75 octets (RFC 5545, 3.1); ours are ASCII."""
    parts = [line[:75], *(f" {line[n : n + 74]}" for n in range(75, len(line), 74))]
    return "".join(f"{part}\r\n" for part in parts)
