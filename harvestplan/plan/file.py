"""plan.json: the plan as other programs read it."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from harvestplan.bounded import read_json
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.plan.file_names import PLAN, must_be_folder
from harvestplan.plan.models import Plan
from harvestplan.plan.spans import far_off
from harvestplan.unseen import unseen

AGAIN = "Move it away and write a new one with: harvestplan plan"


def plan_bytes(plan: Plan) -> bytes:
    """The plan as UTF-8 JSON: fields in the model's order, free-form settings by name."""
    data = plan.model_dump(mode="json")
    for session in data["sessions"]:
        for task in session["tasks"]:
            task["settings"] = _sorted(task["settings"])
    text = json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False)
    # A lone surrogate, which UTF-8 cannot hold, becomes the escape that JSON has for it.
    return (text + "\n").encode("utf-8", "backslashreplace")


def read_plan(path: Path) -> Plan:
    """The plan in `path`.

    Raises FilesNeedMending where the file is missing, torn, foreign or of another format.
    """
    try:
        data = read_json(path)
        hidden = next(unseen(data), None)
    except FileNotFoundError:
        raise _unusable(path, "there is no plan yet.") from None
    except OSError as error:
        raise _unusable(path, f"it cannot be read: {error.strerror}.") from None
    except json.JSONDecodeError as error:
        raise _unusable(path, f"it is torn or not JSON: {error.msg}.", error.lineno) from None
    except ValueError:
        raise _unusable(path, "it is torn or not a plan.") from None
    if not isinstance(data, dict) or "format" not in data:
        raise _unusable(path, "it is not a plan of this program.")
    if data["format"] != 1:
        raise _unusable(path, f"its format is {data['format']!r}; this version reads format 1.")
    if hidden is not None:
        raise _unusable(path, hidden[1])
    try:
        plan = Plan.model_validate(data)
    except ValidationError as error:
        raise FilesNeedMending([_flaw(path, each) for each in _told(error)]) from None
    if any(time.tzinfo is None for time in _times(plan)):
        raise _unusable(path, "a time in it has no offset from UTC.")
    if absurd := next(absurdities(plan.model_dump()), None):
        raise _unusable(path, f"it holds {absurd}, which cannot be meant.")
    return plan


def published_plan(folder: Path) -> Plan | None:
    """The plan last written in the season folder, or None where none was yet.

    Raises FilesNeedMending like `read_plan`.
    """
    must_be_folder(folder / "out")
    path = folder / "out" / PLAN
    return read_plan(path) if path.exists() else None


def sound_plan(folder: Path) -> Plan | None:
    """Like `published_plan`, and None where it cannot be read: the commands that need the plan say
    what is wrong with it."""
    try:
        return published_plan(folder)
    except FilesNeedMending:
        return None


def plan_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of plan.json."""
    schema = Plan.model_json_schema(mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def absurdities(value: Any) -> Iterator[str]:
    """Numbers and dates far outside any household's, which sums and calendars cannot bear."""
    if isinstance(value, dict):
        for inner in value.values():
            yield from absurdities(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from absurdities(inner)
    elif isinstance(value, dt.date) and far_off(value):
        yield f"the date {value}"
    elif isinstance(value, int | float) and not abs(value) <= 10**12:
        yield "a number of more than a million millions"


def _sorted(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    if isinstance(value, list):
        return [_sorted(item) for item in value]
    return value


def _told(error: ValidationError) -> list[str]:
    found = error.errors(include_url=False, include_input=False)
    return [f"{'.'.join(str(part) for part in e['loc'])}: {e['msg']}." for e in found[:10]]


def _flaw(path: Path, message: str, line: int | None = None) -> Flaw:
    return Flaw(file=str(path), line=line, text="", message=message, hint=AGAIN)


def _unusable(path: Path, message: str, line: int | None = None) -> FilesNeedMending:
    return FilesNeedMending([_flaw(path, message, line)])


def _times(plan: Plan) -> Iterator[dt.datetime]:
    yield plan.made_at
    for time in plan.sturdy.held if plan.sturdy else ():
        yield from (time.start, time.end)
    for session in plan.sessions:
        yield from (session.start, session.end, session.window_start, session.window_end)
        for task in session.tasks:
            yield from (task.start, task.end)
