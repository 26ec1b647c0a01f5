"""Which events of a diary stand, and which were taken back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from harvestplan.records.events import Event, Undo


def live_events(events: Iterable[Event]) -> list[Event]:
    """The events that stand, without the undo lines; an undo can itself be undone."""
    events = list(events)
    taken_back: set[str] = set()
    # An undo is taken back by one further down alone, so that the last one surely counts.
    for event in reversed(events):
        if isinstance(event, Undo) and (not event.code or event.code not in taken_back):
            taken_back.add(event.target)
    return [
        event
        for event in events
        if not isinstance(event, Undo) and (not event.code or event.code not in taken_back)
    ]


def aimless(events: Iterable[Event]) -> Iterator[Undo]:
    """Undo lines that name no line."""
    events = list(events)
    codes = {event.code for event in events}
    return (e for e in events if isinstance(e, Undo) and e.target not in codes)
