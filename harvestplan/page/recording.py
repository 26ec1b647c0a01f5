"""What a tap writes in the diary: through the same words as the commands, once, and not over what
another device wrote meanwhile."""

from __future__ import annotations

import dataclasses
import datetime as dt
import hashlib
from collections.abc import Callable, Collection, Sequence

from starlette.requests import Request

from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.page.site import Site, Wrong, sent
from harvestplan.records.diary import Recorded, append_events
from harvestplan.records.events import Event, KeepFree, LabelsPrinted, Moved, Undo
from harvestplan.records.tell import said


class Meanwhile(Exception):
    """Somebody wrote of the same thing since the form was shown; what, in the diary's words."""

    def __init__(self, words: Sequence[str]) -> None:
        self.words = tuple(words)
        super().__init__("; ".join(words))


def record(
    site: Site,
    request: Request,
    verb: str,
    words: Sequence[str],
    *,
    on: dt.date,
    about: Collection[str],
    field: str = "",
    form: str = "",
) -> tuple[Recorded, ...]:
    """Write lines of one kind; a form that is sent again writes them once.

    `about` names what they are of: where another device wrote of one of these since the form was
    shown, Meanwhile is raised and nothing written. What is not understood is Wrong at `field`.
    """
    assert site.folder is not None
    told = sent(request)
    codes = [line_code(told["code"], number) for number in range(len(words))]
    look = _looker(told.get("seen", ""), about)
    try:
        return append_events(site.folder, verb, words, on=on, codes=codes, look=look)
    except Unclear as error:
        raise Wrong.unclear(error, field, form) from None


def line_code(code: str, number: int) -> str:
    """The code of a form's first line is the form's own, those of the others follow from it."""
    if not number:
        return code
    return hashlib.sha256(f"{code} {number}".encode()).hexdigest()[:8]


def _looker(seen: str, about: Collection[str]) -> Callable[[Sequence[Event]], None]:
    def look(events: Sequence[Event]) -> None:
        since = _since(seen, events)
        taken_back = {event.target for event in since if isinstance(event, Undo)}
        of_it = [
            event
            for event in (*since, *(e for e in events if e.code in taken_back))
            if not isinstance(event, Undo) and subjects(event) & set(about)
        ]
        if of_it:
            raise Meanwhile(
                [
                    f"{'taken back: ' if event.code in taken_back else ''}"
                    f"{said(event).rsplit(' #', 1)[0]}"
                    for event in dict.fromkeys(of_it)
                ]
            )

    return look


def _since(seen: str, events: Sequence[Event]) -> list[Event]:
    """The events after the one with the code `seen`; none where that is gone, for an editor has
    been at the diary then and nothing can be told."""
    if not seen:
        return list(events)
    places = [n for n, event in enumerate(events) if event.code == seen]
    return list(events[places[-1] + 1 :]) if places else []


def subjects(event: Event) -> set[str]:
    """What an event is of: a planting or else a crop, a product, a day."""
    if isinstance(event, Moved):
        return {event.session.date().isoformat()}
    if isinstance(event, KeepFree):
        return {event.day.isoformat()}
    if isinstance(event, LabelsPrinted):
        return {f"labels {event.day.isoformat()}"}
    fields = {f.name for f in dataclasses.fields(event)}
    if "planting" in fields and (planting := getattr(event, "planting", None)):
        return {str(planting)}
    return {
        str(getattr(event, name)) for name in ("crop", "product", "name") if name in fields
    } or {event.text.split()[0]}
