"""Next year's sowing as text: how much better it is, and the tables to copy."""

from __future__ import annotations

import json

from harvestplan.foresight.answers import Elsewhere, Sowing, SowingScore, Sown
from harvestplan.inputs.quantities import show
from harvestplan.inputs.season import Measures
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import about, joined, one_line, plural


def sowing_text(sowing: Sowing, measures: Measures) -> str:
    """Both sowings side by side, then every [[planting]] of the better one."""
    cool, middling, warm = sowing.years
    lines = [f"{'':24}{'as written':>14}{'this sowing':>14}"]
    lines += _rows(sowing.before, sowing.after, measures)
    lines.append("")
    lines += wrapped(
        f"On average over three seasons: a cool one ({cool}), a middling one with poor yields "
        f"({middling}) and a warm one ({warm}), each played through with a new plan every three "
        "weeks, with the evenings, wants and kitchen of the season file; sessions are not timed to "
        f"the minute. {sowing.tries} sowings were tried (seed {sowing.seed}).",
        hang=0,
    )
    if not sowing.moved:
        lines += ["", "No sowing tried is better than the one written."]
    else:
        moved = joined([one_line(name) for name in sowing.moved])
        lines += ["", *wrapped(f"Otherwise than written: {moved}.", hang=0)]
        lines += ["", *_elsewhere(sowing.elsewhere, measures)]
    return "\n".join([*lines, "", *(_table(each, measures) for each in sowing.plantings)])


def _elsewhere(found: Elsewhere | None, measures: Measures) -> list[str]:
    if found is None:
        return ["It was not tried in other years."]
    years = plural(len(found.years), "past year")
    told = (
        f"So it fares in {years} that were not searched with, yields drawn from their spread: "
        f"clearly better in {found.better}, clearly worse in {found.worse}. What it will bring you "
        "is nearer to this than to the figures above."
    )
    return [*wrapped(told, hang=0), *_rows(found.before, found.after, measures)]


def _rows(before: SowingScore, after: SowingScore, measures: Measures) -> list[str]:
    pairs = [
        ("weighted portions short", f"{before.short:.1f}", f"{after.short:.1f}"),
        (
            "surplus",
            about(1000 * before.surplus_kg, measures),
            about(1000 * after.surplus_kg, measures),
        ),
        ("evenings", f"{before.evenings:.1f}", f"{after.evenings:.1f}"),
    ]
    return [f"{name:24}{one:>14}{other:>14}" for name, one, other in pairs]


def _table(sown: Sown, measures: Measures) -> str:
    """A planting as the season file has it."""
    pairs: list[tuple[str, str]] = [("id", _quoted(sown.id)), ("crop", _quoted(sown.crop))]
    if sown.plants is not None:
        pairs.append(("plants", str(sown.plants)))
    if sown.row is not None:
        pairs.append(("row", _quoted(show(sown.row, "length", measures))))
    if sown.area is not None:
        pairs.append(("area", _quoted(show(sown.area, "area", measures))))
    for key, date in (("sown", sown.sown), ("set_out", sown.set_out)):
        if date is not None:
            pairs.append((key, date.isoformat()))
    if sown.days_to_maturity is not None:
        pairs.append(("days_to_maturity", str(sown.days_to_maturity)))
    if sown.yield_g is not None:
        pairs.append(("yield", _quoted(show(sown.yield_g, "mass", measures))))
    return "\n".join(["[[planting]]", *(f"{key} = {value}" for key, value in pairs), ""])


def _quoted(text: str) -> str:
    """A basic TOML string, which JSON's strings are but for a lone surrogate."""
    return json.dumps(text, ensure_ascii=False)
