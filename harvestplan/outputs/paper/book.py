"""The season's book: one page to read, print and hang up, made from the plan alone."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from harvestplan.foresight.worth_file import NO_WORTHS, Worths, worth_words
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.cautions import page_lines
from harvestplan.outputs.pack_words import pack_kind
from harvestplan.outputs.paper.charts import (
    coming_chart,
    freezer_charts,
    harvest_charts,
    sessions_chart,
    wants_chart,
)
from harvestplan.outputs.paper.pages import page_bytes
from harvestplan.outputs.paper.runsheet import food_cautions
from harvestplan.outputs.paper.shapes import Numbers, Strips
from harvestplan.outputs.paper.shopping_list import pouch_note
from harvestplan.outputs.paper.timeline import timeline_chart
from harvestplan.outputs.remedy_words import remedy_lines
from harvestplan.outputs.session_names import counted, food_names, sheet_names
from harvestplan.outputs.shopping_words import buy_words
from harvestplan.outputs.surplus import gifts_ahead
from harvestplan.outputs.terminal.sturdy_text import kept_free_lines
from harvestplan.outputs.terminal.summary import (
    SHORT_CODES,
    gift_lines,
    nothing_ahead,
    session_words,
    sessions_ahead,
    short_lines,
    week_ahead,
)
from harvestplan.outputs.worth_words import part_rows, worth_lines
from harvestplan.plan.models import COUNTED, Plan, Session
from harvestplan.words import (
    about,
    clock,
    crop_many,
    day,
    food_name,
    money,
    one_line,
    packs,
    plural,
)

KEPT = {"firm": "promised", "done": "done"}
"""What is said beside a session that a new plan no longer moves."""


@dataclass(frozen=True)
class SessionPage:
    """A session as the book shows it; `kept` says whether it stands as it is, else it is
    empty; `sheet` is the name of its run sheet without ending."""

    heading: str
    kept: str
    foods: str
    chart: Strips
    sheet: str
    uid: str = ""
    """The session's own; by it the run sheet finds its way back."""
    soon: bool = False
    """Whether its timeline is shown at once; others open at a tap, and on paper."""
    labels: bool = False
    """Whether it packs anything."""
    worth: str = ""
    """What would be lost without it, where that is known."""


def book_bytes(
    plan: Plan, season: Season, library: Library, *, today: dt.date, worths: Worths = NO_WORTHS
) -> bytes:
    """book.html: self-contained, read without scripts. `today` begins "this week"."""
    measures = season.household.measures
    week = week_ahead(plan, today, season, library=library)
    return page_bytes(
        "book.html.j2",
        name=one_line(plan.season.name),
        made=day(plan.as_of, year=True),
        aged=_aged(plan, today),
        today=day(today, year=True),
        glance=glance_lines(plan, season, library, today=today),
        week=_week(plan, measures, week),
        nothing=nothing_ahead(plan, today, season),
        sessions=sessions_chart(plan, today),
        coming=coming_chart(plan, today),
        harvest=harvest_charts(plan, measures, today),
        freezers=freezer_charts(plan, measures, today),
        wants=wants_chart(plan),
        shorts=short_lines(plan, library),
        remedies=remedy_lines(plan),
        evenings=_evenings(plan, season, worths, today=today),
        kept_free=kept_free_lines(plan, measures) if plan.kept_free else [],
        gifts=gift_lines(plan, season, library, today=today),
        gift_table=_gift_table(plan, season, library, today=today),
        buys=_buys(plan, season),
        pouches=pouch_note(plan, season),
        cost=_cost(plan, season),
        proofs=worth_lines(plan),
        proof_table=_proof_table(plan),
        warnings=[one_line(w.message) for w in plan.warnings if w.code not in SHORT_CODES],
        cautions=_cautions(plan, season, library),
    )


OLD = dt.timedelta(days=7)
"""From this age on a book says how old its plan is."""
SOON = dt.timedelta(days=7)
"""Sessions of so many days are shown with their timelines open."""


def _aged(plan: Plan, today: dt.date) -> str:
    """That the plan is old, where it is."""
    age = today - plan.as_of
    if age < OLD:
        return ""
    return (
        f"This plan is {plural(age.days, 'day')} old. What was picked and put by since then is not "
        "in it: plan again with harvestplan plan."
    )


def glance_lines(plan: Plan, season: Season, library: Library, *, today: dt.date) -> list[str]:
    """The season in three or four sentences."""
    measures = season.household.measures
    planned, wanted = sum(w.planned for w in plan.wants), sum(w.wanted for w in plan.wants)
    stored = sum(want.stored for want in plan.wants)
    had = f" and {stored} stored already" if stored else ""
    ahead = [s for s in sessions_ahead(plan) if s.start.date() >= today]
    lines = [f"{plural(planned, 'portion')} planned{had}, of {wanted} wanted."]
    if ahead:
        first = ahead[0]
        lines.append(
            f"{counted(ahead)} ahead. The next is on {day(first.start.date())}, "
            f"{session_words(first, measures)}."
        )
    spare = gifts_ahead(plan, season, library, today=today)
    if spare:
        grams = sum(gift.grams for gift in spare)
        lines.append(
            f"About {about(grams, measures)} of {plural(len(spare), 'food')} to give away."
        )
    return [one_line(line) for line in lines]


def _week(
    plan: Plan, measures: Measures, week: dict[dt.date, list[str]]
) -> list[tuple[str, list[tuple[str, str]]]]:
    """(date, lines) with the name of its run sheet beside each session's line."""
    sheets = {
        (session.start.date(), one_line(session_words(session, measures))): name
        for name, session in sheet_names(plan).items()
    }
    return [
        (day(date), [(line, sheets.get((date, line), "").removesuffix(".txt")) for line in lines])
        for date, lines in week.items()
    ]


def _evenings(plan: Plan, season: Season, worths: Worths, *, today: dt.date) -> list[SessionPage]:
    return [
        SessionPage(
            heading=_when(session, season.household.measures),
            kept=KEPT.get(session.status, ""),
            foods="; ".join(_portions(session, name, season) for name in food_names(session)),
            chart=timeline_chart(session, season),
            sheet=name.removesuffix(".txt"),
            uid=session.uid,
            labels=any(run.pouches for run in session.runs),
            soon=dt.timedelta(0) <= session.start.date() - today < SOON,
            worth=one_line(worth_words(worths[session.uid])) if session.uid in worths else "",
        )
        for name, session in sheet_names(plan).items()
    ]


def _when(session: Session, measures: Measures) -> str:
    visit = ", a visit" if session.is_visit else ""
    return f"{day(session.start.date())}, {clock(session.start, measures)}{visit}"


def _portions(session: Session, name: str, season: Season) -> str:
    runs = [run for run in session.runs if food_name(run.product) == name and run.pouches]
    kind = pack_kind(runs[0].pouch, season) if runs else None
    pouches = sum(run.pouches for run in runs)
    return f"{name}, {packs(pouches, kind) if pouches else 'first sitting'}"


def _gift_table(plan: Plan, season: Season, library: Library, *, today: dt.date) -> Numbers:
    measures = season.household.measures
    rows = {
        (date, gift.crop): grams
        for gift in gifts_ahead(plan, season, library, today=today)
        for date, grams in gift.by_date.items()
    }
    table = tuple(
        (day(date), one_line(crop_many(crop)), about(grams, measures))
        for (date, crop), grams in sorted(rows.items())
    )
    return Numbers(("At the latest on", "Food", "About"), table)


def _buys(plan: Plan, season: Season) -> list[tuple[str, str, str]]:
    """(by when, what, price or nothing) by date."""
    wanted = sorted((line for line in plan.shopping if line.buy), key=lambda each: each.order_by)
    return [
        (day(line.order_by), buy_words(line, season), _price(line.price, season)) for line in wanted
    ]


def _price(price: float | None, season: Season) -> str:
    return "" if price is None else money(price, season.household.currency)


def _cost(plan: Plan, season: Season) -> str:
    prices = [line.price for line in plan.shopping if line.buy and line.price is not None]
    return _price(math.fsum(prices), season) if prices else ""


def _proof_table(plan: Plan) -> Numbers:
    if plan.proof is None:
        return Numbers((), ())
    proof = plan.proof
    rows = [(COUNTED[part.part].capitalize(), words) for part, words in part_rows(proof)]
    rows += [("Together, what the plan is worth", f"{proof.worth:+.1f}")]
    rows += [("At best another plan could bring", f"{proof.bound:+.1f}")]
    return Numbers(("What counts", "Portions"), tuple(rows))


def _cautions(plan: Plan, season: Season, library: Library) -> list[tuple[str, list[str]]]:
    """What holds for all, then each product's cautions from its crop file, in order of sessions."""
    made = dict.fromkeys(run.product for s in sheet_names(plan).values() for run in s.runs)
    foods = [(food_name(each), said) for each in made if (said := food_cautions(each, library))]
    return [
        ("For all that is put by", page_lines("book", vacuum=season.machine is not None)),
        *foods,
    ]
