"""Heat carried between gas, wall and surroundings at a place.

References
----------
.. [1] Gnielinski 1976 for turbulent flow, and his straight line from Re 2300 to 4000 (2013). Grade: memory.
.. [2] Churchill and Chu 1975: horizontal cylinder, vertical plate. Grade: memory.
.. [3] Popiel 2008: vertical cylinder over vertical plate. Grade: memory.
.. [4] Churchill and Bernstein 1977: cylinder across the wind. Grade: memory.
   All are checked against a heat-transfer library.
"""

from __future__ import annotations

import numpy as np

from ventroute.flue.draught import GRAVITY_M_S2
from ventroute.flue.losses import LAMINAR_TO, TURBULENT_FROM
from ventroute.flue.properties import air_conductivity_W_mK, air_cp_J_kgK, air_kg_m3, air_viscosity_Pa_s
from ventroute.flue.species import KELVIN, FloatArray, Many

STEFAN_W_M2K4 = 5.670374419e-8  # exact: SI 2019 revision
LAMINAR_NU = 3.66  # wall of one temperature, long pipe; textbook, memory


def gnielinski(reynolds: Many, prandtl: Many, factor: Many) -> FloatArray:
    """Nusselt number of turbulent flow in a pipe [1], Re above 3000; (...)."""
    eighth = np.asarray(factor) / 8.0
    return np.asarray(
        eighth
        * (np.asarray(reynolds) - 1000.0)
        * prandtl
        / (1.0 + 12.7 * np.sqrt(eighth) * (np.asarray(prandtl) ** (2 / 3) - 1.0))
    )


def inside_nu(reynolds: Many, prandtl: Many, factor: Many, factor_4000: Many) -> FloatArray:
    """Nusselt number in a pipe at any Reynolds number: 3.66, [1], and a straight line between; (...).

    ``factor_4000`` is the friction factor at Re 4000, where the line ends.
    """
    re = np.asarray(reynolds, dtype=np.float64)
    if re.size and float(re.min()) >= TURBULENT_FROM:
        return gnielinski(re, prandtl, factor)
    turbulent = gnielinski(np.maximum(re, TURBULENT_FROM), prandtl, np.where(re >= TURBULENT_FROM, factor, factor_4000))
    share = np.clip((re - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO), 0.0, 1.0)
    return np.asarray(LAMINAR_NU + share * (turbulent - LAMINAR_NU))


def horizontal_nu(rayleigh: Many, prandtl: Many) -> FloatArray:
    """Free convection round a horizontal cylinder, over its diameter [2]; (...)."""
    prandtl_term = (1.0 + (0.559 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    return np.asarray((0.60 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / prandtl_term) ** 2)


def plate_nu(rayleigh: Many, prandtl: Many) -> FloatArray:
    """Free convection along a vertical plate, over its height [2]; (...)."""
    prandtl_term = (1.0 + (0.492 / np.asarray(prandtl)) ** (9 / 16)) ** (8 / 27)
    return np.asarray((0.825 + 0.387 * np.asarray(rayleigh) ** (1 / 6) / prandtl_term) ** 2)


def vertical_nu(grashof: Many, prandtl: Many, slenderness: Many) -> FloatArray:
    """Free convection along a vertical cylinder, over its height: the plate [2], raised as it is slender [3]; (...).

    ``slenderness`` is height / diameter. Where it is below Gr**0.25 / 35 the source takes the plate; we
    do not, as that would make the film jump by 3 %. It errs to the cold side.
    """
    gr, pr, slender = np.asarray(grashof, dtype=np.float64), np.asarray(prandtl), np.asarray(slenderness)
    plate = plate_nu(gr * pr, pr)
    b = 0.0571322 + 0.20305 * pr**-0.43
    c = 0.9165 - 0.0043 * pr**0.5 + 0.01333 * np.log(pr) + 0.0004809 / pr
    factor = 1.0 + b * (32.0**0.5 * np.maximum(gr, 1e-9) ** -0.25 * slender) ** c
    return np.asarray(plate * factor)


def crosswind_nu(reynolds: Many, prandtl: Many) -> FloatArray:
    """Forced convection of a cylinder across the wind, over its diameter [4]; (...)."""
    re, pr = np.asarray(reynolds, dtype=np.float64), np.asarray(prandtl)
    rising = (1.0 + (re / 282_000.0) ** (5 / 8)) ** 0.8
    return np.asarray(0.3 + 0.62 * re**0.5 * pr ** (1 / 3) / (1.0 + (0.4 / pr) ** (2 / 3)) ** 0.25 * rising)


def radiation_W_m2K(surface_degC: Many, around_degC: Many, emissivity: Many) -> FloatArray:
    """Film of radiation to surroundings that enclose the pipe; (...) [W/(m2 K)]."""
    hot, cold = np.asarray(surface_degC) + KELVIN, np.asarray(around_degC) + KELVIN
    return np.asarray(np.asarray(emissivity) * STEFAN_W_M2K4 * (hot**2 + cold**2) * (hot + cold))


def convection_W_m2K(
    surface_degC: FloatArray,
    around_degC: FloatArray,
    diameter_m: FloatArray,
    height_m: FloatArray,
    pressure_Pa: FloatArray,
    wind_m_s: float = 0.0,
) -> FloatArray:
    """Film of convection outside a pipe in air.

    Parameters
    ----------
    surface_degC, around_degC, diameter_m, pressure_Pa : (...)
    height_m : (...) of a rising stretch; 0 for a level one
    wind_m_s : across the pipe; 0 indoors. Free and forced convection add as cubes.

    Returns
    -------
    (...) [W/(m2 K)]
    """
    film = 0.5 * (surface_degC + around_degC)
    conductivity, viscosity = air_conductivity_W_mK(film), air_viscosity_Pa_s(film)
    prandtl = viscosity * air_cp_J_kgK(film) / conductivity
    kinematic = viscosity / air_kg_m3(film, pressure_Pa)
    drive = GRAVITY_M_S2 * np.abs(surface_degC - around_degC) / ((film + KELVIN) * kinematic**2)
    rising = height_m > 0
    if not np.any(rising):
        nu, size = horizontal_nu(drive * diameter_m**3 * prandtl, prandtl), diameter_m
    elif np.all(rising):
        nu, size = vertical_nu(drive * height_m**3, prandtl, height_m / diameter_m), height_m
    else:
        size = np.where(rising, height_m, diameter_m)
        tall = vertical_nu(drive * size**3, prandtl, size / diameter_m)
        nu = np.where(rising, tall, horizontal_nu(drive * size**3 * prandtl, prandtl))
    free = nu * conductivity / size
    if wind_m_s <= 0:
        return np.asarray(free)
    forced = crosswind_nu(wind_m_s * diameter_m / kinematic, prandtl) * conductivity / diameter_m
    return np.asarray((free**3 + forced**3) ** (1 / 3))
