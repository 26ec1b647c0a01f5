"""Changes to a season as a gardener writes them: "freezer.chest.volume=300 L".

A change names a table of the season file, the thing in it where there are several, and a key:

    table.key=value            household.hands=2            season.max_sessions=12
    table.thing.key=value      freezer.chest.volume=+100 L  planting.beans-2.sown=+2 weeks
    table.thing=none           pot.stock pot=none           extra_window.2027-09-06=none
    table.thing=+1             pot.big kettle=+1            (one more of the same)
    table.thing=key value, …   pot.third=volume 8 qt, power 1.8 kW
    window.day=…               window.wed=18:00-21:00, 2 hands     window.thu=none

A thing goes by its name, its id, its product or crop, or its date; a window by its day of the week.
"+" and "-" change what stands there by so much, or by so many per cent. Several changes are joined
by " and ".
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.explain import nearest
from harvestplan.inputs.merge import LISTS, MODELS

NOTHING = "none"
_JOINT = re.compile(rf"\s+and\s+(?=(?:{'|'.join(MODELS)})\s*[.=])", re.IGNORECASE)


@dataclass(frozen=True)
class Edit:
    """One change: `place` is what stands between the table and "=", `value` what stands behind."""

    text: str
    table: str
    place: str
    value: str

    def flaw(self, message: str, hint: str = "") -> Flaw:
        """A flaw of this change."""
        return Flaw(f'change "{self.text}"', None, "", message=message, hint=hint)


@dataclass(frozen=True)
class Variant:
    """The season with some edits made at once, and a patch file laid over it before them."""

    name: str
    edits: tuple[Edit, ...] = ()
    patch: Path | None = None


def read_variant(text: str) -> Variant:
    """A variant from one command-line word, "change and change ...".

    Raises FilesNeedMending, naming every change that cannot be read.
    """
    edits, flaws = [], []
    for part in _JOINT.split(text.strip()):
        found = _read_edit(part.strip())
        if isinstance(found, Flaw):
            flaws.append(found)
        else:
            edits.append(found)
    if flaws:
        raise FilesNeedMending(flaws)
    return Variant(" and ".join(edit.text for edit in edits), tuple(edits))


def _read_edit(text: str) -> Edit | Flaw:
    left, equals, value = (part.strip() for part in text.partition("="))
    table, _, place = (part.strip() for part in left.partition("."))
    edit = Edit(text, table.lower(), place, value=value)
    if not equals or not value:
        return edit.flaw(
            "This is no change.", 'Write table.key=value: "freezer.chest.volume=300 L"'
        )
    if edit.table not in MODELS:
        near = nearest(edit.table, MODELS)
        hint = f'Did you mean "{near}"?' if near else f"The tables are: {', '.join(MODELS)}."
        return edit.flaw(f'I know no table "{table}".', hint)
    if not place and edit.table in LISTS and value.lower() != NOTHING:
        which = "wed" if edit.table == "window" else "name"
        return edit.flaw(
            f"There may be several {edit.table} tables.", f"Say which: {edit.table}.{which}={value}"
        )
    return edit
