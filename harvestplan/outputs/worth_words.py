"""What a plan is worth, in plain words: for terminal and book."""

from __future__ import annotations

import math

from harvestplan.plan.models import Plan, Proof, WorthPart
from harvestplan.words import joined, plural

UNSURE = "This holds as far as evenings were judged too full rightly; see Warnings"


def worth_lines(plan: Plan) -> list[str]:
    """What the plan puts by, what it takes, and how far from the best it can be."""
    if plan.proof is None:
        return []
    lines = [_puts_by(plan), _worth(plan.proof), _bound(plan.proof)]
    if any(warning.code == "unproven-cut" for warning in plan.warnings):
        lines.append(UNSURE)
    return [line for line in lines if line]


def _puts_by(plan: Plan) -> str:
    live = [session for session in plan.sessions if session.live]
    visits = sum(session.is_visit for session in live)
    takes = [plural(len(live) - visits, "evening")]
    takes += [plural(visits, "visit")] if visits else []
    put_by = plural(sum(want.planned for want in plan.wants), "portion")
    return f"This plan puts by {put_by} in {joined(takes)}"


def _worth(proof: Proof) -> str:
    """What was still to be decided, by priority, less what it takes."""
    parts = {part.part: part for part in proof.parts}
    gross = parts["portions"].portions if "portions" in parts else 0.0
    if gross <= 0:
        return ""
    words = f"By your priorities it is worth {_about(proof.worth)}, with the toil taken off"
    lost = -parts["freshness"].portions / gross if "freshness" in parts else 0.0
    if lost >= 0.005:
        return f"{words}; waiting takes {lost:.0%} of what is put by"
    return f"{words}; hardly anything waits"


def _bound(proof: Proof) -> str:
    if proof.status == "optimal":
        return "No other plan could bring more"
    if proof.worth < 1:
        return f"At best another plan could bring {_about(proof.bound)}"
    more = f"{math.ceil(1000 * proof.gap) / 10:g}% more"
    return f"At best another plan could bring {more}: about {_about(proof.bound - proof.worth)}"


def _about(portions: float) -> str:
    """Whole portions, since a part of one is hardly anything; tenths of few."""
    if abs(portions) >= 10:
        return plural(round(portions), "portion")
    few = f"{portions:.1f}".removesuffix(".0")
    return plural(1, "portion") if few == "1" else f"{few} portions"


def part_rows(proof: Proof) -> list[tuple[WorthPart, str]]:
    """The parts that count for anything, with their portions in words, for a table."""
    return [(part, f"{part.portions:+.1f}") for part in proof.parts if abs(part.portions) >= 0.05]
