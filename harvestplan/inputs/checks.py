"""Checks of a season that reach across keys, tables and files, or need the crop library.

Each check yields (number of the table, place inside it, sentence, hint).
"""

from __future__ import annotations

import calendar
import zoneinfo
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from harvestplan.inputs.crops import Library
from harvestplan.inputs.explain import nearest
from harvestplan.inputs.ids import NO_QUOTES, QUOTES
from harvestplan.inputs.line_numbers import Path as Place
from harvestplan.inputs.merge import SeasonFiles
from harvestplan.inputs.quantities import show
from harvestplan.inputs.ranges import check_ranges
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.inputs.season import (
    Away,
    Calendars,
    ExtraWindow,
    Fresh,
    Home,
    Planting,
    Purchase,
    SeasonSpan,
    Stored,
    Want,
    Weather,
    Window,
)
from harvestplan.inputs.season_kitchen import (
    Bath,
    Dryer,
    Freezer,
    Oven,
    Pot,
    Pouch,
    Sealer,
    SeasonTable,
    Stove,
)
from harvestplan.inputs.spoken.said_foods import meant_crop, meant_product
from harvestplan.inputs.weather.daily_record import unknown_flaw
from harvestplan.unseen import HINT, unseen

Finding = tuple[int, Place, str, str]
AnyTable = TypeVar("AnyTable", bound=SeasonTable)


@dataclass
class Draft:
    """The tables that are valid in themselves, each with its number in `files.tables`."""

    files: SeasonFiles
    library: Library
    measures: str
    entries: list[tuple[int, SeasonTable]] = field(default_factory=list)

    def many(self, model: type[AnyTable]) -> list[tuple[int, AnyTable]]:
        """All tables of a model, with their numbers."""
        return [(number, entry) for number, entry in self.entries if type(entry) is model]

    def one(self, model: type[AnyTable]) -> AnyTable | None:
        """The first table of a model, if any."""
        return next((entry for _, entry in self.many(model)), None)


def check_draft(draft: Draft) -> None:
    """Add every finding to the draft's files."""
    for check in (
        _unseen,
        _zone,
        _spans,
        _within_season,
        _plantings,
        _frost_days,
        _names,
        _crops,
        _habits,
        _products,
        _wants,
        _fresh,
        _steam,
        _stoves,
        _sealing,
        _packed_in,
        _freezers,
        _linked_files,
    ):
        for finding in check(draft):
            draft.files.add_flaw(*finding)
    for number, entry in draft.entries:
        for key, message, hint in check_ranges(entry, draft.measures):
            draft.files.add_flaw(number, (key,), message, hint=hint)


def _unseen(draft: Draft) -> Iterator[Finding]:
    """In a change that was typed; files are looked at where they are read, to the same words."""
    for number, (_, content) in enumerate(draft.files.tables):
        for place, message in unseen(content):
            yield number, place, message, HINT


def _zone(draft: Draft) -> Iterator[Finding]:
    for number, household in draft.many(Home):
        try:
            if household.timezone.startswith(("posix/", "right/")):
                raise ValueError  # the same under other names, or by clocks that count leap seconds
            zoneinfo.ZoneInfo(household.timezone)
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            zones = sorted(zoneinfo.available_timezones())
            by_city = {zone.rsplit("/", 1)[-1].replace("_", " "): zone for zone in zones}
            written = household.timezone.replace("_", " ")
            near = nearest(household.timezone, zones) or by_city.get(
                nearest(written, by_city, 0.8) or ""
            )
            message = f'I know no time zone "{household.timezone}".'
            hint = f'Did you mean "{near}"?' if near else 'Write it as "America/New_York".'
            yield number, ("timezone",), message, hint


def _spans(draft: Draft) -> Iterator[Finding]:
    """Everything that has a start and an end."""
    for number, span in draft.many(SeasonSpan):
        if span.end <= span.start:
            yield number, ("end",), "The season ends before it has begun.", "Check both dates."
        elif (span.end - span.start).days > 800:
            yield number, ("end",), "The season is longer than 800 days.", "Check both dates."
    windows: list[tuple[int, Window | ExtraWindow]] = [
        *draft.many(Window),
        *draft.many(ExtraWindow),
    ]
    for number, window in windows:
        if window.end <= window.start:
            message = f"The window ends at {window.end:%H:%M}, not after its start."
            hint = "A window ends on the day it starts; write two windows to work past midnight."
            yield number, ("end",), message, hint
    for number, away in draft.many(Away):
        if away.end < away.start:
            yield number, ("end",), "You come back before you leave.", "Check both dates."
    for number, want in draft.many(Want):
        if want.from_ and want.until and want.until < want.from_:
            yield number, ("until",), '"until" lies before "from".', "Check both dates."


def _within_season(draft: Draft) -> Iterator[Finding]:
    season = draft.one(SeasonSpan)
    if season is None or season.end <= season.start:
        return
    hint = f"The season runs from {season.start} to {season.end}."
    dated = [(n, "date", extra.date) for n, extra in draft.many(ExtraWindow)]
    dated += [(n, "on", bought.on) for n, bought in draft.many(Purchase)]
    for number, key, day in dated:
        if not season.start <= day <= season.end:
            yield number, (key,), f"{day} lies outside the season.", hint
    for number, stored in draft.many(Stored):
        if stored.frozen_on > season.end:
            yield number, ("frozen_on",), "This is frozen after the season's end.", hint


def _plantings(draft: Draft) -> Iterator[Finding]:
    season = draft.one(SeasonSpan)
    for number, planting in draft.many(Planting):
        if any(quote in (planting.id or "") for quote in QUOTES):
            yield number, ("id",), f'"id": {NO_QUOTES}.', "Write single quotes, or none."
        key, day = ("sown", planting.sown) if planting.sown else ("set_out", planting.set_out)
        if day is None:
            continue
        if planting.first_pick and planting.first_pick < day:
            yield number, ("first_pick",), "It is picked before it is planted.", "Check both dates."
        if season is None:
            continue
        years_back = 3 if key == "sown" else 80
        if day > season.end:
            message = f"This is planted after the season's end on {season.end}."
            yield number, (key,), message, "Check the year."
        elif day.year < season.start.year - years_back:
            yield number, (key,), f"{day} is too long ago.", "Check the year."
        if planting.first_pick and planting.first_pick > season.end:
            message = f"This lies after the season's end on {season.end}."
            yield number, ("first_pick",), message, "Check the year."


def _frost_days(draft: Draft) -> Iterator[Finding]:
    for number, weather in draft.many(Weather):
        for key in ("last_frost", "first_frost"):
            written = getattr(weather, key)
            if written is None:
                continue
            month, day = (int(part) for part in written.split("-"))
            if not (1 <= month <= 12 and 1 <= day <= calendar.monthrange(2028, month)[1]):
                message = f'"{key}": the calendar has no "{written}".'
                yield number, (key,), message, 'Write month-day: "05-12" is 12 May.'


def _names(draft: Draft) -> Iterator[Finding]:
    """Names of things people use side by side, and of plantings, must differ."""
    groups: tuple[tuple[str, tuple[type[SeasonTable], ...]], ...] = (
        ("name", (Pot, Bath, Oven, Dryer, Sealer, Freezer)),
        ("name", (Pouch,)),
        ("name", (Stove,)),
        ("id", (Planting,)),
    )
    for key, models in groups:
        seen: dict[str, int] = {}
        for number, entry in draft.entries:
            if not isinstance(entry, models) or (name := getattr(entry, key)) is None:
                continue
            for each in entry.units if isinstance(entry, Sealer) else (name,):
                if (first := seen.setdefault(" ".join(each.lower().split()), number)) != number:
                    file, place = draft.files.homes[first]
                    where = f"{file.name}, line {file.index.find((*place, key))}"
                    message = f'The {key} "{each}" is already used in {where}.'
                    yield number, (key,), message, "Give each its own."


def _written(draft: Draft, keys: dict[str, str]) -> Iterator[tuple[int, str, str]]:
    """What stands under the key of each table in `keys`, even where the table has other flaws."""
    for number, (table, content) in enumerate(draft.files.tables):
        key = keys.get(table)
        if key and isinstance(content.get(key), str):
            yield number, key, content[key]


def _crops(draft: Draft) -> Iterator[Finding]:
    keys = {"planting": "crop", "bought": "item", "fresh": "crop", "ripened": "crop"}
    for number, key, name in _written(draft, keys):
        crop = draft.library.find_crop(name)
        if crop is None and (answer := safety_answer(name)) is not None:
            yield number, (key,), answer.reason(name), answer.advice
        elif crop is None:
            known = draft.library.crops.values()
            names = [n for c in known for n in (c.name, *c.also)]
            near = meant_crop(name, draft.library) or nearest(name, names)
            hint = f'Did you mean "{near}"?' if near else "See the list: harvestplan crops"
            yield number, (key,), f'I have no figures for the {key} "{name}".', hint
        elif draft.files.tables[number][0] == "planting" and crop.kind == "bought":
            message = f'"{name}" is bought, not grown.'
            yield number, (key,), message, "Write it as [[bought]] with item, amount and on."


def _habits(draft: Draft) -> Iterator[Finding]:
    for number, planting in draft.many(Planting):
        crop = draft.library.find_crop(planting.crop)
        if crop and planting.habit and crop.grown_as(planting.habit) is crop:
            known = "; ".join(f'"{each.name}"' for each in crop.habits) or "none: leave it out"
            message = f'I know no habit "{planting.habit}" of {crop.name}.'
            yield number, ("habit",), message, f"Possible: {known}."


def _products(draft: Draft) -> Iterator[Finding]:
    library = draft.library
    keys = dict.fromkeys(("want", "stored", "learned"), "product")
    for number, _, name in _written(draft, keys):
        if library.find_product(name) is not None:
            continue
        crop = library.find_crop(name.partition(",")[0])
        form = name.partition(",")[2].strip().lower()
        if crop is None:
            names = [*library.product_names(), *library.crops]
        else:
            names = [f"{crop.name}, {product.form}" for product in crop.products]
            refused = next((r for r in crop.refused if r.form == form), None)
            if refused is not None:
                message = f'"{name}" is not put by here: {refused.why}'
                yield number, ("product",), message, f"Possible: {'; '.join(names)}."
                continue
        if (answer := safety_answer(name)) is not None:
            yield number, ("product",), answer.reason(name), answer.advice
            continue
        near = meant_product(name, library) or nearest(name, names)
        many = f"Possible: {'; '.join(names)}." if crop else "See the list: harvestplan crops"
        hint = f'Did you mean "{near}"?' if near else many
        yield number, ("product",), f'I know no product "{name}".', hint


def _wants(draft: Draft) -> Iterator[Finding]:
    seen: set[tuple[str, str]] = set()
    for number, want in draft.many(Want):
        pair = draft.library.find_product(want.product)
        key = (pair[0].name, pair[1].form) if pair else (want.product.lower(), "")
        if key in seen:
            message = f'"{want.product}" is wanted twice.'
            yield number, ("product",), message, "Join the two wants: add up their portions."
        seen.add(key)


def _fresh(draft: Draft) -> Iterator[Finding]:
    seen: set[str] = set()
    for number, fresh in draft.many(Fresh):
        crop = draft.library.find_crop(fresh.crop)
        name = crop.name if crop else fresh.crop.lower()
        if name in seen:
            message = f'"{fresh.crop}" is eaten fresh twice.'
            yield number, ("crop",), message, "Join the two: add up what is eaten each week."
        seen.add(name)


def _steam(draft: Draft) -> Iterator[Finding]:
    """What is to be steamed has a time for it, and a pot with a basket."""
    basket = any(pot.basket is not None for _, pot in draft.many(Pot))
    for number, want in draft.many(Want):
        pair = draft.library.find_product(want.product)
        if not want.steam or pair is None:
            continue
        if not any(step.steam for step in pair[1].steps):
            message = f'"{want.product}": no time for blanching it over steam is known.'
            yield number, ("steam",), message, "Leave steam out: it is blanched in water."
        elif not basket:
            message = "No pot has a basket to steam in."
            yield number, ("steam",), message, 'Give a [[pot]] its basket = "80 sq in".'


def _stoves(draft: Draft) -> Iterator[Finding]:
    stoves = [stove.name for _, stove in draft.many(Stove)]
    for number, pot in draft.many(Pot):
        if pot.stove is not None and pot.stove not in stoves:
            near = nearest(pot.stove, stoves)
            write = f'Write [[stove]] with name = "{pot.stove}" and power = "3.6 kW".'
            hint = f'Did you mean "{near}"?' if near else write
            yield number, ("stove",), f'There is no [[stove]] called "{pot.stove}".', hint


def _sealing(draft: Draft) -> Iterator[Finding]:
    """A pouch's mouth is its width: it must fit on the bar, and the pouch into the chamber."""
    sealer = draft.one(Sealer)
    if sealer is None or sealer.kind == "none":
        return
    for number, entry in draft.many(Sealer):
        if entry.chamber is not None and len(entry.chamber) != 3:
            message = '"chamber": length, width and height are wanted.'
            yield number, ("chamber",), message, 'Write for example "14x12x4 in".'
    for number, pouch in draft.many(Pouch):
        if pouch.width is None or pouch.length is None or pouch.by_hand:
            continue
        if pouch.width > sealer.bar + 1e-9:
            wide, bar = (show(x, "length", draft.measures) for x in (pouch.width, sealer.bar))
            message = f"This bag is too wide for the bar: {wide} against {bar}."
            hint = "The width is the bag's open mouth; choose a narrower bag."
            yield number, ("width",), message, hint
        if sealer.chamber and pouch.length > sealer.chamber[0] + 1e-9:
            long, room = (
                show(x, "length", draft.measures) for x in (pouch.length, sealer.chamber[0])
            )
            message = f"This bag is too long for the chamber: {long} against {room}."
            yield number, ("length",), message, "Choose a shorter bag."


def _packed_in(draft: Draft) -> Iterator[Finding]:
    """The container that a want names is among those listed."""
    names = [pouch.name for _, pouch in draft.many(Pouch)]
    for number, want in draft.many(Want):
        if want.pouch is not None and want.pouch not in names:
            near = nearest(want.pouch, names)
            hint = f'Did you mean "{near}"?' if near else "Name one of your [[pouch]] tables."
            yield number, ("pouch",), f'There is no [[pouch]] called "{want.pouch}".', hint


def _freezers(draft: Draft) -> Iterator[Finding]:
    for number, freezer in draft.many(Freezer):
        if freezer.used > freezer.volume:
            message = "More is used than the freezer holds."
            yield number, ("used",), message, '"used" is what lies in it already.'


def _linked_files(draft: Draft) -> Iterator[Finding]:
    folder = draft.files.folder
    for number, calendars in draft.many(Calendars):
        for position, name in enumerate(calendars.busy):
            for message, hint in _refuse_link(folder, name):
                yield number, ("busy", position), message, hint
    for number, weather in draft.many(Weather):
        for position, name in enumerate(weather.daily):
            links = list(_refuse_link(folder, name, folders=True))
            for message, hint in links:
                yield number, ("daily", position), message, hint
            path = folder / name
            if not links and path.is_file() and (flaw := unknown_flaw(path)) is not None:
                draft.files.flaws.append(flaw)


def _refuse_link(folder: Path, name: str, *, folders: bool = False) -> Iterator[tuple[str, str]]:
    """Why the file `name` (or, where `folders` may be named, the folder) cannot be read from the
    season folder."""
    try:
        path = (folder / name).resolve()
        inside = path.is_relative_to(folder.resolve())
        there = path.is_file() or (folders and path.is_dir() and path != folder.resolve())
    except (OSError, ValueError, RuntimeError):
        yield f'"{name}" is no name of a file.', ""
        return
    if not inside:
        yield f'"{name}" lies outside the season folder.', "Copy the file into the season folder."
    elif not there:
        near = nearest(name, [p.name for p in folder.iterdir() if p.suffix != ".toml"])
        hint = f'Did you mean "{near}"?' if near else "Copy the file there or delete its name here."
        yield f'There is no file "{name}" in the season folder.', hint
