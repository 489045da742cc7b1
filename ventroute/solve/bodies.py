"""Solids of one space as planes that can stand between them and a straight cylinder.

Two convex bodies are apart if a plane separates them. For a straight piece of pipe of known direction and a body with
flat faces the planes to try are few: the body's own faces, and the planes spanned by the piece and one of the body's
edges. Each is kept as ``n.x >= t`` for the piece's axis, with the pipe's radius and the gap in ``t``. Taking only these
planes squares off the rounded rim of the clearance around a body's edges and corners: it never lets a pipe nearer than
its gap, and may keep it a little farther.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import Space
from ventroute.solve.problem import HAIR_M

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


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
        self._planes: dict[tuple[int, bytes, float], tuple[FloatArray, FloatArray]] = {}

    @classmethod
    def of_space(cls, space: Space) -> Bodies:
        """The solids of a space."""
        rows = [(body, solid.gap_m, i) for i, solid in enumerate(space.solids) for body in solid.bodies]
        return cls(rows, space.container.vertices)

    def near(self, a: FloatArray, b: FloatArray, radius_m: FloatArray) -> list[tuple[int, int]]:
        """Pairs (segment, body) whose boxes come within the segment's radius and the body's gap.

        Parameters
        ----------
        a, b : (n, 3) ends of segments
        radius_m : (n,) their radii
        """
        if not self.bodies or not len(a):
            return []
        reach = self.gap_m[None, :] + radius_m[:, None]
        low, high = np.minimum(a, b), np.maximum(a, b)
        touch = np.ones(reach.shape, dtype=bool)
        for k in range(3):
            touch &= low[:, k, None] < self.high[None, :, k] + reach
            touch &= high[:, k, None] > self.low[None, :, k] - reach
        i, body = np.nonzero(touch)
        return list(zip(i.tolist(), body.tolist(), strict=True))

    def planes(self, body: int, direction: FloatArray, radius_m: float) -> tuple[FloatArray, FloatArray]:
        """Planes (n, t) that keep a cylinder of this direction and radius clear of the body.

        Returns
        -------
        (q, 3) unit normals and (q,) limits: the cylinder is clear if ``n.x >= t`` on its axis for one of them; planes
        that leave nothing of the space are left out, so there may be none
        """
        key = (body, direction.tobytes(), radius_m)
        if key not in self._planes:
            self._planes[key] = self._make(body, direction, radius_m)
        return self._planes[key]

    def _make(self, body: int, direction: FloatArray, radius_m: float) -> tuple[FloatArray, FloatArray]:
        shape = self.bodies[body]
        across = np.cross(direction, shape.edge_directions)
        size = np.linalg.norm(across, axis=1)
        across = across[size > 1e-6] / size[size > 1e-6, None]
        normals = _distinct(np.concatenate([shape.normals, across, -across]))
        along = normals @ direction
        rim = radius_m * np.sqrt(np.maximum(0.0, 1.0 - along * along))
        limits = (normals @ shape.vertices.T).max(axis=1) + rim + self.gap_m[body]
        inside = (normals @ self._hull.T).max(axis=1) >= limits
        return normals[inside], limits[inside]


def _distinct(normals: FloatArray) -> FloatArray:
    """First of each group of equal rows, order kept."""
    _, first = np.unique(np.round(normals, 9) + 0.0, axis=0, return_index=True)
    return normals[np.sort(first)]
