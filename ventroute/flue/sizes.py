"""Sizes side by side: what a run costs in each bore beside what the manual's own greatest length costs in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ventroute.flue.along import radius_ratio
from ventroute.flue.fuel import FUELS, Fuel
from ventroute.flue.gas import FlueGas
from ventroute.flue.losses import (
    EXIT_K,
    SCREEN_K,
    bend_k,
    friction_factor,
    reynolds,
    velocity_head_Pa,
    velocity_m_s,
)
from ventroute.flue.species import FloatArray, Many
from ventroute.flue.state import appliance_gas
from ventroute.flue.stream import Stream
from ventroute.model.appliance import Appliance, SizeLimit
from ventroute.model.parts import Kit
from ventroute.model.site import Place


@dataclass(frozen=True, slots=True, eq=False)
class Flow:
    """Gas of one temperature in a bore. Arrays (...)."""

    speed_m_s: FloatArray
    head_Pa: FloatArray  # velocity head
    reynolds: FloatArray
    factor: FloatArray  # Darcy


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One material and size for a run of given straight length and bends."""

    material: str
    size_in: float
    equivalent_m: float | None  # by the manual's table; None where it has no figure for a bend
    limit_m: float | None  # the manual's greatest; None where the size is not in its table
    drop_Pa: float
    reference_drop_Pa: float | None  # what limit_m of straight pipe costs
    velocity_m_s: float
    why_not: str  # "" where the budget allows it

    @property
    def margin_m(self) -> float | None:
        """What is left of the budget [m], negative where it is overdrawn."""
        return None if self.limit_m is None or self.equivalent_m is None else self.limit_m - self.equivalent_m


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
    gas: FlueGas, t_degC: Many, bore_m: Many, length_m: Many, *, roughness_m: Many = 1.5e-6, heads: Many = 0.0
) -> FloatArray:
    """Pressure drop of a run in a bore, the gas of one temperature: friction, fittings, screened open end.

    The same call with the manual's greatest length and no heads is the reference, so sizes compare on one footing.

    Parameters
    ----------
    gas : FlueGas of shape (...)
    t_degC, bore_m, length_m, roughness_m : (...)
    heads : (...) velocity heads lost in fittings

    Returns
    -------
    (...) [Pa]
    """
    flow = flow_in(gas, t_degC, bore_m, roughness_m)
    return np.asarray((flow.factor * length_m / bore_m + heads + EXIT_K + SCREEN_K) * flow.head_Pa)


def _equivalent_m(limit: SizeLimit, straight_m: float, bends: Mapping[float, int]) -> tuple[float | None, str]:
    """The manual's equivalent length, or why it has none."""
    total = straight_m + limit.terminal_m
    for angle, count in bends.items():
        each = limit.equivalent_m(angle)
        if each is None and count:
            return None, f"the manual has no equivalent for a {angle:g} degree bend in this size"
        total += count * (each or 0.0)
    return total, ""


def _why_not(limit: SizeLimit, equivalent_m: float, bends: Mapping[float, int]) -> str:
    if equivalent_m > limit.max_length_m:
        return f"{equivalent_m - limit.max_length_m:.2f} m over the manual's greatest length"
    if equivalent_m < limit.min_length_m:
        return f"{limit.min_length_m - equivalent_m:.2f} m short of the manual's least length"
    if limit.max_elbows is not None and sum(bends.values()) > limit.max_elbows:
        return f"{sum(bends.values())} elbows, {limit.max_elbows} allowed"
    return ""


def _bend_heads(kit: Kit, bends: Mapping[float, int], factor: float) -> float:
    """Velocity heads of the kit's preferred bend of each angle; a mitre where it has none."""
    total = 0.0
    for angle, count in bends.items():
        bend = next((bend for bend in kit.bends if bend.angle_deg == angle), None)
        ratio = radius_ratio(kit, bend.item, angle) if bend else 0.0
        total += count * float(bend_k(angle, ratio, factor))
    return total


def compare(
    appliance: Appliance,
    place: Place,
    kits: Sequence[Kit],
    straight_m: float,
    bends: Mapping[float, int],
    fuels: Path | Mapping[str, Fuel] = FUELS,
) -> tuple[SizeRow, ...]:
    """One row for each kit: budget, margin, drop beside the manual's own reference, velocity, and why not.

    Parameters
    ----------
    appliance, place : full input, hottest exhaust, altitude
    kits : material and size each
    straight_m : run, corner to corner
    bends : number by nominal angle [deg]
    fuels : by name, or the folder they are read from

    Returns
    -------
    rows in the order of ``kits``

    Raises
    ------
    VentrouteError
        The appliance's altitude rule or fuel is not known.
    """
    gas, hottest = appliance_gas(appliance, place, fuels), appliance.exhaust_max_degC
    rows = []
    for kit in kits:
        bore, rough, limit = kit.pipe.bore_m, kit.material.roughness_m, appliance.limit(kit.size_in)
        flow = flow_in(gas, hottest, bore, rough)
        heads = _bend_heads(kit, bends, float(flow.factor))
        equivalent, why = _equivalent_m(limit, straight_m, bends) if limit else (None, "not in the manual's table")
        if limit and equivalent is not None:
            why = _why_not(limit, equivalent, bends)
        reference = drop_for_size(gas, hottest, bore, limit.max_length_m, roughness_m=rough) if limit else None
        rows.append(
            SizeRow(
                material=kit.material.name,
                size_in=kit.size_in,
                equivalent_m=equivalent,
                limit_m=limit.max_length_m if limit else None,
                drop_Pa=float(drop_for_size(gas, hottest, bore, straight_m, roughness_m=rough, heads=heads)),
                reference_drop_Pa=None if reference is None else float(reference),
                velocity_m_s=float(flow.speed_m_s),
                why_not=why,
            )
        )
    return tuple(rows)
