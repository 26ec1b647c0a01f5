"""What does not fit into an evening, as cuts."""

from __future__ import annotations

from schedule.small_problems import (
    BEANS,
    DRY,
    RAW,
    bean_lots,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice, Cut


def test_what_does_not_fit_is_told_as_few_and_as_small_as_it_is() -> None:
    """Beans and dry beans in one evening, one pair of hands: each food stands in the cut once, and
    with a pouch less of either of them there is time."""
    lots = [*bean_lots(10 * RAW), lot("dry bean", FIRST, 90, grams=10_000, bought=True)]
    both = problem(lots, [window(0, 2.5, hands=1)], (BEANS, 10), (DRY, 30))
    book = TimedSessions(both, 1)

    def cuts(snap: int, dry: int) -> list[Cut]:
        shares = {0: {0: snap * RAW}, 1: {1: dry * 340}}
        return book.cuts_for(Choice({0: snap, 1: dry}, shares))

    (cut,) = cuts(8, 20)
    (first, _, snap), (second, _, dry) = cut.runs
    assert (first, second, cut.proven) == (0, 1, True)
    assert 0 < snap <= 8 and 0 < dry <= 20
    assert cuts(snap, dry) and not cuts(snap - 1, dry) and not cuts(snap, dry - 1)
