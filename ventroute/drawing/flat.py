"""Flat views of the house to scale: plan and elevation, hulls, slices, running dimensions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ventroute.constants import INCH_M
from ventroute.drawing.board import Board, Label, Spot
from ventroute.drawing.primitives import Line, Point
from ventroute.geometry.polytope import Polytope
from ventroute.model.appliance import Vec3
from ventroute.units import format_length

FloatArray = NDArray[np.float64]
SAME_M = INCH_M / 16  # two measures that read the same


@dataclass(frozen=True, slots=True)
class Flat:
    """A view square to a plane: ``right``, ``up`` unit directions of space, ``scale`` mm on paper for a metre."""

    right: Vec3
    up: Vec3
    origin: Point  # of the paper, for the point of space 0, 0, 0
    scale: float

    @property
    def toward(self) -> Vec3:
        """Direction to the viewer."""
        x, y, z = np.cross(self.right, self.up).tolist()
        return (x, y, z)

    def measure(self, point: ArrayLike) -> Point:
        """A point of space in metres along the view's own axes."""
        at = np.asarray(point, float)
        return float(at @ np.array(self.right)), float(at @ np.array(self.up))

    def at(self, point: ArrayLike) -> Point:
        """A point of space on paper."""
        return self.paper(self.measure(point))

    def paper(self, measured: Point) -> Point:
        """Metres along the view's axes on paper."""
        return (self.origin[0] + measured[0] * self.scale, self.origin[1] + measured[1] * self.scale)

    def outline(self, body: Polytope) -> tuple[Point, ...]:
        """Silhouette of a convex body on paper."""
        return hull([self.at(vertex) for vertex in body.vertices])


def hull(points: Sequence[Point]) -> tuple[Point, ...]:
    """Convex hull, counter-clockwise."""
    cloud = sorted({(round(x, 6), round(y, 6)) for x, y in points})
    if len(cloud) < 3:
        return tuple(cloud)
    return tuple(_half(cloud) + _half(cloud[::-1]))


def _half(cloud: list[Point]) -> list[Point]:
    out: list[Point] = []
    for p in cloud:
        while len(out) > 1 and _turn(out[-2], out[-1], p) <= 0:
            out.pop()
        out.append(p)
    return out[:-1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def slice_of(body: Polytope, view: Flat, through: ArrayLike, window: tuple[Point, Point]) -> tuple[Point, ...]:
    """Where a body meets the plane of the view through a point, inside a window; in metres along the view's axes."""
    (x0, y0), (x1, y1) = window
    ring: list[Point] = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    deep = float(np.asarray(through, float) @ np.array(view.toward))
    a, b = body.normals @ np.array(view.right), body.normals @ np.array(view.up)
    limit = body.offsets - deep * (body.normals @ np.array(view.toward))
    for k in range(len(limit)):
        ring = _clipped(ring, float(a[k]), float(b[k]), float(limit[k]))
    return tuple(ring) if len(ring) > 2 else ()


def _clipped(ring: list[Point], a: float, b: float, limit: float) -> list[Point]:
    """What of a convex ring keeps ``a x + b y <= limit``."""
    out: list[Point] = []
    for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
        u, v = a * p[0] + b * p[1] - limit, a * q[0] + b * q[1] - limit
        if u <= 0:
            out.append(p)
        if (u < 0) != (v < 0) and u != v:
            t = u / (u - v)
            if 0 < t < 1:
                out.append((p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t))
    return out


def within(start: ArrayLike, end: ArrayLike, body: Polytope) -> tuple[float, float] | None:
    """The part of a stretch inside a convex body, as fractions of it, surfaces included."""
    a, way = np.asarray(start, float), np.asarray(end, float) - np.asarray(start, float)
    rate, room = body.normals @ way, body.offsets - body.normals @ a
    if bool(((np.abs(rate) < 1e-12) & (room < -1e-6)).any()):
        return None
    low = max([0.0, *(room[rate < -1e-12] / rate[rate < -1e-12]).tolist()])
    high = min([1.0, *(room[rate > 1e-12] / rate[rate > 1e-12]).tolist()])
    return (low, high) if high - low > 1e-9 else None


def spread(wanted: Sequence[float], sizes: Sequence[float], gap: float) -> list[float]:
    """Centres as near the wanted ones (in rising order) as their sizes allow, least squares."""
    blocks: list[tuple[float, int]] = []  # mean of (wanted less own place in the block), count
    places, at = [], 0.0
    for k, size in enumerate(sizes):
        at += (sizes[k - 1] + size) / 2 + gap if k else 0.0
        places.append(at)
    for want, place in zip(wanted, places, strict=True):
        mean, count = want - place, 1
        while blocks and blocks[-1][0] >= mean:
            before, n = blocks.pop()
            mean, count = (before * n + mean * count) / (n + count), n + count
        blocks.append((mean, count))
    starts = [mean for mean, count in blocks for _ in range(count)]
    return [start + place for start, place in zip(starts, places, strict=True)]


ACROSS_MM = 3.2  # between figures in one row, wider than the spaces inside them: "9 ft" and "11 ft 2 in" stay two


@dataclass(frozen=True, slots=True)
class Mark:
    """A running dimension: where on paper, what it says, of what."""

    place: Point
    value_m: float
    about: str


def distinct(marks: Sequence[Mark]) -> list[Mark]:
    """One mark for each measure, in rising order."""
    out: list[Mark] = []
    for mark in sorted(marks, key=lambda m: (m.value_m, m.about)):
        if not out or mark.value_m - out[-1].value_m > SAME_M:
            out.append(mark)
    return out


def running(board: Board, marks: Sequence[Mark], edge: float, across: bool, units: str, size: float = 2.6) -> float:
    """Running dimensions from one wall, lettered along an edge of the view.

    `across` letters along the bottom (`edge` is a y), else along the left side (`edge` is an x). Returns how far the
    lettering reaches.
    """
    kept = sorted(distinct(marks), key=lambda m: m.place[0] if across else m.place[1])
    axis = 0 if across else 1
    named = [
        Label((format_length(m.value_m, units),), size, "dimension", value_m=m.value_m, about=m.about) for m in kept
    ]
    centres = spread(
        [m.place[axis] for m in kept], [label.extent[axis] for label in named], ACROSS_MM if across else 1.0
    )
    far = edge
    for mark, label, centre in zip(kept, named, centres, strict=True):
        width, height = label.extent
        half = (height if across else width) / 2
        spots = (_lettered(mark, axis, edge, centre, half, k) for k in range(400))
        far = min(far, board.place(label, spots).centre[1 - axis] - half)
    return far


def _lettered(mark: Mark, axis: int, edge: float, centre: float, half: float, row: int) -> Spot:
    """A place in a row outside the edge, with a kinked line from what is measured."""
    foot = edge - 6.2 - 4.4 * row
    points = [mark.place, _on(axis, mark.place[axis], edge - 2.0), _on(axis, centre, foot)]
    lines = tuple(Line(a, b, "leader") for a, b in pairwise(points))
    return Spot(_on(axis, centre, foot - 0.8 - half), 200.0 * row, lines)


def _on(axis: int, along: float, across: float) -> Point:
    return (along, across) if axis == 0 else (across, along)
