"""The run sheet of a session: clock time first, one step a line, a box to tick."""

from __future__ import annotations

import datetime as dt
import re

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.outputs.cautions import FOAMS
from harvestplan.outputs.paper.step_words import own_cautions, run_of, task_cautions, task_words
from harvestplan.outputs.session_names import products
from harvestplan.outputs.sources import uncited
from harvestplan.outputs.text_page import wrapped
from harvestplan.plan.models import Run, Session, Task
from harvestplan.planning.shopping import ice_grams
from harvestplan.words import clock, day, mass, month, one_line, plural, portion_mass

FIRST_CUTS = names_where(lambda kind: kind.begins_food)
"""Steps with any of which a food is begun; what is only washed can wait."""

ALL_DONE = "When all is done"
RECORD = "Write down how many pouches there are, then type these lines with the true numbers."


def runsheet_text(session: Session, season: Season, library: Library) -> str:
    """Plain text, wrapped at 78 columns, for paper or a tablet."""
    measures = season.household.measures
    start, end = clock(session.start, measures), clock(session.end, measures)
    lines = [
        f"Putting by on {day(session.start.date(), year=True)}",
        f"{start} to {end}, {plural(session.hands, 'pair')} of hands",
        "; ".join(products(session)),
        *laid_out_again(session, season),
        *_section("Before you start", before_lines(session, season, library)),
        *_section("Write on the pouches first", label_lines(session, season, library)),
        "",
        "Steps",
    ]
    stops = pauses(session)
    for task, words, cautions in session_steps(session, season, library):
        if task.id in stops:
            lines += _wrapped(" " * 14, PAUSE)
        box = "[x]" if is_done(task, session) else "[ ]"
        lines += _wrapped(f"{box} {clock(task.start, measures):>8}  ", words)
        for caution in cautions:
            lines += _wrapped(" " * 14, f"Take care: {caution}")
    lines += _section("Where you may stop", stop_lines(session, season), "")
    lines += _section("For these foods", product_cautions(session, library), "")
    records = [command for _, command in record_lines(session)]
    lines += _section(ALL_DONE, [RECORD, *records] if records else [], "")
    return "\n".join(lines) + "\n"


def is_done(task: Task, session: Session) -> bool:
    """Whether it was over when the rest of the session was laid out again."""
    return session.cut_at is not None and task.end <= session.cut_at


def laid_out_again(session: Session, season: Season) -> list[str]:
    """That and when the rest of the session was laid out again; nothing where it was not."""
    if session.cut_at is None or session.cut_at < session.start:
        return []
    at = clock(session.cut_at, season.household.measures)
    return [f"Laid out again at {at}; what was over by then is ticked."]


def step_lines(
    session: Session, season: Season, library: Library
) -> list[tuple[str, str, list[str]]]:
    """(clock time, what to do, cautions) by start; each caution once, where it first matters,
    and what a food wants of its own once for that food."""
    measures = season.household.measures
    return [
        (clock(task.start, measures), words, cautions)
        for task, words, cautions in session_steps(session, season, library)
    ]


def session_steps(
    session: Session, season: Season, library: Library
) -> list[tuple[Task, str, list[str]]]:
    """Like `step_lines`, with the task itself instead of its time."""
    told: set[tuple[str, str]] = set()
    steps = []
    for task in in_order(session):
        food, own = _own_cautions(task, session, library)
        found = {
            (food if caution in own else "", caution): caution
            for caution in task_cautions(task, session, season, library=library)
        }
        new = [caution for key, caution in found.items() if key not in told]
        told |= found.keys()
        steps.append((task, task_words(task, session, season), new))
    return steps


def _own_cautions(task: Task, session: Session, library: Library) -> tuple[str, set[str]]:
    """The task's food, and what is to be said again for each food that wants it."""
    run = run_of(task, session)
    found = library.find_product(run.product) if run else None
    if run is None or found is None:
        return "", set()
    return run.product, {*own_cautions(found[1], library), FOAMS.text}


def before_lines(session: Session, season: Season, library: Library) -> list[str]:
    """What must be in the house before the session."""
    measures = season.household.measures
    lines = []
    for run in session.runs:
        if run.lots:
            lines.append(f"Raw food: {mass(run.grams_in, measures)} {run.crop}")
        if run.second_sitting_of:
            place = "jars" if _is_dried(run, library) else "cold"
            lines.append(f"From the {place}: {mass(run.grams_in, measures)} for {run.product}")
    pouches: dict[str, int] = {}
    for run in session.runs:
        if run.pouch and run.pouches:
            pouches[run.pouch] = pouches.get(run.pouch, 0) + run.pouches
    lines += [f"Pouches {name}: {count}, and a few spare" for name, count in pouches.items()]
    if ice := ice_grams(session):
        lines.append(f"Ice to have ready: {mass(ice, measures)}")
    return [one_line(line) for line in lines]


def _is_dried(run: Run, library: Library) -> bool:
    """Whether its first sitting put it to dry, so that it waits in closed jars."""
    found = library.find_product(run.product)
    return found is not None and any(step.step == Dry.name for step in found[1].steps)


def label_lines(session: Session, season: Season, library: Library) -> list[str]:
    """What to write on each run's pouches: food, amount, date, month of "best before"."""
    lines = []
    for run in session.runs:
        if run.pouches:
            lines.append(one_line(_label(run, session.start.date(), season, library=library)))
    return lines


def _label(run: Run, date: dt.date, season: Season, *, library: Library) -> str:
    found = library.find_product(run.product)
    amount = portion_mass(run.portion_grams, season.household.measures)
    words = f"{run.product}, {amount}, {date.day} {month(date)}"
    if found:
        best_by = date + dt.timedelta(seconds=found[1].keeps.value)
        words += f", best before {month(best_by)}"
    words += f" ({plural(run.pouches, 'pouch', 'pouches')}"
    last = run.grams_packed - (run.pouches - 1) * run.portion_grams
    if 0 < last < run.portion_grams:
        words += f", the last with {mass(last, season.household.measures)}"
    return words + ")"


PAUSE = "Here you may stop: what is begun is put away, the rest is still whole."


def pauses(session: Session) -> set[str]:
    """Ids of the tasks before which one may safely stop: the first after each safe instant."""
    stops = safe_stops(session)
    after = (next((t for t in in_order(session) if t.start >= stop), None) for stop in stops)
    return {task.id for task in after if task is not None}


def stop_lines(session: Session, season: Season) -> list[str]:
    """The safe stopping places: times at which nothing is cut, hot or unpacked."""
    measures = season.household.measures
    lines = []
    for time in safe_stops(session):
        lines.append(
            f"Safe stopping place at {clock(time, measures)}, marked among the steps as well."
        )
    lines.append(
        f"If you must stop{' elsewhere' if lines else ''}: leave whole what is whole, finish the "
        "potful in hand, cool and drain it, and have all that is cut or cooked in the cold within "
        "2 hours."
    )
    return lines


def safe_stops(session: Session) -> list[dt.datetime]:
    """Instants before the last run's end at which every run is either untouched or finished."""
    spans = []
    for run in session.runs:
        tasks = [task for task in session.tasks if task.run == run.id]
        cuts = [task.start for task in tasks if task.step in FIRST_CUTS]
        if cuts:
            spans.append((min(cuts), max(task.end for task in tasks)))
    if not spans:
        return []
    last = max(end for _, end in spans)
    ends = sorted({end for _, end in spans if end < last})
    return [time for time in ends if all(end <= time or start >= time for start, end in spans)]


def product_cautions(session: Session, library: Library) -> list[str]:
    """What the crop files say of the session's products as a whole, each product once."""
    return [
        f"{name}: {caution}"
        for name in products(session)
        for caution in food_cautions(name, library)
    ]


def food_cautions(name: str, library: Library) -> list[str]:
    """What the crop file says of a product as a whole, without its sources."""
    found = library.find_product(name)
    said = found[1].cautions if found else ()
    return [one_line(uncited(caution, library.sources)) for caution in said]


def record_lines(session: Session) -> list[tuple[str, str]]:
    """(product, command) for what was packed; the count is the plan's, to be corrected."""
    packed: dict[str, int] = {}
    for run in session.runs:
        if run.pouches:
            name = one_line(run.product)
            packed[name] = packed.get(name, 0) + run.pouches
    date = session.start.date().isoformat()
    return [
        (name, f'harvestplan froze "{_quotable(name)}" {count} --on {date}')
        for name, count in packed.items()
    ]


def _quotable(name: str) -> str:
    """Without what a shell would read as more than text inside double quotes."""
    return re.sub(r'["$`\\!%^&|<>]', "", name)


def in_order(session: Session) -> list[Task]:
    """The session's tasks by start."""
    return sorted(session.tasks, key=lambda task: (task.start, task.end, task.id))


def _section(title: str, lines: list[str], box: str = "[ ] ") -> list[str]:
    if not lines:
        return []
    return ["", title, *(part for line in lines for part in _wrapped(box, line))]


def _wrapped(lead: str, text: str) -> list[str]:
    """The text with all its lines as deep as the end of `lead`."""
    return wrapped(lead + text, hang=len(lead.lstrip()))
