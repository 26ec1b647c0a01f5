"""Head space: the twelve cells of the table."""

from __future__ import annotations

import pytest

from harvestplan.kitchen.headspace import HEAD_SPACE, Mouth, Pack, Size, head_space


@pytest.mark.parametrize(
    ("pack", "mouth", "size", "inches"),
    [
        # National Center for Home Food Preservation, Headspace to allow between packed food and
        # closure (2006)
        ("liquid", "wide", "pint", 0.5),
        ("liquid", "wide", "quart", 1),
        ("liquid", "narrow", "pint", 0.75),
        ("liquid", "narrow", "quart", 1.5),
        ("dry", "wide", "pint", 0.5),
        ("dry", "wide", "quart", 0.5),
        ("dry", "narrow", "pint", 0.5),
        ("dry", "narrow", "quart", 0.5),
        ("juice", "wide", "pint", 0.5),
        ("juice", "wide", "quart", 1),
        ("juice", "narrow", "pint", 1.5),
        ("juice", "narrow", "quart", 1.5),
    ],
)
def test_head_space_is_the_table_s(pack: Pack, mouth: Mouth, size: Size, inches: float) -> None:
    assert head_space(pack, mouth, size) == pytest.approx(inches * 0.0254)


def test_there_are_twelve_cells_and_larger_or_narrower_never_asks_for_less() -> None:
    assert len(HEAD_SPACE) == 12
    for pack, mouth, size in HEAD_SPACE:
        assert head_space(pack, mouth, "quart") >= head_space(pack, mouth, "pint")
        assert head_space(pack, "narrow", size) >= head_space(pack, "wide", size)
