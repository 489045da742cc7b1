"""Signed distances to boxes and plan outlines, and convex bodies that enclose what lies within a reach of them."""

from __future__ import annotations

from functools import lru_cache
from itertools import permutations, product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ventroute.geometry.polygon import inside
from ventroute.geometry.polytope import Polytope

FloatArray = NDArray[np.float64]

SIDES = 16  # of the polygon that stands for a circle in plan: it exceeds the circle by 2 %


def box_gap(low: ArrayLike, high: ArrayLike, points: FloatArray) -> FloatArray:
    """Distance [m] of points (n, d) to a box (d,), (d,): negative inside, the depth to the nearest side."""
    centre, half = (np.asarray(low) + np.asarray(high)) / 2, (np.asarray(high, float) - np.asarray(low)) / 2
    beyond = np.abs(points - centre) - half
    outside = np.linalg.norm(np.maximum(beyond, 0.0), axis=1)
    return np.asarray(outside + np.minimum(beyond.max(axis=1), 0.0))


def ring_gap(ring: FloatArray, points: FloatArray) -> FloatArray:
    """Distance [m] of points (n, 2) to a plan outline (k, 2): negative inside, the depth to the nearest side."""
    sides = np.stack([line_gap(a, b, points) for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True)])
    least = sides.min(axis=0)
    return np.asarray(np.where(inside(ring, points) & (least > 0), -least, least))


def line_gap(a: FloatArray, b: FloatArray, points: FloatArray) -> FloatArray:
    """Distance [m] of points (n, d) to the line from a to b (d,)."""
    span = b - a
    share = np.clip((points - a) @ span / max(float(span @ span), 1e-300), 0.0, 1.0)
    return np.asarray(np.linalg.norm(points - a - share[:, None] * span, axis=1))


def rectangle(low: ArrayLike, high: ArrayLike) -> FloatArray:
    """Plan outline (4, 2) of a box, counter-clockwise."""
    (x0, y0, *_), (x1, y1, *_) = np.asarray(low, float), np.asarray(high, float)
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def around_box(low: ArrayLike, high: ArrayLike, reach_m: float) -> Polytope:
    """Body of 26 tangent planes that encloses everything within a reach [m] of a box."""
    ball = _ball()
    corners = np.where(ball.vertices > 0, np.asarray(high, float), np.asarray(low, float))
    support = np.where(ball.normals > 0, np.asarray(high, float), np.asarray(low, float))
    offsets = np.einsum("ij,ij->i", ball.normals, support) + reach_m
    return Polytope(ball.normals, offsets, corners + reach_m * ball.vertices, ball.faces)


def upright(outline: FloatArray, reach_m: float, bottom_m: float, top_m: float) -> Polytope:
    """Prism from one height to another that encloses everything within a reach [m] of a convex plan outline (k, 2)."""
    return Polytope.prism(_widened(outline, reach_m), bottom_m, top_m)


def sheared(prism: Polytope, slope: FloatArray, at_zero_m: float) -> Polytope:
    """The prism moved up by the height ``slope @ (x, y) + at_zero_m`` of a plane over each of its points."""
    gx, gy = float(slope[0]), float(slope[1])
    lift = prism.vertices[:, :2] @ slope + at_zero_m
    vertices = prism.vertices + np.column_stack([np.zeros((len(lift), 2)), lift])
    nz = prism.normals[:, 2]
    normals = prism.normals - np.column_stack([nz * gx, nz * gy, np.zeros_like(nz)])
    sizes = np.linalg.norm(normals, axis=1)
    return Polytope(normals / sizes[:, None], (prism.offsets + nz * at_zero_m) / sizes, vertices, prism.faces)


def _widened(outline: FloatArray, reach_m: float) -> FloatArray:
    """Convex outline plus a polygon about a circle of the reach."""
    turns = 2 * np.pi * (np.arange(SIDES) + 0.5) / SIDES
    circle = max(reach_m, 1e-6) / np.cos(np.pi / SIDES) * np.column_stack([np.cos(turns), np.sin(turns)])
    return _hull((outline[:, None] + circle).reshape(-1, 2))


def _hull(cloud: FloatArray) -> FloatArray:
    """Convex hull in the plane, counter-clockwise (monotone chain)."""
    ordered: list[tuple[float, ...]] = sorted({(x, y) for x, y in cloud.tolist()})
    lower, upper = _chain(ordered), _chain(ordered[::-1])
    return np.array(lower[:-1] + upper[:-1])


def _chain(points: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
    chain: list[tuple[float, ...]] = []
    for x, y in points:
        while len(chain) > 1 and _left(chain[-2], chain[-1], x, y) <= 1e-12:
            chain.pop()
        chain.append((x, y))
    return chain


def _left(a: tuple[float, ...], b: tuple[float, ...], x: float, y: float) -> float:
    return (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0])


@lru_cache(maxsize=1)
def _ball() -> Polytope:
    """Body of the 26 planes tangent to a unit ball towards faces, edges and corners of a cube.

    Six corners lie in each octant, none on a plane of the axes, so that the body can be pulled apart along them.
    """
    normals = np.array([n for n in product((-1.0, 0.0, 1.0), repeat=3) if any(n)])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    corner = (1.0, np.sqrt(2) - 1, np.sqrt(3) - np.sqrt(2))  # meets the planes x, x + y and x + y + z
    turned = np.array(sorted(permutations(corner)))
    vertices = np.vstack([turned * signs for signs in product((-1.0, 1.0), repeat=3)])
    faces = tuple(_loop(vertices, normal) for normal in normals)
    return Polytope(normals, np.ones(len(normals)), vertices, faces)


def _loop(vertices: FloatArray, normal: FloatArray) -> tuple[int, ...]:
    """Corners on the tangent plane, counter-clockwise from outside."""
    on = np.flatnonzero(vertices @ normal > 1 - 1e-9)
    first = vertices[on[0]] - normal
    second = np.cross(normal, first)
    spokes = vertices[on] - normal
    return tuple(int(i) for i in on[np.argsort(np.arctan2(spokes @ second, spokes @ first))])
