"""Solids of one space as planes that can stand between them and a straight cylinder.

Two convex bodies are apart if a plane separates them. For a straight piece of pipe of known direction and a body with
flat faces the planes to try are few: the body's own faces, and the planes spanned by the piece and one of the body's
edges. Each is kept as ``n.x >= t`` for the piece's axis, with the pipe's radius and the gap in ``t``. Taking only these
planes squares off the rounded rim of the clearance around a body's edges and corners: it never lets a pipe nearer than
its gap, and may keep it a little farther.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.frames import cross
from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import Space
from ventroute.solve.problem import HAIR_M

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


class Planes:
    """Planes that stand between bodies and cylinders of some direction, those of a whole house in one table.

    Each row holds the planes of one body and one direction; ``numbers`` are rows by places that pools have taken.
    """

    def __init__(self) -> None:
        self._normals, self._limits, self._rims = np.zeros((0, 0, 3)), np.zeros((0, 0)), np.zeros((0, 0))
        self._used = self._taken = 0
        self.numbers = np.zeros(0, dtype=np.int32)  # -1 where there is none yet

    def take(self, row: NDArray[np.signedinteger[Any]]) -> tuple[FloatArray, FloatArray, FloatArray]:
        """The planes of some rows.

        Returns
        -------
        (P, Q, 3) unit normals, (P, Q) limits with the gap, and (P, Q) rims: a cylinder of radius r is clear of the body
        if ``n.x >= limit + r * rim`` on its axis for one. Planes that leave nothing of the space have no finite limit.
        """
        return self._normals.take(row, 0), self._limits.take(row, 0), self._rims.take(row, 0)

    def keep(self, normals: FloatArray, limits: FloatArray, rims: FloatArray) -> int:
        """Write rows behind those that are there; the number of the first."""
        used, (count, wide) = self._used, limits.shape
        rows, old = self._limits.shape
        if used + count > rows or wide > old:
            rows, wide = max(2 * rows, used + count, 64), max(wide, old)
            for name, fill in (("_normals", 0.0), ("_limits", np.inf), ("_rims", 0.0)):
                before = getattr(self, name)
                after = np.full((rows, wide, *before.shape[2:]), fill)
                after[:used, :old] = before[:used]
                setattr(self, name, after)
        at, q = slice(used, used + count), slice(0, limits.shape[1])
        self._normals[at, q], self._limits[at, q], self._rims[at, q] = normals, limits, rims
        self._used += count
        return used

    def places(self, count: int) -> int:
        """Take so many places; the first of them."""
        first, self._taken = self._taken, self._taken + count
        if self._taken > len(self.numbers):
            grown = np.full(max(2 * len(self.numbers), self._taken), -1, dtype=np.int32)
            grown[:first] = self.numbers[:first]
            self.numbers = grown
        return first


class Bodies:
    """Convex bodies that pipe keeps clear of, with a box around each.

    ``rows`` are bodies with their gap [m] and the number of the solid they belong to; ``hull`` (v, 3) are corners of a
    convex hull that the pipe stays in.
    """

    def __init__(self, rows: Sequence[tuple[Polytope, float, int]], hull: FloatArray, planes: Planes) -> None:
        self.bodies = [row[0] for row in rows]
        self.gap_m = np.array([row[1] for row in rows]) + HAIR_M
        self.solid = np.array([row[2] for row in rows], dtype=np.intp)
        self.low = np.array([b.low for b in self.bodies]).reshape(-1, 3)
        self.high = np.array([b.high for b in self.bodies]).reshape(-1, 3)
        self.planes = planes
        self._hull = hull
        self._row: dict[tuple[int, bytes], int] = {}  # where the planes of a body and a direction stand

    @classmethod
    def of_space(cls, space: Space, planes: Planes) -> Bodies:
        """The solids of a space."""
        rows = [(body, solid.gap_m, i) for i, solid in enumerate(space.solids) for body in solid.bodies]
        return cls(rows, space.container.vertices, planes)

    def near(self, a: FloatArray, b: FloatArray, radius_m: FloatArray) -> NDArray[np.bool_]:
        """Which bodies' boxes come within a segment's radius and the body's gap, (..., bodies).

        Parameters
        ----------
        a, b : (..., 3) ends of segments
        radius_m : (...) their radii
        """
        return near(self.low, self.high, self.gap_m, a, b, radius_m)

    def rows(self, body: Sequence[int], directions: FloatArray) -> IntArray:
        """Numbers of the planes of P bodies and directions (P, 3), made on first use."""
        keys = [(b, d.tobytes()) for b, d in zip(body, directions, strict=True)]
        alike: dict[tuple[int, int, int], dict[tuple[int, bytes], int]] = {}
        for p, key in enumerate(keys):
            if key not in self._row:
                shape = self.bodies[key[0]]
                counts = len(shape.normals), len(shape.edge_directions), len(shape.vertices)
                alike.setdefault(counts, {}).setdefault(key, p)
        for pairs in alike.values():
            first = self.planes.keep(*self._made([b for b, _ in pairs], directions[list(pairs.values())]))
            self._row.update(zip(pairs, range(first, first + len(pairs)), strict=True))
        return np.array([self._row[key] for key in keys], dtype=np.intp)

    def _made(self, body: Sequence[int], direction: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Planes for bodies that have as many faces, edges and corners."""
        shapes = [self.bodies[b] for b in body]
        across = cross(direction[:, None], np.array([shape.edge_directions for shape in shapes]))
        size = np.sqrt((across * across).sum(axis=2))
        skew = size > 1e-6
        across /= np.where(skew, size, 1.0)[:, :, None]
        normals = np.concatenate([np.array([shape.normals for shape in shapes]), across, -across], axis=1)
        corners = np.array([shape.vertices for shape in shapes])
        limits = (normals @ corners.transpose(0, 2, 1)).max(axis=2) + self.gap_m[body, None]
        kept = _first(normals) & ((normals @ self._hull.T).max(axis=2) >= limits)
        edges = skew.shape[1]
        kept[:, -2 * edges :] &= np.concatenate([skew, skew], axis=1)
        order = np.argsort(~kept, axis=1, kind="stable")[:, : int(kept.sum(axis=1).max(initial=0))]
        p = np.arange(len(shapes))[:, None]
        along = np.matvec(normals, direction)
        rims = np.sqrt(np.maximum(0.0, 1.0 - along * along))
        return normals[p, order], np.where(kept, limits, np.inf)[p, order], rims[p, order]


class Pool:
    """Where the planes of the bodies of one space for the directions of one link stand among a house's numbers."""

    def __init__(self, bodies: Bodies, directions: FloatArray) -> None:
        self.bodies, self._directions = bodies, directions
        self.first, self.wide = bodies.planes.places(len(bodies.bodies) * len(directions)), len(directions)

    def make(self, body: IntArray, direction: IntArray) -> None:
        """Number the planes for pairs of body and direction (P,)."""
        rows = self.bodies.rows(body.tolist(), self._directions[direction])
        self.bodies.planes.numbers[self.first + body * self.wide + direction] = rows


def near(
    low: FloatArray, high: FloatArray, gap_m: FloatArray, a: FloatArray, b: FloatArray, radius_m: FloatArray
) -> NDArray[np.bool_]:
    """Which boxes come within a segment's radius and their own gap, (..., bodies).

    Parameters
    ----------
    low, high, gap_m : (..., bodies, 3) twice, and (..., bodies)
    a, b : (..., 3) ends of segments
    radius_m : (...) their radii
    """
    reach = gap_m + radius_m[..., None]
    least, most = np.minimum(a, b), np.maximum(a, b)
    touch = np.ones(reach.shape, dtype=bool)
    for k in range(3):
        touch &= least[..., k, None] < high[..., k] + reach
        touch &= most[..., k, None] > low[..., k] - reach
    return touch


def _first(normals: FloatArray) -> NDArray[np.bool_]:
    """Which of (P, Q, 3) rows are the first of their kind."""
    rounded = np.round(normals, 9)
    same = (rounded[:, :, None] == rounded[:, None]).all(axis=3)
    first: NDArray[np.bool_] = ~np.tril(same, -1).any(axis=2)
    return first
