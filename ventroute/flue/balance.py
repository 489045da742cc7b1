"""The flow at which what drives the gas and what holds it back agree.

References
----------
.. [1] ASHRAE chimney chapter: available draught is theoretical draught less flow losses; zero for natural draught.
   Grade: memory.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ventroute.flue.draught import column_Pa
from ventroute.flue.losses import friction_factor, reynolds, velocity_head_Pa, velocity_m_s
from ventroute.flue.species import FloatArray, Many

HALVINGS = 60  # leaves 1e-18 of the first bracket
MOST_M_S = 60.0  # gas faster than this is no longer incompressible


def agreeing_flow(
    surplus_Pa: Callable[[FloatArray], FloatArray], least_kg_s: FloatArray, most_kg_s: FloatArray
) -> FloatArray:
    """Mass flow at which the surplus of pressure vanishes, by halving.

    Parameters
    ----------
    surplus_Pa : drive less loss (n,) for a flow (n,), falling as the flow grows
    least_kg_s, most_kg_s : (n,) bracket

    Returns
    -------
    (n,) flow; nan where the surplus does not change sign between the two
    """
    low, high = np.array(least_kg_s, dtype=np.float64), np.array(most_kg_s, dtype=np.float64)
    agrees = (surplus_Pa(low) >= 0) & (surplus_Pa(high) <= 0)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        left = surplus_Pa(middle) > 0
        low, high = np.where(left, middle, low), np.where(left, high, middle)
    return np.where(agrees, 0.5 * (low + high), np.nan)


def natural_flow_kg_s(
    *,
    rise_m: Many,
    length_m: Many,
    bore_m: Many,
    heads: Many,
    gas_kg_m3: Many,
    outside_kg_m3: Many,
    viscosity_Pa_s: Many,
    roughness_m: Many = 1.5e-6,
) -> FloatArray:
    """What a vent of this height carries by buoyancy alone, the gas of one density throughout [1].

    Parameters
    ----------
    rise_m, length_m, bore_m, roughness_m : (...) of the pipe
    heads : (...) velocity heads lost in entrance, fittings and the open end
    gas_kg_m3, outside_kg_m3, viscosity_Pa_s : (...)

    Returns
    -------
    (...) flow [kg/s]; 0 where the gas does not rise
    """
    lift = column_Pa(rise_m, gas_kg_m3, outside_kg_m3)
    shape = np.broadcast_shapes(*(np.shape(x) for x in (lift, length_m, bore_m, heads, viscosity_Pa_s)))

    def surplus(kg_s: FloatArray) -> FloatArray:
        factor = friction_factor(reynolds(kg_s, bore_m, viscosity_Pa_s), np.asarray(roughness_m) / bore_m)
        head = velocity_head_Pa(gas_kg_m3, velocity_m_s(kg_s, bore_m, gas_kg_m3))
        return np.asarray(lift - (factor * length_m / bore_m + heads) * head)

    most = np.broadcast_to(np.pi / 4 * np.square(np.asarray(bore_m)) * gas_kg_m3 * MOST_M_S, shape)
    flow = agreeing_flow(surplus, 1e-9 * most, most)
    return np.where(lift > 0, flow, 0.0)
