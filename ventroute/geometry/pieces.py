"""Sets of convex bodies: which are open to each other, and which join to one convex body."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ventroute.errors import GeometryError
from ventroute.geometry.polytope import TOLERANCE_M, Polytope

PROBE_M = 1e-3  # a body is pushed so far across a common face to see whether they share some of it
CONTACT_M2 = 1e-6  # less contact than a square millimetre is a corner or an edge


def share_air(first: Polytope, second: Polytope) -> bool:
    """Whether two bodies overlap or share part of a face; an edge or a corner is not enough."""
    if (first.low > second.high + TOLERANCE_M).any() or (second.low > first.high + TOLERANCE_M).any():
        return False
    if first.intersect(second) is not None:
        return True
    for k, m in _common_planes(first, second):
        overlap = first.moved(first.normals[k] * PROBE_M).intersect(second)
        if overlap is not None and overlap.volume_m3 > PROBE_M * CONTACT_M2:
            return m >= 0
    return False


def _common_planes(first: Polytope, second: Polytope) -> list[tuple[int, int]]:
    """Pairs of faces that lie in one plane and look at each other."""
    facing = first.normals @ second.normals.T < -1 + 1e-12
    level = np.abs(first.offsets[:, None] + second.offsets[None]) <= 2 * TOLERANCE_M
    return [(int(k), int(m)) for k, m in np.argwhere(facing & level)]


def joined(pieces: Sequence[Polytope]) -> tuple[Polytope, ...]:
    """The same volume in fewer convex bodies: two that share a face become one while the pair is convex."""
    left = list(pieces)
    i = 0
    while i < len(left):
        for j in range(len(left)):
            one = _one(left[i], left[j]) if i != j else None
            if one is not None:
                left = [piece for k, piece in enumerate(left) if k not in (i, j)]
                left.insert(min(i, j), one)
                i = -1
                break
        i += 1
    return tuple(left)


def _one(first: Polytope, second: Polytope) -> Polytope | None:
    """Two bodies as one, None where the pair is not convex.

    With the common face left out, the remaining planes of both hold exactly both bodies when every corner of each
    keeps to the other's planes.
    """
    if (first.low > second.high + TOLERANCE_M).any() or (second.low > first.high + TOLERANCE_M).any():
        return None
    for k, m in _common_planes(first, second):
        mine, theirs = np.arange(len(first.offsets)) != k, np.arange(len(second.offsets)) != m
        over = first.normals[mine] @ second.vertices.T - first.offsets[mine, None]
        back = second.normals[theirs] @ first.vertices.T - second.offsets[theirs, None]
        if over.max() <= TOLERANCE_M and back.max() <= TOLERANCE_M:
            try:
                return Polytope.hull(np.vstack([first.vertices, second.vertices]))
            except GeometryError:
                return None
    return None
