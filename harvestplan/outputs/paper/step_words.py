"""What to do at each task, in words for the kitchen, with the cautions that belong to it."""

from __future__ import annotations

from harvestplan.inputs.crops import Crop, Library, Product
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.hazards import is_dry
from harvestplan.kitchen.sealing import CHILL_LIMIT
from harvestplan.kitchen.steps.all_steps import find_kind
from harvestplan.kitchen.steps.clean_up import CleanUp
from harvestplan.kitchen.steps.fill import Fill, FillSettings
from harvestplan.kitchen.steps.heat_pot import HeatSettings
from harvestplan.kitchen.steps.set_up import SetUp
from harvestplan.kitchen.steps.step_kind import plain_words
from harvestplan.kitchen.visit import (
    CLEAN_UP_BY_HAND,
    CLEAN_UP_WORDS,
    SET_UP_BY_HAND,
    SET_UP_WORDS,
)
from harvestplan.outputs.cautions import (
    COLD_ONLY,
    FOAMS,
    FREEZER_GLASS,
    GLOVES,
    LIFTING,
    SWELLING_FOOD,
    Caution,
    at_step,
)
from harvestplan.outputs.pack_words import pack_kind
from harvestplan.outputs.sources import uncited
from harvestplan.plan.models import Run, Session, Task
from harvestplan.words import (
    crop_many,
    joined,
    mass,
    one_line,
    product_words,
    spooned,
    temperature,
    the_batch,
)

HEAVY = 5000
"""g of water from which a pot is heavy to carry (common practice, no source)."""
AT_A_VISIT = {
    SetUp.name: (SET_UP_WORDS, SET_UP_BY_HAND),
    CleanUp.name: (CLEAN_UP_WORDS, CLEAN_UP_BY_HAND),
}
"""What is less at a visit than in an evening, with a sealing machine and without."""


def run_of(task: Task, session: Session) -> Run | None:
    """The run a task belongs to, or None for a task of the whole session."""
    return next((run for run in session.runs if run.id == task.run), None)


def task_words(task: Task, session: Session, season: Season, *, library: Library) -> str:
    """One line for a task: what, how much, with what, machine settings, what is added. Unknowns are
    left out."""
    if session.is_visit and task.step in AT_A_VISIT:
        return AT_A_VISIT[task.step][season.machine is None] + "."
    measures = season.household.measures
    run = run_of(task, session)
    what, kind = _what(task, session, measures), find_kind(task.step)
    if kind is None:
        words = plain_words(task, what)
    elif season.machine is None:
        words = kind.words_by_hand(task, what, measures)
    else:
        words = kind.words(task, what, measures)
    return one_line(words + _added_words(task, run, measures, library=library)) + "."


def _added_words(task: Task, run: Run | None, measures: Measures, *, library: Library) -> str:
    """Like "; add 4 tsp of salt (to drive out insects)", or nothing."""
    found = library.find_product(run.product) if run else None
    steps = found[1].steps if found else ()
    here = (step for step in steps if step.step == task.step)
    known = {each.item: each for step in here for each in step.ingredients}
    told = []
    for added in task.ingredients:
        own = known.get(added.item)
        density = own.density.value if own and own.density else None
        amount = spooned(added.grams, density and added.grams / density, measures)
        told.append(f"{amount} of {added.item}{f' ({own.use})' if own and own.use else ''}")
    return f"; add {joined(told)}" if told else ""


def task_cautions(task: Task, session: Session, season: Season, *, library: Library) -> list[str]:
    """What to take care of at a task, most pressing first."""
    run = run_of(task, session)
    known = library.find_product(run.product) if run else None
    product = known[1] if known else None
    found = (_worded(each, task, run, food=known, season=season) for each in at_step(task.step))
    told = [words for words in found if words]
    if product:
        told += own_cautions(product, library, task.step)
    return [one_line(words) for words in told]


def task_hazards(task: Task, session: Session, season: Season, *, library: Library) -> list[str]:
    """Names of the hazards at a task, of which `task_cautions` says what to do."""
    run = run_of(task, session)
    known = library.find_product(run.product) if run else None
    return [
        each.hazard
        for each in at_step(task.step)
        if _worded(each, task, run, food=known, season=season)
    ]


def own_cautions(product: Product, library: Library, at: str | None = None) -> list[str]:
    """What the crop file says at the product's steps, or at one of them; without its sources."""
    said = (step.caution for step in product.steps if at in (None, step.step))
    return [one_line(uncited(caution, library.sources)) for caution in said if caution]


def _worded(
    caution: Caution,
    task: Task,
    run: Run | None,
    *,
    food: tuple[Crop, Product] | None,
    season: Season,
) -> str:
    """The caution with its amount; empty where its `when` does not hold."""
    measures = season.household.measures
    if caution is LIFTING:
        water = (FillSettings if task.step == Fill.name else HeatSettings).of(task).water_ml or 0
        return caution.text.format(mass(water, measures)) if water >= HEAVY else ""
    if caution is COLD_ONLY:
        chamber = season.machine is not None and season.machine.kind == "chamber"
        cold = chamber and not (food and is_dry(*food))
        return caution.text.format(temperature(CHILL_LIMIT, measures)) if cold else ""
    if caution is GLOVES:
        return caution.text if run and run.crop == "hot pepper" else ""
    if caution is FOAMS:
        return caution.text if food and food[1].foams else ""
    if caution in (SWELLING_FOOD, FREEZER_GLASS):
        boxed = run is not None and pack_kind(run.pouch, season) == "box"
        frozen = food is not None and food[1].storage == "freezer"
        return caution.text if boxed and frozen else ""
    return caution.told(vacuum=season.machine is not None)


def _what(task: Task, session: Session, measures: Measures) -> str:
    """Like "10 1/2 lb tomatoes", "the second batch of snap beans (1 lb)" where there are several,
    "snap beans, cut (1 lb)" once it is packed, and "… tomatoes for tomato purée" where the session
    makes something else of the same crop."""
    run, kind = run_of(task, session), find_kind(task.step)
    if run is None:
        return ""
    # Packing takes several batches together; its number counts rounds at the table.
    table = kind is not None and kind.scope == "table"
    alone = all(other.product == run.product for other in session.runs if other.crop == run.crop)
    packed = table and not (kind and kind.warms)
    product = product_words(run.product)
    name = product if packed or not run.crop else crop_many(run.crop)
    made = "" if packed or alone or not run.crop else f" for {product}"
    amount = mass(task.grams, measures) if task.grams else ""
    if packed:
        return name + (f" ({amount})" if amount else "")
    if task.batch is None or table or _only_batch(task, session):
        return f"{amount} {name}{made}".strip()
    return the_batch(task.batch, name) + made + (f" ({amount})" if amount else "")


def _only_batch(task: Task, session: Session) -> bool:
    """Whether the step is done once for all food of its run."""
    same = (each for each in session.tasks if (each.run, each.step) == (task.run, task.step))
    return len({each.batch for each in same}) == 1
