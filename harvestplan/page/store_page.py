"""The store: what lies where, what to eat first, what went by a tap; and the diary."""

from __future__ import annotations

import datetime as dt
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.outputs.as_asked import packed_words
from harvestplan.outputs.terminal.power_cut import cut_note, spoilt_words, standing_cut
from harvestplan.page.answering import shows, takes
from harvestplan.page.fields import day_sent, number_sent, one_of
from harvestplan.page.reading import SeasonReading
from harvestplan.page.recording import record
from harvestplan.page.site import Site, Wrong, back_to, sent
from harvestplan.records.diary import undo
from harvestplan.records.events import Event, LostAll
from harvestplan.records.held_sessions import finished
from harvestplan.records.stock import StoredProduct, stock
from harvestplan.records.use_up import Use, use_up
from harvestplan.words import day, food_name, month, plural

GONE = {"ate": "Eaten", "gave": "Given away", "lost": "Thrown out"}
SHOWN_LINES = 60


def routes(site: Site) -> list[Route]:
    """The store, the diary, and their forms."""
    return [
        shows(site, "/store", show_store),
        takes(site, "/store/gone", _gone, show_store),
        takes(site, "/store/count", _count, show_store),
        takes(site, "/store/power", _power, show_store),
        shows(site, "/diary", show_diary),
        takes(site, "/diary/back", _take_back, show_diary),
    ]


def shelves_of(reading: SeasonReading, today: dt.date) -> tuple[StoredProduct, ...]:
    """What lies in store, as the command `stock` reckons it."""
    assert reading.season is not None and reading.library is not None
    sessions = reading.plan.sessions if reading.plan else ()
    done = finished(sessions, reading.diary, today)
    return stock(reading.season, reading.library, reading.diary, today=today, done=done)


def show_store(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """What lies where, and what to eat of it this month."""
    reading = site.read()
    if reading.season is None or reading.library is None:
        return site.mend(request, reading)
    today = site.today(reading)
    shelves = shelves_of(reading, today)
    uses = use_up(shelves, reading.season, reading.library, today=today)
    cut = standing_cut(reading.diary, today)
    return site.page(
        request,
        "store.html.j2",
        reading=reading,
        wrong=wrong,
        title="Store",
        uses=[_use(use, today) for use in uses],
        shelves=[_shelf(n, each, reading) for n, each in enumerate(shelves) if each.batches],
        empty=[food_name(each.product) for each in shelves if not each.batches],
        unknown=[food_name(each.product) for each in shelves if each.unknown],
        products=sorted({w.product for w in reading.season.want} | {s.product for s in shelves}),
        cut=cut_note(cut) if cut else "",
        spoilt=spoilt_words() if any(isinstance(e, LostAll) for e in reading.diary.events) else "",
        today=today.isoformat(),
        gone=GONE,
    )


def _use(use: Use, today: dt.date) -> dict[str, Any]:
    oldest = use.batches[0]
    late = oldest.best_before < today
    return {
        "name": food_name(use.product),
        "portions": plural(use.portions, "portion"),
        "best": f"best before {month(oldest.best_before)}" + (", which is past" if late else ""),
        "pressing": use.pressing,
    }


def _shelf(number: int, shelf: StoredProduct, reading: SeasonReading) -> dict[str, Any]:
    return {
        "id": f"p{number}",
        "product": shelf.product,
        "name": food_name(shelf.product),
        "portions": shelf.portions,
        "count": plural(shelf.portions, "portion"),
        "batches": [
            {
                "count": batch.portions,
                "size": _size(shelf.product, batch.grams, reading),
                "where": batch.freezer or "on the shelf",
                "since": day(batch.put_by, year=True),
                "best": month(batch.best_before),
            }
            for batch in shelf.batches
        ],
    }


def _size(product: str, grams: int | None, reading: SeasonReading) -> str:
    if not grams or reading.season is None or reading.library is None:
        return ""
    return packed_words(product, grams, reading.season, reading.library)


def _gone(site: Site, request: Request) -> Response:
    form = sent(request)
    product, verb = form.get("product", ""), one_of(form, "verb", tuple(GONE))
    number = number_sent(form, "portions", 1, 999)
    done = record(
        site,
        request,
        verb,
        [f'"{product}" {number}'],
        on=day_sent(form, site.today(site.read())),
        about={product},
        field="portions",
    )
    return back_to("/store", done[0].event.code)


def _count(site: Site, request: Request) -> Response:
    form = sent(request)
    product = form.get("product", "")
    number = number_sent(form, "counted", 0, 9999)
    done = record(
        site,
        request,
        "count",
        [f'"{product}" {number}'],
        on=site.today(site.read()),
        about={product},
        field="counted",
    )
    return back_to("/store", done[0].event.code)


def _power(site: Site, request: Request) -> Response:
    form = sent(request)
    today = site.today(site.read())
    if one_of(form, "what", ("cut", "all")) == "all":
        if form.get("sure") != "yes":
            raise Wrong("Tick the box first: this writes that everything frozen is lost.", "sure")
        done = record(site, request, "lost", ["all"], on=today, about={"lost", "power-cut"})
        return back_to("/store", done[0].event.code)
    hours = number_sent(form, "hours", 1, 999)
    door = one_of(form, "door", ("shut", "opened"))
    done = record(
        site,
        request,
        "power-cut",
        [f"{hours} h, door {door}"],
        on=day_sent(form, today),
        about={"power-cut"},
        field="hours",
    )
    return back_to("/store", done[0].event.code)


def show_diary(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """What was recorded, newest first."""
    reading = site.read()
    if reading.season is None:
        return site.mend(request, reading)
    live = {id(each) for each in reading.diary.events}
    codes = {each.code for each in reading.diary.events if each.code}
    rows = [_row(event, codes, live) for event in reversed(reading.lines[-SHOWN_LINES:])]
    return site.page(
        request,
        "diary.html.j2",
        reading=reading,
        wrong=wrong,
        title="Written down",
        rows=[row for row in rows if row],
        more=max(0, len(reading.lines) - SHOWN_LINES),
        warnings=reading.diary.warnings,
    )


def _row(event: Event, codes: set[str], live: set[int]) -> dict[str, Any] | None:
    if event.text.startswith("undo "):
        return None
    stands = event.code in codes if event.code else id(event) in live
    when = day(event.date, year=True)
    return {"words": event.text, "day": when, "code": event.code, "stands": stands}


def _take_back(site: Site, request: Request) -> Response:
    assert site.folder is not None
    target = sent(request).get("target", "")
    if not target:
        raise Wrong("Say which line to take back.")
    try:
        undo(site.folder, target, site.today(site.read()))
    except Unclear:
        # Sent twice, or by two devices: either way it is taken back.
        if all(event.code != target for event in site.read().lines):
            raise Wrong("That line is not in the diary any more.") from None
    return back_to("/diary")
