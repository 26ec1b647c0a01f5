"""What falls short in a plan, and what would help, with where on the page that is done."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from harvestplan.inputs.crops import Library
from harvestplan.outputs.remedy_words import remedy_lines
from harvestplan.outputs.terminal.summary import short_lines
from harvestplan.plan.models import Plan
from harvestplan.plan.remedy import Remedy


def shortfall(plan: Plan, library: Library) -> dict[str, list[Any]]:
    """`short`: a sentence for each want; `helps`: a sentence for each change that would help, with
    the address where the page makes it and what the link is called, "" where it makes none."""
    helps = [
        {"line": line, **dict(zip(("to", "tap"), _done_at(remedy), strict=True))}
        for line, remedy in zip(remedy_lines(plan), plan.remedies, strict=True)
    ]
    return {"short": short_lines(plan, library), "helps": helps}


def _done_at(remedy: Remedy) -> tuple[str, str]:
    if remedy.start is not None and remedy.end is not None:
        asked = {"on": f"{remedy.start:%Y-%m-%d}"}
        asked |= {"start": f"{remedy.start:%H:%M}", "end": f"{remedy.end:%H:%M}"}
        return f"/season?{urlencode(asked)}#evening", "Add this evening"
    if remedy.kind == "longer":
        return "/files#window", "Change the hours"
    return "", ""
