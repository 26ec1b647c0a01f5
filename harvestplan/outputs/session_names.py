"""What sessions are called: by their foods, and by their sheets."""

from __future__ import annotations

from collections.abc import Iterable

from harvestplan.plan.models import Plan, Session
from harvestplan.words import food_name, plural


def food_names(session: Session) -> list[str]:
    """The session's products as people name them, each once, in order of its runs."""
    return list(dict.fromkeys(food_name(run.product) for run in session.runs))


def counted(sessions: Iterable[Session]) -> str:
    """Like "15 sessions and 4 visits"."""
    every = list(sessions)
    visits = sum(session.is_visit for session in every)
    words = plural(len(every) - visits, "session")
    return f"{words} and {plural(visits, 'visit')}" if visits else words


def sheet_names(plan: Plan) -> dict[str, Session]:
    """File name of each sheet to be written, by date; a second session on a day gets "-2"."""
    names: dict[str, Session] = {}
    for session in sorted(plan.sessions, key=lambda each: (each.start, each.uid)):
        if not session.live:
            continue
        date = session.start.date().isoformat()
        number = sum(name.startswith(date) for name in names) + 1
        names[f"{date}.txt" if number == 1 else f"{date}-{number}.txt"] = session
    return names


def label_pages(plan: Plan) -> dict[str, Session]:
    """The sessions that pack something, by the name of their labels' page without its ending: that
    of their sheet."""
    return {
        name.removesuffix(".txt"): session
        for name, session in sheet_names(plan).items()
        if any(run.pouches for run in session.runs)
    }
