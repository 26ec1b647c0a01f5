"""The garden: what is expected when of each planting, and what was seen, by a tap."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.inputs.ids import called
from harvestplan.inputs.quantities import QuantityError, read_quantity
from harvestplan.inputs.season import Planting
from harvestplan.page.answering import shows, takes
from harvestplan.page.fields import UNITS, amount_sent, day_sent, one_of
from harvestplan.page.now import asks
from harvestplan.page.reading import SeasonReading
from harvestplan.page.recording import record
from harvestplan.page.site import Site, Wrong, back_to, hidden_fields, sent, without_places
from harvestplan.records.events import Event, InGarden
from harvestplan.words import about, day, mass

SEEN = {
    "emerged": "It came up",
    "flowering": "First flower, or silk",
    "none": "None to pick yet",
    "failed": "It failed",
}
EARLY = dt.timedelta(days=21)
"""So long before its early date a pick is asked about, and so many times its good year's yield."""
TIMES = 2.0
SOON = 0.5
"""A pick within this share of the days to maturity is asked about too."""


def routes(site: Site) -> list[Route]:
    """The garden and its forms."""
    return [
        shows(site, "/garden", show_garden),
        takes(site, "/garden/picked", _picked, show_garden),
        takes(site, "/garden/seen", _seen, show_garden),
    ]


def forecast_of(site: Site, reading: SeasonReading) -> tuple[dict[str, Any], str]:
    """The forecast by planting, or why there is none; reckoned in a process of its own, once for
    each state of the folder."""
    today = site.today(reading)
    name = f"forecast-{site.key}"
    asked = {"folder": str(site.folder), "as_of": today.isoformat()}
    mark = (reading.stamp, today)
    if site.forecast.get("mark") != mark:
        job = site.work.begin(name, "forecast", asked)
        job.over.wait()
        found = {each["planting"]: each for each in job.result.get("plantings", [])}
        trouble = without_places(job.trouble, site.folder)
        site.forecast = {"mark": mark, "found": found, "trouble": trouble}
    return site.forecast["found"], site.forecast["trouble"]


def show_garden(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """A line for each planting, with what is expected of it."""
    reading = site.read()
    if reading.season is None or reading.library is None:
        return site.mend(request, reading)
    today = site.today(reading)
    expected, trouble = forecast_of(site, reading)
    events = _by_planting(reading)
    asked = {a["to"].partition("#")[2]: a["words"] for a in asks(reading, today)}
    due = (
        {pick.planting for pick in reading.plan.picks if pick.date == today}
        if reading.plan
        else set()
    )
    rows = [_row(p, expected.get(str(p.id), {}), events, reading) for p in reading.season.planting]
    for row in rows:
        row["due"] = row["id"] in due
    # Whoever stands among the beds looks for what is ripe.
    rows.sort(key=lambda row: (not row["due"], row["id"] not in asked, not row["more"]))
    return site.page(
        request,
        "garden.html.j2",
        reading=reading,
        wrong=wrong,
        title="Garden",
        rows=rows,
        trouble=trouble,
        units=UNITS[reading.measures],
        today=today.isoformat(),
        seen=SEEN,
        asks=asked,
    )


def _by_planting(reading: SeasonReading) -> dict[str, list[Event]]:
    """What was seen of each planting; what names only the crop belongs to all of its plantings."""
    found: dict[str, list[Event]] = defaultdict(list)
    assert reading.season is not None
    for event in reading.diary.events:
        if isinstance(event, InGarden):
            for planting in reading.season.planting:
                if event.planting in (None, planting.id) and event.crop == planting.crop:
                    found[str(planting.id)].append(event)
    return found


def _row(
    planting: Planting,
    told: Mapping[str, Any],
    events: Mapping[str, list[Event]],
    reading: SeasonReading,
) -> dict[str, Any]:
    own = str(planting.id)
    begun = planting.sown or planting.set_out
    verb = "sown" if planting.sown else "set out"
    return {
        "id": own,
        "name": called(own, planting.crop),
        "crop": planting.crop,
        "begun": f"{verb} {day(begun, year=True)}" if begun else "",
        "expected": _expected(told, reading),
        "more": bool(told.get("picks")),
        "reason": told.get("reason", ""),
        "seen": [f"{day(e.date)}: {e.text.split(' planting ')[0]}" for e in events.get(own, [])],
    }


def _expected(told: Mapping[str, Any], reading: SeasonReading) -> list[str]:
    """When and how much, with the spread that it has."""
    if not told:
        return []
    early, likely, late = (day(dt.date.fromisoformat(each)) for each in told["first_pick"])
    low, middle, high = (mass(grams, reading.measures) for grams in told["total_grams"])
    if not told["picks"]:
        return ["Nothing more is expected of it."]
    when = f"First pick {likely}" if early == late else f"First pick about {likely}"
    spread = "" if early == late else f"; eight years in ten between {early} and {late}"
    return [f"{when}{spread}.", f"About {middle} in all; from {low} in a poor year to {high}."]


def _planting(reading: SeasonReading, own: str) -> Planting:
    plantings = reading.season.planting if reading.season else ()
    found = next((p for p in plantings if p.id == own), None)
    if found is None:
        raise Wrong("This planting is not in your garden's file any more.")
    return found


def _picked(site: Site, request: Request) -> Response:
    form = sent(request)
    reading = site.read()
    planting = _planting(reading, form.get("planting", ""))
    on = day_sent(form, site.today(reading))
    amount = amount_sent(form, "amount", reading.measures)
    doubt = _doubt(site, reading, planting, amount, on)
    if doubt and form.get("sure") != "yes":
        return _ask(site, request, reading, doubt)
    done = record(
        site,
        request,
        "picked",
        [f'"{planting.crop}" {amount} planting "{planting.id}"'],
        on=on,
        about={str(planting.id)},
        field="amount",
    )
    return back_to("/garden", done[0].event.code, at=str(planting.id))


def _doubt(site: Site, reading: SeasonReading, planting: Planting, amount: str, on: dt.date) -> str:
    """What is hardly believable of a pick; "" where it may well be so."""
    begun = planting.sown or planting.set_out
    name = called(str(planting.id), planting.crop)
    if on > site.today(reading):
        return f"{day(on, year=True)} is still to come."
    if begun is not None and on < begun:
        return f"{name} was not in the ground yet on {day(on)}."
    told = forecast_of(site, reading)[0].get(str(planting.id))
    if told is None:
        return ""
    early = dt.date.fromisoformat(told["first_pick"][0])
    days = (on - begun).days if begun is not None else 0
    usual = (early - begun).days if begun is not None else 0
    if on < early - EARLY or (begun is not None and usual > 0 and days < SOON * usual):
        return (
            f"{day(on)} is {days} days after {name} was begun, and it was not expected before "
            f"{day(early)}."
        )
    try:
        grams = read_quantity(amount, "mass", reading.measures).value
    except QuantityError:
        return ""
    if told["total_grams"][2] and grams > TIMES * told["total_grams"][2]:
        good = about(told["total_grams"][2], reading.measures)
        return f"{amount} is far more than {name} gives in a whole good year ({good})."
    return ""


def _ask(site: Site, request: Request, reading: SeasonReading, doubt: str) -> Response:
    """Asks whether it is so; it may be."""
    fields = {**sent(request), "sure": "yes"}
    return site.page(
        request,
        "sure.html.j2",
        status=409,
        reading=reading,
        doubt=doubt,
        fields=hidden_fields(fields),
        action=request.url.path,
        back="/garden",
        title="Is that so?",
    )


def _seen(site: Site, request: Request) -> Response:
    form = sent(request)
    reading = site.read()
    planting = _planting(reading, form.get("planting", ""))
    verb = one_of(form, "verb", tuple(SEEN))
    on = day_sent(form, site.today(reading))
    begun = planting.sown or planting.set_out
    if on > site.today(reading) and form.get("sure") != "yes":
        return _ask(site, request, reading, f"{day(on, year=True)} is still to come.")
    if begun is not None and on < begun and form.get("sure") != "yes":
        return _ask(site, request, reading, "It was not in the ground yet on that day.")
    yet = "yet " if verb == "none" else ""
    done = record(
        site,
        request,
        verb,
        [f'{yet}"{planting.crop}" planting "{planting.id}"'],
        on=on,
        about={str(planting.id)},
        field="on",
    )
    return back_to("/garden", done[0].event.code, at=str(planting.id))
