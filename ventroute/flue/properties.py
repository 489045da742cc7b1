"""Water, air and mixed gas: saturation, heat, viscosity, conductivity, the standard atmosphere.

References
----------
.. [1] Hyland and Wexler 1983, as in ASHRAE Handbook Fundamentals, psychrometrics. Grade: memory, checked against
   PsychroLib and IAPWS-95.
.. [2] ISO 2533:1975, standard atmosphere, troposphere. Grade: second-hand.
.. [3] Wilke, Journal of Chemical Physics 18 (1950) 517: viscosity of a mixture. Grade: memory.
.. [4] Herning and Zipperer 1936: square-root-of-mass weights for gases that are alike. Grade: memory.
.. [5] Conductivity by mole fraction: a plain mean, 4 to 6 % below kinetic-theory mixing for flue gas, which makes the
   inside film 3 % too weak. Grade: common practice.
"""

from __future__ import annotations

import numpy as np

from ventroute.flue.species import (
    AIR_FRACTIONS,
    AIR_KG_MOL,
    CP_DRY,
    CP_WATER,
    DRY,
    DRY_KG_MOL,
    ENTHALPY_WATER,
    KELVIN,
    R_J_MOL_K,
    WATER,
    FloatArray,
    Many,
    power_series,
)

Powers = tuple[FloatArray, ...]  # coefficients of a series, lowest power first

SEA_LEVEL_PA = 101_325.0  # [2]
MASS_RATIO = WATER.kg_mol / AIR_KG_MOL  # water to dry air, 0.622
LIQUID_J_MOL_K = 4181.0 * WATER.kg_mol  # liquid water near 25 degC; second-hand (steam tables)
EVAPORATION_25_J_KG = 2_441_680.0  # IAPWS-95 at 25 degC by CoolProp 8.0.0; second-hand

_ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)  # [1]
_LIQUID = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)  # [1]


def _hyland_wexler(c: tuple[float, ...], kelvin: FloatArray) -> FloatArray:
    return np.asarray(np.exp(c[0] / kelvin + power_series(c[1:6], kelvin) + c[6] * np.log(kelvin)))


def psat_Pa(t_degC: Many) -> FloatArray:
    """Pressure of saturated vapour over water, over ice below 0.01 degC [1].

    Parameters
    ----------
    t_degC : (...) from -100 to 200 degC

    Returns
    -------
    (...) pressure [Pa]
    """
    kelvin = np.asarray(t_degC, dtype=np.float64) + KELVIN
    over_water = _hyland_wexler(_LIQUID, kelvin)
    if kelvin.size and float(kelvin.min()) >= 273.16:
        return over_water
    return np.where(kelvin < 273.16, _hyland_wexler(_ICE, kelvin), over_water)


def psat_slope(t_degC: Many) -> FloatArray:
    """Slope of ln psat over water with temperature [1/K], (...) for t_degC (...)."""
    kelvin = np.asarray(t_degC, dtype=np.float64) + KELVIN
    c = _LIQUID
    return np.asarray((c[6] - c[0] / kelvin) / kelvin + c[2] + kelvin * (2 * c[3] + 3 * c[4] * kelvin))


def dew_point_degC(vapour_Pa: Many) -> FloatArray:
    """Temperature at which vapour of this pressure is saturated over water: `psat_Pa` turned round by Newton steps.

    Parameters
    ----------
    vapour_Pa : (...) above 611 Pa for a true dew point; below, the dew point over supercooled water

    Returns
    -------
    (...) dew point [degC]
    """
    target = np.log(np.asarray(vapour_Pa, dtype=np.float64))
    magnus = target - np.log(610.94)
    t = 243.04 * magnus / (17.625 - magnus)  # Magnus formula as a start, within 0.5 K
    for _ in range(4):
        t = t - (np.log(_hyland_wexler(_LIQUID, t + KELVIN)) - target) / psat_slope(t)
    return np.asarray(t)


def standard_pressure_Pa(altitude_m: Many) -> FloatArray:
    """Pressure of the standard atmosphere at an altitude [m] up to 11 km [2]; (...) Pa."""
    return np.asarray(SEA_LEVEL_PA * (1.0 - 2.25577e-5 * np.asarray(altitude_m, dtype=np.float64)) ** 5.2559)


def humidity_ratio(t_degC: Many, relative: Many, pressure_Pa: Many = SEA_LEVEL_PA) -> FloatArray:
    """Water in air, kg per kg dry air, at a relative humidity of 0 to 1 [1]; (...) [kg/kg]."""
    vapour = np.asarray(relative, dtype=np.float64) * psat_Pa(t_degC)
    return np.asarray(MASS_RATIO * vapour / (pressure_Pa - vapour))


def air_kg_m3(t_degC: Many, pressure_Pa: Many = SEA_LEVEL_PA) -> FloatArray:
    """Density of dry air as an ideal gas; (...) [kg/m3]."""
    kelvin = np.asarray(t_degC, dtype=np.float64) + KELVIN
    return np.asarray(pressure_Pa * AIR_KG_MOL / (R_J_MOL_K * kelvin))


def vapour_J_mol(t_degC: Many) -> FloatArray:
    """Enthalpy of water vapour as an ideal gas, counted from 0 K of the fit; (...) [J/mol]."""
    kelvin = np.asarray(t_degC, dtype=np.float64) + KELVIN
    return power_series(ENTHALPY_WATER, kelvin) * kelvin


_LIQUID_25_J_MOL = float(vapour_J_mol(25.0)) - EVAPORATION_25_J_KG * WATER.kg_mol


def liquid_J_mol(t_degC: Many) -> FloatArray:
    """Enthalpy of liquid water on the scale of `vapour_J_mol`, with a constant heat capacity; (...) [J/mol]."""
    return np.asarray(_LIQUID_25_J_MOL + LIQUID_J_MOL_K * (np.asarray(t_degC, dtype=np.float64) - 25.0))


def evaporation_J_mol(t_degC: Many) -> FloatArray:
    """Heat of evaporation, consistent with the two enthalpies; within 0.3 % of IAPWS-95 to 80 degC; (...) [J/mol]."""
    return vapour_J_mol(t_degC) - liquid_J_mol(t_degC)


def dry_powers(fractions: FloatArray) -> tuple[Powers, Powers]:
    """Viscosity [uPa s] [4] and conductivity [mW/(m K)] [5] of dry gas in powers of T/300 K.

    Parameters
    ----------
    fractions : (4, ...) mole fractions in the order of `species.DRY`

    Returns
    -------
    two tuples of four (...) coefficients, lowest power first
    """
    viscosity = np.array([gas.viscosity_uPa_s for gas in DRY])
    conductivity = np.array([gas.conductivity_mW_mK for gas in DRY])
    root = DRY_KG_MOL**0.5
    weight = np.tensordot(root, fractions, axes=(0, 0))
    mixed = np.tensordot(viscosity.T * root, fractions, axes=(1, 0)) / weight
    return tuple(mixed), tuple(np.tensordot(conductivity.T, fractions, axes=(1, 0)))


# Own cubic fits in T/300 K, 230 to 650 K, of dry air at 1 atm (Lemmon and Jacobsen 2004 in CoolProp 8.0.0); greatest
# error 0.06 %. Grade: second-hand.
_AIR_VISCOSITY = (0.53255, 22.177, -4.8233, 0.64637)
_AIR_CONDUCTIVITY = (-0.12948, 31.493, -5.7559, 0.77165)
_AIR_CP = tuple((AIR_FRACTIONS @ CP_DRY).tolist())


def air_viscosity_Pa_s(t_degC: Many) -> FloatArray:
    """Dynamic viscosity of dry air; (...) [Pa s]."""
    return power_series(_AIR_VISCOSITY, (np.asarray(t_degC) + KELVIN) / 300.0) * 1e-6


def air_conductivity_W_mK(t_degC: Many) -> FloatArray:
    """Thermal conductivity of dry air; (...) [W/(m K)]."""
    return power_series(_AIR_CONDUCTIVITY, (np.asarray(t_degC) + KELVIN) / 300.0) * 1e-3


def air_cp_J_kgK(t_degC: Many) -> FloatArray:
    """Specific heat of dry air at constant pressure; (...) [J/(kg K)]."""
    return power_series(_AIR_CP, np.asarray(t_degC) + KELVIN) / AIR_KG_MOL


def vapour_cp_J_molK(t_degC: Many) -> FloatArray:
    """Molar heat capacity of water vapour; (...) [J/(mol K)]."""
    return power_series(CP_WATER, np.asarray(t_degC) + KELVIN)


def moist_viscosity_Pa_s(dry: Powers, dry_kg_mol: Many, y_water: Many, t_degC: Many) -> FloatArray:
    """Viscosity of dry gas with water vapour, as a pair [3].

    Parameters
    ----------
    dry : first result of `dry_powers`
    dry_kg_mol : (...) molar mass of the dry gas
    y_water : (...) mole fraction of vapour
    t_degC : (...)

    Returns
    -------
    (...) [Pa s]
    """
    x = (np.asarray(t_degC) + KELVIN) / 300.0
    gas, steam = power_series(dry, x), power_series(WATER.viscosity_uPa_s, x)
    ratio = dry_kg_mol / WATER.kg_mol
    root = (gas / steam) ** 0.5
    phi = (1 + root * ratio**-0.25) ** 2 / (8 * (1 + ratio)) ** 0.5  # of steam on gas
    back = phi * steam / gas * ratio
    y_dry = 1.0 - y_water
    return np.asarray((y_dry * gas / (y_dry + y_water * phi) + y_water * steam / (y_water + y_dry * back)) * 1e-6)


def moist_conductivity_W_mK(dry: Powers, y_water: Many, t_degC: Many) -> FloatArray:
    """Conductivity of dry gas with water vapour [5]; ``dry`` is from `dry_powers`; (...) [W/(m K)]."""
    x = (np.asarray(t_degC) + KELVIN) / 300.0
    gas, steam = power_series(dry, x), power_series(WATER.conductivity_mW_mK, x)
    return np.asarray((gas + y_water * (steam - gas)) * 1e-3)
