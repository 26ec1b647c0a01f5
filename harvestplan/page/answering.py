"""From a request to an answer, whatever happens on the way: every error ends in a sentence."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Callable
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from harvestplan.errors import FilesNeedMending, HarvestPlanError
from harvestplan.page.recording import Meanwhile
from harvestplan.page.site import Site, Wrong, hidden_fields, sent, shown_flaw, without_places

Act = Callable[[Site, Request], Response]
Show = Callable[..., Response]
"""Takes site and request, and where a form cannot be used `wrong`, what is wrong in it."""


def shows(site: Site, path: str, show: Show) -> Route:
    """A page."""
    return Route(path, _safely(site, lambda request: show(site, request)), methods=["GET"])


def takes(site: Site, path: str, act: Act, show: Show | None = None) -> Route:
    """A form: what it cannot use is told on the page that `show` makes, beside the field."""

    def answer(request: Request) -> Response:
        try:
            _take_choice(sent(request))
            return act(site, request)
        except Wrong as wrong:
            wrong.form = wrong.form or sent(request).get("group", "")
            if show is None:
                return _told(site, request, 422, wrong.message, wrong.hint)
            answered = show(site, request, wrong=wrong)
            answered.status_code = 422
            return answered
        except Meanwhile as other:
            return _meanwhile(site, request, other)

    return Route(path, _safely(site, answer), methods=["POST"])


def _take_choice(form: dict[str, str]) -> None:
    """Puts what was chosen of several readings, like "amount=1.5 kg", in the place of what was
    typed."""
    name, _, value = form.pop("meant", "").partition("=")
    if value and name in form and name not in ("token", "code", "seen"):
        form[name] = value


def _safely(site: Site, answer: Callable[[Request], Response]) -> Callable[[Request], Response]:
    def safe(request: Request) -> Response:
        try:
            if site.folder is None and not request.url.path.startswith(("/begin", "/seasons")):
                return RedirectResponse("/seasons", 303)
            return answer(request)
        except FilesNeedMending as error:
            flaws = [shown_flaw(flaw, site.folder) for flaw in error.flaws] if site.folder else []
            return site.page(request, "mend.html.j2", status=409, flaws=flaws, title="Mend this")
        except HarvestPlanError as error:
            return _told(site, request, 409, str(error))
        except OSError as error:
            what = f"The computer refused: {error.strerror or 'it cannot be written'}."
            return _told(site, request, 507, what, "Nothing of this was written; see whether "
                         "the disk is full.")  # fmt: skip
        except Exception:
            if os.environ.get("HARVESTPLAN_DEBUG"):
                traceback.print_exc(file=sys.stderr)
            what = "Something went wrong inside harvestplan. This is our fault, not yours."
            return _told(site, request, 500, what)

    return safe


def _told(site: Site, request: Request, status: int, words: str, hint: str = "") -> Response:
    lines = [without_places(line, site.folder) for line in (words, hint) if line]
    return site.page(request, "told.html.j2", status=status, lines=lines, title="Not done")


def _meanwhile(site: Site, request: Request, other: Meanwhile) -> Response:
    """Asks the later of two devices; "seen" is then what stands now."""
    form: dict[str, Any] = dict(sent(request))
    form["seen"] = site.read().seen
    return site.page(
        request,
        "meanwhile.html.j2",
        status=409,
        words=other.words,
        fields=hidden_fields(form),
        action=request.url.path,
        title="Written meanwhile",
    )
