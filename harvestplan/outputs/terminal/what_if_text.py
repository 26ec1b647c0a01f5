"""Answers to "what if" as text for the terminal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from harvestplan.foresight.answers import (
    SAME,
    Curve,
    Fullest,
    Loss,
    Outlook,
    WhatHelps,
    Worth,
)
from harvestplan.foresight.worth_file import worth_words
from harvestplan.inputs.season import Measures
from harvestplan.outputs.text_page import columns, screenful, wrapped
from harvestplan.plan.remedy import Portions
from harvestplan.words import clock, day, food_name, joined, one_line, plural

BAR = 40
"""Columns of the longest bar."""
HEADS = ("", "portions", "worth", "evenings", "freezer", "cost", "work")
REST = "There is more to it; the whole answer: the same with --all"
Entries = list[list[str]]
"""What is told, each in one or several lines."""
WORTH = (
    "Worth is what the plan puts by, by your priorities, less the toil and what waiting takes, in "
    "portions; ≤ is the most that may be possible."
)


def _page(entries: Entries, every: bool) -> str:
    lines = [line for entry in entries for line in entry] if every else screenful(entries, REST)
    return "\n".join(lines)


def compare_text(found: Sequence[Outlook], every: bool = True) -> str:
    """Variants under letters, side by side with the season as it stands; then each in words.

    Here as below, not `every` line is told, but what a screen holds.
    """
    base, *others = found
    rows = [HEADS, _row("as it stands", base)]
    letters = [_letter(number) for number in range(len(others))]
    rows += [_row(letter, each) for letter, each in zip(letters, others, strict=True)]
    entries = [[row] for row in columns(rows)]
    entries += [["", *wrapped(f"Wanted: {plural(base.wanted, 'portion')}. {WORTH}")]]
    for letter, each in zip(letters, others, strict=True):
        first, *more = _told(base, each)
        entries.append(["", *wrapped(f"{letter}  {one_line(each.name)}"), *wrapped(f"   {first}")])
        entries += [wrapped(f"   {line}") for line in more]
    return _page(entries, every)


def _letter(number: int) -> str:
    return chr(ord("A") + number) if number < 26 else str(number + 1)


def _row(name: str, each: Outlook) -> tuple[str, ...]:
    if each.trouble is not None:
        return (name, *("–" for _ in HEADS[1:]))
    return (
        name,
        str(each.planned),
        _worth(each.worth, each.bound),
        str(each.evenings),
        f"{each.freezer.share:.0%}" if each.freezer else "–",
        "–" if each.cost is None else f"{each.cost:.2f}",
        f"{each.minutes / 60:.1f} h",
    )


def _worth(worth: float, bound: float) -> str:
    return f"{worth:.1f}" if bound - worth <= SAME else f"{worth:.1f} (≤ {bound:.1f})"


def _told(base: Outlook, each: Outlook) -> list[str]:
    """What a variant changes, in sentences."""
    if each.trouble is not None:
        return [f"There is no plan: {one_line(each.trouble)}"]
    before = {p.product: p.portions for p in base.products}
    after = {p.product: p.portions for p in each.products}
    moved = {n: after.get(n, 0) - before.get(n, 0) for n in sorted({*before, *after})}
    parts = [f"{count:+d} {name}" for name, count in moved.items() if count]
    lines = [f"Puts by {joined(parts)}." if parts else "Puts by the same."]
    if each.wanted != base.wanted:
        lines.append(f"Wanted then: {plural(each.wanted, 'portion')}.")
    if not _apart(base, each):
        lines.append("Which is the better of the two is not proven: the bounds overlap.")
    if each.freezer is not None:
        lines.append(_fullest(each.freezer))
    return lines


def _fullest(freezer: Fullest) -> str:
    return one_line(f"The {freezer.freezer} is fullest on {day(freezer.date, year=True)}.")


def _apart(base: Outlook, each: Outlook) -> bool:
    """Whether it is proven which is better, or that both are equal."""
    if base.proven and each.proven:
        return True
    return each.worth > base.bound + SAME or base.worth > each.bound + SAME


def loss_text(loss: Loss, measures: Measures, every: bool = True) -> str:
    """What is lost without some kitchen time, and what moves elsewhere."""
    lines = [f"Without {joined([_when(start, measures) for start in loss.starts])}"]
    lost = [p for p in loss.products if p.portions > 0]
    more = [p for p in loss.products if p.portions < 0]
    lines.append(f"  Lost: {_portions(lost)}." if lost else "  As much is put by.")
    if more:
        lines.append(f"  Instead: {_portions(more)}.")
    lines.append(
        f"  The plan is worth {loss.worth_with:.1f} portions with it, {loss.worth_without:.1f} "
        "without, the toil taken off."
    )
    if loss.least < loss.most - SAME:
        lines.append(f"  Proven: at least {loss.least:.1f} and at most {loss.most:.1f} are lost.")
    if loss.moves:
        lines.append("  Moves elsewhere:")
        lines += [
            f"    {day(m.start.date())}: {plural(m.portions, 'portion')} of {food_name(m.product)}"
            for m in loss.moves
        ]
    if not loss.current:
        lines.append("  The written plan is not what this starts from: the files have changed, or")
        lines.append("  a better plan was found. Plan again.")
    return _page([wrapped(line) for line in lines], every)


def _when(start: dt.datetime, measures: Measures) -> str:
    return f"{day(start.date(), year=True)}, {clock(start, measures)}"


def _portions(found: Sequence[Portions]) -> str:
    words = [f"{plural(abs(p.portions), 'portion')} of {food_name(p.product)}" for p in found]
    return joined(words)


def helps_text(found: WhatHelps, every: bool = True) -> str:
    """The list of what would help, best first."""
    base = found.base
    head = (
        f"As it stands {base.planned} of {base.wanted} portions are put by, and the plan is worth "
        f"{_worth(base.worth, base.bound)} portions. One thing more of each would bring:"
    )
    entries = [wrapped(head)]
    rows: list[tuple[str, ...]] = [("portions", "worth", "proven", "", "")]
    for each in found.helps:
        if each.trouble is None:
            sure = each.most - each.least <= SAME
            proven = "yes" if sure else f"{each.least:.1f} to {each.most:.1f}"
            rows.append((f"{each.portions:+d}", f"{each.gain:+.1f}", proven, each.unit, ""))
    table = columns([row[:4] for row in rows], left=(3,))
    entries += [["", table[0]], *([row] for row in table[1:])]
    unsure = [h for h in found.helps if h.trouble is None and not h.sure and h.most > SAME]
    if unsure:
        names = joined([each.unit for each in unsure])
        entries += [["", *wrapped(f"Within what is not proven, so it may help or not: {names}.")]]
    none = [h for h in found.helps if h.trouble is None and h.most <= SAME]
    if none:
        entries += [["", *wrapped(f"Proven not to help: {joined([h.unit for h in none])}.")]]
    how = (
        "Pouches and ice are bought as needed and limit nothing. To see one "
        "in full: harvestplan compare CHANGE, with one of these:"
    )
    entries += [["", *wrapped(how)]]
    entries += [[f'  {h.unit}: "{one_line(h.change)}"'] for h in found.helps]
    return _page(entries, every)


def curve_text(curve: Curve, every: bool = True) -> str:
    """What a plan is worth against its evenings, with bars."""
    most = max((point.worth for point in curve.points), default=0.0)
    least = min((point.worth for point in curve.points), default=0.0)
    entries = [["evenings  portions  worth"]]
    for point in curve.points:
        bar = "█" * round(BAR * (point.worth - least) / (most - least)) if most > least else ""
        worth = _worth(point.worth, point.bound)
        entries.append([f"{point.evenings:8d}  {point.portions:8d}  {worth:<16}  {bar}".rstrip()])
    words = (
        f"Wanted: {plural(curve.wanted, 'portion')}. At most so many evenings: fewer are used "
        f"where more are not worth it. {WORTH}"
    )
    return _page([*entries, ["", *wrapped(words)]], every)


def worth_text(worth: Worth, measures: Measures, every: bool = True) -> str:
    """Each session and what would be lost without it, the dearest first."""
    dearest = sorted(worth.sessions, key=lambda w: (-w.lost, w.start))
    entries = [wrapped(f"{_when(w.start, measures)}: {worth_words(w)}") for w in dearest]
    return _page(entries, every) if entries else "No session lies ahead."
