"""Closed triangle surfaces: which points they surround, what of them is near, boxes that enclose what they surround."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.intp]
Box = tuple[FloatArray, FloatArray]

CELLS = 12  # along the longest side of the cover
CHUNK = 2_000_000  # point-triangle pairs held at once
BLOCK = 4096  # triangles looked at at once, few enough to stay in a processor's cache
SLACK = 1e-9  # share of a cell
MOST_GROUP_CELLS = 40  # along each axis, whose cube is a number of 16 bits, which are sorted fast


@dataclass(frozen=True, slots=True, eq=False)
class Boxed:
    """Triangles with a box round each, neighbours in groups with a box round each group.

    ``triangles`` (t, 3, 3) [m]; ``order`` (t,) their rows group by group, ``low`` and ``high`` (3, t) their boxes in
    that order; ``first`` (g + 1,) where groups start and end in it; ``group_low`` and ``group_high`` (3, g).
    """

    triangles: FloatArray
    order: IntArray
    low: FloatArray
    high: FloatArray
    first: IntArray
    group_low: FloatArray
    group_high: FloatArray

    @classmethod
    def of(cls, triangles: FloatArray) -> Boxed:
        """Triangles (t, 3, 3) [m] sorted by the cells of a grid that the middles of their boxes lie in."""
        low, high = bounds(triangles)
        middle = (low + high) / 2
        cells = int(np.clip(np.sqrt(len(triangles)) / 16, 1, MOST_GROUP_CELLS))
        least, most = middle.min(axis=1, keepdims=True), middle.max(axis=1, keepdims=True)
        place = np.minimum((middle - least) / np.maximum(most - least, 1e-12) * cells, cells - 1).astype(np.uint16)
        key = (place[0] * cells + place[1]) * cells + place[2]
        order = np.argsort(key, kind="stable")
        starts = np.flatnonzero(np.diff(key[order], prepend=key.max() + 1))
        low, high = low[:, order], high[:, order]
        groups = np.minimum.reduceat(low, starts, axis=1), np.maximum.reduceat(high, starts, axis=1)
        return cls(triangles, order, low, high, np.append(starts, len(order)), *groups)

    def nearest(self, low: FloatArray, high: FloatArray) -> IntArray:
        """Rows of the triangles in the group whose box is nearest to a box."""
        group = int(np.argmin(apart_m(self.group_low, self.group_high, low, high)))
        return self.order[self.first[group] : self.first[group + 1]]

    def within(self, low: FloatArray, high: FloatArray, reach_m: float) -> IntArray:
        """Rows of the triangles whose boxes come nearer to a box than a reach."""
        groups = np.flatnonzero(apart_m(self.group_low, self.group_high, low, high) < reach_m)
        rows = np.concatenate([np.arange(self.first[g], self.first[g + 1]) for g in groups] or [self.first[:0]])
        near = apart_m(self.low[:, rows], self.high[:, rows], low, high) < reach_m
        return np.asarray(self.order[rows[near]], dtype=np.intp)


def apart_m(lows: FloatArray, highs: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    """Distance (n,) [m] of boxes (3, n), (3, n) to one box (3,), (3,)."""
    between = np.maximum(lows - high[:, None], low[:, None] - highs).clip(0)
    return np.asarray(np.sqrt(np.einsum("in,in->n", between, between)), dtype=np.float64)


def surrounds(triangles: FloatArray, points: FloatArray) -> BoolArray:
    """Which points (n, 3) lie inside the closed surface (t, 3, 3): (n,).

    The solid angles of the triangles, seen from the point, sum to a whole turn inside and to nothing outside [1]_,
    whichever way the triangles face.

    References
    ----------
    .. [1] A. van Oosterom, J. Strackee, The solid angle of a plane triangle, IEEE Trans. Biomed. Eng. BME-30, 1983.
    """
    step = max(1, CHUNK // max(len(triangles), 1))
    parts = [_turns(triangles, points[i : i + step]) for i in range(0, len(points), step)]
    return np.asarray(np.abs(np.concatenate(parts or [np.zeros(0)])) > 0.5, dtype=np.bool_)


def _turns(triangles: FloatArray, points: FloatArray) -> FloatArray:
    a, b, c = (triangles[None, :, k] - points[:, None] for k in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=2) for v in (a, b, c))
    top = np.einsum("ntk,ntk->nt", a, np.cross(b, c))
    ab, bc, ca = (np.einsum("ntk,ntk->nt", u, v) for u, v in ((a, b), (b, c), (c, a)))
    return np.asarray(np.arctan2(top, la * lb * lc + ab * lc + bc * la + ca * lb).sum(axis=1) / (2 * np.pi))


def cover_of(triangles: FloatArray, cells: int = CELLS) -> tuple[Box, ...]:
    """Boxes (least, greatest corner) that together enclose a closed surface (t, 3, 3) and all that it surrounds.

    Cells of a grid that the surface touches, and those that cannot be reached from outside without touching one, are
    gathered into boxes. Enclosed hollows are filled.
    """
    boxes = bounds(triangles)
    low, high = boxes[0].min(axis=1), boxes[1].max(axis=1)
    size = high - low
    counts = np.maximum(1, np.round(size / size.max() * cells)).astype(int)
    step = size / counts
    touched = _touched(triangles, boxes, low, step, counts)
    full = ~_reached(touched)
    return tuple((low + np.array(a) * step, low + np.array(b) * step) for a, b in _gathered(full))


def bounds(triangles: FloatArray) -> Box:
    """Least and greatest corner of each triangle (t, 3, 3): (3, t) each, a row for each axis."""
    low, high = np.empty((2, 3, len(triangles)))
    for at in range(0, len(triangles), BLOCK):
        rows = slice(at, at + BLOCK)
        corners = np.ascontiguousarray(np.moveaxis(triangles[rows], 0, -1))
        corners.min(axis=0, out=low[:, rows])
        corners.max(axis=0, out=high[:, rows])
    return low, high


def _touched(
    triangles: FloatArray, boxes: Box, low: FloatArray, step: FloatArray, counts: NDArray[np.int_]
) -> BoolArray:
    """Cells that a triangle may touch: its bounds and its plane do."""
    first, last = np.empty((2, 3, len(triangles)), dtype=np.intp)
    for ends, slack, cells in ((boxes[0], -SLACK, first), (boxes[1], SLACK, last)):
        for at in range(0, len(triangles), BLOCK):
            part = slice(at, at + BLOCK)
            place = np.floor((ends[:, part] - low[:, None]) / step[:, None] + slack)
            cells[:, part] = np.clip(place, 0, counts[:, None] - 1)
    grid: BoolArray = np.zeros(tuple(counts), dtype=np.bool_)
    one = (first == last).all(axis=0)
    grid[tuple(first[:, one])] = True
    spread = np.flatnonzero(~one)
    held = np.cumsum(np.prod(last[:, spread] - first[:, spread] + 1, axis=0))
    for rows in np.split(spread, np.flatnonzero(np.diff(held // CHUNK)) + 1):
        owner, index = _cells(first[:, rows].T, last[:, rows].T)
        new = ~grid[tuple(index.T)]
        owner, index = owner[new], index[new]
        corners = triangles[rows[owner]]
        normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        centres = low + (index + 0.5) * step - corners[:, 0]
        reach = (step / 2 * np.abs(normal)).sum(axis=1) * (1 + 1e-9)
        near = np.abs(np.einsum("ci,ci->c", centres, normal)) <= reach
        grid[tuple(index[near].T)] = True
    return grid


def _cells(first: NDArray[np.int_], last: NDArray[np.int_]) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    """Every cell of n blocks of cells, first to last (n, 3): (c,) number of the block, (c, 3) the cell."""
    sides = last - first + 1
    counts = np.prod(sides, axis=1)
    owner = np.repeat(np.arange(len(first)), counts)
    place = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    rest, k = np.divmod(place, sides[owner, 2])
    i, j = np.divmod(rest, sides[owner, 1])
    return owner, first[owner] + np.stack([i, j, k], axis=1)


def _reached(touched: BoolArray) -> BoolArray:
    """Free cells that can be walked to from outside the grid, face to face."""
    free = np.pad(~touched, 1, constant_values=True)
    seen = np.zeros_like(free)
    seen[0], seen[-1], seen[:, 0], seen[:, -1], seen[:, :, 0], seen[:, :, -1] = (True,) * 6
    count = -1
    while count != (count := int(seen.sum())):
        for axis in range(3):
            for way in (1, -1):
                seen |= np.roll(seen, way, axis) & free
    return np.asarray(seen[1:-1, 1:-1, 1:-1], dtype=np.bool_)


def _gathered(full: BoolArray) -> list[tuple[tuple[int, int, int], tuple[int, int, int]]]:
    """Index boxes [first, last) that hold each full cell once: grown along z, then y, then x."""
    left = full.copy()
    boxes = []
    while left.any():
        i, j, k = (int(v) for v in np.argwhere(left)[0])
        a, b, c = i + 1, j + 1, k + 1
        while c < left.shape[2] and left[i, j, c]:
            c += 1
        while b < left.shape[1] and left[i, b, k:c].all():
            b += 1
        while a < left.shape[0] and left[a, j:b, k:c].all():
            a += 1
        left[i:a, j:b, k:c] = False
        boxes.append(((i, j, k), (a, b, c)))
    return boxes
