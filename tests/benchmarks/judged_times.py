"""An independent judge of a session's times: it reads the task's statement and nothing else."""

from __future__ import annotations

from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


def faults(asked: SessionTasks, times: dict[str, TaskTime]) -> list[str]:
    """Every rule the times break, judged from the task's statement alone."""
    found = []
    spans = {t.key: (times[t.key].start, times[t.key].start + t.seconds) for t in asked.tasks}
    for one in asked.tasks:
        start, end = spans[one.key]
        if start < 0 or end > asked.length:
            found.append(f"{one.key} lies outside the session")
        held = times[one.key].unit
        if (held is None) != (not one.units) or (held and held not in one.units):
            found.append(f"{one.key} holds {held}")
        if one.seconds:
            now = [t for t in asked.tasks if spans[t.key][0] <= start < spans[t.key][1]]
            if asked.hands is not None and sum(t.hands for t in now) > asked.hands:
                found.append(f"too few hands when {one.key} starts")
            for pool in asked.pools:
                if sum(pool.uses.get(t.key, 0) for t in now) > pool.capacity:
                    found.append(f"a pool is empty when {one.key} starts")
        for other in asked.tasks:
            if held and other.key < one.key and times[other.key].unit == held:
                theirs = spans[other.key]
                if start < theirs[1] and theirs[0] < end:
                    found.append(f"{one.key} and {other.key} both hold {held}")
    for link in asked.links:
        gap = spans[link.after][0] - spans[link.before][1]
        if gap < 0 or (link.no_wait and gap):
            found.append(f"{link} has a gap of {gap}")
    for limit in asked.limits:
        waited = sum(spans[after][0] - spans[before][1] for before, after in limit.waits)
        if waited > limit.seconds:
            found.append(f"food waits {waited} of {limit.seconds}")
    return found
