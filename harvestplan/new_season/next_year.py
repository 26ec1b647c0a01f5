"""Next year's season folder from last year's: same text and remarks, a year later, and what was
learned on the way."""

from __future__ import annotations

import datetime as dt
import shutil
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from harvestplan.disk import lies_in, write_atomic
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.dates import anniversary
from harvestplan.inputs.ids import called
from harvestplan.inputs.load import load_season
from harvestplan.inputs.quantities import read_quantity
from harvestplan.inputs.toml_file import read_toml
from harvestplan.new_season.season_text import TableText, blocks, joined
from harvestplan.new_season.starter import quoted
from harvestplan.planning.look_back import (
    Hindsight,
    PlantingSeen,
    days_seen,
    look_back,
    written_out,
    yield_seen,
)
from harvestplan.records.events import Setting
from harvestplan.words import day, mass, plural

YEARS = 1
DATED = {"season": ("start", "end"), "bought": ("on",), "want": ("from", "until")}
DROPPED = ("stored", "learned", "ripened")
SILENCED = ("extra_window", "away")
CHANGED = (*DATED, *DROPPED, *SILENCED, "sealer", "planting")
LAST_YEARS = "Last year's; write this year's and take the # away:"
LEARNED = "garden.toml"
REMEMBERED_SEASONS = 20


def next_year(old: Path, new: Path, today: dt.date) -> tuple[list[Path], tuple[str, ...]]:
    """Writes the folder `new` for the season after that of `old`; its files, and what to look at.

    Weather, busy calendars and own crop files are copied. Carried over are the own pace, failed
    seals, pump-downs found, the machine's hours, what warmth first picks took (days to maturity
    where no weather is known), yields seen, and what lies in store `today`.

    Raises
    ------
    FilesNeedMending
        For flaws in `old`, or where a file is already in `new`; nothing is written then.
    """
    back = look_back(old, today)
    with tempfile.TemporaryDirectory() as made:
        draft = Path(made)
        _copy_linked(back, old, draft)
        notes = _write_texts(back, old, draft)
        _write_settings(back, draft)
        _refuse_unsound(back, draft)
        return _moved(draft, new), notes


def _write_texts(back: Hindsight, old: Path, draft: Path) -> tuple[str, ...]:
    paths = [p for p in sorted(old.glob("*.toml")) if not p.name.startswith(".")]
    grown = iter(back.plantings)
    notes: list[str] = []
    texts: dict[str, str] = {}
    for path in paths:
        parts = _tables(path)
        for block in parts:
            notes += _carry(block, back, grown)
        texts[path.name] = joined(parts)
    home = LEARNED if LEARNED in texts else paths[-1].name
    texts[home] += "".join([*_stored(back), *_learned(back), *_ripened(back)])
    for path in paths:
        line_end = "\r\n" if b"\r\n" in path.read_bytes() else "\n"
        (draft / path.name).write_text(texts[path.name], encoding="utf-8", newline=line_end)
    in_store = sum(shelf.portions for shelf in back.shelves)
    return (
        *notes,
        f"{plural(in_store, 'portion')} in store on {day(back.as_of, year=True)} "
        f"{'is' if in_store == 1 else 'are'} carried over.",
        f"Count your {'pouches' if back.season.machine else 'bags and boxes'}, and mend in_stock.",
    )


def _tables(path: Path) -> list[TableText]:
    """The file's tables; FilesNeedMending where one that changes has no heading of its own, so that
    none is left in the old year in silence, nor what one planting taught written to another."""
    file = read_toml(path, path.name)
    parts = blocks(file.index.lines)
    headed = Counter(block.name for block in parts)
    there = {n: len(v) if isinstance(v, list) else 1 for n, v in file.data.items()}
    if any(headed[name] != there.get(name, 0) for name in CHANGED):
        raise _unmovable(path.name)
    return parts


def _unmovable(file: str) -> FilesNeedMending:
    return FilesNeedMending(
        [
            Flaw(
                file,
                None,
                "",
                message="Its tables cannot be moved to a new year.",
                hint="Write each table under a heading of its own, like [[stored]], one key a "
                "line.",
            )
        ]
    )


def _carry(block: TableText, back: Hindsight, grown: Iterator[PlantingSeen]) -> Iterator[str]:
    """Moves one table to next year; tells what a person should know of it."""
    if block.name in DATED:
        block.shift(DATED[block.name], YEARS)
    elif block.name in DROPPED:
        block.clear()
    elif block.name in SILENCED:
        block.silence(LAST_YEARS)
    elif block.name == "sealer":
        _carry_sealer(block, back)
    elif block.name == "planting":
        yield from _carry_planting(block, back, next(grown))


def _carry_sealer(block: TableText, back: Hindsight) -> None:
    sealer = back.season.machine
    if sealer is not None and (back.done or back.experience.sealings):
        hours = back.experience.running_seconds(sealer, back.done) / 3600
        block.put("run_so_far", f'"{hours:.2f} h"', f"on {day(back.as_of, year=True)}")


def _carry_planting(block: TableText, back: Hindsight, seen: PlantingSeen) -> Iterator[str]:
    growth = seen.crop.growth
    if growth is not None and growth.clock != "biofix":
        block.shift(("sown", "set_out"), YEARS)
    block.drop("first_pick")
    name = called(seen.expected.planting_id, seen.expected.crop)
    if seen.first is not None:
        took = back.ripened.get(seen.crop.name)
        if took:
            yield f"{name}: {_warmth_words(took[-1])}, as seen."
        else:
            days = days_seen(seen)
            first = f"first picked on {day(seen.first, year=True)}"
            block.put("days_to_maturity", str(days), first)
            yield f"{name}: {days} days to maturity, as seen."
    if seen.over and seen.picked and written_out(back, seen.crop.name):
        measures = back.season.household.measures
        grams = yield_seen(seen)
        picked, book = (mass(g, measures) for g in (seen.picked, seen.expected.total_g_p50))
        block.put(
            "yield",
            f'"{mass(grams, measures)}"',
            f"{picked} picked, {book} expected; mend it if you sow more or less",
        )
        yield f"{name}: a yield of {mass(grams, measures)}, halfway to what came."


def _warmth_words(ratio: float) -> str:
    more = round((ratio - 1) * 100)
    return f"{abs(more)} % {'more' if more >= 0 else 'less'} warmth to the first pick than reckoned"


def _ripened(back: Hindsight) -> Iterator[str]:
    """A table for each crop whose first picks were seen under known weather."""
    for crop, took in sorted(back.ripened.items()):
        told = ", ".join(f"{ratio:.3f}" for ratio in took[-REMEMBERED_SEASONS:])
        yield f"\n[[ripened]]\ncrop = {quoted(crop)}\ntook = [{told}]\n"


def _stored(back: Hindsight) -> Iterator[str]:
    """A table for what lies in store, by the day it was put by."""
    measures = back.season.household.measures
    sizes = {want.product: want.portion for want in back.season.want}
    sizes |= {item.product: item.portion for item in back.season.stored}
    for shelf in back.shelves:
        for batch in shelf.batches:
            grams = batch.grams
            if grams is None and shelf.product in sizes:
                found = back.library.find_product(shelf.product)
                size = sizes[shelf.product]
                grams = round(size.grams(found[1].density.value if found else 1.0))
            if grams is None:
                continue
            words = mass(grams, measures)
            if round(read_quantity(words, "mass", measures).value) != grams:
                words = f"{grams} g"
            yield (
                f"\n[[stored]]\nproduct = {quoted(shelf.product)}\nportions = {batch.portions}\n"
                f'portion = "{words}"\nfrozen_on = {batch.put_by}\n'
            )


def _learned(back: Hindsight) -> Iterator[str]:
    """A table for each product's pace and seals."""
    experience = back.experience
    first = True
    for product in sorted({*experience.paces, *experience.seals}):
        pace, (sealed, failed) = (
            experience.paces.get(product),
            experience.seals.get(product, (0, 0)),
        )
        lines = ["\n[[learned]]"]
        if first:
            lines.append("# What your own evenings taught; plans reckon with it.")
        lines.append(f"product = {quoted(product)}")
        if pace is not None and pace.evenings:
            lines.append(f"pace = {pace.median:g}\nevenings = {pace.evenings}")
        if pace is not None and pace.steps:
            told = (
                f"{step} = {{ pace = {own.median:g}, timings = {own.evenings} }}"
                for step, own in pace.steps.items()
            )
            lines.append(f"steps = {{ {', '.join(told)} }}")
        lines.append(f"sealed = {sealed}\nfailed = {failed}\n")
        first = False
        yield "\n".join(lines)


def _write_settings(back: Hindsight, draft: Path) -> None:
    """The diary's lines on the sealing machine's settings, from which the book is made."""
    told = [event for event in back.diary.events if isinstance(event, Setting)]
    lines = (f"{e.date} {e.text}{f' #{e.code}' if e.code else ''}\n" for e in told)
    if told:
        (draft / "diary.txt").write_text("".join(lines), encoding="utf-8")


def _copy_linked(back: Hindsight, old: Path, draft: Path) -> None:
    """Weather, busy calendars and the household's own crop files."""
    names = [*back.season.calendars.busy]
    for name in back.season.weather.daily:
        inside = sorted((old / name).iterdir()) if (old / name).is_dir() else []
        names += [f"{name}/{path.name}" for path in inside] or [name]
    names += [f"crops/{path.name}" for path in sorted((old / "crops").glob("*.toml"))]
    for name in names:
        if lies_in(old, old / name) and (old / name).is_file():
            (draft / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(old / name, draft / name)


def _refuse_unsound(back: Hindsight, draft: Path) -> None:
    """The new folder must load, a year later."""
    old, new = back.season.season.start, load_season(draft, back.library).season.season.start
    if new != anniversary(old, old.year + YEARS):
        raise _unmovable("last year's folder")


def _moved(draft: Path, new: Path) -> list[Path]:
    """Puts the draft's files into `new`, none over another."""
    names = sorted(path.relative_to(draft) for path in draft.rglob("*") if path.is_file())
    there = [new / name for name in names if (new / name).exists()]
    if there:
        raise FilesNeedMending(
            [
                Flaw(
                    str(path), None, "", message="is already there.", hint="Choose an empty folder."
                )
                for path in there
            ]
        )
    for name in names:
        (new / name).parent.mkdir(parents=True, exist_ok=True)
        write_atomic(new / name, (draft / name).read_bytes())
    return [new / name for name in names]
