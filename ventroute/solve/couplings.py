"""Where along a leg no coupling may stand, and whether a sleeve of fittings may stand somewhere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.family import SLACK_M
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
    out: list[tuple[float, float]] = []
    space, start = way.leg_space[leg], 0.0
    for crossing, on in zip(way.crossings, way.crossing_leg, strict=True):
        if on == leg:
            passage = crossing.passage
            low, high = (_where(plane, a, u) for plane in (passage.mouth_a, passage.mouth_b))
            out += _solids(conditions, space, a, u, (start, low), half)
            out.append(_barrier(conditions, passage.mouth_a, passage.mouth_b, a, u, half))
            space, start = passage.spaces[1], high
    end = float(np.linalg.norm(way.corners[leg + 1] - a))
    return (*out, *_solids(conditions, space, a, u, (start, end), half))


def fits(conditions: Conditions, space: int, a: FloatArray, b: FloatArray, radius: float) -> bool:
    """Whether a straight sleeve of fittings from a to b (3,) keeps its gap to the walls and the bodies of a space."""
    u = (b - a) / np.linalg.norm(b - a)
    hull, bodies = conditions.building.spaces[space].container, conditions.common.bodies(space)
    need = radius * np.sqrt(np.maximum(0.0, 1.0 - (hull.normals @ u) ** 2)) + conditions.problem.gap_m
    if bool((np.maximum(hull.normals @ a, hull.normals @ b) + need > hull.offsets + SLACK_M).any()):
        return False
    near = np.flatnonzero(bodies.near(a, b, np.array(radius))).tolist()
    n, limit, rim = bodies.planes.take(bodies.rows(near, np.tile(u, (len(near), 1))))
    ahead = np.minimum(n @ a, n @ b) - limit - radius * rim
    return not bool((ahead < -SLACK_M).all(axis=1).any())


def _where(plane: tuple[FloatArray, float], a: FloatArray, u: FloatArray) -> float:
    """Distance along the leg at which it meets a plane."""
    normal, offset = plane
    return (offset - float(normal @ a)) / float(normal @ u)


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
    conditions: Conditions, space: int, a: FloatArray, u: FloatArray, span: tuple[float, float], half: float
) -> list[tuple[float, float]]:
    """A body blocks the stretch in which no plane stands between it and the coupling, in the span inside its space."""
    bodies = conditions.common.bodies(space)
    radius = conditions.problem.kit.coupling.hub_od_m / 2
    out: list[tuple[float, float]] = []
    near = np.flatnonzero(bodies.near(a + u * span[0], a + u * span[1], np.array(radius))).tolist()
    for n, limit, rim in zip(*bodies.planes.take(bodies.rows(near, np.tile(u, (len(near), 1)))), strict=True):
        t = limit + radius * rim
        along, start = n @ u, n @ a
        need = t - start + half * np.abs(along)  # clear where along * middle >= need
        if bool(((np.abs(along) < 1e-9) & (need <= 0)).any()):
            continue
        with np.errstate(divide="ignore"):
            place = need / along
        low = max(span[0], float(np.max(place[along < -1e-9], initial=-np.inf)))
        high = min(span[1], float(np.min(place[along > 1e-9], initial=np.inf)))
        if low < high:
            out.append((low, high))
    return out
