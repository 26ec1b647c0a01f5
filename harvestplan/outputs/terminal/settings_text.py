"""The settings book for people: where to start with each product, and what was found since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.machine_settings import SettingAdvice, Try, entry, starting
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import Process, portion_in_grams
from harvestplan.kitchen.steps.close_pack import HOW
from harvestplan.kitchen.steps.portion import head_mm
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import inches

HEAD = (
    "Settings of the sealing machine. These are places to start; your machine's own manual comes "
    "first. Note how each went, and the book finds your own: "
    'harvestplan setting "winter squash, purée" pump-down 12 s held (or: foamed).'
)


NO_MACHINE = (
    "There is no sealing machine in this kitchen, so there is nothing to set: zip bags and boxes "
    "are closed by hand. What matters is how full they are."
)


def settings_text(season: Season, library: Library, tries: Mapping[str, Sequence[Try]]) -> str:
    """A line or two per wanted product: pouch, seal time, pump-down to use and to try next; of what
    hands close how it is filled and closed."""
    kitchen, measures = Kitchen.from_season(season), season.household.measures
    lines = wrapped(HEAD if kitchen.sealer else NO_MACHINE, hang=0)
    for want in season.want:
        found = library.find_product(want.product)
        if found is None:
            continue
        grams = portion_in_grams(found[1], want.portion)
        try:
            process = make_process(kitchen, *found, grams, pouch=want.pouch)
        except CannotBeMade:
            continue
        if process.packing.pouch.by_hand:
            told = _filled_and_closed(process, measures)
        else:
            told = _told(process, tries.get(process.name, ()))
        lines += ["", *wrapped(told, hang=4)]
    return "\n".join(lines)


def _told(process: Process, tries: Sequence[Try]) -> str:
    start = starting(process.product, process.packing.pouch)
    own = entry(start.pump_down, tries)
    return (
        f"{process.name}, in {process.packing.pouch.name}: pump-down {own.use:.0f} s, seal "
        f"{start.seal:g} s; {start.note}.{_next(own, start.pump_down)}"
    )


def _filled_and_closed(process: Process, measures: Measures) -> str:
    pouch, words = process.packing.pouch, f"{process.name}, in {process.packing.pouch.name}"
    if (head := head_mm(pouch, process.product)) is not None:
        space = inches(head, measures)
        bag = pouch.kind == "zip bag"
        words += f": fill to {space} below the top" if bag else f": leave {space} of head space"
    return f"{words}; {HOW[pouch.kind]}."


def _next(own: SettingAdvice, start: float) -> str:
    held, failed = own.bracket.held, own.bracket.failed
    if held is None and failed is None:
        return ""
    known = [f"held at {held:.0f} s"] if held is not None else []
    known += [f"failed at {failed:.0f} s"] if failed is not None else []
    said = f" It {' and '.join(known)} (it started at {start:.0f} s)."
    if own.next_try == own.use:
        return f"{said} That is settled." if own.bracket.settled else said
    return f"{said} Try {own.next_try:.0f} s next."
