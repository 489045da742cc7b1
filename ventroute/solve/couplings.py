"""Where along a leg no coupling may stand."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.solver import Way

FloatArray = NDArray[np.float64]
Intervals = tuple[tuple[float, float], ...]


def blocked(conditions: Conditions, way: Way) -> tuple[Intervals, ...]:
    """For each leg, the stretches [m from its first corner] where a coupling's middle may not be."""
    return tuple(_leg(conditions, way, leg) for leg in range(len(way.dirs)))


def _leg(conditions: Conditions, way: Way, leg: int) -> Intervals:
    kit = conditions.problem.kit
    half = kit.coupling.socket_m + kit.coupling.gap_m / 2
    a, u = way.corners[leg], way.dirs[leg]
    length = float(np.linalg.norm(way.corners[leg + 1] - a))
    out: list[tuple[float, float]] = []
    spaces = [way.leg_space[leg]]
    for crossing, on in zip(way.crossings, way.crossing_leg, strict=True):
        if on == leg:
            spaces.append(crossing.passage.spaces[1])
            out.append(_barrier(conditions, crossing.passage.mouth_a, crossing.passage.mouth_b, a, u, half))
    for space in dict.fromkeys(spaces):
        out += _solids(conditions, space, a, u, length, half)
    return tuple(out)


def _barrier(
    conditions: Conditions,
    mouth_a: tuple[FloatArray, float],
    mouth_b: tuple[FloatArray, float],
    a: FloatArray,
    u: FloatArray,
    half: float,
) -> tuple[float, float]:
    rim, gap = conditions.problem.kit.coupling.hub_od_m / 2, conditions.problem.gap_m
    ends = []
    for sign, (n, offset) in ((-1.0, mouth_a), (1.0, mouth_b)):
        along = float(n @ u)
        slant = rim * float(np.sqrt(max(0.0, 1.0 - along * along)))
        ends.append((offset - float(n @ a)) / along + sign * (half + (slant + gap) / along))
    return ends[0], ends[1]


def _solids(
    conditions: Conditions, space: int, a: FloatArray, u: FloatArray, length: float, half: float
) -> list[tuple[float, float]]:
    """A body blocks the stretch in which no plane stands between it and the coupling."""
    bodies = conditions.bodies(space)
    radius = conditions.problem.kit.coupling.hub_od_m / 2
    out: list[tuple[float, float]] = []
    for _, body in bodies.near(a[None], (a + u * length)[None], np.array([radius])):
        n, t = bodies.planes(body, u, radius)
        along, start = n @ u, n @ a
        need = t - start + half * np.abs(along)  # clear where along * middle >= need
        if bool(((np.abs(along) < 1e-9) & (need <= 0)).any()):
            continue
        with np.errstate(divide="ignore"):
            place = need / along
        low = float(np.max(place[along < -1e-9], initial=-np.inf))
        high = float(np.min(place[along > 1e-9], initial=np.inf))
        if low < high:
            out.append((low, high))
    return out
