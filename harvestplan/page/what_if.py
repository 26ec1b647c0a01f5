"""What if: a few plain questions, each solved beside the season as it stands."""

from __future__ import annotations

import math
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.foresight.answers import Outlook
from harvestplan.inputs.season import Season
from harvestplan.page.answering import shows, takes
from harvestplan.page.difference import difference, foods_differ
from harvestplan.page.fields import number_sent, one_of
from harvestplan.page.long_work import LongJob
from harvestplan.page.reading import SeasonReading
from harvestplan.page.site import Site, Wrong, back_to, sent, without_places
from harvestplan.page.table_forms import WEEK
from harvestplan.words import food_name, plural, span

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAY_NAMES = dict(zip(WEEK, DAYS, strict=True))
KEPT = 12
"""Answers that are remembered while the server runs."""


def routes(site: Site) -> list[Route]:
    """The questions and their answers."""
    return [
        shows(site, "/what-if", show_what_if),
        takes(site, "/what-if/ask", _ask, show_what_if),
        takes(site, "/what-if/stop", _stop, show_what_if),
    ]


def _name(site: Site) -> str:
    return f"what-if-{site.key}"


def show_what_if(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """The questions, and the answers so far, the last first."""
    reading = site.read()
    if reading.season is None:
        return site.mend(request, reading)
    job: LongJob | None = site.work.job(_name(site))
    _take_in(site, job)
    season = reading.season
    return site.page(
        request,
        "what_if.html.j2",
        reading=reading,
        wrong=wrong,
        title="What if?",
        running=job is not None and job.state == "running",
        question=job.asked["words"] if job else "",
        spent=span(round(job.seconds)) if job else "",
        trouble=without_places(job.trouble, site.folder) if job and job.state == "failed" else "",
        answers=list(reversed(site.asked)),
        free_days=[(day, name) for day, name in DAY_NAMES.items() if day not in _days(season)],
        used_days=[(day, name) for day, name in DAY_NAMES.items() if day in _days(season)],
        pots=[(pot.name, pot.name) for pot in season.pot],
        freezers=[(freezer.name, freezer.name) for freezer in season.freezer],
        wants=[
            (want.product, f"{food_name(want.product)} ({want.portions})") for want in season.want
        ],
        litres=reading.measures == "metric",
    )


def _days(season: Season) -> set[str]:
    return {day for window in season.window for day in window.days}


def _take_in(site: Site, job: LongJob | None) -> None:
    """Puts a finished job's answer among those told."""
    if job is None or job.state != "done" or job.result.get("told"):
        return
    job.result["told"] = True
    base, *others = (Outlook.model_validate(each) for each in job.result["found"])
    site.asked = [*site.asked, *(_answer(job.asked["words"], base, o) for o in others)][-KEPT:]


def _answer(words: str, base: Outlook, then: Outlook) -> dict[str, Any]:
    """An answer in portions and evenings."""
    if then.trouble is not None:
        return {"words": words, "lines": [f"There is no plan then: {then.trouble}"]}
    before, after = ({food_name(p.product): p.portions for p in o.products} for o in (base, then))
    lines = [
        difference("portion", base.planned, then.planned),
        difference("evening", base.evenings, then.evenings),
        *foods_differ({n: (before.get(n, 0), after.get(n, 0)) for n in {**before, **after}}),
    ]
    if not (base.proven and then.proven):
        lines.append("A better plan may be found in either case: take this as a good guess.")
    return {"words": words, "lines": lines}


def _ask(site: Site, request: Request) -> Response:
    reading = site.read()
    if reading.season is None:
        raise Wrong("The files have to be mended first.")
    change, words = _change(sent(request), reading)
    name = _name(site)
    job = site.work.job(name)
    if job is not None and job.state == "running":
        raise Wrong("One question at a time: the one before is still being solved.")
    _take_in(site, job)
    asked = {
        "folder": str(site.folder),
        "as_of": site.today(reading).isoformat(),
        "changes": [change],
        "words": words,
    }
    site.work.begin(name, "what-if", asked)
    return back_to("/what-if")


def _stop(site: Site, request: Request) -> Response:
    site.work.drop(_name(site))
    return back_to("/what-if")


def _change(form: dict[str, str], reading: SeasonReading) -> tuple[str, str]:
    """The change as `compare` has it, and the question in words. Raises Wrong."""
    season = reading.season
    assert season is not None
    metric = reading.measures == "metric"
    match one_of(form, "what", ("evening", "no-evening", "hands", "pot", "freezer", "want")):
        case "evening":
            day = one_of(form, "day", tuple(DAY_NAMES))
            return f"window.{day}=18:00-21:00", f"{DAY_NAMES[day]} evenings as well"
        case "no-evening":
            day = one_of(form, "day", tuple(DAY_NAMES))
            return f"window.{day}=none", f"no {DAY_NAMES[day]}s any more"
        case "hands":
            hands = number_sent(form, "hands", 1, 8)
            return f"household.hands={hands}", f"{plural(hands, 'person', 'people')} in the kitchen"
        case "pot":
            pot = one_of(form, "pot", [each.name for each in season.pot])
            return f"pot.{pot}=+1", f"another pot like {pot}"
        case "freezer":
            name = one_of(form, "freezer", [each.name for each in season.freezer])
            more = number_sent(form, "more", 0, 1000)
            unit = "L" if metric else "cu ft"
            return f"freezer.{name}.volume=+{more} {unit}", f"{more} {unit} more room in {name}"
        case _:
            product = one_of(form, "product", [each.product for each in season.want])
            wanted = next(each.portions for each in season.want if each.product == product)
            share = number_sent(form, "share", 0, 300)
            portions = math.floor(wanted * share / 100 + 0.5)
            return (
                f"want.{product}.portions={portions}",
                f"{plural(portions, 'portion')} of {food_name(product)} wanted",
            )
