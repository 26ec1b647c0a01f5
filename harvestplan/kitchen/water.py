"""Water: air pressure by altitude, and the boiling point."""

from __future__ import annotations

import math

# Region 4 coefficients of IAPWS R7-97 (2012), table 34.
_N = (
    1167.0521452767, -724213.16703206, -17.073846940092, 12020.824702470, -3232555.0322333,
    14.915108613530, -4823.2657361591, 405113.40542057, -0.23855557567849, 650.17534844798,
)  # fmt: skip


def air_pressure(altitude: float) -> float:
    """Pressure of the standard atmosphere in Pa at `altitude` in m (-400 to 11 000).

    US Standard Atmosphere 1976, troposphere; weather moves the real pressure by about 2 %.

    Raises ValueError outside that range.
    """
    if not -400 <= altitude <= 11_000:
        raise ValueError(f"the troposphere's formula does not hold at {altitude:g} m")
    return float(101325.0 * (1 - 2.25577e-5 * altitude) ** 5.25588)


def saturation_temperature(pressure: float) -> float:
    """Boiling temperature of water in °C at `pressure` in Pa (611.213 Pa to 22.064 MPa).

    IAPWS R7-97, region 4, backward equation (31); salt and sugar in the water raise it by under
    1 K as blanching water goes.

    Raises ValueError outside that range.
    """
    if not 611.0 <= pressure <= 22.064e6:
        raise ValueError(f"water has no boiling point at {pressure:g} Pa")
    n = _N
    beta = (pressure / 1e6) ** 0.25
    e = beta**2 + n[2] * beta + n[5]
    f = n[0] * beta**2 + n[3] * beta + n[6]
    g = n[1] * beta**2 + n[4] * beta + n[7]
    d = 2 * g / (-f - math.sqrt(f**2 - 4 * e * g))
    root = math.sqrt((n[9] + d) ** 2 - 4 * (n[8] + n[9] * d))
    return float(0.5 * (n[9] + d - root) - 273.15)


def boiling_point(altitude: float) -> float:
    """Boiling point of water in °C at `altitude` in m (-400 to 11 000); weather adds ±0.5 K.

    IAPWS R7-97 at the pressure of the US Standard Atmosphere 1976.
    """
    return saturation_temperature(air_pressure(altitude))
