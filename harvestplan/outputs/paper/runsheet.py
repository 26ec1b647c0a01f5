"""The run sheet of a session: clock time first, one step a line, a box to tick."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Measures, Season
from harvestplan.kitchen.best_before import keeps_for
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.kitchen.steps.soak import soaked_ahead
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.outputs.as_asked import packed_words, raw_food
from harvestplan.outputs.cautions import FOAMS
from harvestplan.outputs.food_notes import best_words, label_notes, sheet_notes
from harvestplan.outputs.pack_words import pack_kind, packs_of, together
from harvestplan.outputs.paper.step_words import own_cautions, run_of, task_cautions, task_words
from harvestplan.outputs.session_names import food_names
from harvestplan.outputs.sources import uncited
from harvestplan.outputs.text_page import wrapped
from harvestplan.plan.models import Run, Session, Task
from harvestplan.planning.shopping import ice_grams
from harvestplan.words import (
    clock,
    crop_many,
    day,
    food_name,
    ice_mass,
    joined,
    mass,
    month,
    one_line,
    pack_name,
    plural,
    span,
    volume,
)

FIRST_CUTS = names_where(lambda kind: kind.begins_food)
"""Steps with any of which a food is begun; what is only washed can wait."""

ALL_DONE = "When all is done"
RECORD = "Write down how many {} there are, then type these lines with the true numbers."
LABELS_FIRST = "Write on the {} first"


def runsheet_text(session: Session, season: Season, library: Library) -> str:
    """Plain text, wrapped at 78 columns, for paper or a tablet."""
    measures = season.household.measures
    start, end = clock(session.start, measures), clock(session.end, measures)
    what = packed_in(session, season)
    lines = [
        f"{heading(session)} on {day(session.start.date(), year=True)}",
        f"{start} to {end}, {plural(session.hands, 'pair')} of hands",
        "; ".join(food_names(session)),
        *laid_out_again(session, season),
        *_section("Before you start", before_lines(session, season, library)),
        *_section(LABELS_FIRST.format(what), label_lines(session, season, library)),
        "",
        "Steps",
    ]
    stops, people = pauses(session), cooks(session)
    for task, words, cautions in session_steps(session, season, library):
        if task.id in stops:
            lines += _wrapped(" " * 14, PAUSE)
        box = "[x]" if is_done(task, session) else "[ ]"
        name = who(task, people)
        told = f"{name}: {words}" if name else words
        lines += _wrapped(f"{box} {clock(task.start, measures):>8}  ", told)
        for caution in cautions:
            lines += _wrapped(" " * 14, f"Take care: {caution}")
    lines += _section("Where you may stop", stop_lines(session, season), "")
    lines += _section("For these foods", product_cautions(session, library), "")
    written = (*record_lines(session), *reading_lines(session, measures))
    records = [command for _, command in written]
    asked = [RECORD.format(packed_in(session, season)), *records] if records else []
    lines += _section(ALL_DONE, asked, "")
    return "\n".join(lines) + "\n"


def cooks(session: Session) -> list[str]:
    """Those at work in the session, the busiest first."""
    found = (name for task in in_order(session) for name in task.cooks)
    return sorted(dict.fromkeys(found), key=lambda name: -_busy(name, session))


def _busy(name: str, session: Session) -> float:
    """Seconds that somebody is at work."""
    ours = (task for task in session.tasks if name in task.cooks)
    return sum((task.end - task.start).total_seconds() for task in ours)


def who(task: Task, people: Sequence[str]) -> str:
    """Who of the people does a task, where there are several; "" for what goes on by itself."""
    return joined(task.cooks) if len(people) > 1 else ""


def packed_in(session: Session, season: Season) -> str:
    """What the session's containers are called together, like "pouches"."""
    return together((run.pouch for run in session.runs if run.pouches), season)


def heading(session: Session) -> str:
    """What is done in it."""
    return "Visit to pack" if session.is_visit else "Session in the kitchen"


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
        steps.append((task, task_words(task, session, season, library=library), new))
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
    lines = [*soaked_lines(session, measures), *_allergen_lines(session, library)]
    for run in session.runs:
        if run.lots:
            lines.append(f"Raw food: {raw_food(run.crop, run.grams_in, season, library)}")
        if run.second_sitting_of:
            place = _waits_in(run, session, library)
            lines.append(
                f"From the {place}: {mass(run.grams_in, measures)} for {food_name(run.product)}"
            )
    pouches: dict[str, int] = {}
    for run in session.runs:
        if run.pouch and run.pouches:
            pouches[run.pouch] = pouches.get(run.pouch, 0) + run.pouches
    lines += [_ready(name, count, season) for name, count in pouches.items()]
    if ice := ice_grams(session, measures):
        lines.append(f"Ice to have ready: {ice_mass(ice, measures)}")
    return [one_line(line) for line in lines]


def soaked_lines(session: Session, measures: Measures) -> list[str]:
    """What was put to soak the evening before."""
    lines = []
    for task in session.tasks:
        soaking, run = soaked_ahead(task), run_of(task, session)
        if soaking is None or run is None:
            continue
        known = soaking.water_ml is not None
        water = f"{volume(soaking.water_ml or 0, measures)} of " if known else ""
        hours = "" if soaking.minutes is None else f", {span(60 * soaking.minutes)} or more"
        lines.append(
            f"The evening before: {mass(task.grams, measures)} {crop_many(run.crop)} put to soak "
            f"in {water}cold water, in the refrigerator{hours}"
        )
    return lines


def _allergen_lines(session: Session, library: Library) -> list[str]:
    """What in the kitchen makes some people ill."""
    crops = {run.crop: library.find_crop(run.crop) for run in session.runs}
    return [
        f"Allergen in the kitchen: {joined(crop.allergens)} ({name}); wash all that it touches"
        for name, crop in crops.items()
        if crop is not None and crop.allergens
    ]


def _ready(name: str, count: int, season: Season) -> str:
    """Containers to have ready; of boxes none fails."""
    spare = "" if pack_kind(name, season) == "box" else ", and a few spare"
    named = pack_name(2, pack_kind(name, season), name)
    return f"{named[0].upper()}{named[1:]}: {count}{spare}"


def _waits_in(run: Run, session: Session, library: Library) -> str:
    """Where what its first sitting made waits for the second."""
    found = library.find_product(run.product)
    steps = {step.step for step in found[1].steps} if found else set()
    if Dry.name in steps:
        return "jars"  # closed ones
    if TrayFreeze.name not in steps:
        return "cold"
    freezers = (freezer_of(task) for task in session.tasks if task.run == run.id)
    return f"trays in {next(filter(None, freezers), 'the freezer')}"


def label_lines(session: Session, season: Season, library: Library) -> list[str]:
    """What to write on each run's pouches: food, amount, date, until when it is good, and what
    is to be known of it."""
    lines = []
    for run in session.runs:
        if run.pouches:
            lines.append(one_line(_label(run, session.start.date(), season, library=library)))
    return lines


def _label(run: Run, date: dt.date, season: Season, *, library: Library) -> str:
    found = library.find_product(run.product)
    amount = full = packed_words(run.product, run.portion_grams, season, library)
    weight = mass(run.portion_grams, season.household.measures)
    amount += f" ({weight})" if amount != weight else ""
    words = f"{food_name(run.product)}, {amount}, {date.day} {month(date)}"
    if found:
        pouch = next((each for each in season.pouch if each.name == run.pouch), None)
        best = best_words(found[1], date, keeps_for(found[1], library, pouch))
        told = [best, *label_notes(*found)]
        words += "".join(f", {each[0].lower()}{each[1:]}" for each in told)
    words += f" ({packs_of(run, season)}"
    last = run.grams_packed - (run.pouches - 1) * run.portion_grams
    if 0 < last < run.portion_grams:
        less = packed_words(run.product, last, season, library)
        words += f", the last with {less}" if less != full else ""
    return words + ")"


PAUSE = "Here you may stop: what is begun is put away, the rest is still whole."


VISIT_STOP = (
    "Take one tray at a time out of the freezer; if you must stop, put back all that is frozen. If "
    "nobody can come today: what lies on trays for more than two days dries out. It is safe as "
    "long as it stays frozen: pack it as soon as you can."
)
ON_TRAYS = (
    "What is on trays is packed another time, when it is hard; until then close the freezer and "
    "leave it."
)


def lies_on_trays(session: Session) -> Iterator[str]:
    """Products that the session leaves on trays."""
    packed = {task.run for task in session.tasks if task.step == Seal.name}
    for run in session.runs:
        laid = any(t.run == run.id and t.step == TrayFreeze.name for t in session.tasks)
        if laid and run.id not in packed:
            yield run.product


def pauses(session: Session) -> set[str]:
    """Ids of the tasks before which one may safely stop: the first after each safe instant."""
    stops = safe_stops(session)
    after = (next((t for t in in_order(session) if t.start >= stop), None) for stop in stops)
    return {task.id for task in after if task is not None}


def stop_lines(session: Session, season: Season) -> list[str]:
    """The safe stopping places: times at which nothing is cut, hot or unpacked."""
    if session.is_visit:
        return [VISIT_STOP]
    measures = season.household.measures
    lines = [ON_TRAYS] if any(lies_on_trays(session)) else []
    for time in safe_stops(session):
        lines.append(
            f"Safe stopping place at {clock(time, measures)}, marked among the steps as well."
        )
    elsewhere = " elsewhere" if safe_stops(session) else ""
    lines.append(
        f"If you must stop{elsewhere}: leave whole what is whole, finish the potful in hand, cool "
        "and drain it, and have all that is cut or cooked in the cold within 2 hours."
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
        f"{food_name(product)}: {caution}"
        for product in dict.fromkeys(run.product for run in session.runs)
        for caution in food_cautions(product, library)
    ]


def food_cautions(product: str, library: Library) -> list[str]:
    """What is to be known of a product as a whole, and what the crop file says, without its
    sources."""
    found = library.find_product(product)
    if found is None:
        return []
    own = (uncited(caution, library.sources) for caution in found[1].cautions)
    return [one_line(said) for said in (*sheet_notes(*found), *own)]


def record_lines(session: Session) -> list[tuple[str, str]]:
    """(product, command) for what was packed; the count is the plan's, to be corrected."""
    packed: dict[str, int] = {}
    for run in session.runs:
        if run.pouches:
            name = one_line(run.product)
            packed[name] = packed.get(name, 0) + run.pouches
    date = session.start.date().isoformat()
    return [
        (food_name(name), f'harvestplan froze "{_quotable(name)}" {count} --on {date}')
        for name, count in packed.items()
    ]


def reading_lines(session: Session, measures: Measures) -> list[tuple[str, str]]:
    """(product, command) for what the thermometer read in what was chilled; the temperature is the
    plan's, to be corrected."""
    cold = "5 C" if measures == "metric" else "41 F"
    date = session.start.date().isoformat()
    chilled = {task.run for task in session.tasks if task.step == Chill.name}
    names = dict.fromkeys(one_line(run.product) for run in session.runs if run.id in chilled)
    return [
        (food_name(name), f'harvestplan reading "{_quotable(name)}" {cold} --on {date}')
        for name in names
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
