"""Planning from the page: begun, followed, ended with the best so far; nothing counts until it is
taken."""

from __future__ import annotations

import asyncio
import datetime as dt
import json
import shutil
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from harvestplan.errors import FilesNeedMending
from harvestplan.outputs.session_names import counted, food_names
from harvestplan.outputs.terminal.plan_changes import session_changes
from harvestplan.outputs.terminal.summary import session_words, sessions_ahead
from harvestplan.page.answering import shows, takes
from harvestplan.page.long_work import LongJob
from harvestplan.page.reading import SeasonReading, season_files, stamp_of
from harvestplan.page.shortfall import shortfall
from harvestplan.page.site import Site, Wrong, back_to, without_places
from harvestplan.plan.file import read_plan
from harvestplan.plan.models import Plan
from harvestplan.words import day, plural, span

BLINK = 0.5


def routes(site: Site) -> list[Route]:
    """The page of planning, and its forms."""
    return [
        shows(site, "/plan", show_plan),
        takes(site, "/plan/begin", _begin, show_plan),
        takes(site, "/plan/enough", _enough, show_plan),
        takes(site, "/plan/take", _take, show_plan),
        takes(site, "/plan/keep", _keep, show_plan),
        Route("/plan/changes", _changes(site), methods=["GET"]),
    ]


def _name(site: Site) -> str:
    return f"plan-{site.key}"


def draft_place(site: Site) -> Path:
    """Where a plan lies that nobody has taken yet."""
    return site.keep.place / f"draft-{site.key}"


def begin_plan(
    site: Site,
    *,
    as_of: dt.date,
    now: dt.time | None = None,
    until: dt.time | None = None,
    behind: int = 0,
) -> LongJob:
    """Begin to plan, in a process of its own."""
    assert site.folder is not None
    shutil.rmtree(draft_place(site), ignore_errors=True)
    asked: dict[str, Any] = {
        "folder": str(site.folder),
        "as_of": as_of.isoformat(),
        "draft": str(draft_place(site)),
    }
    if now is not None:
        asked |= {"now": now.isoformat(), "behind": behind}
        asked |= {"until": until.isoformat()} if until else {}
    job: LongJob = site.work.begin(_name(site), "plan", asked)
    site.keep.write(f"stamp-{site.key}", [list(each) for each in _stamp(site)])
    return job


def _stamp(site: Site) -> Any:
    assert site.folder is not None
    return stamp_of([*season_files(site.folder), site.folder / "diary.txt"])


def show_plan(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """How far planning is, or what it found."""
    reading = site.read()
    if reading.season is None:
        return site.mend(request, reading)
    job: LongJob | None = site.work.job(_name(site))
    running = job is not None and job.state == "running"
    drafted = None if running else _drafted(site)
    return site.page(
        request,
        "plan.html.j2",
        reading=reading,
        wrong=wrong,
        title="Planning" if running else "A new plan" if drafted else "Plan",
        running=running,
        job=job,
        spent=span(round(job.seconds)) if job else "",
        progress=_progress(site, job) if job else {},
        trouble=_trouble(site, job),
        version=job.changed if job else 0,
        draft=_compared(site, reading, drafted) if drafted else None,
        standing=_told(reading.plan, reading, site.today(reading)) if reading.plan else None,
        empty=not reading.season.want,
        usual=_usual(site),
    )


def _trouble(site: Site, job: LongJob | None) -> list[str]:
    if job is None or job.state != "failed":
        return []
    return [without_places(line, site.folder) for line in job.trouble.split("\n") if line.strip()]


def _usual(site: Site) -> str:
    seconds = site.keep.read(f"took-{site.key}", 0.0)
    return span(max(10, round(seconds, -1))) if seconds else ""


def _progress(site: Site, job: LongJob) -> dict[str, Any]:
    """What was said last, and the share of the usual time that is over."""
    usual = site.keep.read(f"took-{site.key}", 0.0)
    left = max(0.0, usual - job.seconds) if usual else 0.0
    return {
        "lines": [without_places(line, site.folder) for line in job.lines[-1:]],
        "share": min(0.98, job.seconds / usual) if usual else None,
        "left": span(max(5, round(left / 5) * 5)) if left > 5 else "",
    }


def _drafted(site: Site) -> Plan | None:
    """The plan that lies there to be looked at."""
    path = draft_place(site) / "about.json"
    if not path.is_file():
        return None
    try:
        return read_plan(draft_place(site) / "plan.json")
    except FilesNeedMending:
        return None


def _compared(site: Site, reading: SeasonReading, drafted: Plan) -> dict[str, Any]:
    """The old plan and the new one side by side, and what changes."""
    before = reading.plan
    kept = site.keep.read(f"stamp-{site.key}", [])
    moved_on = [list(each) for each in _stamp(site)] != kept
    changes = session_changes(before, drafted, reading.measures) if before else None
    today = site.today(reading)
    return {
        "new": _told(drafted, reading, today),
        "counts": changes.counts() if changes else "",
        "changes": changes.groups() if changes else {},
        "same": before is not None and before == drafted,
        "since": moved_on,
    }


def _told(plan: Plan, reading: SeasonReading, today: dt.date) -> dict[str, Any]:
    """A plan in a few lines: portions, evenings, what falls short, the next session."""
    assert reading.library is not None
    ahead = [s for s in sessions_ahead(plan) if s.start.date() >= today]
    planned, wanted = sum(w.counted for w in plan.wants), sum(w.wanted for w in plan.wants)
    minutes = sum((s.end - s.start).total_seconds() for s in ahead) / 60
    return {
        "made": day(plan.as_of, year=True),
        "portions": f"{plural(planned, 'portion')} of {wanted} wanted",
        "evenings": counted(ahead),
        "hours": span(60 * round(minutes)) if ahead else "no time",
        "next": f"{day(ahead[0].start.date())}, {session_words(ahead[0], reading.measures)}"
        if ahead
        else "none",
        **shortfall(plan, reading.library),
        "sessions": [f"{day(s.start.date())}: {'; '.join(food_names(s))}" for s in ahead],
        "empty": not planned,
    }


def _begin(site: Site, request: Request) -> Response:
    reading = site.read()
    if reading.season is None:
        raise Wrong("The files have to be mended first.")
    begin_plan(site, as_of=site.today(reading))
    return back_to("/plan")


def _enough(site: Site, request: Request) -> Response:
    site.work.enough(_name(site))
    return back_to("/plan")


def _take(site: Site, request: Request) -> Response:
    """Takes the new plan; all of out/ is written by a process of its own."""
    assert site.folder is not None
    place = draft_place(site)
    if not (place / "about.json").is_file():
        return back_to("/plan")  # it was taken, or put away, on another device
    asked = {"folder": str(site.folder), "draft": str(place)}
    job: LongJob = site.work.begin(f"adopt-{site.key}", "adopt", asked)
    job.over.wait()
    if job.state != "done":
        raise Wrong(without_places(job.trouble, site.folder))
    planned = site.work.job(_name(site))
    if planned is not None:
        site.keep.write(f"took-{site.key}", planned.seconds)
    in_the_midst = json.loads((place / "about.json").read_bytes())["cut"]
    _forget(site)
    return back_to("/" if in_the_midst else "/season")


def _keep(site: Site, request: Request) -> Response:
    _forget(site)
    return back_to("/plan")


def _forget(site: Site) -> None:
    (draft_place(site) / "about.json").unlink(missing_ok=True)
    shutil.rmtree(draft_place(site), ignore_errors=True)
    site.work.drop(_name(site))


def _changes(site: Site) -> Any:
    """Server-sent events on how far planning is."""

    async def answer(request: Request) -> Response:
        async def told() -> AsyncIterator[str]:
            while not site.closing:
                job: LongJob | None = site.work.job(_name(site))
                if job is None:
                    return
                said = {
                    "state": job.state,
                    "spent": span(round(job.seconds)),
                    **_progress(site, job),
                }
                yield f"data: {json.dumps(said)}\n\n"
                if job.state != "running":
                    return
                await asyncio.sleep(BLINK)

        return StreamingResponse(told(), media_type="text/event-stream")

    return answer
