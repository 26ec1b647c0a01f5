"""What is counted by the piece: "a dozen ears", "2 courgettes"."""

from __future__ import annotations

import pytest

from harvestplan.inputs.spoken.said_numbers import figures
from harvestplan.words.pieces import BY_DOZEN, PIECES, TOLD, counted, pieces

BUSHEL = 35 * 453.59237
"""g of sweet corn in husk to the bushel, about five dozen ears (usu-corn of the crop files)."""


def test_five_dozen_ears_are_about_a_bushel() -> None:
    assert PIECES["sweet corn"].grams * 60 == pytest.approx(BUSHEL, rel=0.02)


@pytest.mark.parametrize(
    ("grams", "crop", "measures", "words"),
    [
        (100, "sweet corn", "US", ""),  # less than half an ear is not told
        (200, "sweet corn", "US", "1 ear"),
        (1590, "sweet corn", "US", "6 ears"),
        (2915, "sweet corn", "US", "11 ears"),
        (3180, "sweet corn", "US", "a dozen ears"),
        (4770, "sweet corn", "metric", "1 1/2 dozen ears"),
        (6360, "sweet corn", "UK", "2 dozen ears"),
        (20_000, "sweet corn", "US", ""),  # a cartload is weighed
        (392, "summer squash", "UK", "2 courgettes"),
        (196, "summer squash", "metric", "1 courgette"),
        (392, "summer squash", "US", "2 zucchini"),
        (1100, "eggplant", "UK", "2 aubergines"),
        (5000, "tomato", "US", ""),  # people say pounds of tomatoes
        (500, "pea", "US", ""),
    ],
)
def test_small_amounts_are_told_by_the_piece(
    grams: float, crop: str, measures: str, words: str
) -> None:
    assert pieces(grams, crop, measures) == words  # type: ignore[arg-type]


def test_what_is_told_can_be_heard() -> None:
    """Each count comes back as the mass it stood for, to half a piece, or half a dozen."""
    for crop in TOLD:
        one = PIECES[crop].grams
        for count in range(1, 31):
            for measures in ("US", "UK", "metric"):
                told = pieces(count * one, crop, measures)  # type: ignore[arg-type]
                heard = counted(figures(told), crop)
                assert heard is not None and heard[1], told
                slack = 3 * one if crop in BY_DOZEN and count >= 12 else 0
                assert heard[0] == pytest.approx(count * one, abs=slack + 0.01), told


@pytest.mark.parametrize(
    ("said", "count"),
    [("a dozen ears", 12), ("half a dozen cobs", 6), ("1 1/2 dozen ears", 18), ("two ears", 2),
     ("6 big ears", 6), ("2 dozen", 24)],
)  # fmt: skip
def test_ears_as_people_say_them(said: str, count: int) -> None:
    heard = counted(figures(said), "sweet corn")
    assert heard is not None and heard[0] == pytest.approx(count * 265)


@pytest.mark.parametrize("said", ["12 lb", "3 tomatoes", "0 ears", "ears", "a few ears"])
def test_what_is_no_count_of_ears(said: str) -> None:
    assert counted(figures(said), "sweet corn") is None
