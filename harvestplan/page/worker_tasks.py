"""The long work itself, by the same functions as the commands; heavy libraries are loaded here
alone, in a process that ends with its job."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

Say = Callable[[str], None]
DRAFT, BASIS, ABOUT = "plan.json", "forecast.json", "about.json"


def plan(
    folder: Path,
    *,
    say: Say,
    as_of: str,
    draft: str,
    now: str | None = None,
    until: str | None = None,
    behind: int = 0,
) -> dict[str, Any]:
    """A plan, written beside the season and adopted by nobody yet; with `now` (a time of that day)
    the session going on then is laid out again first."""
    from harvestplan.disk import write_atomic
    from harvestplan.errors import NoValidPlan
    from harvestplan.free_memory import need_room
    from harvestplan.outputs.terminal.forecast_text import forecast_json
    from harvestplan.plan.file import plan_bytes, published_plan
    from harvestplan.plan.season_id import season_id
    from harvestplan.planning.lock import planning_alone
    from harvestplan.planning.make import cut_session, make_plan
    from harvestplan.planning.read import read_household
    from harvestplan.schedule.search.effort import Effort

    need_room()
    day = dt.date.fromisoformat(as_of)
    with planning_alone(folder, say):
        base = plan_digest(folder)
        household = replace(read_household(folder, day), own=season_id(folder / "out"))
        earlier = published_plan(folder)
        stands = earlier
        if now is not None:
            if earlier is None:
                raise NoValidPlan("There is no plan yet, so no session is going on.")
            zone = ZoneInfo(household.season.household.timezone)
            times = [
                None
                if each is None
                else dt.datetime.combine(day, dt.time.fromisoformat(each), zone)
                for each in (now, until)
            ]
            assert times[0] is not None
            household, stands = cut_session(
                household, earlier, times[0], until=times[1], behind=dt.timedelta(minutes=behind)
            )
        made = make_plan(household, day, stands, effort=Effort(), say=say)
    place = Path(draft)
    place.mkdir(parents=True, exist_ok=True)
    basis = forecast_json(household.forecast, household.season).encode("utf-8", "replace")
    write_atomic(place / BASIS, basis)
    write_atomic(place / DRAFT, plan_bytes(made))
    about = {"base": base, "as_of": as_of, "cut": now is not None}
    write_atomic(place / ABOUT, json.dumps(about).encode())
    return {"same": earlier is not None and plan_bytes(made) == plan_bytes(earlier)}


def adopt(folder: Path, *, say: Say, draft: str) -> dict[str, Any]:
    """The drafted plan in place of the published one, with all of out/.

    Raises HarvestPlanError where another plan was published since, or the files have come to forbid
    it.
    """
    from harvestplan.check import check_plan
    from harvestplan.errors import NoValidPlan
    from harvestplan.outputs.write_all import write_outputs
    from harvestplan.plan.file import read_plan
    from harvestplan.plan.season_id import season_id
    from harvestplan.planning.lock import planning_alone
    from harvestplan.planning.make import known_store
    from harvestplan.planning.read import read_household

    place, out = Path(draft), folder / "out"
    about = json.loads((place / ABOUT).read_bytes())
    with planning_alone(folder, say):
        if plan_digest(folder) != about["base"]:
            raise NoValidPlan("Another plan was taken since this one was made. Plan once more.")
        made = read_plan(place / DRAFT)
        household = read_household(folder, made.as_of)
        if not about["cut"]:
            findings = check_plan(made, household, in_store=known_store(made, household))
            if findings:
                raise NoValidPlan(
                    "Your files or your diary have changed since this plan was made, and it no "
                    f"longer fits ({findings[0].message}). Plan once more."
                )
        basis = (place / BASIS).read_bytes()
        write_outputs(
            made,
            household.season,
            household.library,
            out=out,
            besides={BASIS: basis},
            own=season_id(out),
        )
    return {}


def plan_digest(folder: Path) -> str:
    """What tells one published plan from another; "" where there is none."""
    path = folder / "out" / DRAFT
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def forecast(folder: Path, *, say: Say, as_of: str) -> dict[str, Any]:
    """The forecast of the day, as `forecast --json` has it."""
    from harvestplan.outputs.terminal.forecast_text import forecast_json
    from harvestplan.planning.read import read_household

    household = read_household(folder, dt.date.fromisoformat(as_of))
    told: dict[str, Any] = json.loads(forecast_json(household.forecast, household.season))
    return told


def places(folder: Path, *, say: Say, as_of: str, uid: str, days: int) -> dict[str, Any]:
    """Where a session may go: each free time within so many days of its own, with why it cannot go
    there, or with how many of its pouches fit there."""
    from harvestplan.page.session_places import places_for

    found = places_for(folder, dt.date.fromisoformat(as_of), uid, days=days, say=say)
    return {"places": found}


def meaning(folder: Path, *, say: Say, as_of: str, uid: str, to: str) -> dict[str, Any]:
    """What it means to move a session there; in `session_places.meaning_of`."""
    from harvestplan.page.session_places import meaning_of

    day, there = dt.date.fromisoformat(as_of), dt.datetime.fromisoformat(to)
    return meaning_of(folder, day, uid, there, say=say)


def what_if(
    folder: Path, *, say: Say, as_of: str, changes: Sequence[str], words: str
) -> dict[str, Any]:
    """Each change solved beside the season as it stands; `words` are the question for people."""
    from harvestplan.foresight.changes import read_variant
    from harvestplan.foresight.compare import compare

    say(words)
    variants = [read_variant(text) for text in changes]
    found = compare(folder, dt.date.fromisoformat(as_of), variants, say=say)
    return {"found": [each.model_dump(mode="json") for each in found]}
