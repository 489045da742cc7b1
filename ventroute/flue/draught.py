"""Buoyancy: what hot gas in a rising pipe gives.

References
----------
.. [1] Hydrostatics, exact for the densities given.
.. [2] ASHRAE chimney chapter: 0.03413 B H (1/To - 1/Tm), gas taken as air. Grade: memory.
"""

from __future__ import annotations

import numpy as np

from ventroute.flue.properties import SEA_LEVEL_PA
from ventroute.flue.species import KELVIN, FloatArray, Many

GRAVITY_M_S2 = 9.80665  # exact: standard gravity, CGPM 1901


def column_Pa(rise_m: Many, gas_kg_m3: Many, outside_kg_m3: Many) -> FloatArray:
    """Draught of a column of gas beside one of outdoor air [1]; (...) [Pa], positive upward."""
    return np.asarray(GRAVITY_M_S2 * np.asarray(rise_m) * (np.asarray(outside_kg_m3) - gas_kg_m3))


def draught_Pa(rise_m: Many, flue_degC: Many, outside_degC: Many, pressure_Pa: Many = SEA_LEVEL_PA) -> FloatArray:
    """Theoretical draught of the handbook, flue gas taken as air [2].

    Parameters
    ----------
    rise_m : (...) height from collar to terminal
    flue_degC : (...) mean gas temperature
    outside_degC : (...) outdoor temperature
    pressure_Pa : (...) of the place

    Returns
    -------
    (...) [Pa]
    """
    cold = 1.0 / (np.asarray(outside_degC, dtype=np.float64) + KELVIN)
    warm = 1.0 / (np.asarray(flue_degC, dtype=np.float64) + KELVIN)
    return np.asarray(0.03413 * np.asarray(pressure_Pa) * np.asarray(rise_m) * (cold - warm))
