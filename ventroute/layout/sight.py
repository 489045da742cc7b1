"""Looking along a line: where it runs in the air of a space, and the barrier between two spaces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ventroute.errors import GeometryError
from ventroute.geometry.polytope import Polytope
from ventroute.layout.spaces import Space
from ventroute.units import format_length

FloatArray = NDArray[np.float64]
Plane = tuple[FloatArray, float]
# in plain numbers, as there are many lines and a body has few faces:
Face = tuple[float, float, float, float]  # outward normal and offset
Line = tuple[tuple[float, ...], tuple[float, ...]]  # a point and the way on

THICKEST_M = 2.0  # more construction than this between two spaces is no wall, floor or roof
CRACK_M = 1e-5  # air shorter than this along the line is a seam between two pieces of construction


@dataclass(frozen=True, slots=True, eq=False)
class Mouth:
    """Where a line leaves air: point (3,), plane of the face with the normal into the barrier, container faces left."""

    point: FloatArray
    plane: Plane
    faces: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Barrier:
    """Construction on a line from the air of one space to that of another; ``axis`` points from the first."""

    axis: FloatArray
    leave: Mouth
    enter: Mouth


class Stretch(NamedTuple):
    """A stretch of air on a line: distances along it, and the faces it ends at, both looking out of the air."""

    start: float
    end: float
    start_face: Face
    end_face: Face


class _Crossing(NamedTuple):
    """A line through a convex body: distances where it goes in and out, and by which faces."""

    start: float
    end: float
    first: int
    last: int


def _line(at: FloatArray, axis: FloatArray) -> Line:
    return tuple(at.tolist()), tuple(axis.tolist())


def _crossing(body: Polytope, line: Line) -> _Crossing | None:
    (px, py, pz), (ax, ay, az) = line
    start, end, first, last = -math.inf, math.inf, 0, 0
    for k, (x, y, z, offset) in enumerate(body.planes):
        pace, room = x * ax + y * ay + z * az, offset - (x * px + y * py + z * pz)
        if abs(pace) < 1e-9:
            if room <= 0:
                return None
        elif pace < 0:
            if room / pace > start:
                start, first = room / pace, k
        elif room / pace < end:
            end, last = room / pace, k
    return _Crossing(start, end, first, last) if end - start > CRACK_M else None


def _air_along(space: Space, line: Line) -> list[Stretch]:
    """Stretches of a line that run in the container of a space and outside its construction, in order.

    Obstacles and solid features do not end a stretch: they stand in the air, they are not what a hole goes through.
    """
    whole = _crossing(space.container, line)
    if whole is None:
        return []
    faces = space.container.planes
    left = [Stretch(whole.start, whole.end, faces[whole.first], faces[whole.last])]
    for body in space.construction:
        hit = _crossing(body, line)
        if hit is not None:
            into, out = _turned(body.planes[hit.first]), _turned(body.planes[hit.last])
            left = [part for stretch in left for part in _without(stretch, hit, into, out)]
    return sorted((s for s in left if s.end - s.start > CRACK_M), key=lambda s: s.start)


def _turned(face: Face) -> Face:
    x, y, z, offset = face
    return -x, -y, -z, -offset


def _without(stretch: Stretch, hit: _Crossing, into: Face, out: Face) -> list[Stretch]:
    if hit.end <= stretch.start or hit.start >= stretch.end:
        return [stretch]
    parts = []
    if hit.start > stretch.start:
        parts.append(Stretch(stretch.start, hit.start, stretch.start_face, into))
    if hit.end < stretch.end:
        parts.append(Stretch(hit.end, stretch.end, out, stretch.end_face))
    return parts


def barrier(at: FloatArray, axis: FloatArray, pair: tuple[Space, Space], spaces: Sequence[Space]) -> Barrier:
    """The construction between two spaces on the line through a point, the nearest to it where there are several.

    Raises
    ------
    GeometryError
        The line does not lead from one space to the other through at most 2 m of construction and nothing else.
    """
    return _barrier(at, axis, *_nearest(_line(at, axis), pair, spaces), pair)


def faces_between(
    at: FloatArray, axis: FloatArray, pair: tuple[Space, Space], spaces: Sequence[Space]
) -> tuple[Face, Face]:
    """The faces of the two mouths of `barrier`, which raises as that does."""
    return _faces(*_nearest(_line(at, axis), pair, spaces))


def _nearest(line: Line, pair: tuple[Space, Space], spaces: Sequence[Space]) -> tuple[Stretch, Stretch]:
    """The air of both spaces on each side of the nearest barrier."""
    airs = [_air_along(space, line) for space in pair]
    for space, air in zip(pair, airs, strict=True):
        if not air:
            raise GeometryError(f'its axis never runs in "{space.name}"; an axis from one space to the other is wanted')
    others = [space for space in spaces if space.index not in (pair[0].index, pair[1].index)]
    options = [(a, b) for a in airs[0] for b in airs[1] if a.end <= b.start + CRACK_M or b.end <= a.start + CRACK_M]
    good = []
    least = np.inf
    for a, b in options:
        low, high = (a.end, b.start) if a.end <= b.start + CRACK_M else (b.end, a.start)
        least = min(least, high - low)
        if high - low <= THICKEST_M and not _between(low, high, line, airs, others):
            good.append((max(low, -high, 0.0), high - low, low, a, b))
    if not good:
        raise GeometryError(_why(least, pair))
    _, _, _, a, b = min(good, key=lambda g: g[:3])
    return a, b


def _why(least_m: float, pair: tuple[Space, Space]) -> str:
    names = f'"{pair[0].name}" and "{pair[1].name}"'
    if least_m > THICKEST_M:
        near, thick = format_length(THICKEST_M), "" if np.isinf(least_m) else f" ({format_length(least_m)} lie between)"
        return f"it leads through nothing: on its axis {names} are not within {near} of each other{thick}"
    return f"another space lies between {names} on its axis; one hole for each barrier is wanted"


def _between(low: float, high: float, line: Line, airs: Sequence[Sequence[Stretch]], others: Sequence[Space]) -> bool:
    """Whether the line runs in the air of the pair, or of any other space, between two distances."""
    ends = ((p + a * low, p + a * high) for p, a in zip(*line, strict=True))
    span = [(min(pair), max(pair)) for pair in ends]
    near = (_air_along(space, line) for space in others if space.container.meets_box(span))
    return any(min(s.end, high) - max(s.start, low) > 100 * CRACK_M for air in (*airs, *near) for s in air)


def _faces(a: Stretch, b: Stretch) -> tuple[Face, Face]:
    onward = a.end <= b.start + CRACK_M
    return (a.end_face, b.start_face) if onward else (a.start_face, b.end_face)


def _barrier(at: FloatArray, axis: FloatArray, a: Stretch, b: Stretch, pair: tuple[Space, Space]) -> Barrier:
    onward = a.end <= b.start + CRACK_M
    way = axis if onward else -axis
    near, far = (a.end, b.start) if onward else (a.start, b.end)
    planes = [(np.array(normal), offset) for *normal, offset in _faces(a, b)]
    points = at + axis * near, at + axis * far
    leave = Mouth(points[0], planes[0], _exits(pair[0], points, way))
    enter = Mouth(points[1], planes[1], _exits(pair[1], points[::-1], -way))
    return Barrier(way, leave, enter)


def _exits(space: Space, points: tuple[FloatArray, ...], way: FloatArray) -> tuple[int, ...]:
    """The container face by which the line leaves the space's container inside the barrier, where it does."""
    body = space.container
    out = _crossing(body, _line(points[0], way))
    if out is None or out.end > float((points[1] - points[0]) @ way) + CRACK_M:
        return ()
    return (out.last,)
