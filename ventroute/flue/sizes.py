"""Sizes side by side: what the manual's own greatest length costs in each bore, and how fast the gas goes there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ventroute.flue.gas import FlueGas
from ventroute.flue.losses import EXIT_K, SCREEN_K, friction_factor, reynolds, velocity_head_Pa, velocity_m_s
from ventroute.flue.species import FloatArray, Many
from ventroute.flue.stream import Stream


@dataclass(frozen=True, slots=True, eq=False)
class Flow:
    """Gas of one temperature in a bore. Arrays (...)."""

    speed_m_s: FloatArray
    head_Pa: FloatArray  # velocity head
    reynolds: FloatArray
    factor: FloatArray  # Darcy


def flow_in(gas: FlueGas, t_degC: Many, bore_m: Many, roughness_m: Many = 1.5e-6) -> Flow:
    """The gas at one temperature in a bore.

    Parameters
    ----------
    gas : FlueGas of shape (...)
    t_degC, bore_m, roughness_m : (...)

    Returns
    -------
    Flow of the broadcast shape
    """
    t = np.asarray(t_degC, dtype=np.float64)
    stream = Stream.of(gas, t, np.ones(()))
    vapour = stream.water_mol_s
    kg_s, density = stream.kg_s(vapour), stream.density_kg_m3(t, vapour)
    re = reynolds(kg_s, bore_m, stream.viscosity_Pa_s(t, stream.y_water(vapour)))
    speed = velocity_m_s(kg_s, bore_m, density)
    factor = friction_factor(re, np.asarray(roughness_m) / bore_m)
    return Flow(speed, velocity_head_Pa(density, speed), re, factor)


def drop_for_size(
    gas: FlueGas, t_degC: Many, bore_m: Many, length_m: Many, *, roughness_m: Many = 1.5e-6
) -> FloatArray:
    """Pressure drop of straight pipe in a bore, the gas of one temperature: friction and the screened open end.

    Parameters
    ----------
    gas : FlueGas of shape (...)
    t_degC, bore_m, length_m, roughness_m : (...)

    Returns
    -------
    (...) [Pa]
    """
    flow = flow_in(gas, t_degC, bore_m, roughness_m)
    return np.asarray((flow.factor * length_m / bore_m + EXIT_K + SCREEN_K) * flow.head_Pa)
