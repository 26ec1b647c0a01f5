"""The run sheet, live: ticks and timers shared by all devices, and at the end what came of it."""

from __future__ import annotations

import asyncio
import datetime as dt
import math
from collections import defaultdict
from collections.abc import AsyncIterator
from typing import Any

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from harvestplan.kitchen.steps.chill import Chill
from harvestplan.outputs.paper.runsheet import (
    LABELS_FIRST,
    PAUSE,
    before_lines,
    heading,
    label_lines,
    laid_out_again,
    packed_in,
    product_cautions,
    stop_lines,
)
from harvestplan.outputs.paper.runsheet_html import Line, sheet_lines
from harvestplan.outputs.session_names import food_names, sheet_names
from harvestplan.page.answering import shows, takes
from harvestplan.page.fields import number_sent, time_sent
from harvestplan.page.plan_page import begin_plan
from harvestplan.page.recording import record
from harvestplan.page.sheet_state import SETTING, Shared
from harvestplan.page.site import Site, Wrong, back_to, sent
from harvestplan.plan.models import Session
from harvestplan.records.held_sessions import told
from harvestplan.words import clock, day, food_name, one_line, plural

BLINK = 0.25
"""Seconds between two looks at whether another device has tapped."""
WAKE = 15.0
"""Seconds after which the line says that it is still there."""


def routes(site: Site) -> list[Route]:
    """A sheet, its taps, its end."""
    return [
        shows(site, "/sheet/{uid}", show_sheet),
        shows(site, "/sheets/{name}", _by_name),
        takes(site, "/sheet/{uid}/set", _set, show_sheet),
        takes(site, "/sheet/{uid}/record", _record, show_sheet),
        takes(site, "/sheet/{uid}/again", _again, show_sheet),
        Route("/sheet/{uid}/changes", _changes(site), methods=["GET"]),
    ]


def _key(site: Site, session: Session) -> str:
    """A sheet's name among what is kept; laid out again it is another."""
    return f"{site.key}-{session.uid[:60]}-{session.sequence}".replace("/", "_").replace("@", "_")


def show_sheet(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """The sheet as it stands now, on every device."""
    try:
        reading, session = site.session_asked(request)
    except Wrong as gone:
        return site.page(request, "told.html.j2", status=404, lines=[gone.message], title="Gone")
    season, library = reading.season, reading.library
    assert season is not None and library is not None
    state = site.live.state(_key(site, session))
    lines = sheet_lines(session, season, library)
    measures = reading.measures
    what = packed_in(session, season)
    hours = f"{clock(session.start, measures)} to {clock(session.end, measures)}"
    return site.page(
        request,
        "sheet.html.j2",
        reading=reading,
        wrong=wrong,
        title=day(session.start.date(), year=True),
        uid=session.uid,
        version=state.version,
        when=f"{heading(session)}, {hours}, {plural(session.hands, 'pair')} of hands",
        foods=food_names(session),
        again=laid_out_again(session, season),
        before=_plain("b", before_lines(session, season, library), state),
        labels_first=LABELS_FIRST.format(what),
        labels=_plain("w", label_lines(session, season, library), state),
        steps=_steps(lines, state, measures=measures, now=site.live.clock()),
        pause=PAUSE,
        stops=stop_lines(session, season),
        cautions=product_cautions(session, library),
        what=what,
        rows=_rows(session, state, lines),
        readings=[food_name(product) for product in _chilled(session)],
        cold="5 °C" if measures == "metric" else "41 °F",
        written=told(session, reading.diary),
        clock_now=reading.now().strftime("%H:%M"),
        visit=session.is_visit,
    )


def _by_name(site: Site, request: Request) -> Response:
    """A sheet by the name of its file, as the book has it."""
    reading = site.read()
    name = request.path_params["name"].replace(".html", ".txt")
    session = sheet_names(reading.plan).get(name) if reading.plan else None
    return back_to(f"/sheet/{session.uid}" if session else "/season")


def _plain(kind: str, lines: list[str], state: Shared) -> list[dict[str, Any]]:
    keys = (f"{kind}{number}" for number in range(1, len(lines) + 1))
    return [
        {"key": key, "words": line, "done": key in state.ticked}
        for key, line in zip(keys, lines, strict=True)
    ]


def _steps(lines: list[Line], state: Shared, *, measures: Any, now: float) -> list[dict[str, Any]]:
    found = []
    for line in lines:
        done = f"s{line.key}" in state.ticked or line.done
        late = state.late.get(line.key, 0)
        minute = (line.minute + late) % 1440
        time = clock(dt.datetime(2000, 1, 1, *divmod(minute, 60)), measures) if late else line.time
        started = state.started.get(f"t{line.key}")
        left = math.ceil(line.seconds - (now - started)) if started and line.seconds else None
        found.append(
            {"line": line, "done": done, "late": late, "time": time, "left": left, "next": False}
        )
    following = next((each for each in found if not each["done"]), None)
    if following is not None:
        following["next"] = True
    return found


def _rows(session: Session, state: Shared, lines: list[Line]) -> list[dict[str, Any]]:
    """What is asked at the end, product by product: pouches as planned, minutes by the clock."""
    pouches: dict[str, int] = defaultdict(int)
    hands: dict[str, float] = defaultdict(float)
    names = {run.id: one_line(run.product) for run in session.runs}
    for run in session.runs:
        pouches[one_line(run.product)] += run.pouches
    for task in session.tasks:
        if task.run in names:
            hands[names[task.run]] += task.hands * (task.end - task.start).total_seconds() / 60
    share = _pace(session, state, lines)
    return [
        {
            "n": n,
            "food": food_name(name),
            "product": name,
            "pouches": count,
            "minutes": max(1, round(hands[name] * share)),
        }
        for n, (name, count) in enumerate(pouches.items())
        if count
    ]


def _pace(session: Session, state: Shared, lines: list[Line]) -> float:
    """How long it took against what was planned, from the first tick of a step to the last; 1.0
    where the ticks do not tell."""
    times = sorted(when for key, when in state.ticked.items() if key.startswith("s"))
    planned = (session.end - session.start).total_seconds()
    if len(times) < max(3, len(lines) // 2) or not planned:
        return 1.0
    return min(4.0, max(0.25, (times[-1] - times[0]) / planned))


def _chilled(session: Session) -> list[str]:
    runs = {task.run for task in session.tasks if task.step == Chill.name}
    return list(dict.fromkeys(one_line(r.product) for r in session.runs if r.id in runs))


def _set(site: Site, request: Request) -> Response:
    reading, session = site.session_asked(request)
    setting = sent(request).get("set", "")
    if not SETTING.fullmatch(setting):
        raise Wrong("Tap one of the boxes.")
    assert reading.season is not None and reading.library is not None
    steps = [line.key for line in sheet_lines(session, reading.season, reading.library)]
    site.live.put(_key(site, session), setting, steps)
    at = "" if setting.startswith("late") else setting.partition(":")[0].replace("t", "s", 1)
    return back_to(f"/sheet/{session.uid}", at=at)


def _record(site: Site, request: Request) -> Response:
    """Lines on what was packed, and on what the thermometer read."""
    _, session = site.session_asked(request)
    form = sent(request)
    state = site.live.state(_key(site, session))
    words, names = [], []
    for row in _rows(session, state, []):
        n = row["n"]
        pouches = number_sent(form, f"pouches{n}", 0, 999)
        failed = number_sent(form, f"failed{n}", 0, 999)
        minutes = number_sent(form, f"minutes{n}", 0, 1440)
        if failed > pouches:
            raise Wrong("More seals failed than there are packs.", f"failed{n}")
        names.append(row["product"])
        line = f'"{row["product"]}" {pouches} pouches'
        line += f", {failed} failed seal{'s' if failed > 1 else ''}" if failed else ""
        words.append(line + (f", {minutes} minutes" if minutes and pouches else ""))
    if not words:
        raise Wrong("Nothing was to be packed in this session.")
    on = session.start.date()
    read = _readings(session, form)
    done = record(site, request, "froze", words, on=on, about=names)
    if read:
        # Its codes must be others than those of the packs.
        form["code"] = f"{form['code'][:7]}{'z' if form['code'][7] != 'z' else 'y'}"
        form["seen"] = done[-1].event.code
        record(site, request, "reading", read, on=on, about=())
    return back_to("/store", done[0].event.code)


def _readings(session: Session, form: dict[str, str]) -> list[str]:
    words = []
    for n, name in enumerate(_chilled(session)):
        said = form.get(f"read{n}", "").strip().replace(",", ".")
        if said:
            words.append(f'"{name}" {said.replace("°", "")}')
    return words


def _again(site: Site, request: Request) -> Response:
    """Lays the rest of the session out again from now, as a plan to be looked at first."""
    _, session = site.session_asked(request)
    form = sent(request)
    now = time_sent(form, "now")
    until = time_sent(form, "until") if form.get("until", "").strip() else None
    behind = number_sent(form, "behind", 0, 240)
    begin_plan(site, as_of=session.start.date(), now=now, until=until, behind=behind)
    return back_to("/plan")


def _changes(site: Site) -> Any:
    """Server-sent events (HTML standard, 9.2): the sheet's version each time it changes."""

    async def answer(request: Request) -> Response:
        try:
            _, session = site.session_asked(request)
        except Wrong:
            return Response(status_code=404)
        key = _key(site, session)

        async def told() -> AsyncIterator[str]:
            last, waited = -1, 0.0
            while not site.closing:
                version = site.live.state(key).version
                if version != last:
                    yield f"data: {version}\n\n"
                    last, waited = version, 0.0
                elif waited >= WAKE:
                    yield ": still here\n\n"
                    waited = 0.0
                await asyncio.sleep(BLINK)
                waited += BLINK

        return StreamingResponse(told(), media_type="text/event-stream")

    return answer
