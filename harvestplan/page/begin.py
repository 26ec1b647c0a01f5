"""A season begun: the questions of `new`, a few at a time, each kept as soon as it is answered."""

from __future__ import annotations

import datetime as dt
import os
import re
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from harvestplan.errors import HarvestPlanError
from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.season import Home
from harvestplan.inputs.season_kitchen import Freezer, Pot, Sealer
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.new_season import read_answers as read
from harvestplan.new_season.start_file import write_start_file
from harvestplan.new_season.starter import Answers, quoted, refuse_where_files_are, write_starter
from harvestplan.page import file_edit
from harvestplan.page.answering import shows, takes
from harvestplan.page.begin_lists import (
    as_grown,
    as_wanted,
    grown_suggestions,
    wanted_suggestions,
)
from harvestplan.page.begin_questions import PAGES, PageQuestion, measures_of, year_of
from harvestplan.page.fields import text_sent
from harvestplan.page.kept_here import known_seasons
from harvestplan.page.site import Site, Wrong, back_to, sent

BEGUN = "begin"
SEASONS = "HARVESTPLAN_SEASONS"
"""Names another place for season folders that are begun in the browser than one's own files."""
FOLDER = re.compile(r"[^\W_][\w .,'’()-]{0,60}")
GROWN, WANTED, LAST = len(PAGES) + 1, len(PAGES) + 2, len(PAGES) + 3


def routes(site: Site) -> list[Route]:
    """The seasons known here, and the questions for a new one."""
    return [
        shows(site, "/seasons", show_seasons),
        takes(site, "/seasons/choose", _choose, show_seasons),
        shows(site, "/begin", _to_first),
        shows(site, "/begin/{page:int}", show_begin),
        takes(site, "/begin/{page:int}", _answer, show_begin),
        takes(site, "/begin/{page:int}/drop", _drop, show_begin),
    ]


def show_seasons(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """The seasons that this computer knows."""
    seasons = [(n, path.name) for n, path in enumerate(known_seasons(site.keep))]
    return site.page(
        request,
        "seasons.html.j2",
        wrong=wrong,
        title="Kitchen and store",
        seasons=seasons,
        begun=bool(site.keep.read(BEGUN, {})),
    )


def _choose(site: Site, request: Request) -> Response:
    said = sent(request).get("season", "")
    seasons = known_seasons(site.keep)
    if not said.isdigit() or len(said) > 4 or int(said) >= len(seasons):
        raise Wrong("That season is not there any more.")
    site.choose(seasons[int(said)])
    return back_to("/")


def _to_first(site: Site, request: Request) -> Response:
    return RedirectResponse("/begin/1", 303)


def answers_of(site: Site) -> dict[str, Any]:
    """The answers so far."""
    found: dict[str, Any] = site.keep.read(BEGUN, {})
    return {"grown": [], "wanted": [], **found, "today": _today(site).isoformat()}


def _today(site: Site) -> dt.date:
    return site.as_of or dt.date.today()


def show_begin(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """A few questions, filled in with what was answered before."""
    number = int(request.path_params["page"])
    if not 1 <= number <= LAST:
        return RedirectResponse("/begin/1", 303)
    a = answers_of(site)
    title = PAGES[number - 1][0] if number <= len(PAGES) else ""
    title = {GROWN: "What you grow", WANTED: "What you want by winter", LAST: "That is all"}.get(
        number, title
    )
    return site.page(
        request,
        "begin.html.j2",
        wrong=wrong,
        title=title,
        at=number,
        last=LAST,
        questions=_shown(PAGES[number - 1][1], a) if number <= len(PAGES) else [],
        grown=grown_suggestions(a) if number == GROWN else None,
        wanted=wanted_suggestions(a) if number == WANTED else None,
        answers=a,
        summary=_summary(a) if number == LAST else [],
        folder=_usual_folder(a),
    )


def _usual_folder(a: dict[str, Any]) -> str:
    return f"Kitchen and store {year_of(a)}"


def _shown(questions: tuple[PageQuestion, ...], a: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            "q": q,
            "value": a.get(q.key, ""),
            "assumed": next((w for k, w in q.options if k == q.assumed(a)), q.assumed(a)),
            "understood": a.get(f"{q.key}_told", ""),
        }
        for q in questions
    ]


def _summary(a: dict[str, Any]) -> list[tuple[str, str, int]]:
    """All answers, each with the page on which it can be changed."""
    rows = []
    for number, (_, questions) in enumerate(PAGES, start=1):
        for q in questions:
            value = a.get(q.key) or q.assumed(a)
            words = next((w for k, w in q.options if k == value), value) or "not known"
            rows.append((q.label, words + ("" if a.get(q.key) else " (assumed)"), number))
    grown = "; ".join(f"{g['crop']} {g['size']}" for g in a["grown"]) or "nothing yet"
    wanted = "; ".join(f"{w['portions']} of {w['product']}" for w in a["wanted"]) or "nothing yet"
    return [*rows, ("You grow", grown, GROWN), ("You want", wanted, WANTED)]


def _answer(site: Site, request: Request) -> Response:
    number = int(request.path_params["page"])
    form = sent(request)
    if number <= len(PAGES):
        _take_answers(site, PAGES[number - 1][1], form)
    elif number == GROWN:
        if text_sent(form, "crop") or form.get("what") == "add":
            _take_grown(site, form)
            return back_to(f"/begin/{GROWN}")
    elif number == WANTED:
        if text_sent(form, "product") or form.get("what") == "add":
            _take_wanted(site, form)
            return back_to(f"/begin/{WANTED}")
    elif number == LAST:
        return _write(site, form)
    return back_to(f"/begin/{number + 1}")


def _take_answers(site: Site, questions: tuple[PageQuestion, ...], form: dict[str, str]) -> None:
    """Keeps each answer that can be read; the first that cannot is told at its field."""
    a = answers_of(site)
    wrong: Wrong | None = None
    for q in questions:
        said = text_sent(form, q.key)
        try:
            if q.options and said and said not in dict(q.options):
                raise Unclear("Choose one of those that stand there.")
            a[f"{q.key}_told"] = q.reads(said, a) if said else ""
            a[q.key] = q.keeps(said, a) if said else ""
        except Unclear as error:
            wrong = wrong or Wrong.unclear(error, q.key)
    _keep(site, a)
    if wrong:
        raise wrong


def _keep(site: Site, a: dict[str, Any]) -> None:
    site.keep.write(BEGUN, {key: value for key, value in a.items() if key != "today"})


def _take_grown(site: Site, form: dict[str, str]) -> None:
    a = answers_of(site)
    row = {key: text_sent(form, key) for key in ("crop", "size", "begun")}
    as_grown(row, a)
    if row not in a["grown"]:
        _keep(site, {**a, "grown": [*a["grown"], row][:80]})


def _take_wanted(site: Site, form: dict[str, str]) -> None:
    a = answers_of(site)
    row = {key: text_sent(form, key) for key in ("product", "portions", "portion")}
    others = [w for w in a["wanted"] if w != row]
    as_wanted(row, a, others)
    if row not in a["wanted"]:
        _keep(site, {**a, "wanted": [*a["wanted"], row][:80]})


def _drop(site: Site, request: Request) -> Response:
    """Takes a planting or a want out again."""
    number = int(request.path_params["page"])
    kind = {GROWN: "grown", WANTED: "wanted"}.get(number)
    if kind is None:
        raise Wrong("There is nothing of that kind here.")
    a = answers_of(site)
    said = sent(request).get("row", "")
    name = "crop" if kind == "grown" else "product"
    _keep(site, {**a, kind: [row for row in a[kind] if row[name] != said]})
    return back_to(f"/begin/{number}")


def _write(site: Site, form: dict[str, str]) -> Response:
    """Writes the season's files from all answers, and shows it."""
    a = answers_of(site)
    name = text_sent(form, "folder", longest=60) or _usual_folder(a)
    if not FOLDER.fullmatch(name):
        raise Wrong("Write letters, figures and blanks.", "folder")
    if not a["wanted"] and form.get("sure") != "yes":
        raise Wrong(
            "You have not said what you want in store, so a plan would put nothing by. Say it, or "
            "tick the box below.",
            "sure",
        )
    folder = Path(os.environ.get(SEASONS) or Path.home()) / name
    try:
        answers = answers_for(a)
    except Unclear as error:
        raise Wrong(str(error)) from None
    try:
        refuse_where_files_are(folder)
    except HarvestPlanError:
        raise Wrong(
            "There is a season of this name already. Choose another name.", "folder"
        ) from None
    write_starter(folder, answers)
    _write_toil(folder, a.get("toil") or "")
    write_start_file(folder)
    site.choose(folder)
    site.keep.drop(BEGUN)
    return back_to("/plan")


def _write_toil(folder: Path, portions: str) -> None:
    """What an evening must bring, where it was said."""
    if not portions:
        return
    name = file_edit.home_of(folder, "season")
    text = file_edit.text_of(folder, name)
    told = {"evening_is_worth": quoted(f"{portions} portions")}
    after = file_edit.with_values(text, "season", None, told)
    file_edit.save(folder, name, after, seen=file_edit.digest(text))


def answers_for(a: dict[str, Any]) -> Answers:
    """All answers, with what is assumed for those left open. Raises Unclear."""

    def of(key: str) -> str:
        q = next(q for _, questions in PAGES for q in questions if q.key == key)
        return str(a.get(key) or q.assumed(a))

    measures = measures_of(a)
    start, end = dt.date.fromisoformat(of("start")), dt.date.fromisoformat(of("end"))
    if not start < end <= start + dt.timedelta(days=800):
        raise Unclear("The season ends before it begins. Look at its days once more.")
    windows = read.windows(of("windows"))[0]
    days = sum(len(window.days) for window in windows)
    sealer = of("sealer")
    bar = None
    if sealer != "none":
        bar = read.amount(of("bar"), "length", Sealer, key="bar", whose=measures)[0]
    return Answers(
        start=start,
        end=end,
        name=of("name"),
        timezone=read.zone(of("zone"))[0],
        altitude=read.amount(of("altitude"), "length", Home, key="altitude", whose=measures)[0],
        measures=measures,
        place=read.place(of("place"))[0],
        hands=int(of("hands")),
        practised=of("practised"),
        last_frost=read.month_day(of("last_frost"))[0],
        first_frost=read.month_day(of("first_frost"))[0],
        windows=windows,
        per_week=min(int(of("per_week")), days),
        pot=read.amount(of("pot"), "volume", Pot, key="volume", whose=measures)[0],
        power=read.amount(of("power"), "power", Pot, key="power", whose=measures)[0],
        kind=of("kind"),
        sealer=sealer,
        bar=bar,
        bar_inches=_inches(bar, measures),
        freezer=read.amount(of("freezer"), "volume", Freezer, key="volume", whose=measures)[0],
        used=read.amount(of("used"), "volume", Freezer, key="used", whose=measures)[0],
        grown=tuple(as_grown(row, a) for row in a["grown"]),
        wanted=tuple(as_wanted(row, a, []) for row in a["wanted"]),
    )


def _inches(bar: str | None, measures: str) -> float:
    return read_quantity(bar, "length", measures).value / 0.0254 if bar else 0.0
