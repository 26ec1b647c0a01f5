"""Of which days the labels are printed: only the household knows; printing leaves no trace."""

from __future__ import annotations

import datetime as dt

from harvestplan.plan.models import PrintedLabels
from harvestplan.records.diary import Diary
from harvestplan.records.events import LabelsPrinted


def printed_labels(diary: Diary) -> tuple[PrintedLabels, ...]:
    """The days whose labels are printed, as the diary tells, by day."""
    told: dict[dt.date, dt.date] = {}
    for event in diary.events:
        if isinstance(event, LabelsPrinted):
            told[event.day] = min(event.date, told.get(event.day, event.date))
    return tuple(PrintedLabels(day=day, told_on=since) for day, since in sorted(told.items()))
