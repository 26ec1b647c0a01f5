"""V9: lots are used while they are good, and picked while they stand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding
from harvestplan.plan.models import Pick

DAY = 86400


def check_freshness(facts: Facts) -> Iterator[Finding]:
    """V9."""
    for message in (*_used_fresh(facts), *_picked_ripe(facts)):
        yield Finding("V9", message)


def _used_fresh(facts: Facts) -> Iterator[str]:
    for session in facts.sessions:
        day = facts.day(session.start)
        for run in session.runs:
            for share in run.lots:
                lot = facts.lots.get(share.lot)
                if lot is not None and not lot.ready <= day <= lot.keep_until:
                    yield (
                        f"{facts.clock(session.start)}, {run.product}: the lot {lot.id} is good "
                        f"from {lot.ready} to {lot.keep_until}."
                    )


def _picked_ripe(facts: Facts) -> Iterator[str]:
    days = {session.uid: facts.day(session.start) for session in facts.sessions}
    for pick in facts.plan.picks:
        if not any(
            lot.planting == pick.planting
            and lot.crop == pick.crop
            and lot.ready <= pick.date <= lot.ready + _stands(facts, pick)
            for lot in facts.plan.lots
        ):
            yield f"{pick.planting} is picked on {pick.date}, when no lot of it is ripe."
        if pick.session is None:
            continue
        if pick.session not in days:
            yield f"{pick.planting}, picked on {pick.date}: there is no session {pick.session}."
        elif pick.date > days[pick.session]:
            yield (
                f"{pick.planting} is picked on {pick.date} for a session on {days[pick.session]}."
            )


def _stands(facts: Facts, pick: Pick) -> dt.timedelta:
    crop = facts.library.find_crop(pick.crop)
    stands = crop.picking.stands.value if crop and crop.picking else 0.0
    return dt.timedelta(days=int(stands // DAY))
