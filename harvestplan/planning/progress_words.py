"""How far a search has come, in a line for who waits."""

from __future__ import annotations

import math

from harvestplan.schedule.search.solve_season import Solved
from harvestplan.schedule.statement.choice import windows_used
from harvestplan.schedule.statement.problem import Problem
from harvestplan.words import joined, plural, time_left


def progress_words(problem: Problem, solved: Solved) -> str:
    """The best plan so far, how far it may be from the best of all, and the time left."""
    used = windows_used(problem, solved.choice)
    visits = sum(problem.windows[w].is_visit for w in used)
    puts_by = plural(sum(solved.choice.pouches.values()), "portion")
    takes = [plural(len(used) - visits, "evening")]
    takes += [plural(visits, "visit")] if visits else []
    return f"So far {puts_by} in {joined(takes)}{_open(solved)}{_left(solved)}."


def _open(solved: Solved) -> str:
    if not math.isfinite(solved.bound):
        return ""
    if solved.proven:
        return "; no plan is worth more"
    return f"; no plan is worth over {math.ceil(1000 * solved.gap) / 10:g}% more"


def _left(solved: Solved) -> str:
    """By the clock, as the search has gone so far."""
    if solved.proven or not 0 < solved.done < 1:
        return ""
    left = time_left(solved.seconds * (1 - solved.done) / solved.done)
    return f"; {left}" if left else ""
