"""What to buy, for people: as a table, as a list, in a phrase."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable

from harvestplan.inputs.season import Season
from harvestplan.outputs.pack_words import pack_kind, together
from harvestplan.outputs.shopping_words import buy_words
from harvestplan.plan.models import Plan, ShoppingLine
from harvestplan.planning.shopping import by_date
from harvestplan.words import clean, day, joined, money, one_line

COLUMNS = (
    "order_by", "item", "kind", "need", "in_stock", "buy", "unit", "packs", "pack", "price",
)  # fmt: skip


def pouch_note(plan: Plan, season: Season, shown: Callable[[str], str] = one_line) -> str:
    """How many pouches the list takes to be in stock; empty where it has none. The list counts the
    sessions ahead only, so that what was bought in spring has to stand in the kitchen file."""
    sizes = {line.item: line.in_stock for line in plan.shopping if line.kind == "pouch"}
    if not sizes:
        return ""
    told = joined([f"{count} of {shown(item)}" for item, count in sorted(sizes.items())])
    return (
        f"{together(sizes, season).capitalize()} in stock, as your kitchen file says: {told}. "
        "Count what lies there today, mend in_stock in that file and plan again before you buy."
    )


def shopping_csv(plan: Plan) -> str:
    """The list as RFC 4180 text; cells that a spreadsheet would run as formulas are defused."""
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(COLUMNS)
    for line in sorted(plan.shopping, key=by_date):
        unit = "pieces" if line.kind == "pouch" else "g"
        price = "" if line.price is None else f"{line.price:.2f}"
        row = (
            line.order_by.isoformat(),
            _defused(line.item),
            _defused(line.kind),
            line.need,
            line.in_stock,
            line.buy,
            unit,
            line.packs,
            line.pack,
            price,
        )
        table.writerow(row)
    return out.getvalue()


def _defused(cell: str) -> str:
    """A leading apostrophe makes a spreadsheet take a would-be formula as text."""
    text = one_line(cell)
    return f"'{text}" if text[:1] in tuple("=+-@＝＋－＠") else text


def shopping_md(plan: Plan, season: Season) -> str:
    """The list as Markdown with boxes to tick, by the date to order or buy."""
    lines = [f"# Shopping list, {_escaped(plan.season.name)}", ""]
    if note := pouch_note(plan, season, _escaped):
        lines += [note, ""]
    wanted = sorted((line for line in plan.shopping if line.buy), key=by_date)
    if not wanted:
        lines.append("Nothing to buy.")
    date = None
    for line in wanted:
        if line.order_by != date:
            date = line.order_by
            lines += ["", f"## By {day(date, year=True)}", ""]
        lines.append(f"- [ ] {_escaped(buy_words(line, season))}{_reason(line, season)}")
    held = [line for line in plan.shopping if not line.buy]
    if held:
        lines += ["", "## In stock already", ""]
        lines += [f"- {_escaped(line.item)}{_reason(line, season)}" for line in held]
    prices = [line.price for line in wanted if line.price is not None]
    if prices:
        lines += [
            "",
            f"Cost of what has a price: {money(math.fsum(prices), season.household.currency)}",
        ]
    return re.sub("\n{3,}", "\n\n", "\n".join(lines)) + "\n"


def _reason(line: ShoppingLine, season: Season) -> str:
    if line.kind != "pouch":
        return ""
    price = (
        ""
        if line.price is None or not line.buy
        else f", {money(line.price, season.household.currency)}"
    )
    spares = "" if pack_kind(line.item, season) == "box" else " with spares"
    return f": {line.need} needed{spares}, {line.in_stock} in stock{price}"


def _escaped(text: str) -> str:
    return re.sub(r"([\\`*_\[\]<>|#])", r"\\\1", one_line(clean(text)))
