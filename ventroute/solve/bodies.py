"""Solids of one space as planes that can stand between them and a straight cylinder.

Two convex bodies are apart if a plane separates them. For a straight piece of pipe of known direction and a body with
flat faces the planes to try are few: the body's own faces, and the planes spanned by the piece and one of the body's
edges. Each is kept as ``n.x >= t`` for the piece's axis, with the pipe's radius and the gap in ``t``. Taking only these
planes squares off the rounded rim of the clearance around a body's edges and corners: it never lets a pipe nearer than
its gap, and may keep it a little farther.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import Space
from ventroute.solve.problem import HAIR_M

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Planes:
    """Planes beside a body: a cylinder of radius r is clear of it if ``n.x >= limit + r * rim`` on its axis for one.

    (q, 3) unit normals, (q,) limits, gap included, and (q,) rims; planes that leave nothing of the space are left out.
    """

    normals: FloatArray
    limits: FloatArray
    rims: FloatArray


class Bodies:
    """Convex bodies that pipe keeps clear of, with a box around each.

    ``rows`` are bodies with their gap [m] and the number of the solid they belong to; ``hull`` (v, 3) are corners of a
    convex hull that the pipe stays in.
    """

    def __init__(self, rows: Sequence[tuple[Polytope, float, int]], hull: FloatArray) -> None:
        self.bodies = [row[0] for row in rows]
        self.gap_m = np.array([row[1] for row in rows]) + HAIR_M
        self.solid = np.array([row[2] for row in rows], dtype=np.intp)
        self.low = np.array([b.vertices.min(axis=0) for b in self.bodies]).reshape(-1, 3)
        self.high = np.array([b.vertices.max(axis=0) for b in self.bodies]).reshape(-1, 3)
        self._hull = hull
        self._planes: dict[tuple[int, bytes], Planes] = {}

    @classmethod
    def of_space(cls, space: Space) -> Bodies:
        """The solids of a space."""
        rows = [(body, solid.gap_m, i) for i, solid in enumerate(space.solids) for body in solid.bodies]
        return cls(rows, space.container.vertices)

    def near(self, a: FloatArray, b: FloatArray, radius_m: FloatArray) -> NDArray[np.bool_]:
        """Which bodies' boxes come within a segment's radius and the body's gap, (..., bodies).

        Parameters
        ----------
        a, b : (..., 3) ends of segments
        radius_m : (...) their radii
        """
        reach = self.gap_m + radius_m[..., None]
        low, high = np.minimum(a, b), np.maximum(a, b)
        touch = np.ones(reach.shape, dtype=bool)
        for k in range(3):
            touch &= low[..., k, None] < self.high[:, k] + reach
            touch &= high[..., k, None] > self.low[:, k] - reach
        return touch

    def planes(self, body: int, direction: FloatArray) -> Planes:
        """The planes that can stand between a body and a cylinder of this direction."""
        key = (body, direction.tobytes())
        if key not in self._planes:
            self._planes[key] = self._make(body, direction)
        return self._planes[key]

    def _make(self, body: int, direction: FloatArray) -> Planes:
        shape = self.bodies[body]
        across = np.cross(direction, shape.edge_directions)
        size = np.linalg.norm(across, axis=1)
        across = across[size > 1e-6] / size[size > 1e-6, None]
        normals = _distinct(np.concatenate([shape.normals, across, -across]))
        along = normals @ direction
        limits = (normals @ shape.vertices.T).max(axis=1) + self.gap_m[body]
        inside = (normals @ self._hull.T).max(axis=1) >= limits
        return Planes(normals[inside], limits[inside], np.sqrt(np.maximum(0.0, 1.0 - along * along))[inside])


class Pool:
    """Planes of the bodies of one space for the directions of one link, made on first use, as arrays."""

    def __init__(self, bodies: Bodies, directions: FloatArray) -> None:
        self.bodies, self._directions = bodies, directions
        self._slot = np.full((len(bodies.bodies), len(directions)), -1, dtype=np.intp)
        self._used = 0
        self._normals, self._limits, self._rims = np.zeros((0, 0, 3)), np.zeros((0, 0)), np.zeros((0, 0))

    def planes(self, body: IntArray, direction: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Normals (P, Q, 3), limits (P, Q) and rims (P, Q) for pairs of body and direction; a limit may be infinite."""
        slot = self._slot[body, direction]
        if (slot < 0).any():
            for b, d in np.unique(np.stack([body[slot < 0], direction[slot < 0]], axis=1), axis=0).tolist():
                self._keep(b, d)
            slot = self._slot[body, direction]
        return self._normals[slot], self._limits[slot], self._rims[slot]

    def _keep(self, body: int, direction: int) -> None:
        planes = self.bodies.planes(body, self._directions[direction])
        rows, wide = max(64, len(self._limits)), max(self._limits.shape[1], len(planes.limits))
        if self._used == rows or self._used == len(self._limits) or wide > self._limits.shape[1]:
            self._grow(2 * rows, wide)
        k, q = self._used, len(planes.limits)
        self._normals[k, :q], self._limits[k, :q], self._rims[k, :q] = planes.normals, planes.limits, planes.rims
        self._slot[body, direction] = k
        self._used += 1

    def _grow(self, rows: int, wide: int) -> None:
        used, old = self._used, self._limits.shape[1]
        normals, limits, rims = np.zeros((rows, wide, 3)), np.full((rows, wide), np.inf), np.zeros((rows, wide))
        normals[:used, :old], limits[:used, :old] = self._normals[:used], self._limits[:used]
        rims[:used, :old] = self._rims[:used]
        self._normals, self._limits, self._rims = normals, limits, rims


def _distinct(normals: FloatArray) -> FloatArray:
    """First of each group of equal rows, order kept."""
    _, first = np.unique(np.round(normals, 9) + 0.0, axis=0, return_index=True)
    return normals[np.sort(first)]
