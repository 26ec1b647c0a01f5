"""Lays changes over a season's tables as they were written, before the loader judges them."""

from __future__ import annotations

import datetime as dt
from typing import Any

from harvestplan.foresight.changes import NOTHING, Edit, Variant
from harvestplan.foresight.values import (
    UnclearError,
    read_pairs,
    read_span,
    with_pairs,
)
from harvestplan.inputs.crops import Library
from harvestplan.inputs.explain import keys_of, nearest
from harvestplan.inputs.ids import planting_ids
from harvestplan.inputs.line_numbers import LineIndex
from harvestplan.inputs.line_numbers import Path as Place
from harvestplan.inputs.merge import LISTS, MODELS, SeasonFiles, add_file
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.inputs.toml_file import TomlFile, read_toml
from harvestplan.inputs.windows import WEEKDAYS

NAMING = ("id", "name", "date", "item", "product", "crop", "start")
"""The first of these that a table has tells its things apart."""
MOST_COPIES = 8
NAMELESS = "They have no names to tell them apart; try it in a copy of the season folder."


def change_of(variant: Variant) -> Any:
    """The variant as the loader wants it: a function that changes the tables read.

    What cannot be done is added to the files' flaws.
    """

    def change(files: SeasonFiles, library: Library) -> None:
        tables = _Tables(files, library)
        if variant.patch is not None:
            _lay_over(tables, read_toml(variant.patch, variant.patch.name))
        for edit in variant.edits:
            try:
                _apply(tables, edit)
            except UnclearError as error:
                files.flaws.append(edit.flaw(error.message, error.hint))

    return change


class _Tables:
    """A season's tables, found by the names of their things."""

    def __init__(self, files: SeasonFiles, library: Library) -> None:
        self.files, self.library = files, library
        self.measures = files.measures

    def numbers(self, table: str) -> list[int]:
        return [n for n, (name, _) in enumerate(self.files.tables) if name == table]

    def content(self, number: int) -> dict[str, Any]:
        return self.files.tables[number][1]

    def put(self, number: int, content: dict[str, Any], home: tuple[TomlFile, Place]) -> None:
        self.files.tables[number] = (self.files.tables[number][0], content)
        self.files.homes[number] = home

    def add(self, table: str, content: dict[str, Any], home: tuple[TomlFile, Place]) -> None:
        self.files.tables.append((table, content))
        self.files.homes.append(home)

    def remove(self, numbers: list[int]) -> None:
        for number in sorted(numbers, reverse=True):
            del self.files.tables[number], self.files.homes[number]

    def names(self, table: str) -> dict[int, tuple[str, ...]]:
        """By table number what the thing goes by; its chief name first."""
        numbers = self.numbers(table)
        key = naming_key(table)
        known = [str(self.content(n).get(key, "")) for n in numbers]
        if table != "planting":
            return {n: (name, self._full(name)) for n, name in zip(numbers, known, strict=True)}
        crops = [self._full(str(self.content(n).get("crop", ""))) for n in numbers]
        ids = planting_ids([(c, i or None) for c, i in zip(crops, known, strict=True)])
        return {n: (i, c) for n, i, c in zip(numbers, ids, crops, strict=True)}

    def _full(self, name: str) -> str:
        """A product or crop under the library's own name, other names as they are."""
        if "," in name:
            return self.library.full_name(name)
        crop = self.library.find_crop(name)
        return crop.name if crop else name

    def find(self, table: str, thing: str) -> int | None:
        """The number of the thing, or None; raises UnclearError where several go by that name."""
        wanted = {thing.lower(), self._full(thing).lower()}
        names = self.names(table)
        exact = [n for n, ways in names.items() if ways[0].lower() == thing.lower()]
        found = exact or [n for n, ways in names.items() if wanted & {w.lower() for w in ways}]
        if len(found) > 1:
            ways = dict.fromkeys(f'"{names[n][0]}"' for n in found)
            hint = f"Name one of them: {', '.join(ways)}." if len(ways) > 1 else NAMELESS
            raise UnclearError(f'Several go by "{thing}".', hint)
        return found[0] if found else None

    def unknown(self, table: str, thing: str) -> UnclearError:
        names = [ways[0] for ways in self.names(table).values()]
        if table == "want" and (answer := safety_answer(thing)) is not None:
            return UnclearError(answer.reason(thing), answer.advice)
        near = nearest(thing, names)
        hint = f'Did you mean "{near}"?' if near else f"There are: {', '.join(names) or 'none'}."
        return UnclearError(f'I know no {table} "{thing}" here.', hint)


def naming_key(table: str) -> str:
    """The key that tells the things of a table apart."""
    keys = keys_of(MODELS[table])
    return next((key for key in NAMING if key in keys), keys[0])


def _home(edit: Edit) -> tuple[TomlFile, Place]:
    return TomlFile(f'change "{edit.text}"', {}, LineIndex((), {})), ()


def _apply(tables: _Tables, edit: Edit) -> None:
    if edit.table == "window" and edit.place:
        _change_window(tables, edit)
    elif edit.table not in LISTS:
        _change_table(tables, edit)
    elif not edit.place:
        _leave_out(tables, edit.table)
    else:
        _change_thing(tables, edit)


def _leave_out(tables: _Tables, table: str) -> None:
    numbers = tables.numbers(table)
    if not numbers:
        raise UnclearError(f"There is no {table} to leave out.")
    tables.remove(numbers)


def _change_table(tables: _Tables, edit: Edit) -> None:
    """A table that stands once: its keys, or all of it."""
    numbers = tables.numbers(edit.table)
    if not edit.place and edit.value.lower() == NOTHING:
        _leave_out(tables, edit.table)
        return
    model = MODELS[edit.table]
    pairs = {edit.place: edit.value} if edit.place else read_pairs(model, edit.value)
    old = tables.content(numbers[0]) if numbers else {}
    changed = with_pairs(model, old, pairs, measures=tables.measures)
    if numbers:
        tables.put(numbers[0], changed, _home(edit))
    else:
        tables.add(edit.table, changed, _home(edit))


def _change_thing(tables: _Tables, edit: Edit) -> None:
    """One of several things: a key of it, all of it, a copy, or a new one."""
    model, table = MODELS[edit.table], edit.table
    number = tables.find(table, edit.place)
    if number is not None:
        _change_whole(tables, edit, number)
        return
    thing, _, key = edit.place.rpartition(".")
    if not thing and key in keys_of(model):
        number = _only(tables, table)
    elif thing:
        number = tables.find(table, thing)
    if number is not None:
        changed = with_pairs(
            model, tables.content(number), {key: edit.value}, measures=tables.measures
        )
        tables.put(number, changed, _home(edit))
    elif thing and key in keys_of(model):
        raise tables.unknown(table, thing)
    else:
        _add_thing(tables, edit)


def _only(tables: _Tables, table: str) -> int:
    numbers = tables.numbers(table)
    if len(numbers) == 1:
        return numbers[0]
    names = ", ".join(f'"{ways[0]}"' for ways in tables.names(table).values())
    raise UnclearError(f"There are {len(numbers)} {table} tables.", f"Say which: {names}.")


def _change_whole(tables: _Tables, edit: Edit, number: int) -> None:
    old = tables.content(number)
    if edit.value.lower() == NOTHING:
        tables.remove([number])
    elif edit.value[0] == "+" and edit.value[1:].strip().isdecimal():
        count = int(edit.value[1:])
        if not 1 <= count <= MOST_COPIES:
            raise UnclearError(f"{count} more are out of range.", f"At most {MOST_COPIES} more.")
        taken = {ways[0].lower() for ways in tables.names(edit.table).values()}
        for name in _fresh_names(tables.names(edit.table)[number][0], taken, count):
            tables.add(edit.table, {**old, naming_key(edit.table): name}, _home(edit))
    else:
        tables.put(number, _whole(tables, edit, old), _home(edit))


def _whole(tables: _Tables, edit: Edit, old: dict[str, Any]) -> dict[str, Any]:
    span = read_span(edit.value) if edit.table == "extra_window" else None
    if span is not None:
        return {**old, **span}
    model = MODELS[edit.table]
    return with_pairs(model, old, read_pairs(model, edit.value), measures=tables.measures)


def _fresh_names(name: str, taken: set[str], count: int) -> list[str]:
    numbered = (f"{name} {n}" for n in range(2, len(taken) + count + 2))
    return [each for each in numbered if each.lower() not in taken][:count]


def _add_thing(tables: _Tables, edit: Edit) -> None:
    if edit.value.lower() == NOTHING or edit.value[0] in "+-":
        raise tables.unknown(edit.table, edit.place)
    key, model = naming_key(edit.table), MODELS[edit.table]
    try:
        changed = _whole(tables, edit, {})
    except UnclearError as error:
        unknown = tables.unknown(edit.table, edit.place)
        raise UnclearError(f"{unknown.message} {error.message}", error.hint) from None
    named = with_pairs(model, {}, {key: edit.place}, measures=tables.measures)
    tables.add(edit.table, {**named, **changed}, _home(edit))


def _change_window(tables: _Tables, edit: Edit) -> None:
    """Windows go by a day of the week; what changes one day leaves the others as they are."""
    thing, _, key = edit.place.partition(".")
    days = _days(thing)
    if key:
        _change_days(tables, edit, days, key=key)
        return
    span = None if edit.value.lower() == NOTHING else read_span(edit.value)
    if span is None and edit.value.lower() != NOTHING:
        hint = 'Write "window.wed=18:00-21:00", "window.wed=18:00-21:00, 2 hands" or "…=none".'
        raise UnclearError(f'I cannot read "{edit.value}" as a window.', hint)
    if not _take_out(tables, days) and span is None:
        raise UnclearError(f"There is no window on {' and '.join(days)} to leave out.")
    if span is not None:
        tables.add("window", {"days": list(days), **span}, _home(edit))


def _days(text: str) -> tuple[str, ...]:
    found = tuple(part.strip().lower()[:3] for part in text.split(","))
    if unknown := [day for day in found if day not in WEEKDAYS]:
        message = f'"{unknown[0]}" is no day of the week.'
        raise UnclearError(message, f"The days are: {', '.join(WEEKDAYS)}.")
    return found


def _change_days(tables: _Tables, edit: Edit, days: tuple[str, ...], *, key: str) -> None:
    hit = [
        (n, sorted(set(_written_days(tables.content(n))) & set(days), key=WEEKDAYS.index))
        for n in tables.numbers("window")
    ]
    hit = [(n, of_days) for n, of_days in hit if of_days]
    if not hit:
        message = f"There is no window on {' and '.join(days)}."
        raise UnclearError(message, f"Write the hours: window.{days[0]}=18:00-21:00")
    for number, of_days in hit:
        old = tables.content(number)
        pairs = {key: edit.value}
        changed = with_pairs(MODELS["window"], old, pairs, measures=tables.measures)
        rest = [day for day in _written_days(old) if day not in of_days]
        if not rest:
            tables.put(number, changed, _home(edit))
            continue
        tables.put(number, {**old, "days": rest}, tables.files.homes[number])
        tables.add("window", {**changed, "days": of_days}, _home(edit))


def _written_days(window: dict[str, Any]) -> list[str]:
    days = window.get("days")
    return [str(day) for day in days] if isinstance(days, list) else []


def _take_out(tables: _Tables, days: tuple[str, ...]) -> bool:
    """Leaves the days out of every window; whether there was anything to leave out."""
    empty, found = [], False
    for number in tables.numbers("window"):
        old = tables.content(number)
        rest = [day for day in _written_days(old) if day not in days]
        found |= rest != _written_days(old)
        if not rest:
            empty.append(number)
        elif rest != _written_days(old):
            tables.put(number, {**old, "days": rest}, tables.files.homes[number])
    tables.remove(empty)
    return found


def _lay_over(tables: _Tables, file: TomlFile) -> None:
    """The tables of a patch file over the season's; a window takes the place of its days'."""
    patch = SeasonFiles(tables.files.folder, flaws=list(file.flaws))
    add_file(patch, file)
    tables.files.flaws += patch.flaws
    for (name, content), home in zip(patch.tables, patch.homes, strict=True):
        if name == "window":
            _take_out(tables, tuple(_written_days(content)))
            tables.add(name, content, home)
            continue
        try:
            number = _counterpart(tables, name, content)
        except UnclearError as error:
            tables.files.flaws.append(home[0].flaw(home[1], error.message, error.hint))
            continue
        if number is None:
            tables.add(name, content, home)
        else:
            tables.put(number, {**tables.content(number), **content}, home)


def _counterpart(tables: _Tables, name: str, content: dict[str, Any]) -> int | None:
    if name not in LISTS:
        return next(iter(tables.numbers(name)), None)
    key = naming_key(name)
    thing = content.get(key, content.get("crop"))
    if not isinstance(thing, str | dt.date):
        return None
    return tables.find(name, str(thing)) if name != "planting" or "id" in content else None
