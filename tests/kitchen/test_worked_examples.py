"""Published worked examples of kitchen physics; each row of the table names its source.

`seen` says whether the printed answer was read (yes), remembered (memory), or computed from the
source's inputs (computed). A row without a check fails.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from typing import Any

import pytest
from kitchen import yardsticks
from places import DATA

from harvestplan.inputs.quantities import read_quantity, read_rate
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen import freezing_capacity as freezing
from harvestplan.kitchen import freezing_time as plank
from harvestplan.kitchen import heat, pouches, water
from harvestplan.kitchen.pot import TAP_TEMPERATURE, Blancher

TABLE = DATA / "worked_examples.csv"
PSI, BTU, POUND = 6894.757293, 1055.05585262, 453.59237
CUBIC_FOOT, QUART = 28316.846592, 946.352946
Inputs = dict[str, Any]


def _rows() -> list[dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _inputs(text: str) -> Inputs:
    found: Inputs = {}
    for pair in text.split(";"):
        key, _, value = pair.partition("=")
        try:
            found[key] = float(value)
        except ValueError:
            found[key] = value
    return found


def _allowed(text: str, expected: float) -> float:
    """The greatest deviation: "0.1%" and "1e-8" are relative, "0.4 F" is in the row's unit."""
    if text == "exact":
        return 1e-9 * abs(expected)
    if text.endswith("%"):
        return float(text[:-1]) / 100 * abs(expected)
    number, _, unit = text.partition(" ")
    return float(number) * (1.0 if unit else abs(expected))


def fahrenheit(celsius: float) -> float:
    return celsius * 9 / 5 + 32


def pouch_of(width: float, length: float) -> Pouch:
    """A pouch whose film between seals and mouth measures so many metres."""
    wide = width + 2 * pouches.SIDE_SEAL
    long = length + pouches.BOTTOM_SEAL + pouches.FREE_MOUTH
    return Pouch(name="p", width=f"{wide} m", length=f"{long} m", film="3 mil")


def blancher(net_power: float, water_ml: float, boil: float) -> Blancher:
    return Blancher("pot", water_ml, net_power, boil=boil, own_batch=None, one_minute=False)


def saturation_pressure(i: Inputs) -> float:
    if "T_K" in i:
        return yardsticks.saturation_pressure(i["T_K"] - 273.15) / 1e6
    return yardsticks.saturation_pressure(i["T_C"]) / 1e3


def boiling_point(i: Inputs) -> float:
    if "altitude_ft" in i:
        return fahrenheit(water.boiling_point(i["altitude_ft"] * 0.3048))
    return water.boiling_point(i["altitude_m"])


def pressure(i: Inputs) -> float:
    if "altitude_ft" in i:
        return water.air_pressure(i["altitude_ft"] * 0.3048) / PSI
    # The table counts metres above the sea; the formula wants the geopotential height.
    radius = 6356766.0
    return water.air_pressure(i["altitude_m"] * radius / (radius + i["altitude_m"]))


def warming(i: Inputs) -> float:
    pan = (i["m_pan_kg"], i["c_pan_J_kgK"])
    drink = (i["m_water_kg"], i["c_water_J_kgK"])
    return heat.heat_to_warm([pan, drink], i["dT_K"]) / 1000


def share_into_pan(i: Inputs) -> float:
    pan = (i["m_pan_kg"], i["c_pan_J_kgK"])
    drink = (i["m_water_kg"], i["c_water_J_kgK"])
    return 100 * heat.heat_to_warm([pan], 1) / heat.heat_to_warm([pan, drink], 1)


def quart_seconds(net_power: float, kelvins: float = 152 / 1.8) -> float:
    return blancher(net_power, QUART, TAP_TEMPERATURE + kelvins).heat_up_seconds()


def burner_energy(i: Inputs) -> float:
    """What the burner used to boil the quart at its measured efficiency, lid loss inside it."""
    if "power_W" in i:
        return float(i["power_W"] * quart_seconds(0.74 * i["power_W"]) / 3.6e6)
    watts = i["rate_BTU_h"] * BTU / 3600
    return float(watts * quart_seconds(0.32 * watts) / BTU)


def quart_heat(i: Inputs) -> float:
    return float(quart_seconds(1.0, i["dT_F"] / 1.8) / BTU * (i["m_lb"] * POUND / QUART))


WATER_OF_394 = 0.8921
"""Water share at which the specific heat is the rows' 3940 J/(kg K)."""


def one_minute_batch(i: Inputs) -> float:
    net = i["efficiency"] * i["burner_W"] - i["lid_loss_W"]
    assert i["T0_C"] == TAP_TEMPERATURE
    return blancher(net, 6000, i["Tb_C"]).one_minute_grams(WATER_OF_394, None) / 1000


def dip(i: Inputs) -> float:
    pot = blancher(2000, i["ratio_kg_water_per_kg_veg"] * 1000, i["Tb_C"])
    return pot.dip(1000, WATER_OF_394)


def taken_up(i: Inputs) -> float:
    half = i["radius_m"] if "radius_m" in i else i["half_thickness_m"]
    assert i["alpha_m2_s"] == heat.DIFFUSIVITY
    return heat.heat_taken_up(i["shape"], 2 * half, i["t_s"])


def iced_drink(i: Inputs) -> float:
    """The end temperature for which the ice needed is the ice there was."""
    low, high = 0.0, i["T_C"]
    for _ in range(60):
        middle = (low + high) / 2
        need = i["m_drink_kg"] * heat.ice_per_mass(1.0, i["T_C"], middle, ice_temperature=0.0)
        low, high = (middle, high) if need > i["m_ice_kg"] else (low, middle)
    return float(high)


def nominal_gallon(i: Inputs) -> float:
    largest = pouches.largest_volume(pouch_of(i["w_in"] * 0.0254, i["h_in"] * 0.0254))
    return read_quantity(f"{i['nominal_gal']} gal", "volume", "US").value / largest


def flat_litres(i: Inputs) -> float:
    pouch = pouch_of(i["usable_w_mm"] / 1000, i["usable_l_mm"] / 1000)
    return pouches.flat_volume(pouch, i["t_mm"] / 1000) / 1000


def freezer_rule(i: Inputs) -> float:
    volume = i["volume_ft3"] * CUBIC_FOOT
    return freezing.limit_by_volume(volume, i["rule_lb_per_ft3"]) / POUND


def slow_freeze(i: Inputs) -> float:
    """Hours to freeze water when heat leaves as fast as in the first minutes."""
    ice = plank.FreezingFood.from_water(1.0, freezing_point=0.0)
    rate = heat.heat_to_warm([(1.0, heat.WATER_HEAT)], i["first_drop_K"]) / i["first_minutes"]
    return float(ice.heat_to_freeze(i["T0_C"], i["T1_C"]) / rate / 60)


def thaw_heat(i: Inputs) -> float:
    return float(i["m_kg"] * yardsticks.latent_heat(1.0) / 4186)


def earle(quantity: str) -> Callable[[Inputs], float]:
    def value(i: Inputs) -> float:
        food = plank.FreezingFood.from_water(i["percent_water"] / 100)
        return float(getattr(food, quantity)) / 1000

    return value


def frozen_food(i: Inputs) -> plank.FreezingFood:
    density: float = i["rho_kg_m3"] if "rho_kg_m3" in i else i["rho_unfrozen_kg_m3"]
    point = i["Tf_K"] - 273.15 if "Tf_K" in i else i.get("Tf_C", -0.7)
    return plank.FreezingFood(
        density=density,
        frozen_density=i.get("rho_frozen_kg_m3", density),
        heat=i.get("c_unfrozen_J_kgK", math.nan),
        frozen_heat=i.get("c_frozen_J_kgK", math.nan),
        latent=i["L_J_kg"],
        frozen_conductivity=i["k_W_mK"],
        freezing_point=point,
    )


def plank_time(i: Inputs) -> float:
    surface = i["h_W_m2K"]
    if "wrap_m" in i:
        surface = yardsticks.wrapped(surface, (i["wrap_m"], i["wrap_k_W_mK"]))
    air = i["Ta_K"] - 273.15 if "Ta_K" in i else i["Ta_C"]
    return yardsticks.plank_seconds(i["shape"], i["a_m"], frozen_food(i), air=air, surface=surface)


def pham_time(i: Inputs) -> float:
    size = 2 * i["dc_m"] if "dc_m" in i else i["D_m"]
    return plank.pham_seconds(
        i["shape"],
        size,
        frozen_food(i),
        air=i["Ta_C"],
        surface=i["h_W_m2K"],
        start=i["Ti_C"],
        centre=i["Tc_C"],
    )


def constituent_density(i: Inputs) -> float:
    name = "carbohydrate" if i["constituent"] == "carb" else i["constituent"]
    return plank.CONSTITUENTS[name].density.at(i["T_C"])


CHECKS: dict[tuple[str, str], Callable[[Inputs], float]] = {
    ("freezing_time.plank", "time"): plank_time,
    ("freezing_time.pham", "time"): pham_time,
    ("freezing_time.numeric_vs_pham", "time"): pham_time,
    ("freezing_load", "total time"): slow_freeze,
    ("freezing_load", "heat"): thaw_heat,
    ("freezer_rule", "vegetables per 24 h"): freezer_rule,
    ("freezer_rule", "g/L"): lambda i: freezing.limit_by_volume(1000, i["rule_lb_per_ft3"]),
    ("freezer_rule", "lb/ft3"): lambda i: (
        i["kg_per_100L"] / (freezing.limit_by_volume(100_000, 1) / 1000)
    ),
    ("freezer_space", "stored density"): lambda i: (
        1000 * read_rate(f"{i['lb_per_ft3']} lb per cu ft", "mass", "volume", measures="US")
    ),
    ("saturation_pressure", "psat"): saturation_pressure,
    ("saturation_temperature", "Tsat"): lambda i: (
        273.15 + water.saturation_temperature(i["p_MPa"] * 1e6)
    ),
    ("boiling_point_altitude", "boiling point"): boiling_point,
    ("pressure_altitude", "pressure"): pressure,
    ("heating", "heat"): warming,
    ("heating", "share of heat into pan"): share_into_pan,
    ("heating", "ideal heat of 1 US qt 60 to 212 F"): quart_heat,
    ("mixing", "final temperature"): lambda i: heat.mixed_temperature(
        [(i["m1_kg"], i["c1_J_kgK"], i["T1_C"]), (i["m2_kg"], i["c2_J_kgK"], i["T2_C"])]
    ),
    ("burner_efficiency", "energy used"): burner_energy,
    ("burner_efficiency", "efficiency"): lambda i: quart_seconds(1.0) / BTU / i["used_BTU"],
    ("blanch_batch", "largest batch"): one_minute_batch,
    ("blanch_dip", "temperature dip if mixed at once"): dip,
    ("blanch_ratio", "ratio"): lambda i: read_rate(
        f"{i['water_gal']} gal per {i['veg_lb']} lb", "volume", "mass", measures="US"
    ),
    ("piece_heating", "fraction of heat taken up"): taken_up,
    ("ice", "final temperature"): iced_drink,
    ("ice", "ice per kg vegetable"): lambda i: heat.ice_per_mass(
        WATER_OF_394, i["T0_C"], i["T1_C"], ice_temperature=0.0
    ),
    ("boiling_under_vacuum", "Tsat"): lambda i: water.saturation_temperature(i["p_mbar"] * 100),
    ("pouch_volume", "largest volume by Robin formula"): lambda i: (
        1e-6 * pouches.largest_volume(pouch_of(i["w"], i["h"]))
    ),
    ("pouch_volume", "nominal / largest volume"): nominal_gallon,
    ("pouch_volume", "flat pack volume"): flat_litres,
    ("latent_heat", "latent heat"): lambda i: yardsticks.latent_heat(i["x_w"]) / 1000,
    ("specific_heat.chen", "specific heat above freezing"): lambda i: (
        heat.specific_heat(1 - i["x_solids"]) / 1000
    ),
    ("property.simple", "latent heat"): earle("latent"),
    ("property.simple", "specific heat above freezing"): earle("heat"),
    ("property.simple", "specific heat below freezing"): earle("frozen_heat"),
    ("constituent.density", "density"): constituent_density,
}


@pytest.mark.parametrize("row", [pytest.param(row, id=row["id"]) for row in _rows()])
def test_published_example_is_reproduced(row: dict[str, str]) -> None:
    computed = CHECKS[row["topic"], row["quantity"]](_inputs(row["inputs"]))
    if row["topic"].startswith("freezing_time") and row["unit"] == "h":
        computed /= 3600
    expected = float(row["value"])
    allowed = _allowed(row["tolerance"], expected)
    assert computed == pytest.approx(expected, rel=0, abs=allowed), row["source"]


def test_no_row_that_was_read_is_left_out() -> None:
    """63 rows whose printed answer was read, each claimed by one check; no check is idle."""
    rows = _rows()
    assert len({row["id"] for row in rows}) == len(rows) >= 94
    assert sum(row["seen"] == "yes" for row in rows) == 63
    claimed = {(row["topic"], row["quantity"]) for row in rows}
    assert claimed == set(CHECKS)
