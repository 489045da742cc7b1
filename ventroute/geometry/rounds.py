"""Gaps between convex round shapes and convex shapes of corners, many pairs at once.

A round shape is the convex hull of two sections of round bars: a cylinder with flat ends has equal discs square to its
axis, one that is cut off slanting has an ellipse, and the knee of a bend has two tilted discs with one centre.
The gap of two convex shapes is found by the method of Gilbert, Johnson and Keerthi [1]_ on all pairs together. What is
returned is its certified lower bound, so a gap is never overstated; it stops within `CLOSE_M` of the true gap.

References
----------
.. [1] E. Gilbert, D. Johnson, S. Keerthi, A fast procedure for computing the distance between complex objects in
   three-dimensional space, IEEE J. Robotics and Automation 4, 1988. The simplex step here tries every face that holds
   the newest point, in place of Johnson's recursion.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

CLOSE_M = 1e-7
MOST_STEPS = 200
PAIRS = np.array([(0, 1), (0, 2), (1, 2)])  # of three corners
_I, _J = PAIRS.T
_ON, _AFTER = np.array([1, 2, 0]), np.array([2, 0, 1])
_PICKS = np.concatenate([[(0, 0), (1, 1), (2, 2)], PAIRS])


class Convex(Protocol):
    """n convex shapes, known by their farthest points."""

    def farthest(self, directions: FloatArray) -> FloatArray:
        """The point (n, 3) [m] of each shape farthest along its direction (n, 3)."""

    def take(self, rows: IntArray) -> Self:
        """Some of the shapes."""


@dataclass(frozen=True, slots=True, eq=False)
class Rounds:
    """Hulls of two sections of round bars.

    ``centres`` (n, 2, 3) [m], bar axes ``axes`` (n, 2, 3) unit, ``radii`` (n, 2) [m]; ``cuts`` (n, 2, 3) are the
    normals of the planes that the sections lie in: the axes for discs, others for the ellipse of a slanting cut.
    """

    centres: FloatArray
    axes: FloatArray
    radii: FloatArray
    cuts: FloatArray

    @classmethod
    def discs(cls, centres: FloatArray, axes: FloatArray, radii: FloatArray) -> Rounds:
        """Hulls of two discs: centres (n, 2, 3), unit normals (n, 2, 3), radii (n, 2) [m]."""
        return cls(centres, axes, radii, axes)

    @classmethod
    def cylinders(cls, starts: FloatArray, ends: FloatArray, radii: FloatArray) -> Rounds:
        """Cylinders with flat ends: end centres (n, 3) and radii (n,) [m]."""
        axes = (ends - starts) / np.linalg.norm(ends - starts, axis=1, keepdims=True)
        both = np.stack([axes, axes], axis=1)
        return cls(np.stack([starts, ends], axis=1), both, np.stack([radii, radii], axis=1), both)

    def take(self, rows: IntArray) -> Rounds:
        """Some of the shapes."""
        return Rounds(self.centres[rows], self.axes[rows], self.radii[rows], self.cuts[rows])

    def farthest(self, directions: FloatArray) -> FloatArray:
        """The point (n, 3) [m] of each shape farthest along its direction (n, 3)."""
        out = self._out(directions[:, None])
        size = np.sqrt(np.einsum("nki,nki->nk", out, out))
        # straight over a section what is across is rounding error, and any of its points will do: the centre
        wide = size > 1e-9 * _length(directions)[:, None]
        round_ = out * np.where(wide, self.radii / np.where(wide, size, 1.0), 0.0)[..., None]
        slide = np.einsum("nki,nki->nk", self.cuts, round_) / np.einsum("nki,nki->nk", self.cuts, self.axes)
        rim = self.centres + round_ - slide[..., None] * self.axes
        best = np.einsum("ni,nki->nk", directions, rim).argmax(axis=1)
        return np.asarray(rim[np.arange(len(rim)), best], dtype=np.float64)

    def reach(self, directions: FloatArray) -> FloatArray:
        """How far (n, m) [m] each shape reaches along directions (m, 3)."""
        at = np.einsum("nki,mi->mnk", self.centres, directions)
        out = self._out(directions[:, None, None])
        return np.asarray((at + np.sqrt(np.einsum("mnki,mnki->mnk", out, out)) * self.radii).max(axis=2).T)

    def _out(self, directions: FloatArray) -> FloatArray:
        """The way out from the axis, square to it, along which each section reaches farthest."""
        along = np.einsum("...i,...i->...", directions, self.axes)
        slant = along / np.einsum("nki,nki->nk", self.cuts, self.axes)
        across = directions - slant[..., None] * self.cuts
        inward = np.einsum("...i,...i->...", across, self.axes)
        return np.asarray(across - inward[..., None] * self.axes, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Corners:
    """Hulls of corner points (n, v, 3) [m]; shapes with fewer corners repeat one."""

    points: FloatArray

    def take(self, rows: IntArray) -> Corners:
        """Some of the shapes."""
        return Corners(self.points[rows])

    def farthest(self, directions: FloatArray) -> FloatArray:
        """The point (n, 3) [m] of each shape farthest along its direction (n, 3)."""
        best = np.einsum("ni,nvi->nv", directions, self.points).argmax(axis=1)
        return np.asarray(self.points[np.arange(len(best)), best], dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Mixed:
    """Round shapes, and behind them hulls of corners."""

    rounds: Rounds
    corners: Corners

    def take(self, rows: IntArray) -> Mixed:
        """Some of the shapes, by their numbers in order."""
        n = len(self.rounds.centres)
        k = int(np.searchsorted(rows, n))
        return Mixed(self.rounds.take(rows[:k]), self.corners.take(rows[k:] - n))

    def farthest(self, directions: FloatArray) -> FloatArray:
        """The point (n, 3) [m] of each shape farthest along its direction (n, 3)."""
        n = len(self.rounds.centres)
        return np.concatenate([self.rounds.farthest(directions[:n]), self.corners.farthest(directions[n:])])


def gaps(first: Convex, second: Convex, n: int) -> FloatArray:
    """Gap (n,) [m] between pairs of convex shapes, at most 1e-7 below the true one; 0 where they meet."""
    bound: FloatArray = np.zeros(n)
    rows: IntArray = np.arange(n)
    ahead = np.tile([1.0, 0.0, 0.0], (n, 1))
    nearest = first.farthest(ahead) - second.farthest(-ahead)
    simplex = np.repeat(nearest[:, None], 3, axis=1)
    for _ in range(MOST_STEPS):
        size = _length(nearest)
        point = first.farthest(-nearest) - second.farthest(nearest)
        least = np.einsum("ni,ni->n", nearest, point) / np.maximum(size, 1e-300)
        bound[rows] = np.maximum(bound[rows], least)
        before = size
        nearest, simplex = _nearest_of_simplex(point, simplex)
        after = _length(nearest)
        going = (before - bound[rows] > CLOSE_M) & (after > CLOSE_M) & (after < before * (1 - 1e-13))
        left = np.flatnonzero(going)
        if not len(left):
            break
        if len(left) < len(rows):
            first, second, rows = first.take(left), second.take(left), rows[left]
            nearest, simplex = nearest[left], simplex[left]
    return bound


def _length(vectors: FloatArray) -> FloatArray:
    """Lengths (n,) of vectors (n, 3)."""
    return np.asarray(np.sqrt(np.add.reduce(vectors * vectors, axis=1)), dtype=np.float64)


def _nearest_of_simplex(point: FloatArray, old: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Nearest point (n, 3) to the origin of the hull of a point (n, 3) and three others (n, 3, 3); corners it needs.

    The newest point is always one of them. Repeated points make flat faces, which count for nothing.
    """
    edge = old - point[:, None]
    square = np.einsum("nki,nki->nk", edge, edge)
    back = -np.einsum("nki,ni->nk", edge, point)
    share = np.clip(back / np.maximum(square, 1e-300), 0, 1)
    on_edges = point[:, None] + share[..., None] * edge
    on_faces, inside = _on_faces(point, edge, square, back)
    candidates = np.concatenate([on_edges, on_faces], axis=1)
    size = np.einsum("nki,nki->nk", candidates, candidates)
    size[:, 3:][~inside] = np.inf
    best = size.argmin(axis=1)
    rows = np.arange(len(point))
    pick = _PICKS[best]
    kept = np.stack([point, old[rows, pick[:, 0]], old[rows, pick[:, 1]]], axis=1)
    nearest = candidates[rows, best]
    nearest[_holds_origin(point, edge)] = 0.0
    return nearest, kept


def _on_faces(
    point: FloatArray, edge: FloatArray, square: FloatArray, back: FloatArray
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Feet of the origin on the three faces at the newest point, and which lie inside their face."""
    e, f = edge[:, _I], edge[:, _J]
    ee, ff, ef = square[:, _I], square[:, _J], np.einsum("nki,nki->nk", e, f)
    ahead_e, ahead_f = back[:, _I], back[:, _J]
    det = ee * ff - ef**2
    good = det > 1e-14 * ee * ff
    safe = np.where(good, det, 1.0)
    s, t = (ff * ahead_e - ef * ahead_f) / safe, (ee * ahead_f - ef * ahead_e) / safe
    feet = point[:, None] + s[..., None] * e + t[..., None] * f
    return feet, good & (s >= 0) & (t >= 0) & (s + t <= 1)


def _holds_origin(point: FloatArray, edge: FloatArray) -> NDArray[np.bool_]:
    """Whether the tetrahedron has volume and the origin in it."""
    (x, y, z), (u, v, w) = edge[:, _ON].transpose(2, 0, 1), edge[:, _AFTER].transpose(2, 0, 1)
    sides = np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=2)
    volume = np.einsum("ni,ni->n", edge[:, 0], sides[:, 0])
    scale = np.sqrt(np.einsum("nki,nki->nk", edge, edge)).prod(axis=1)
    good = np.abs(volume) > 1e-12 * scale
    shares = -np.einsum("ni,nki->nk", point, sides) / np.where(good, volume, 1.0)[:, None]
    return np.asarray(good & (shares >= 0).all(axis=1) & (shares.sum(axis=1) <= 1), dtype=np.bool_)
