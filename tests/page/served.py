"""A household's page as a browser has it, without one: forms are read from the pages and sent back
with what a person typed."""

from __future__ import annotations

import asyncio
import datetime as dt
import re
import shutil
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlencode, urlsplit

from browser.saved_plan import FULLEST, demo_data, demo_folder, write_pages

from harvestplan.page.app import make_app
from harvestplan.page.kept_here import Keep
from harvestplan.page.long_work import LongJob, LongWork
from harvestplan.page.sheet_state import Live
from harvestplan.page.site import OWN_ADDRESS, Site

PORT = 8730
SATURDAY = dt.date.fromisoformat(FULLEST)


def demo_season(place: Path) -> Path:
    """The demo household's folder with its saved plan."""
    folder = place / "season"
    shutil.copytree(demo_folder(), folder, ignore=shutil.ignore_patterns("out", ".*"))
    write_pages(demo_data(), folder, folder / "out")
    return folder


class IdleWork(LongWork):
    """Work that is done at once, with nothing found: for tests that are not about what is found."""

    def begin(self, name: str, kind: str, asked: dict[str, Any]) -> LongJob:
        job = LongJob(
            kind, asked, process=None, state="done", result={"plantings": [], "places": []}
        )
        job.over.set()
        return job


@dataclass
class Form:
    """A form of a page: where it goes, what it holds, its buttons' values."""

    action: str
    fields: dict[str, str] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)


class FormsOf(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.by_id: dict[str, Form] = {}
        self.inside: Form | None = None
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.inside = Form(has.get("action", ""))
            self.forms.append(self.inside)
            if "id" in has:
                self.by_id[has["id"]] = self.inside
            return
        form = self.by_id.get(has.get("form", ""), self.inside)
        if form is None:
            return
        name = has.get("name", "")
        if tag == "button" and name:
            form.buttons.append((name, has.get("value", "")))
        elif tag == "select":
            self.select = name
        elif tag == "option" and self.select:
            if "selected" in has or self.select not in form.fields:
                form.fields[self.select] = has.get("value", "")
        elif tag in ("input", "textarea") and name:
            off = has.get("type") in ("checkbox", "radio") and "checked" not in has
            if not off:
                form.fields[name] = has.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.inside = None
        elif tag == "select":
            self.select = ""


@dataclass
class Answer:
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()

    @property
    def words(self) -> str:
        """What is read of it, on one line."""
        told = re.sub(r"<(style|script|head).*?</\1>", "", self.text, flags=re.DOTALL)
        return " ".join(re.sub(r"<[^>]+>", " ", told).split())

    def forms(self) -> list[Form]:
        found = FormsOf()
        found.feed(self.text)
        return found.forms

    def form(self, action: str, **holding: str) -> Form:
        """The first form for an action that holds these values."""
        return next(
            form
            for form in self.forms()
            if form.action == action and holding.items() <= form.fields.items()
        )


class Page:
    """A device before the page."""

    def __init__(
        self,
        folder: Path | None,
        keeps: Path,
        today: dt.date | None = SATURDAY,
        work: LongWork | None = None,
    ) -> None:
        self.site = Site(Keep(keeps), port=PORT, folder=folder, as_of=today)
        self.site.work, self.site.live = work or IdleWork(), Live(self.site.keep)
        self.app = make_app(self.site)
        self.door = OWN_ADDRESS
        self.cookie = ""

    def ask(
        self,
        method: str,
        path: str,
        body: bytes = b"",
        headers: dict[str, str | None] | None = None,
    ) -> Answer:
        """One request, with the headers of an honest browser but for those given."""
        own = f"{self.door}:{PORT}"
        told: dict[str, str | None] = {"host": own, "cookie": self.cookie or None}
        if method == "POST":
            told |= {
                "origin": f"http://{own}",
                "content-type": "application/x-www-form-urlencoded",
            }
        told |= headers or {}
        return asyncio.run(self._asked(method, path, body, told))

    async def _asked(
        self, method: str, path: str, body: bytes, told: dict[str, str | None]
    ) -> Answer:
        at = urlsplit(path)
        scope: dict[str, Any] = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": unquote(at.path),
            "raw_path": at.path.encode(),
            "query_string": at.query.encode(),
            "root_path": "",
            "headers": [
                (n.lower().encode(), v.encode("latin-1")) for n, v in told.items() if v is not None
            ],
            "client": (self.door, 50000),
            "server": (self.door, PORT),
            "state": {},
        }
        sent: list[Any] = []
        asked = False

        async def receive() -> dict[str, Any]:
            nonlocal asked
            if asked:
                await asyncio.sleep(3600)
            asked = True
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Any) -> None:
            sent.append(message)

        await self.app(scope, receive, send)
        start = next(m for m in sent if m["type"] == "http.response.start")
        data = b"".join(m.get("body", b"") for m in sent if m["type"] == "http.response.body")
        headers = {k.decode().lower(): v.decode("latin-1") for k, v in start["headers"]}
        return Answer(start["status"], headers, data)

    def get(self, path: str, **headers: str | None) -> Answer:
        return self.ask("GET", path, headers=headers)

    def send(self, form: Form, follow: bool = True, **typed: str) -> Answer:
        """Send a form with what was typed; what it leads to."""
        body = urlencode(form.fields | typed).encode()
        answer = self.ask("POST", form.action, body)
        if answer.status == 303:
            self.cookie = answer.headers.get("set-cookie", self.cookie).partition(";")[0]
            if follow:
                return self.get(answer.headers["location"].partition("#")[0])
        return answer
