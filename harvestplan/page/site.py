"""The server's own state: which season it shows, to whom, and how a page is made."""

from __future__ import annotations

import datetime as dt
import socket
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from harvestplan.errors import Flaw, printable
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.page.devices import Devices
from harvestplan.page.guard import HERE
from harvestplan.page.kept_here import Keep, remember_season, season_key
from harvestplan.page.reading import Reader, SeasonReading
from harvestplan.page.rendering import rendered
from harvestplan.page.tokens import new_code, token_for
from harvestplan.plan.models import Session
from harvestplan.records.tell import said
from harvestplan.words import clean

OWN_ADDRESS = "127.0.0.1"
MOST_CHOICES = 12
"""Readings that a form offers."""
NAV = (
    ("/", "Today"),
    ("/season", "Season"),
    ("/garden", "Garden"),
    ("/store", "Store"),
    ("/plan", "Plan"),
    ("/more", "More"),
)
BELONGS = {
    "/session": "/season",
    "/sheet": "/",
    "/files": "/more",
    "/what-if": "/more",
    "/phones": "/more",
    "/diary": "/more",
}
"""Pages that are reached from one of those."""
SESSION_GONE = "This session is not in the plan any more."


class Wrong(Exception):
    """What was sent in a form cannot be used: a sentence to stand at its field; `choices` are what
    was perhaps meant, to be chosen from."""

    def __init__(
        self,
        message: str,
        field: str = "",
        form: str = "",
        hint: str = "",
        *,
        choices: Sequence[str] = (),
    ) -> None:
        self.message, self.field, self.form, self.hint = message, field, form, hint
        self.choices = tuple(choices)[:MOST_CHOICES]
        super().__init__(message)

    @classmethod
    def unclear(cls, error: Unclear, field: str, form: str = "") -> Wrong:
        """What the ear could not understand, or understands in two ways, at its field."""
        return cls(error.message, field, form, error.hint, choices=error.choices)


@dataclass
class Site:
    """One running server. `folder` is the season it shows, None until one is chosen; `as_of` looks
    at it from another day than today."""

    keep: Keep
    port: int = 0
    folder: Path | None = None
    as_of: dt.date | None = None
    home_address: str | None = None
    """This computer's address in the home network, where the household names it."""
    shared_address: str | None = None
    """The address in the home network at which it listens too, while it does."""
    work: Any = None
    """Who runs long work in processes of its own (`long_work.LongWork`)."""
    live: Any = None
    """The ticks and timers that devices share (`sheet_state.Live`)."""
    sharing: Any = None
    """Begins and ends listening in the home network; None where nobody can."""
    forecast: dict[str, Any] = field(default_factory=dict)
    """The last forecast, with what it was reckoned from."""
    asked: list[Any] = field(default_factory=list)
    """Answers to "what if" since the server began."""
    closing: bool = False
    """Whether it is about to end, so that nothing waits for it any more."""
    _readers: dict[Path, Reader] = field(default_factory=dict)

    # What the guard asks.

    def hosts(self) -> frozenset[str]:
        """The names under which the page may be asked for."""
        names = [OWN_ADDRESS, "localhost"]
        if self.shared_address:
            names += [self.shared_address, f"{socket.gethostname().lower()}.local"]
        return frozenset(f"{name}:{self.port}" for name in names)

    def own_address(self) -> str:
        return OWN_ADDRESS

    def device_of(self, cookie: str) -> str | None:
        return self.devices.known(cookie)

    def secret(self) -> str:
        return self._secret

    def refusal(self, status: int, words: str, *, known: bool) -> Response:
        text = rendered("refused.html.j2", words=words, known=known, title="Not so")
        return HTMLResponse(text, status)

    @cached_property
    def _secret(self) -> str:
        return self.keep.secret("forms")

    @cached_property
    def devices(self) -> Devices:
        """The devices that may see the page beside this computer."""
        return Devices(self.keep)

    # What pages ask.

    def choose(self, folder: Path) -> None:
        """Show this season from now on."""
        self.folder = folder
        remember_season(self.keep, folder)

    @property
    def key(self) -> str:
        """The season's name among what is kept."""
        return season_key(self.folder) if self.folder else "none"

    def read(self) -> SeasonReading:
        """The season folder as it stands; only where one was chosen."""
        assert self.folder is not None
        reader = self._readers.setdefault(self.folder, Reader(self.folder))
        return reader.read()

    def session_asked(self, request: Request) -> tuple[SeasonReading, Session]:
        """The season, and the session whose uid stands in the address; raises Wrong where it is
        gone."""
        reading = self.read()
        session = reading.live_session(request.path_params["uid"])
        if session is None or reading.season is None:
            raise Wrong(SESSION_GONE)
        return reading, session

    def today(self, reading: SeasonReading) -> dt.date:
        """Today by the household's clock, or the day that was asked for."""
        return self.as_of or reading.now().date()

    def hidden(self, request: Request, action: str, seen: str = "", group: str = "") -> Markup:
        """The hidden fields of a form for `action`; `group` tells it from others on the page."""
        code = new_code()
        token = token_for(self._secret, device_of(request), unquote(action), code)
        fields = {"token": token, "code": code, "seen": seen}
        return hidden_fields(fields | ({"group": group} if group else {}))

    def page(
        self,
        request: Request,
        template: str,
        *,
        status: int = 200,
        reading: SeasonReading | None = None,
        **values: Any,
    ) -> HTMLResponse:
        """The page; its forms carry tokens for the device that asks."""
        seen = reading.seen if reading else ""
        path = request.url.path
        text = rendered(
            template,
            **{"wrong": None, "title": "", "nav": NAV if self.folder else (), **values},
            here=_room(path),
            path=path,
            local=device_of(request) == HERE,
            season_name=reading.season.household.name if reading and reading.season else "",
            hidden=lambda action, group="": self.hidden(request, action, seen, group),
            notice=_notice(request, reading),
            form=request.scope.get("state", {}).get("form", {}),
        )
        return HTMLResponse(text, status)

    def mend(self, request: Request, reading: SeasonReading) -> HTMLResponse:
        """What has to be mended before there can be a page."""
        flaws = [shown_flaw(flaw, reading.folder) for flaw in reading.flaws]
        return self.page(
            request, "mend.html.j2", reading=reading, flaws=flaws, title="Something to mend"
        )


def _room(path: str) -> str:
    """The page of the list at the top that a page belongs to, "" where it belongs to none."""
    first = f"/{path.split('/')[1]}"
    return first if first in dict(NAV) else BELONGS.get(first, "")


def device_of(request: Request) -> str:
    """The device that asks; "" for one that is not paired."""
    return str(request.scope.get("state", {}).get("device") or "")


def sent(request: Request) -> dict[str, str]:
    """The form that was sent."""
    form: dict[str, str] = request.scope["state"]["form"]
    return form


def hidden_fields(fields: dict[str, str]) -> Markup:
    """Hidden fields of a form."""
    return Markup("").join(
        Markup('<input type="hidden" name="{}" value="{}">').format(name, value)
        for name, value in fields.items()
    )


def back_to(path: str, code: str = "", at: str = "") -> RedirectResponse:
    """On to a page of ours by GET, so that loading it again sends nothing twice."""
    asked = f"?done={code}" if code else ""
    return RedirectResponse(f"{path}{asked}{f'#{at}' if at else ''}", 303)


def shown_flaw(flaw: Flaw, folder: Path) -> dict[str, Any]:
    """A flaw as a page tells it, without where on this computer the folder lies."""
    name = Path(flaw.file).name
    return {
        "file": name,
        "line": flaw.line,
        "text": printable(flaw.text.strip()),
        "message": without_places(flaw.message, folder),
        "hint": without_places(flaw.hint, folder),
    }


def without_places(text: str, folder: Path | None) -> str:
    """A sentence without the places of this computer."""
    text = printable(clean(text))
    for place in (folder, folder and folder.resolve(), Path.home(), Path.cwd()):
        if place is not None and len(str(place)) > 1:
            text = text.replace(f"{place}/", "").replace(str(place), "the season folder")
    return text


def _notice(request: Request, reading: SeasonReading | None) -> dict[str, str] | None:
    """What was just written, to be told at the top of the page."""
    code = request.query_params.get("done", "")
    if not code or reading is None:
        return None
    event = next((each for each in reading.lines if each.code == code), None)
    if event is None:
        return None
    live = any(each.code == code for each in reading.diary.events)
    return {"words": said(event).rsplit(" #", 1)[0], "code": code if live else ""}


__all__ = ["Site", "Wrong", "back_to", "device_of", "escape", "sent", "shown_flaw"]
