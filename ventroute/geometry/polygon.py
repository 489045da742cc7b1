"""Simple polygons in the plane: turning sense, crossing itself, inside, pieces that are convex."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ventroute.errors import GeometryError

FloatArray = NDArray[np.float64]
Ring = tuple[int, ...]

TOLERANCE_M = 1e-7


def area_m2(ring: ArrayLike) -> float:
    """Area [m2] of a polygon (n, 2) [m], negative where it runs clockwise."""
    at = np.asarray(ring, float)
    onward = np.roll(at, -1, axis=0)
    return float((at[:, 0] * onward[:, 1] - at[:, 1] * onward[:, 0]).sum() / 2)


def counter_clockwise(ring: ArrayLike) -> FloatArray:
    """The same polygon (n, 2) [m] run counter-clockwise."""
    at = np.asarray(ring, float)
    return at if area_m2(at) >= 0 else at[::-1]


def crosses_itself(ring: ArrayLike) -> bool:
    """Whether a side of the polygon (n, 2) [m] meets another one elsewhere than at their common corner.

    Corners that are repeated, and spikes (a side that runs back on the one before), count as crossing.
    """
    at = np.asarray(ring, float)
    n = len(at)
    ends = np.roll(at, -1, axis=0)
    if (np.linalg.norm(ends - at, axis=1) <= TOLERANCE_M).any():
        return True
    for i, j in combinations(range(n), 2):
        if j in (i + 1, i - 1 + n):
            first, second = (i, j) if j == i + 1 else (j, i)
            if _runs_back(at[first], at[second], ends[second]):
                return True
        elif _meet(at[i], ends[i], at[j], ends[j]):
            return True
    return False


def inside(ring: ArrayLike, points: ArrayLike) -> NDArray[np.bool_]:
    """Which points (m, 2) [m] lie inside the polygon (n, 2) or within 1e-7 m of its sides: (m,)."""
    at, cloud = np.asarray(ring, float), np.asarray(points, float).reshape(-1, 2)
    ends = np.roll(at, -1, axis=0)
    span, out = ends - at, cloud[:, None] - at
    share = np.clip(np.einsum("mni,ni->mn", out, span) / np.maximum((span**2).sum(axis=1), 1e-300), 0, 1)
    near = np.linalg.norm(out - share[..., None] * span, axis=2).min(axis=1) <= TOLERANCE_M
    straddles = (at[:, 1] > cloud[:, None, 1]) != (ends[:, 1] > cloud[:, None, 1])
    rise = np.where(span[:, 1] == 0, 1.0, span[:, 1])
    right = cloud[:, None, 0] < at[:, 0] + (cloud[:, None, 1] - at[:, 1]) * span[:, 0] / rise
    odd = (straddles & right).sum(axis=1) % 2 == 1
    return np.asarray(near | odd, dtype=np.bool_)


def convex_parts(ring: ArrayLike) -> tuple[FloatArray, ...]:
    """Convex, counter-clockwise polygons (k, 2) [m] that together are the simple polygon (n, 2), without overlap.

    Ears are cut off, then triangles joined again while they stay convex [1]_; at most four times as many parts as
    there need be.

    Raises
    ------
    GeometryError
        The polygon crosses itself, or has fewer than three corners or no area.

    References
    ----------
    .. [1] S. Hertel, K. Mehlhorn, Fast triangulation of simple polygons, FCT 1983.
    """
    at = np.asarray(ring, float).reshape(-1, 2)
    if len(at) < 3 or crosses_itself(at):
        raise GeometryError("a polygon needs three corners or more, and must not cross itself")
    at = _corners_only(counter_clockwise(at))
    if len(at) < 3 or area_m2(at) <= TOLERANCE_M**2:
        raise GeometryError("a polygon needs an area")
    parts = _ears(at)
    while (joined := _join_two(at, parts)) is not None:
        parts = joined
    return tuple(at[list(part)] for part in parts)


def _turn(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    """Sine-like measure of the turn at b [m]: distance of c from the line a-b, positive to the left."""
    first, second = b - a, c - b
    return float((first[0] * second[1] - first[1] * second[0]) / max(float(np.hypot(*first)), 1e-300))


def _runs_back(a: FloatArray, b: FloatArray, c: FloatArray) -> bool:
    return abs(_turn(a, b, c)) <= TOLERANCE_M and float((b - a) @ (c - b)) < 0


def _meet(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> bool:
    """Whether two sides touch or cross."""
    if _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0:
        return True
    return any(_on(p, q, r) for p, q, r in ((a, b, c), (a, b, d), (c, d, a), (c, d, b)))


def _side(a: FloatArray, b: FloatArray, p: FloatArray) -> int:
    span, out = b - a, p - a
    off = float(span[0] * out[1] - span[1] * out[0]) / float(np.hypot(*span))
    return 0 if abs(off) <= TOLERANCE_M else int(np.sign(off))


def _on(a: FloatArray, b: FloatArray, p: FloatArray) -> bool:
    span = b - a
    share = float(np.clip((p - a) @ span / (span @ span), 0, 1))
    return float(np.linalg.norm(p - a - share * span)) <= TOLERANCE_M


def _corners_only(at: FloatArray) -> FloatArray:
    """Without the corners where the polygon goes straight on."""
    n = len(at)
    kept = [i for i in range(n) if abs(_turn(at[i - 1], at[i], at[(i + 1) % n])) > TOLERANCE_M]
    return np.asarray(at[kept], dtype=np.float64)


def _ears(at: FloatArray) -> list[Ring]:
    left = list(range(len(at)))
    out: list[Ring] = []
    while len(left) > 3:
        n = len(left)
        ears = [(left[i - 1], left[i], left[(i + 1) % n]) for i in range(n)]
        found = [ear for ear in ears if _is_ear(at, ear, left)]
        if not found:
            straight = [e for e in ears if abs(_turn(at[e[0]], at[e[1]], at[e[2]])) <= TOLERANCE_M]
            if not straight:
                raise GeometryError("a polygon that cannot be cut into triangles")
            left.remove(straight[0][1])
            continue
        ear = max(found, key=lambda e: (_thickness(at, e), -e[1]))  # thin slivers last
        out.append(ear)
        left.remove(ear[1])
    a, b, c = left
    return [*out, (a, b, c)] if _turn(at[a], at[b], at[c]) > TOLERANCE_M else out


def _is_ear(at: FloatArray, ear: tuple[int, int, int], left: list[int]) -> bool:
    a, b, c = (at[i] for i in ear)
    if _turn(a, b, c) <= TOLERANCE_M:
        return False
    others = [i for i in left if i not in ear]
    return not any(_side(a, b, at[i]) >= 0 and _side(b, c, at[i]) >= 0 and _side(c, a, at[i]) >= 0 for i in others)


def _thickness(at: FloatArray, ear: tuple[int, int, int]) -> float:
    a, b, c = (at[i] for i in ear)
    longest = max(float(np.linalg.norm(b - a)), float(np.linalg.norm(c - b)), float(np.linalg.norm(a - c)))
    return round(abs(area_m2([a, b, c])) / longest, 9)


def _join_two(at: FloatArray, parts: list[Ring]) -> list[Ring] | None:
    """The parts with two of them joined across a common side, None where no joint is convex."""
    for i, j in combinations(range(len(parts)), 2):
        joint = _joint(parts[i], parts[j])
        if joint is not None and _convex(at, joint):
            return [part for k, part in enumerate(parts) if k not in (i, j)] + [joint]
    return None


def _joint(first: Ring, second: Ring) -> Ring | None:
    for k, a in enumerate(first):
        b = first[(k + 1) % len(first)]
        for m, c in enumerate(second):
            if c == b and second[(m + 1) % len(second)] == a:
                onward = second[m:] + second[:m]
                return first[k + 1 :] + first[: k + 1] + onward[2:]
    return None


def _convex(at: FloatArray, ring: Ring) -> bool:
    turns = [_turn(at[a], at[b], at[c]) for a, b, c in zip(ring[-1:] + ring, ring, ring[1:] + ring[:1], strict=False)]
    return len(set(ring)) == len(ring) and min(turns) >= -1e-9
