"""What to do at each task, in words for the kitchen, with the cautions that belong to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from harvestplan.inputs.crops import Library, Product
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.sealing import CHILL_LIMIT
from harvestplan.outputs.cautions import COLD_ONLY, FOAMS, GLOVES, LIFTING, Caution, at_step
from harvestplan.outputs.sources import uncited
from harvestplan.plan.models import Run, Session, Task
from harvestplan.words import area, mass, one_line, plural, span, temperature, volume

PACKING = ("portion", "seal", "freeze", "store")

HEAVY = 5000
"""g of water from which a pot is heavy to carry (common practice, no source)."""


def run_of(task: Task, session: Session) -> Run | None:
    """The run a task belongs to, or None for a task of the whole session."""
    return next((run for run in session.runs if run.id == task.run), None)


def task_words(task: Task, session: Session, season: Season) -> str:
    """One line for a task: what, how much, with what, machine settings. Unknowns are left out."""
    measures = season.household.measures
    run = run_of(task, session)
    known = {key: value for key, value in task.settings.items() if value is not None}
    what = _what(task, run, measures)
    words = _WRITERS.get(task.step, _plain)(task, what, known, measures)
    return one_line(words) + "."


def task_cautions(task: Task, session: Session, season: Season, library: Library) -> list[str]:
    """What to take care of at a task, most pressing first."""
    run = run_of(task, session)
    known = library.find_product(run.product) if run else None
    product = known[1] if known else None
    found = (_worded(each, task, run, product, season) for each in at_step(task.step))
    told = [words for words in found if words]
    if product:
        told += own_cautions(product, library, task.step)
    return [one_line(words) for words in told]


def own_cautions(product: Product, library: Library, at: str | None = None) -> list[str]:
    """What the crop file says at the product's steps, or at one of them; without its sources."""
    said = (step.caution for step in product.steps if at in (None, step.step))
    return [one_line(uncited(caution, library.sources)) for caution in said if caution]


def _worded(
    caution: Caution, task: Task, run: Run | None, product: Product | None, season: Season
) -> str:
    """The caution with its amount; empty where its `when` does not hold."""
    measures = season.household.measures
    if caution is LIFTING:
        water = task.settings.get("water_ml") or 0
        return caution.text.format(mass(water, measures)) if water >= HEAVY else ""
    if caution is COLD_ONLY:
        chamber = season.sealer is not None and season.sealer.kind == "chamber"
        return caution.text.format(temperature(CHILL_LIMIT, measures)) if chamber else ""
    if caution is GLOVES:
        return caution.text if run and run.crop == "hot pepper" else ""
    if caution is FOAMS:
        return caution.text if product and product.foams else ""
    return caution.text


def _what(task: Task, run: Run | None, measures: Measures) -> str:
    """Like "batch 2 of snap bean, cut (1 lb)"."""
    # Packing takes several batches together; its number counts rounds at the table.
    numbered = task.batch is not None and task.step not in PACKING
    batch = f"batch {task.batch} of " if numbered else ""
    amount = f" ({mass(task.grams, measures)})" if task.grams else ""
    return f"{batch}{run.product}{amount}" if run else ""


def _in(task: Task, article: str = "in") -> str:
    return f" {article} {', '.join(task.equipment)}" if task.equipment else ""


Settings = Mapping[str, Any]


def _plain(task: Task, what: str, known: Settings, measures: Measures) -> str:
    return f"{task.step.capitalize()} {what}{_in(task)}".rstrip()


def _set_up(task: Task, what: str, known: Settings, measures: Measures) -> str:
    return "Set up: clean table and tools, mark the pouches, ice to hand, check machine and bar"


def _clean_up(task: Task, what: str, known: Settings, measures: Measures) -> str:
    return "Clean up: wash tools and bar, empty the baths, note what was frozen"


def _heat(task: Task, what: str, known: Settings, measures: Measures) -> str:
    water = f" with {volume(known['water_ml'], measures)} of water" if "water_ml" in known else ""
    pot = ", ".join(task.equipment) or "the pot"
    return f"Put {pot} on{water}, lid on, full heat"


def _trim(task: Task, what: str, known: Settings, measures: Measures) -> str:
    return f"Trim and cut {what}"


def _blanch(task: Task, what: str, known: Settings, measures: Measures) -> str:
    steam = known.get("over") == "steam"
    words = f"{'Steam' if steam else 'Blanch'} {what}{_in(task)}"
    if "water_ml" in known:
        below = " boiling below the basket" if steam else ""
        words += f", {volume(known['water_ml'], measures)} of water{below}"
    if "blanch_s" in known:
        words += f": {span(known['blanch_s'])}"
        if known.get("clock") == "lid on":
            words += " from lid on"
        elif "return_s" in known:
            words += f" from when it boils again (that takes about {span(known['return_s'])})"
    if "pot_limit_g" in known:
        most = mass(known["pot_limit_g"], measures)
        words += f"; at most {most} in the {'basket, one layer' if steam else 'pot'}"
    return words


def _cool(task: Task, what: str, known: Settings, measures: Measures) -> str:
    time = f": {span(known['cool_s'])}" if "cool_s" in known else ""
    return f"Cool {what} in ice water{_in(task)}{time}, stirring{_ice(known, measures)}"


def _ice(known: Settings, measures: Measures) -> str:
    return f"; takes {mass(known['ice_g'], measures)} of ice" if "ice_g" in known else ""


def _hot(task: Task, what: str, known: Settings, measures: Measures) -> str:
    words = f"{task.step.capitalize()} {what}{_in(task)}"
    if "water_ml" in known:
        words += f" with {volume(known['water_ml'], measures)} of water"
    if "minutes" in known:
        words += f": {span(60 * known['minutes'])}"
    if "heat_s" in known:
        words += f" from when it boils (that takes about {span(60 * round(known['heat_s'] / 60))})"
    return words


def _chill(task: Task, what: str, known: Settings, measures: Measures) -> str:
    down = f" down to {temperature(known['to_c'], measures)}" if "to_c" in known else ""
    time = f", about {span(60 * known['minutes'])}" if "minutes" in known else ""
    return f"Chill {what} in shallow pans in ice water{_in(task)}, stirring{down}{time}"\
        f"{_ice(known, measures)}"  # fmt: skip


def _tray_freeze(task: Task, what: str, known: Settings, measures: Measures) -> str:
    words = f"Freeze {what} on trays in one layer"
    if "area_cm2" in known:
        words += f", {area(known['area_cm2'], measures)}"
    words += f", in {known.get('freezer') or ', '.join(task.equipment) or 'the freezer'}"
    return words + (f": {span(60 * known['minutes'])}" if "minutes" in known else "")


def _dry(task: Task, what: str, known: Settings, measures: Measures) -> str:
    words = f"Lay {what} on the trays{_in(task, 'of')} in one layer"
    if "area_cm2" in known:
        words += f", {area(known['area_cm2'], measures)}"
    if "hours" in known:
        words += f"; it dries for about {known['hours']:g} h, then cools"
    if "conditioning_days" in known:
        days = plural(known["conditioning_days"], "day")
        words += f"; until it is sealed {days} or more loose in closed jars, shaken daily"
    return words + (f"; pasteurise {known['pasteurise']}" if "pasteurise" in known else "")


def _portion(task: Task, what: str, known: Settings, measures: Measures) -> str:
    words = f"Portion {what}"
    if "pouches" in known:
        words += f" into {plural(known['pouches'], 'pouch', 'pouches')}"
        words += f" {known['pouch']}" if "pouch" in known else ""
    if "portion_g" in known:
        words += f", {mass(known['portion_g'], measures)} each"
    return words + ", flat, rims clean and dry"


def _seal(task: Task, what: str, known: Settings, measures: Measures) -> str:
    words = f"Seal {what}{_in(task, 'with')}"
    if "pouches" in known:
        words += f": {plural(known['pouches'], 'pouch', 'pouches')}"
    if "cycles" in known:
        words += f" in {plural(known['cycles'], 'cycle')}"
    if "per_cycle" in known:
        words += f", {known['per_cycle']} at a time"
    for key, name in (("pump_down_s", "pump-down"), ("seal_s", "seal"), ("cycle_s", "a cycle")):
        words += f", {name} {span(known[key])}" if key in known else ""
    note = one_line(str(known.get("note", ""))).rstrip(".")
    return f"{words}; {note}" if note else words


def _freeze(task: Task, what: str, known: Settings, measures: Measures) -> str:
    pouches = plural(known["pouches"], "pouch", "pouches") + " of " if "pouches" in known else ""
    where = known.get("freezer") or ", ".join(task.equipment) or "the freezer"
    words = f"Lay {pouches}{what} flat in {where}, one layer until hard"
    words += f", {area(known['area_cm2'], measures)}" if "area_cm2" in known else ""
    # Computed hours are a third too long or too short.
    return words + (f": about {known['hours']:.0f} h" if "hours" in known else "")


_WRITERS = {
    "set up": _set_up,
    "clean up": _clean_up,
    "heat": _heat,
    "trim": _trim,
    "blanch": _blanch,
    "cool": _cool,
    "roast": _hot,
    "simmer": _hot,
    "chill": _chill,
    "tray freeze": _tray_freeze,
    "dry": _dry,
    "portion": _portion,
    "seal": _seal,
    "freeze": _freeze,
}
