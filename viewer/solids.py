"""Triangles of simple solids: boxes, prisms, cones, tubes along a path. Arrays in, arrays out, metres.

Every function returns (n, 3, 3) triangles, counter-clockwise seen from outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

SIDES = 14  # flats of a drawn circle: its edge stays within 3 % of the radius, and shading hides the rest


def nothing() -> FloatArray:
    """No triangle."""
    return np.zeros((0, 3, 3))


def join(parts: Sequence[FloatArray]) -> FloatArray:
    """Several sets of triangles as one."""
    return np.concatenate(parts) if parts else nothing()


def box(corner: ArrayLike, size: ArrayLike) -> FloatArray:
    """A box by its least corner [m] and its size [m]: 12 triangles."""
    low = np.asarray(corner, float)
    dx, dy, dz = np.asarray(size, float)
    floor = low[:2] + np.array([(0.0, 0.0), (dx, 0.0), (dx, dy), (0.0, dy)])
    return prism(floor, float(low[2]), float(low[2] + dz))


def flat(rings: Sequence[ArrayLike]) -> NDArray[np.int64]:
    """Triangles, as indices (n, 3), of a polygon with holes: first ring outside, the others holes."""
    import mapbox_earcut  # loaded late: only drawing needs it

    loops = [np.asarray(ring, float) for ring in rings]
    ends = np.cumsum([len(loop) for loop in loops]).astype(np.uint32)
    found = mapbox_earcut.triangulate_float64(np.concatenate(loops), ends)
    return np.asarray(found, np.int64).reshape(-1, 3)


def plate(rings: Sequence[ArrayLike], height_m: float) -> FloatArray:
    """A flat horizontal polygon with holes at one height, facing up."""
    points = np.concatenate([np.asarray(ring, float) for ring in rings])
    placed = np.column_stack([points, np.full(len(points), height_m)])
    found = placed[flat(rings)]
    turned = _normals(found)[:, 2] < 0.0
    found[turned] = found[turned][:, ::-1]
    return found


def prism(floor_xy: ArrayLike, bottom_m: float, top_m: float) -> FloatArray:
    """A vertical prism over a counter-clockwise polygon (n, 2), which need not be convex."""
    floor = np.asarray(floor_xy, float)
    return join([plate([floor], bottom_m)[:, ::-1], plate([floor], top_m), wall(floor, bottom_m, top_m)])


def wall(floor_xy: ArrayLike, bottom_m: float, top_m: float) -> FloatArray:
    """The upright sides alone of a prism."""
    floor = np.asarray(floor_xy, float)
    low = np.column_stack([floor, np.full(len(floor), bottom_m)])
    high = np.column_stack([floor, np.full(len(floor), top_m)])
    return _band(low, high)


def slab(corners: ArrayLike, thickness_m: float) -> FloatArray:
    """A flat slab: its outer surface's corners (n, 3), and the thickness below, square to it."""
    top = np.asarray(corners, float)
    normal = np.cross(top[1] - top[0], top[2] - top[0])
    normal /= np.linalg.norm(normal)
    if normal[2] < 0.0:
        top, normal = top[::-1], -normal
    low = top - normal * thickness_m
    index = flat([top[:, :2]])
    up = top[index]
    turned = _normals(up) @ normal < 0.0
    index[turned] = index[turned][:, ::-1]
    return join([top[index], low[index][:, ::-1], _band(low, top)])


def cone(start: ArrayLike, end: ArrayLike, radius_start_m: float, radius_end_m: float) -> FloatArray:
    """A closed frustum along an axis (a cylinder where the radii are equal)."""
    return rings_solid(np.array([start, end], float), np.array([radius_start_m, radius_end_m]))


def tube(path: ArrayLike, radius_m: float) -> FloatArray:
    """A closed round tube along a path (n, 3)."""
    points = np.asarray(path, float)
    return rings_solid(points, np.full(len(points), radius_m))


def rings_solid(path: FloatArray, radii_m: FloatArray) -> FloatArray:
    """A closed solid of circles square to a path, with a radius at each of its points."""
    path, radii_m = _distinct(path, radii_m)
    if len(path) < 2:
        return nothing()
    circles = _circles(path, radii_m)
    sides = [_band(below, above) for below, above in pairwise(circles)]
    return join([*sides, _fan(path[0], circles[0])[:, ::-1], _fan(path[-1], circles[-1])])


def bend_path(start: ArrayLike, corner: ArrayLike, end: ArrayLike, steps: int = 4) -> FloatArray:
    """A centreline that turns from start-corner to corner-end by the largest arc that fits, (n, 3)."""
    a, c, b = (np.asarray(point, float) for point in (start, corner, end))
    reach = min(np.linalg.norm(a - c), np.linalg.norm(b - c))
    if reach < 1e-9:
        return np.array([a, b])
    first = c + (a - c) / np.linalg.norm(a - c) * reach
    last = c + (b - c) / np.linalg.norm(b - c) * reach
    t = np.linspace(0.0, 1.0, steps + 1)[:, None]
    weight = np.cos(np.arccos(np.clip(np.dot(first - c, c - last) / reach**2, -1.0, 1.0)) / 2.0)
    # a rational quadratic curve with this weight is the circle's arc (any text on splines, e.g. Piegl and Tiller, 7.3)
    over = (1 - t) ** 2 * first + 2 * t * (1 - t) * weight * c + t**2 * last
    arc = over / ((1 - t) ** 2 + 2 * t * (1 - t) * weight + t**2)
    return np.concatenate([a[None], arc, b[None]])


def _distinct(path: FloatArray, radii_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    keep = np.ones(len(path), bool)
    keep[1:] = np.linalg.norm(np.diff(path, axis=0), axis=1) > 1e-7
    return path[keep], radii_m[keep]


def _circles(path: FloatArray, radii_m: FloatArray) -> FloatArray:
    """(n, SIDES, 3) circles square to the path, carried along it without twist."""
    steps = np.diff(path, axis=0)
    steps /= np.linalg.norm(steps, axis=1)[:, None]
    along = np.concatenate([steps[:1], steps[:-1] + steps[1:], steps[-1:]])
    along /= np.linalg.norm(along, axis=1)[:, None]
    side = np.eye(3)[np.argmin(np.abs(along[0]))]
    angles = np.linspace(0.0, 2.0 * np.pi, SIDES, endpoint=False)
    circles = []
    for point, axis, radius in zip(path, along, radii_m, strict=True):
        side = side - axis * (side @ axis)
        side /= np.linalg.norm(side)
        other = np.cross(axis, side)
        circles.append(point + radius * (np.cos(angles)[:, None] * side + np.sin(angles)[:, None] * other))
    return np.array(circles)


def _band(low: FloatArray, high: FloatArray) -> FloatArray:
    """The strip between two closed loops of as many points."""
    low_next, high_next = np.roll(low, -1, axis=0), np.roll(high, -1, axis=0)
    return np.concatenate([np.stack([low, low_next, high_next], 1), np.stack([low, high_next, high], 1)])


def _fan(centre: FloatArray, loop: FloatArray) -> FloatArray:
    middle = np.broadcast_to(centre, loop.shape)
    return np.stack([middle, loop, np.roll(loop, -1, axis=0)], 1)


def _normals(triangles: FloatArray) -> FloatArray:
    return np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
