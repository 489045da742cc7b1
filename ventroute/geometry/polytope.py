"""Bounded convex bodies with flat faces: made from boxes, prisms, planes or points; cut, subtracted, measured.

Positions within `TOLERANCE_M` of a plane count as on it, so neighbours that share a face neither overlap nor leave a
crack. Everything is numpy; bodies are small (a dozen faces), and are never changed once made.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ventroute.errors import GeometryError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
Face = tuple[int, ...]

TOLERANCE_M = 1e-7
FAR_M = 1e4  # half the side of the box that bodies made from planes are cut from; no house is so large
LEAST_VOLUME_M3 = 1e-13


@dataclass(frozen=True, eq=False)
class Polytope:
    """A convex body: the points x with ``normals @ x <= offsets``.

    ``normals`` (k, 3) are unit and point outward, ``offsets`` (k,) [m]; ``vertices`` (v, 3) [m]; ``faces`` holds one
    vertex loop per normal, counter-clockwise seen from outside.
    """

    normals: FloatArray
    offsets: FloatArray
    vertices: FloatArray
    faces: tuple[Face, ...]

    @classmethod
    def box(cls, low: ArrayLike, high: ArrayLike) -> Polytope:
        """Box from its least to its greatest corner [m].

        Raises
        ------
        GeometryError
            A side has no length.
        """
        (x0, y0, z0), (x1, y1, z1) = least, most = np.asarray(low, float), np.asarray(high, float)
        if not (x1 > x0 and y1 > y0 and z1 - z0 > TOLERANCE_M):
            raise GeometryError("a box needs three sides above zero")
        offsets = np.array([-y0, x1, y1, -x0, -z0, z1])
        return cls(_BOX_NORMALS, offsets, np.where(_BOX_HIGH, most, least), _BOX_FACES)

    @classmethod
    def prism(cls, floor_xy: ArrayLike, bottom: float, top: float) -> Polytope:
        """Upright prism over a convex, counter-clockwise polygon ``floor_xy`` (n, 2) between two heights [m].

        Raises
        ------
        GeometryError
            The floor is not convex and counter-clockwise, or the body has no height.
        """
        floor = _without_straight_corners(np.asarray(floor_xy, float))
        if len(floor) < 3 or not top - bottom > TOLERANCE_M:
            raise GeometryError("a prism needs three corners, counter-clockwise and convex, and a height")
        n = len(floor)
        edges = np.roll(floor, -1, axis=0) - floor
        sides = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.linalg.norm(edges, axis=1)[:, None]
        normals = np.vstack([np.column_stack([sides, np.zeros(n)]), [[0, 0, -1.0], [0, 0, 1.0]]])
        offsets = np.concatenate([np.einsum("ij,ij->i", sides, floor), [-bottom, top]])
        levels = np.repeat([bottom, top], n)
        return cls(normals, offsets, np.column_stack([np.vstack([floor, floor]), levels]), prism_faces(n))

    @classmethod
    def from_planes(cls, normals: ArrayLike, offsets: ArrayLike) -> Polytope:
        """Body of the points with ``normals @ x <= offsets``; normals (k, 3) need not be unit.

        Raises
        ------
        GeometryError
            The planes leave no volume, or do not close.
        """
        wanted, limits = np.asarray(normals, float).reshape(-1, 3), np.asarray(offsets, float).reshape(-1)
        sizes = np.linalg.norm(wanted, axis=1)
        body: Polytope | None = cls.box((-FAR_M,) * 3, (FAR_M,) * 3)
        for normal, offset, size in zip(wanted, limits, sizes, strict=True):
            body = body.clip(normal / size, offset / size) if body is not None else None
        if body is None:
            raise GeometryError("the planes leave no volume between them")
        if float(np.abs(body.vertices).max()) > FAR_M / 2:
            raise GeometryError("the planes do not close")
        return body

    @classmethod
    def hull(cls, points: ArrayLike) -> Polytope:
        """Convex hull of points (n, 3) [m].

        Raises
        ------
        GeometryError
            The points lie in one plane.
        """
        cloud = _distinct(np.asarray(points, float).reshape(-1, 3))
        normals, offsets = _hull_planes(cloud)
        gaps = np.abs(cloud @ normals.T - offsets)
        loops = [_loop(cloud, np.flatnonzero(gaps[:, k] <= 3 * TOLERANCE_M), n) for k, n in enumerate(normals)]
        return _compact(normals, offsets, cloud, loops)

    @cached_property
    def edge_directions(self) -> FloatArray:
        """Distinct unit directions (e, 3) of the edges; of a direction and its opposite only one is kept."""
        pairs = {tuple(sorted(pair)) for face in self.faces for pair in pairwise((*face, face[0]))}
        ends = self.vertices[np.array(sorted(pairs))]
        spans = ends[:, 1] - ends[:, 0]
        lengths = np.linalg.norm(spans, axis=1)
        units = spans[lengths > TOLERANCE_M] / lengths[lengths > TOLERANCE_M, None]
        kept: list[FloatArray] = []
        for unit in units:
            if all(abs(float(unit @ other)) < 1 - 1e-12 for other in kept):
                kept.append(unit)
        return np.array(kept)

    @cached_property
    def edges(self) -> NDArray[np.intp]:
        """Vertex pairs (e, 2) of the edges, each once."""
        pairs = {(min(a, b), max(a, b)) for face in self.faces for a, b in pairwise((*face, face[0]))}
        return np.array(sorted(pairs), dtype=np.intp)

    @cached_property
    def low(self) -> FloatArray:
        """Least x, y, z (3,) [m]."""
        return np.asarray(self.vertices.min(axis=0), dtype=np.float64)

    @cached_property
    def high(self) -> FloatArray:
        """Greatest x, y, z (3,) [m]."""
        return np.asarray(self.vertices.max(axis=0), dtype=np.float64)

    @cached_property
    def planes(self) -> tuple[tuple[float, float, float, float], ...]:
        """Normal and offset of each face in plain numbers, for sums too small to be worth an array."""
        return tuple((x, y, z, o) for (x, y, z), o in zip(self.normals.tolist(), self.offsets.tolist(), strict=True))

    @cached_property
    def span(self) -> tuple[tuple[float, float], ...]:
        """Least and greatest x, y and z [m] in plain numbers."""
        return tuple(zip(self.low.tolist(), self.high.tolist(), strict=True))

    def meets_box(self, span: Sequence[tuple[float, float]], reach_m: float = 0.0) -> bool:
        """Whether its box comes within a reach [m] of another, given as the least and greatest x, y and z [m]."""
        (x0, x1), (y0, y1), (z0, z1) = self.span
        (a0, a1), (b0, b1), (c0, c1) = span
        along_x, along_y = x0 <= a1 + reach_m and a0 <= x1 + reach_m, y0 <= b1 + reach_m and b0 <= y1 + reach_m
        return along_x and along_y and z0 <= c1 + reach_m and c0 <= z1 + reach_m

    @cached_property
    def centre(self) -> FloatArray:
        """Mean of the vertices (3,) [m]: a point inside."""
        return np.asarray(self.vertices.mean(axis=0), dtype=np.float64)

    @cached_property
    def volume_m3(self) -> float:
        """Volume [m3]."""
        corners = self.triangles() - self.centre
        return float(np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6)

    def triangles(self) -> FloatArray:
        """Surface as triangles (t, 3, 3) [m], counter-clockwise seen from outside."""
        fans = [(face[0], b, c) for face in self.faces for b, c in pairwise(face[1:])]
        corners: FloatArray = self.vertices[np.array(fans, dtype=np.intp).reshape(-1, 3)]
        return corners

    def contains(self, points: ArrayLike, tol: float = TOLERANCE_M) -> BoolArray:
        """Which of the points (n, 3) [m] lie inside or within ``tol`` [m] of it: (n,)."""
        return np.asarray(self.depths(points) >= -tol, dtype=np.bool_)

    def holds(self, point: FloatArray, tol: float = TOLERANCE_M) -> bool:
        """Whether one point (3,) [m] lies inside or within ``tol`` [m] of it: `contains`, in plain numbers."""
        x, y, z = at = point.tolist()
        if any(v < low - tol or v > high + tol for v, (low, high) in zip(at, self.span, strict=True)):
            return False
        return all(a * x + b * y + c * z - o <= tol for a, b, c, o in self.planes)

    def depths(self, points: ArrayLike) -> FloatArray:
        """Distance (n,) [m] of points (n, 3) to the nearest face plane, negative outside (exact inside only)."""
        cloud = np.asarray(points, float).reshape(-1, 3)
        return np.asarray((self.offsets - cloud @ self.normals.T).min(axis=1), dtype=np.float64)

    def clip(self, normal: ArrayLike, offset: float) -> Polytope | None:
        """The part with ``normal @ x <= offset`` (unit normal), None where no volume is left."""
        plane = np.asarray(normal, float)
        beyond = self.vertices @ plane - offset
        sign = np.where(beyond > TOLERANCE_M, 1, np.where(beyond < -TOLERANCE_M, -1, 0))
        if not (sign > 0).any():
            return self
        if not (sign < 0).any():
            return None
        points, loops, kept = _cut_faces(self, beyond, sign)
        cap = _missing_loop(loops)
        if len(cap) < 3:
            return None
        loops.append(cap)
        body = _compact(np.vstack([self.normals[kept], plane]), np.append(self.offsets[kept], offset), points, loops)
        return body if body.volume_m3 > LEAST_VOLUME_M3 else None

    def intersect(self, other: Polytope) -> Polytope | None:
        """The part common to both, None where that has no volume."""
        if (self.low >= other.high - TOLERANCE_M).any() or (other.low >= self.high - TOLERANCE_M).any():
            return None
        body: Polytope | None = self
        for normal, offset in zip(other.normals, other.offsets, strict=True):
            if body is None:
                return None
            body = body.clip(normal, float(offset))
        return body

    def subtract(self, others: Iterable[Polytope]) -> tuple[Polytope, ...]:
        """Convex pieces that together are this body less the others, without overlap."""
        pieces: list[Polytope] = [self]
        for other in others:
            pieces = [rest for piece in pieces for rest in _less(piece, other)]
        return tuple(pieces)

    def moved(self, by: ArrayLike) -> Polytope:
        """The same body moved by (3,) [m]."""
        step = np.asarray(by, float)
        return Polytope(self.normals, self.offsets + self.normals @ step, self.vertices + step, self.faces)


def prism_faces(n: int) -> tuple[Face, ...]:
    """Faces of a prism over n corners: n sides, floor and lid; its corners come floor first."""
    sides = [(i, (i + 1) % n, (i + 1) % n + n, i + n) for i in range(n)]
    return (*sides, tuple(reversed(range(n))), tuple(range(n, 2 * n)))


_BOX_NORMALS = np.array([(0, -1, 0), (1, 0, 0), (0, 1, 0), (-1, 0, 0), (0, 0, -1), (0, 0, 1)], dtype=np.float64)
_BOX_FACES = prism_faces(4)
_BOX_HIGH = np.array([(x, y, z) for z in (0, 1) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))], dtype=np.bool_)


def _less(piece: Polytope, other: Polytope) -> list[Polytope]:
    if piece.intersect(other) is None:
        return [piece]
    out: list[Polytope] = []
    rest: Polytope | None = piece
    for normal, offset in zip(other.normals, other.offsets, strict=True):
        if rest is None:
            break
        beyond = rest.clip(-normal, -float(offset))
        if beyond is not None:
            out.append(beyond)
        rest = rest.clip(normal, float(offset))
    return out


def _cut_faces(body: Polytope, beyond: FloatArray, sign: NDArray[np.int_]) -> tuple[FloatArray, list[Face], list[int]]:
    """Every face loop cut at the plane, over a longer list of points, and which faces are left."""
    points = list(body.vertices)
    made: dict[tuple[int, int], int] = {}
    loops: list[Face] = []
    kept: list[int] = []
    for index, face in enumerate(body.faces):
        loop: list[int] = []
        for a, b in pairwise((*face, face[0])):
            if sign[a] <= 0:
                loop.append(a)
            if sign[a] * sign[b] < 0:
                key = (min(a, b), max(a, b))  # one point per edge, so that both faces share it exactly
                if key not in made:
                    share = beyond[key[0]] / (beyond[key[0]] - beyond[key[1]])
                    made[key] = len(points)
                    points.append(body.vertices[key[0]] * (1 - share) + body.vertices[key[1]] * share)
                loop.append(made[key])
        if len(loop) >= 3 and any(v < len(sign) and sign[v] < 0 for v in face):
            loops.append(tuple(loop))
            kept.append(index)
    return np.array(points), loops, kept


def _missing_loop(loops: Sequence[Face]) -> Face:
    """The loop that closes a surface with one hole in it."""
    edges = {pair for loop in loops for pair in pairwise((*loop, loop[0]))}
    onward = {b: a for a, b in sorted(edges) if (b, a) not in edges}
    if not onward:
        return ()
    first = min(onward)
    chain = [first]
    while (after := onward.get(chain[-1])) is not None and after != first and len(chain) <= len(onward):
        chain.append(after)
    return tuple(chain)


def _compact(normals: FloatArray, offsets: FloatArray, points: FloatArray, loops: Sequence[Face]) -> Polytope:
    """Drop points that no loop uses."""
    used = sorted({v for loop in loops for v in loop})
    place = {v: i for i, v in enumerate(used)}
    return Polytope(normals, offsets, points[used], tuple(tuple(place[v] for v in loop) for loop in loops))


def _without_straight_corners(floor: FloatArray) -> FloatArray:
    """The polygon less corners where it goes straight on; empty where it turns the wrong way."""
    before, after = floor - np.roll(floor, 1, axis=0), np.roll(floor, -1, axis=0) - floor
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    size = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    if (turn < -1e-9 * np.maximum(size, TOLERANCE_M)).any():
        return floor[:0]
    corners: FloatArray = floor[turn > 1e-9 * size]
    return corners


def _distinct(points: FloatArray) -> FloatArray:
    kept: list[FloatArray] = []
    for point in points:
        if all(float(np.abs(point - other).max()) > TOLERANCE_M for other in kept):
            kept.append(point)
    return np.array(kept, dtype=np.float64).reshape(-1, 3)


def _hull_planes(cloud: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Planes through three points with all others behind; of nearly equal ones, that of the widest triangle."""
    n = len(cloud)
    if n < 4:
        raise GeometryError("a body needs four points that are not in one plane")
    i, j, k = np.array([(a, b, c) for a in range(n) for b in range(a + 1, n) for c in range(b + 1, n)]).T
    across = np.cross(cloud[j] - cloud[i], cloud[k] - cloud[i])
    area = np.linalg.norm(across, axis=1)
    wide = area > TOLERANCE_M * 1e-3
    unit, at = across[wide] / area[wide, None], cloud[i[wide]]
    planes: list[tuple[float, FloatArray, float]] = []
    for side in (1.0, -1.0):
        limit = side * np.einsum("ij,ij->i", unit, at)
        most = (side * unit @ cloud.T).max(axis=1)
        for row in np.flatnonzero(most <= limit + TOLERANCE_M):
            planes.append((float(area[wide][row]), side * unit[row], float(most[row])))
    planes.sort(key=lambda plane: -plane[0])
    normals: list[FloatArray] = []
    offsets: list[float] = []
    for _, normal, offset in planes:
        if not any(_same_face(cloud, normal, offset, n_, o_) for n_, o_ in zip(normals, offsets, strict=True)):
            normals.append(normal)
            offsets.append(offset)
    if len(normals) < 4:
        raise GeometryError("the points lie in one plane")
    return np.array(normals), np.array(offsets)


def _same_face(cloud: FloatArray, normal: FloatArray, offset: float, known: FloatArray, limit: float) -> bool:
    """Whether every point on the first plane is on the second too."""
    on = np.abs(cloud @ normal - offset) <= 2 * TOLERANCE_M
    return bool(normal @ known > 0 and (np.abs(cloud[on] @ known - limit) <= 3 * TOLERANCE_M).all())


def _loop(cloud: FloatArray, on: NDArray[np.intp], normal: FloatArray) -> Face:
    """The points of one face in order round it, corners only (gift wrapping, Jarvis 1973)."""
    right = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    right /= np.linalg.norm(right)
    flat = (cloud[on] - cloud[on].mean(axis=0)) @ np.column_stack([right, np.cross(normal, right)])
    first = int(np.argmax((flat**2).sum(axis=1)))  # the farthest from the middle is a corner, whatever lies in line
    ring = [first]
    while (after := _onward(flat, ring[-1])) != first and len(ring) < len(on):
        ring.append(after)
    return tuple(int(on[v]) for v in ring)


def _onward(flat: FloatArray, at: int) -> int:
    """The next corner of the outline: no point lies right of the way there, and none in line lies beyond."""
    best = -1
    for v in range(len(flat)):
        span, out = flat[best] - flat[at], flat[v] - flat[at]
        if v == at:
            continue
        if best < 0:
            best = v
            continue
        left = float(span[0] * out[1] - span[1] * out[0]) / float(np.hypot(*span))
        if left < -TOLERANCE_M or (left <= TOLERANCE_M and out @ out > span @ span and out @ span > 0):
            best = v
    return best
