"""Food that is taken: of which lots, and how much of what was given away."""

from __future__ import annotations

from pathlib import Path

from schedule.kept_sessions import day, lot
from schedule.small_problems import LIBRARY

from harvestplan.records.diary import read_diary
from harvestplan.schedule.statement.lots_from_now import Taking, given_or_lost


def test_food_is_taken_of_what_is_ripe_by_then_until_its_last_day() -> None:
    """Ready on Wednesday and good until Friday; of the crop, or of its own planting."""
    beans = lot("b", 2, 2)
    for on, may in ((1, True), (4, True), (5, False)):
        assert Taking(day(on), 100, day(9), crop="snap bean").of(beans) == may
    for until, may in ((1, False), (2, True)):
        assert Taking(day(2), 100, day(until), crop="snap bean").of(beans) == may
    assert not Taking(day(2), 100, day(9), crop="kale").of(beans)
    assert Taking(day(2), 100, day(9), source="planting my snap bean").of(beans)
    assert not Taking(day(2), 100, day(9), source="planting her snap bean").of(beans)


def test_what_was_given_away_is_taken_by_its_weight_or_by_its_density(tmp_path: Path) -> None:
    """A pound is 453.6 g; a litre of beans weighs what the crop file says of a litre."""
    (tmp_path / "diary.txt").write_text(
        "2027-07-06 gave snap bean 1 lb\n2027-07-07 lost snap bean 2 L\n"
        '2027-07-08 gave "snap bean, cut" 2\n2027-07-12 gave snap bean 1 lb\n',
        encoding="utf-8",
    )
    beans = LIBRARY.find_crop("snap bean")
    assert beans is not None and beans.raw_density.value != 1
    found = list(given_or_lost(read_diary(tmp_path), LIBRARY, day(6)))
    assert [(t.day, t.until, t.crop) for t in found] == [
        (day(1), day(1), "snap bean"),
        (day(2), day(2), "snap bean"),
    ]
    assert [t.grams for t in found] == [454, round(2000 * beans.raw_density.value)]
