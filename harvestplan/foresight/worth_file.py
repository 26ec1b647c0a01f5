"""out/worth.json: what each session of the plan is worth, in words for book and calendar."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from pydantic import ValidationError

from harvestplan.bounded import LARGEST_JSON, read_bounded
from harvestplan.disk import write_atomic
from harvestplan.foresight.answers import SAME, EveningWorth, Worth
from harvestplan.plan.file import plan_bytes
from harvestplan.plan.file_names import WORTH
from harvestplan.plan.models import Plan
from harvestplan.words import joined, plural

Worths = Mapping[str, EveningWorth]
"""What is known of the sessions' worth, by uid."""
NO_WORTHS: Worths = MappingProxyType({})
LEAST_TOLD = 0.05
"""Worth in portions below which nothing is lost."""


def plan_digest(plan: Plan) -> str:
    """SHA-256 of plan.json, so that worths are never told of another plan."""
    return hashlib.sha256(plan_bytes(plan)).hexdigest()


def write_worth(worth: Worth, out: Path) -> Path:
    """Write worth.json whole or not at all; returns its path."""
    path = out / WORTH
    text = json.dumps(worth.model_dump(mode="json"), ensure_ascii=False, indent=1)
    write_atomic(path, (text + "\n").encode("utf-8", "backslashreplace"))
    return path


def read_worth(plan: Plan, out: Path) -> Worths:
    """What is known of this plan's sessions, by uid; nothing where that is of another plan."""
    path = out / WORTH
    if not path.is_file():
        return NO_WORTHS
    try:
        worth = Worth.model_validate_json(read_bounded(path, LARGEST_JSON))
    except (OSError, ValidationError):
        return NO_WORTHS
    known = worth.plan == plan_digest(plan)
    return {each.uid: each for each in worth.sessions} if known else NO_WORTHS


def worth_words(worth: EveningWorth) -> str:
    """A sentence on what would be lost without the session."""
    lost = [p for p in worth.portions if p.portions > 0]
    words = joined([f"{plural(p.portions, 'portion')} of {p.product}" for p in lost])
    more = [f"{-p.portions} more of {p.product}" for p in worth.portions if p.portions < 0]
    gained = f" (and {joined(more)})" if more else ""
    if worth.lost < LEAST_TOLD:
        if not lost:
            return "Without this session nothing is lost: others take it over."
        return f"Without this session you lose {words}{gained}, and are spared as much in toil."
    if not lost:
        return (
            f"Without this session as much is put by{gained}, but less fresh or with more toil: "
            f"{_about(worth)}."
        )
    if worth.least >= worth.lost - SAME:
        return f"Without this session you lose {words}{gained}; the rest moves to others."
    sure = "some of it is lost for certain" if worth.least > LEAST_TOLD else "maybe less"
    return f"Without this session you lose at most {words}{gained}; {sure}."


def _about(worth: EveningWorth) -> str:
    """What is lost of the plan's worth, as far as it is certain."""
    lost = f"the plan is worth {worth.lost:.1f} portions less"
    return lost if worth.least >= worth.lost - SAME else f"{lost} at most"
