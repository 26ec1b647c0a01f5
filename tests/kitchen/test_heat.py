"""Heat in and out of pieces, and the cooling of purée."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harvestplan.kitchen import heat

SHAPES = st.sampled_from(["slab", "cylinder", "sphere"])


@given(SHAPES, st.floats(0.001, 0.06), st.floats(0.1, 3000), st.floats(0.1, 600))
def test_heat_taken_up_only_grows(
    shape: heat.Shape, size: float, seconds: float, more: float
) -> None:
    early = heat.heat_taken_up(shape, size, seconds)
    late = heat.heat_taken_up(shape, size, seconds + more)
    assert 0 <= early <= late + 1e-9 <= 1 + 1e-9


@given(SHAPES, st.floats(0.002, 0.03), st.floats(1, 600))
def test_thicker_pieces_take_up_less(shape: heat.Shape, size: float, seconds: float) -> None:
    thin = heat.heat_taken_up(shape, size, seconds)
    assert heat.heat_taken_up(shape, 2 * size, seconds) <= thin + 1e-9


def test_pieces_start_cold_and_end_hot() -> None:
    for shape in ("slab", "cylinder", "sphere"):
        assert heat.heat_taken_up(shape, 0.01, 0) == 0
        assert heat.heat_taken_up(shape, 0.01, 1e-4) == pytest.approx(0, abs=0.02)
        assert heat.heat_taken_up(shape, 0.01, 3600) == pytest.approx(1)


@pytest.mark.parametrize("factor, shape", [(2, "slab"), (4, "cylinder"), (6, "sphere")])
def test_early_uptake_follows_the_square_root_of_time(factor: float, shape: heat.Shape) -> None:
    """Near time zero any body is a half-space: 2 (A/V) sqrt(alpha t/pi) (Carslaw & Jaeger)."""
    size, seconds = 0.02, 2.0
    half_space = 2 * factor / size * math.sqrt(heat.DIFFUSIVITY * seconds / math.pi)
    assert heat.heat_taken_up(shape, size, seconds) == pytest.approx(half_space, rel=0.06)


@pytest.mark.parametrize("fourier", [1e-5, 1e-4, 1e-3, 1e-2])
def test_early_uptake_meets_the_series_for_small_times(fourier: float) -> None:
    """Crank, The Mathematics of Diffusion (1975), equations 4.20, 5.24 and 6.22, from memory."""
    seconds = fourier * 0.01**2 / heat.DIFFUSIVITY  # pieces 2 cm thick
    root = math.sqrt(fourier / math.pi)
    known = {
        "slab": 2 * root,
        "cylinder": 4 * root - fourier - fourier**1.5 / (3 * math.sqrt(math.pi)),
        "sphere": 6 * root - 3 * fourier,
    }
    shapes: tuple[heat.Shape, ...] = ("slab", "cylinder", "sphere")
    for shape in shapes:
        assert heat.heat_taken_up(shape, 0.02, seconds) == pytest.approx(
            known[shape], rel=0.005, abs=1e-4 if shape == "cylinder" else 3e-3
        )


def test_a_pound_of_vegetable_wants_about_a_pound_of_ice() -> None:
    """National Center for Home Food Preservation: one pound of ice for each pound."""
    assert heat.ice_per_mass(0.9, 100, 4, ice_temperature=0) == pytest.approx(1.0, abs=0.1)


def test_colder_ice_cools_more() -> None:
    assert heat.ice_per_mass(0.9, 100, 4, ice_temperature=-18) < heat.ice_per_mass(
        0.9, 100, 4, ice_temperature=0
    )


def test_stirred_ice_bath_meets_the_two_stage_rule() -> None:
    """135 to 70 °F in 2 h, to 41 °F in 4 more (Southern Nevada Health District), 2 in deep."""
    assert heat.stirred_cooling_seconds(0.05, 57.2, 21.1, bath=0.5) < 2 * 3600
    assert heat.stirred_cooling_seconds(0.05, 57.2, 5.0, bath=0.5) < 6 * 3600
    once = heat.stirred_cooling_seconds(0.05, 95, 5, bath=0.5)
    parts = heat.stirred_cooling_seconds(0.05, 95, 40, bath=0.5) + heat.stirred_cooling_seconds(
        0.05, 40, 5, bath=0.5
    )
    assert parts == pytest.approx(once)
    assert heat.stirred_cooling_seconds(0.10, 95, 5, bath=0.5) == pytest.approx(2 * once)


@given(st.floats(0.01, 0.06), st.floats(1, 90))
def test_a_pan_that_stands_still_is_cooled_from_below_alone(depth: float, seconds: float) -> None:
    """1 - 2 sqrt(alpha t / pi) / depth while the cold is not yet at the top (Carslaw & Jaeger, a
    half-space, from memory)."""
    near = 1 - 2 * math.sqrt(heat.DIFFUSIVITY * seconds / math.pi) / depth
    assert heat.still_share_left(depth, seconds) == pytest.approx(near, abs=0.003)


@given(st.floats(0.01, 0.06), st.floats(20, 95), st.floats(1, 3000))
def test_stirring_leads_to_the_temperature_that_it_takes_time_for(
    depth: float, start: float, seconds: float
) -> None:
    end = heat.stirred_to(depth, start, seconds, bath=0.5)
    if end > 0.51:
        again = heat.stirred_cooling_seconds(depth, start, end, bath=0.5)
        assert again == pytest.approx(seconds, rel=1e-6)


def test_a_shallow_pan_in_the_fridge_alone_breaks_the_two_stage_rule() -> None:
    """Still air takes 15 W/(m² K) over both faces, a twentieth of a stirred ice bath (computed):
    2 in deep is over 2 h at 70 °F (Southern Nevada Health District)."""
    slower = 300.0 / 15.0
    fridge = slower * heat.stirred_cooling_seconds(0.05, 57.2, 21.1, bath=3.0)
    assert fridge > 2 * 3600


@given(
    st.lists(
        st.tuples(st.floats(0.1, 9), st.floats(500, 4200), st.floats(-5, 150)), min_size=2,
        max_size=4,
    )
)  # fmt: skip
def test_mixing_keeps_the_heat(parts: list[tuple[float, float, float]]) -> None:
    met = heat.mixed_temperature(parts)
    assert sum(heat.heat_to_warm([(m, c)], met - t) for m, c, t in parts) == pytest.approx(
        0, abs=1e-3
    )
