"""What to do at each task, in words for the kitchen, with the cautions that belong to it."""

from __future__ import annotations

from harvestplan.inputs.crops import Library, Product
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.sealing import CHILL_LIMIT
from harvestplan.kitchen.steps.all_steps import find_kind
from harvestplan.kitchen.steps.heat_pot import HeatSettings
from harvestplan.kitchen.steps.step_kind import plain_words
from harvestplan.outputs.cautions import COLD_ONLY, FOAMS, GLOVES, LIFTING, Caution, at_step
from harvestplan.outputs.sources import uncited
from harvestplan.plan.models import Run, Session, Task
from harvestplan.words import mass, one_line, temperature

HEAVY = 5000
"""g of water from which a pot is heavy to carry (common practice, no source)."""


def run_of(task: Task, session: Session) -> Run | None:
    """The run a task belongs to, or None for a task of the whole session."""
    return next((run for run in session.runs if run.id == task.run), None)


def task_words(task: Task, session: Session, season: Season) -> str:
    """One line for a task: what, how much, with what, machine settings. Unknowns are left out."""
    measures = season.household.measures
    run = run_of(task, session)
    what, kind = _what(task, run, measures), find_kind(task.step)
    words = kind.words(task, what, measures) if kind else plain_words(task, what)
    return one_line(words) + "."


def task_cautions(task: Task, session: Session, season: Season, *, library: Library) -> list[str]:
    """What to take care of at a task, most pressing first."""
    run = run_of(task, session)
    known = library.find_product(run.product) if run else None
    product = known[1] if known else None
    found = (
        _worded(each, task, run, product=product, season=season) for each in at_step(task.step)
    )
    told = [words for words in found if words]
    if product:
        told += own_cautions(product, library, task.step)
    return [one_line(words) for words in told]


def task_hazards(task: Task, session: Session, season: Season, *, library: Library) -> list[str]:
    """Names of the hazards at a task, of which `task_cautions` says what to do."""
    run = run_of(task, session)
    known = library.find_product(run.product) if run else None
    product = known[1] if known else None
    return [
        each.hazard
        for each in at_step(task.step)
        if _worded(each, task, run, product=product, season=season)
    ]


def own_cautions(product: Product, library: Library, at: str | None = None) -> list[str]:
    """What the crop file says at the product's steps, or at one of them; without its sources."""
    said = (step.caution for step in product.steps if at in (None, step.step))
    return [one_line(uncited(caution, library.sources)) for caution in said if caution]


def _worded(
    caution: Caution, task: Task, run: Run | None, *, product: Product | None, season: Season
) -> str:
    """The caution with its amount; empty where its `when` does not hold."""
    measures = season.household.measures
    if caution is LIFTING:
        water = HeatSettings.of(task).water_ml or 0
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
    kind = find_kind(task.step)
    numbered = task.batch is not None and not (kind and kind.scope == "table")
    batch = f"batch {task.batch} of " if numbered else ""
    amount = f" ({mass(task.grams, measures)})" if task.grams else ""
    return f"{batch}{run.product}{amount}" if run else ""
