"""The gases of a flue: what they weigh, hold, and how they conduct.

References
----------
.. [1] GRI-Mech 3.0 thermodynamic data (NASA seven-term form, 200/300 to 1000 K), 1999, public. Grade: memory; checked
   against a reference library in the tests.
.. [2] Own cubic fits, 240 to 650 K, of the dilute-gas limit of the reference equations (CO2: Laesecke and Muzny 2017,
   Huber et al. 2016; O2, N2, Ar: Lemmon and Jacobsen 2004; H2O: IAPWS 2008 and 2011) as coded in CoolProp 8.0.0.
   Greatest error of a fit 0.19 %, of the viscosity of steam 0.7 %. Grade: second-hand.
.. [3] IUPAC standard atomic weights, abridged. Grade: memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Many = float | FloatArray

R_J_MOL_K = 8.314462618  # exact: SI 2019 revision, product of two defining constants
KELVIN = 273.15  # exact: definition of the degree Celsius


@dataclass(frozen=True, slots=True)
class Species:
    """One gas: molar mass, heat capacity cp/R in powers of T [K], transport in powers of T/300 K."""

    formula: str
    kg_mol: float
    cp_R: tuple[float, float, float, float, float]  # [1]
    viscosity_uPa_s: tuple[float, float, float, float]  # [2]
    conductivity_mW_mK: tuple[float, float, float, float]  # [2]


CO2 = Species(
    "CO2",
    0.044009,
    (2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13),
    (-0.57905, 16.758, -1.092, -0.087686),
    (-1.8924, 12.621, 7.6111, -1.607),
)
O2 = Species(
    "O2",
    0.031998,
    (3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12),
    (0.25331, 24.839, -5.1258, 0.66008),
    (-0.85491, 31.575, -4.9014, 0.61847),
)
N2 = Species(
    "N2",
    0.028014,
    (3.298677, 1.4082404e-3, -3.963222e-6, 5.641515e-9, -2.444854e-12),
    (0.64887, 21.222, -4.6139, 0.61651),
    (-0.13349, 31.26, -5.9991, 0.80376),
)
AR = Species(
    "Ar", 0.03995, (2.5, 0.0, 0.0, 0.0, 0.0), (-0.25158, 27.631, -5.3104, 0.65229), (-0.30055, 21.816, -4.2333, 0.51932)
)
WATER = Species(
    "H2O",
    0.018015,
    (4.19864056, -2.0364341e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12),
    (5.6916, -2.9942, 8.754, -1.6589),
    (7.8489, -1.1546, 13.568, -1.691),
)

DRY = (CO2, O2, N2, AR)  # order of every array of dry composition
DRY_KG_MOL = np.array([gas.kg_mol for gas in DRY])

# Dry air, mole fractions in the order of DRY. Grade: second-hand (rounded US standard atmosphere, 0.036 % CO2).
AIR_FRACTIONS = np.array([0.00036, 0.20946, 0.78084, 0.00934])
AIR_KG_MOL = float(AIR_FRACTIONS @ DRY_KG_MOL)


def power_series(coefficients: Sequence[Many], x: FloatArray) -> FloatArray:
    """Sum of ``coefficients[i] * x**i`` by Horner's rule.

    Parameters
    ----------
    coefficients : lowest power first; each a number or an array that broadcasts with x
    x : (...)

    Returns
    -------
    (...)
    """
    total = coefficients[-1] * x + coefficients[-2]
    for term in coefficients[-3::-1]:
        total = total * x + term
    return total


def enthalpy_powers(species: Species) -> FloatArray:
    """Coefficients of T**1 .. T**5 [K] of the molar enthalpy [J/mol] of one gas, (5,)."""
    return R_J_MOL_K * np.array([c / (i + 1) for i, c in enumerate(species.cp_R)])


ENTHALPY_DRY = np.array([enthalpy_powers(gas) for gas in DRY])  # (4, 5)
ENTHALPY_WATER = tuple(enthalpy_powers(WATER).tolist())  # plain numbers: a fast series
CP_DRY = R_J_MOL_K * np.array([gas.cp_R for gas in DRY])  # (4, 5)
CP_WATER = tuple(R_J_MOL_K * c for c in WATER.cp_R)
