"""How long a flat pack takes to freeze, by Pham's formula, with foods' properties.

Lengths m, temperatures °C, heats J/kg, conductivities W/(m K), surface coefficients W/(m² K).
The air film rules in a household freezer (Biot number near 0.05): the surface coefficient alone
makes a time uncertain by a third.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from harvestplan.kitchen.heat import Shape

STILL_AIR = 7.5
"""Both faces of a pack in still air (freezing texts give 6 to 9; from memory)."""
FROZEN_THROUGH = -10.0
"""Centre temperature at which a pack counts as frozen (Lopez-Leiva & Hallstrom 2003)."""
FREEZING_POINT = -1.0
"""Initial freezing point where it is not known: vegetables lie between -0.5 and -1.5 (ASHRAE
Refrigeration 2006, ch. 9, table 3)."""


class _Curve(NamedTuple):
    """y = a + b t + c t² with t in °C, -40 to 150."""

    a: float
    b: float
    c: float

    def at(self, t: float) -> float:
        return self.a + self.b * t + self.c * t * t


class _Constituent(NamedTuple):
    """Density kg/m³, conductivity W/(m K), specific heat kJ/(kg K)."""

    density: _Curve
    conductivity: _Curve
    heat: _Curve


# Choi & Okos (1986), as in ASHRAE Refrigeration ch. 9, tables 1 and 2 (from memory; densities,
# conductivities and dry constituents' heats agree with CoolProp's Food* liquids). Unfrozen
# water's heat: 4.1762 as in the textbooks, where ASHRAE 2006 prints 4.1289.
CONSTITUENTS = {
    "protein": _Constituent(
        _Curve(1329.9, -0.5184, 0),
        _Curve(0.17881, 1.1958e-3, -2.7178e-6),
        _Curve(2.0082, 1.2089e-3, -1.3129e-6),
    ),
    "fat": _Constituent(
        _Curve(925.59, -0.41757, 0),
        _Curve(0.18071, -2.7604e-4, -1.7749e-7),
        _Curve(1.9842, 1.4733e-3, -4.8008e-6),
    ),
    "carbohydrate": _Constituent(
        _Curve(1599.1, -0.31046, 0),
        _Curve(0.20141, 1.3874e-3, -4.3312e-6),
        _Curve(1.5488, 1.9625e-3, -5.9399e-6),
    ),
    "fibre": _Constituent(
        _Curve(1311.5, -0.36589, 0),
        _Curve(0.18331, 1.2497e-3, -3.1683e-6),
        _Curve(1.8459, 1.8306e-3, -4.6509e-6),
    ),
    "ash": _Constituent(
        _Curve(2423.8, -0.28063, 0),
        _Curve(0.32962, 1.4011e-3, -2.9069e-6),
        _Curve(1.0926, 1.8896e-3, -3.6817e-6),
    ),
    "water": _Constituent(
        _Curve(997.18, 3.1439e-3, -3.7574e-3),
        _Curve(0.57109, 1.7625e-3, -6.7036e-6),
        _Curve(4.1762, -9.0864e-5, 5.4731e-6),
    ),
    "ice": _Constituent(
        _Curve(916.89, -0.13071, 0),
        _Curve(2.2196, -6.2489e-3, 1.0154e-4),
        _Curve(2.0623, 6.0769e-3, 0),
    ),
}
_COLD_WATER_HEAT = _Curve(4.1289, -5.3062e-3, 9.9516e-4)


@dataclass(frozen=True)
class Composition:
    """Mass shares (0 to 1, sum about 1); carbohydrate without fibre."""

    water: float
    protein: float = 0.0
    fat: float = 0.0
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0
    freezing_point: float = FREEZING_POINT

    @classmethod
    def of_water(cls, water_share: float, freezing_point: float = FREEZING_POINT) -> Composition:
        """A plant of which only the water is known: the rest counts as carbohydrate."""
        return cls(water=water_share, carbohydrate=1 - water_share, freezing_point=freezing_point)

    def ice(self, t: float) -> float:
        """Mass share of ice at `t` °C: (x_w - 0.4 x_p)(1 - Tf/T), the bound water never freezes.

        ASHRAE Refrigeration ch. 9 (from memory).
        """
        if t >= self.freezing_point:
            return 0.0
        return max(0.0, self.water - 0.4 * self.protein) * (1 - self.freezing_point / t)

    def _shares(self, t: float) -> dict[str, float]:
        ice = self.ice(t)
        return {
            "protein": self.protein,
            "fat": self.fat,
            "carbohydrate": self.carbohydrate,
            "fibre": self.fibre,
            "ash": self.ash,
            "water": self.water - ice,
            "ice": ice,
        }

    def density(self, t: float) -> float:
        """kg/m³ of the food without air at `t` °C: 1/rho = sum of x/rho."""
        return 1 / sum(x / CONSTITUENTS[name].density.at(t) for name, x in self._shares(t).items())

    def conductivity(self, t: float) -> float:
        """W/(m K) at `t` °C by volume shares, heat flowing side by side through each."""
        whole = self.density(t)
        return sum(
            x * whole / CONSTITUENTS[name].density.at(t) * CONSTITUENTS[name].conductivity.at(t)
            for name, x in self._shares(t).items()
        )

    def specific_heat(self, t: float) -> float:
        """J/(kg K) at `t` °C by mass shares, without the heat of freezing."""
        total = 0.0
        for name, x in self._shares(t).items():
            curve = CONSTITUENTS[name].heat
            if name == "water" and t < 0:
                curve = _COLD_WATER_HEAT
            total += x * curve.at(t)
        return 1000 * total


@dataclass(frozen=True)
class FreezingFood:
    """Properties that stay the same through freezing, in the units of the module."""

    density: float
    frozen_density: float
    heat: float
    frozen_heat: float
    latent: float
    frozen_conductivity: float
    freezing_point: float

    @classmethod
    def from_water(cls, p: float, freezing_point: float = FREEZING_POINT) -> FreezingFood:
        """Where only the share of water `p` (0 to 1) is known.

        Heats and conductivity by Earle, Unit Operations in Food Processing, appendix 7:
        c = 4.19 p + 0.84 (1 - p), frozen 2.1 p + 0.84 (1 - p), L = 335 p kJ, frozen
        k = 2.4 p + 0.26 (1 - p). Densities by Choi & Okos. For moist foods, half water or more.
        """
        plain = Composition.of_water(p, freezing_point)
        return cls(
            density=plain.density(5.0),
            frozen_density=plain.density(FROZEN_THROUGH),
            heat=1000 * (4.19 * p + 0.84 * (1 - p)),
            frozen_heat=1000 * (2.1 * p + 0.84 * (1 - p)),
            latent=335_000 * p,
            frozen_conductivity=2.4 * p + 0.26 * (1 - p),
            freezing_point=freezing_point,
        )

    def heat_to_freeze(self, start: float, end: float) -> float:
        """J/kg to take out between `start` above and `end` below the freezing point, °C.

        Heat balance c (T0 - Tf) + L + c_f (Tf - T1), textbook: all water freezes at one point.

        Raises ValueError where the freezing point does not lie between.
        """
        if not end <= self.freezing_point <= start:
            raise ValueError(f"nothing freezes between {start:g} and {end:g} °C")
        above = self.heat * (start - self.freezing_point)
        return above + self.latent + self.frozen_heat * (self.freezing_point - end)


_DIMENSIONS: dict[Shape, int] = {"slab": 1, "cylinder": 2, "sphere": 3}


def pham_seconds(
    shape: Shape,
    size: float,
    food: FreezingFood,
    *,
    air: float,
    surface: float,
    start: float,
    centre: float = FROZEN_THROUGH,
) -> float:
    """Pham (1986): seconds from `start` °C until the centre is at `centre` °C.

    Tfm = 1.8 + 0.263 Tc + 0.105 Ta parts the precooling dH1 from freezing and tempering dH2;
    t = d/(E h) (dH1/dT1 + dH2/dT2)(1 + Bi/2), d half the size, E = 1, 2, 3 for slab, cylinder,
    sphere. Bi 0.02 to 11, Ta -45 to -15 °C, start up to 40 °C (range from memory); within 6 % of
    a numerical solution for packs of 20 to 40 mm. Thinner packs in still air lie just below that
    Bi: there the air film is all, and the formula goes over into the plain heat balance.
    Constants from memory.

    Raises ValueError where the centre never gets so cold, and for air and starts out of range.
    """
    if centre <= air:
        raise ValueError(f"in air at {air:g} °C the centre never reaches {centre:g} °C")
    if not -45 <= air <= -15 or start > 40:
        raise ValueError(
            f"Pham's formula holds for air of -45 to -15 °C, not {air:g}, and for "
            f"food of 40 °C at most, not {start:g}"
        )
    mean = 1.8 + 0.263 * centre + 0.105 * air
    cooling = food.density * food.heat * (start - mean)
    freezing = food.frozen_density * (food.latent + food.frozen_heat * (mean - centre))
    drives = (start + mean) / 2 - air, mean - air
    half = size / 2
    biot = surface * half / food.frozen_conductivity
    steps = cooling / drives[0] + freezing / drives[1]
    return half / (_DIMENSIONS[shape] * surface) * steps * (1 + biot / 2)


def pack_seconds(
    thickness: float,
    food: FreezingFood,
    air: float = -18.0,
    *,
    start: float = 5.0,
    surface: float = STILL_AIR,
) -> float:
    """Seconds for a flat pack `thickness` m thick, both faces in air, to freeze through.

    Pham's formula in its range, for slabs much wider than thick; ±35 %, nearly all of it from the
    surface coefficient, which nobody measured in a household freezer.
    """
    return pham_seconds("slab", thickness, food, air=air, surface=surface, start=start)
