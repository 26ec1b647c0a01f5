"""What the benchmark of growing kitchens says is what it measured."""

from __future__ import annotations

from pathlib import Path

import pytest
from benchmarks.growth import Grown, draw, exponent, measure


def test_a_season_is_solved_until_it_is_within_the_gap() -> None:
    loose, tight = measure(1, 1, 0.5), measure(1, 1, 0.0)
    for found, gap in ((loose, 0.5), (tight, 0.0)):
        assert found.within
        assert found.bound <= found.short
        assert found.short - found.bound <= gap * found.short
        assert 0 < found.first <= found.seconds
    assert tight.short <= loose.short
    assert tight.memory > 10


@pytest.mark.parametrize("power", [0.5, 1.0, 1.3])
def test_the_power_is_found_again(power: float, tmp_path: Path) -> None:
    """Seconds that grow by it exactly, two seeds on either side of the median among them."""
    rows = [
        Grown(
            n,
            seed,
            40 * n,
            first=0.1,
            seconds=spread * 2 * n**power,
            short=10,
            bound=10,
            within=seed != 3,
            memory=100,
        )
        for n in (1, 2, 5, 10)
        for seed, spread in ((1, 0.8), (2, 1.0), (3, 9.0))
    ]
    assert exponent(rows) == pytest.approx(power)
    draw(rows, 0.03, tmp_path / "growth.png")
    assert (tmp_path / "growth.png").stat().st_size > 1000
