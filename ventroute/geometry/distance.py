"""Exact distances of points and segments to segments, triangles and convex bodies, on arrays.

Every function takes n of the first thing against m of the second and gives (n, m), in metres.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope

FloatArray = NDArray[np.float64]

TINY = 1e-300  # keeps divisions of nothing by nothing finite


def points_segments(points: FloatArray, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """Distance (n, m) [m] of points (n, 3) to segments (m, 3)-(m, 3); a segment may have no length."""
    span = ends - starts
    out = points[:, None] - starts
    share = np.einsum("nmi,mi->nm", out, span) / np.maximum((span**2).sum(axis=1), TINY)
    return _length(out - np.clip(share, 0, 1)[..., None] * span)


def segments_segments(p: FloatArray, q: FloatArray, a: FloatArray, b: FloatArray) -> FloatArray:
    """Distance (n, m) [m] of segments p-q (n, 3) to segments a-b (m, 3); any may have no length.

    Either both nearest points are inside, where the lines are nearest [1]_, or one is an end.

    References
    ----------
    .. [1] C. Ericson, Real-Time Collision Detection, 2005, section 5.1.9. There the ends are clamped in turn; here
       all four are tried, which needs no case for parallel segments.
    """
    u, v = q - p, b - a
    w = p[:, None] - a
    uu, vv = (u**2).sum(axis=1)[:, None], (v**2).sum(axis=1)
    uv, uw, vw = u @ v.T, np.einsum("nmi,ni->nm", w, u), np.einsum("nmi,mi->nm", w, v)
    det = uu * vv - uv**2
    good = det > 1e-12 * uu * vv
    safe = np.where(good, det, 1.0)
    s, t = (uv * vw - vv * uw) / safe, (uu * vw - uv * uw) / safe
    crossing = good & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    lines = np.where(crossing, _length(w + s[..., None] * u[:, None] - t[..., None] * v), np.inf)
    ends = [points_segments(p, a, b), points_segments(q, a, b), points_segments(a, p, q).T, points_segments(b, p, q).T]
    return np.asarray(np.minimum.reduce([lines, *ends]), dtype=np.float64)


def points_triangles(points: FloatArray, triangles: FloatArray) -> FloatArray:
    """Distance (n, m) [m] of points (n, 3) to triangles (m, 3, 3)."""
    a, b, c = (triangles[:, k] for k in range(3))
    edges = [points_segments(points, s, e) for s, e in ((a, b), (b, c), (c, a))]
    over, height = _over(points, triangles)
    return np.asarray(np.minimum.reduce([*edges, np.where(over, np.abs(height), np.inf)]), dtype=np.float64)


def segments_triangles(p: FloatArray, q: FloatArray, triangles: FloatArray) -> FloatArray:
    """Distance (n, m) [m] of segments p-q (n, 3) to triangles (m, 3, 3), 0 where they meet."""
    a, b, c = (triangles[:, k] for k in range(3))
    edges = [segments_segments(p, q, s, e) for s, e in ((a, b), (b, c), (c, a))]
    ends = []
    for at in (p, q):
        over, height = _over(at, triangles)
        ends.append(np.where(over, np.abs(height), np.inf))
    return np.where(_pierces(p, q, triangles), 0.0, np.minimum.reduce([*edges, *ends]))


def segments_polytope(p: FloatArray, q: FloatArray, body: Polytope) -> FloatArray:
    """Signed distance (n,) [m] of segments p-q (n, 3) to a convex body.

    Exact where they are apart. Where they meet: zero or less, no greater than the true (negative) depth.
    """
    first, last = p @ body.normals.T - body.offsets, q @ body.normals.T - body.offsets
    apart = np.minimum(first, last).max(axis=1)
    low, high = _shares_inside(first, last)
    meets = low <= high
    exact = segments_triangles(p, q, body.triangles()).min(axis=1)
    return np.asarray(np.where(meets, np.minimum(apart, 0.0), exact), dtype=np.float64)


def _shares_inside(first: FloatArray, last: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Shares of segments between which they are inside, from their ends' distances (n, k) above k planes."""
    fall = first - last
    with np.errstate(divide="ignore", invalid="ignore"):
        share = first / fall
    low = np.where(fall > 0, share, np.where((fall == 0) & (first > 0), np.inf, 0.0)).max(axis=1)
    high = np.where(fall < 0, share, 1.0).min(axis=1)
    return np.maximum(low, 0.0), np.minimum(high, 1.0)


def _length(vectors: FloatArray) -> FloatArray:
    return np.asarray(np.sqrt(np.einsum("...i,...i->...", vectors, vectors)), dtype=np.float64)


def _over(points: FloatArray, triangles: FloatArray) -> tuple[NDArray[np.bool_], FloatArray]:
    """Whether points (n, 3) lie straight over triangles (m, 3, 3), and their height over the plane: (n, m) each."""
    a = triangles[:, 0]
    u, v = triangles[:, 1] - a, triangles[:, 2] - a
    normal = np.cross(u, v)
    size = np.maximum((normal**2).sum(axis=1), TINY)
    out = points[:, None] - a
    s = np.einsum("nmi,mi->nm", out, np.cross(v, normal)) / size
    t = np.einsum("nmi,mi->nm", out, np.cross(normal, u)) / size
    inside = (s >= 0) & (t >= 0) & (s + t <= 1) & (size > 1e-24)
    return inside, np.einsum("nmi,mi->nm", out, normal) / np.sqrt(size)


def _pierces(p: FloatArray, q: FloatArray, triangles: FloatArray) -> NDArray[np.bool_]:
    """Whether segments go through triangles: (n, m)."""
    a = triangles[:, 0]
    normal = np.cross(triangles[:, 1] - a, triangles[:, 2] - a)
    first = np.einsum("nmi,mi->nm", p[:, None] - a, normal)
    last = np.einsum("nmi,mi->nm", q[:, None] - a, normal)
    through = (first > 0) != (last > 0)
    share = np.where(through, first / np.where(through, first - last, 1.0), 0.0)
    at = p[:, None] + share[..., None] * (q - p)[:, None]
    u, v = triangles[:, 1] - a, triangles[:, 2] - a
    size = np.maximum((normal**2).sum(axis=1), TINY)
    s = np.einsum("nmi,mi->nm", at - a, np.cross(v, normal)) / size
    t = np.einsum("nmi,mi->nm", at - a, np.cross(normal, u)) / size
    return np.asarray(through & (s >= 0) & (t >= 0) & (s + t <= 1) & (size > 1e-24), dtype=np.bool_)
