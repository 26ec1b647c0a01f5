"""Which calendars of a server a publishing goes to, and what each of them holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.errors import HarvestPlanError, printable
from harvestplan.outputs.calendar.caldav import Part
from harvestplan.outputs.calendar.discovery import Account, Calendar, Place
from harvestplan.outputs.calendar.kinds import (
    FORMER_TITLE,
    KINDS,
    SESSIONS_KIND,
    SHOPPING_KIND,
    USUAL_KINDS,
    Kind,
)
from harvestplan.outputs.calendar.record import Published


class NoCalendarChosen(HarvestPlanError):
    """The address leads to several calendars, or to one that will not do."""


@dataclass(frozen=True)
class Target:
    """A calendar's address, the kinds it is to hold (none: as before), and where its shopping list
    goes as to-dos ("" for nowhere)."""

    url: str
    holds: tuple[str, ...]
    todos: str


def choose(
    place: Place, record: Published, *, holds: Sequence[str], todos: str = ""
) -> list[Target]:
    """Where to publish, of what stands at the address and what was published before.

    Raises NoCalendarChosen with a list to choose from where nobody said which.
    """
    if place.calendar is not None:
        return [_this_one(place.calendar, place, record, holds=holds, todos=todos)]
    known = [each for each in place.calendars if record.at(each.url).sent]
    if not known:
        raise NoCalendarChosen(_list(place))
    found = []
    for each in known:
        kept = tuple(name for name in record.at(each.url).holds if not holds or name in holds)
        if kept:
            found.append(_this_one(each, place, record, holds=kept, todos=todos))
    if not found:
        raise NoCalendarChosen(
            f"None of the calendars that were published to holds {', '.join(holds)}. {_list(place)}"
        )
    return sorted(found, key=lambda target: [list(KINDS).index(name) for name in target.holds])


def made(account: Account, place: Place, name: str, holds: Sequence[str]) -> list[Target]:
    """A new calendar of this name for sessions, and one beside it for each other kind."""
    if place.calendar is not None or not place.home:
        raise NoCalendarChosen(
            "--make goes with the address of a server or an account; what you named is a calendar "
            "already. Publish to it without --make."
        )
    found = []
    for kind in (KINDS[each] for each in holds or USUAL_KINDS):
        parts: frozenset[Part] = frozenset(_parts(kind))
        title = made_name(name, kind)
        new = account.make(place.home, title, color=kind.paint, parts=parts)
        found.append(Target(new.url, (kind.name,), new.url if "VTODO" in parts else ""))
    return found


def made_name(name: str, kind: Kind) -> str:
    """What the new calendar of a kind is called."""
    return name if kind is SESSIONS_KIND else f"{name}: {kind.title.lower()}"


def bring_names_up_to_date(account: Account, place: Place, record: Published) -> list[str]:
    """Calendars that we made under the former title get the present one; what to say of each. A
    name that a household chose stays, and so does one that the server will not change."""
    names = {made_name(FORMER_TITLE, each): made_name(SESSIONS_KIND.title, each) for each in
             KINDS.values()}  # fmt: skip
    known = [place.calendar, *place.calendars] if place.calendar else list(place.calendars)
    said = []
    for each in known:
        new = names.get(each.name)
        if new and each.writable and record.at(each.url).sent and account.rename(each, new):
            said.append(f'The calendar "{each.name}" is called "{new}" from now on.')
    return said


def _parts(kind: Kind) -> tuple[Part, ...]:
    return ("VEVENT", "VTODO") if kind is SHOPPING_KIND else ("VEVENT",)


def _this_one(
    calendar: Calendar, place: Place, record: Published, *, holds: Sequence[str], todos: str
) -> Target:
    if "VEVENT" not in calendar.takes:
        raise NoCalendarChosen(
            f"{calendar}: events cannot be put there. {_list(place)}\nA list of to-dos alone is "
            "named with --todos, beside the address of a calendar."
        )
    if not calendar.writable:
        raise NoCalendarChosen(f"{calendar}: this user may only read it. {_list(place)}")
    before = record.at(calendar.url)
    own = calendar.url if "VTODO" in calendar.takes else ""
    return Target(calendar.url, tuple(holds), todos or before.todos or own)


def _list(place: Place) -> str:
    """What there is to choose from."""
    fit = place.taking("VEVENT")
    make = f'To have one made for it: --make "{SESSIONS_KIND.title}".'
    if not fit:
        return f"There is no calendar of this account that takes events yet. {make}"
    lines = "\n".join(f"  {each}" for each in fit)
    return (
        f"Name the calendar that the sessions are to stand in, best one of their own:\n{lines}\n"
        f"{make}"
    )


def task_lists(place: Place) -> str:
    """What to say where a calendar takes no to-dos."""
    fit = place.taking("VTODO")
    told = "The shopping list was not put there as to-dos: this calendar takes events alone."
    if not fit:
        return told
    named = "\n".join(f"  {printable(each.url)} ({each.name})" for each in fit[:10])
    return f"{told} These lists take to-dos; name one with --todos:\n{named}"
