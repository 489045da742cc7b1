"""Conditions on the corners of a strand, and the same as rows over its lengths."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(slots=True, eq=False)
class Row:
    """``g . corner[i] >= t``; with `other`, ``g . corner[i] - h . corner[j] >= t``."""

    corner: int
    g: FloatArray
    t: float
    other: tuple[int, FloatArray] | None = None


NEVER = Row(0, np.zeros(3), 1.0)  # no strand meets it
_ALWAYS = Row(0, np.zeros(3), -1.0)  # every strand does


@dataclass(slots=True, eq=False)
class Rows:
    """M conditions that all strands of a shape share, for each of L shapes with the same numbers of bends."""

    corner: IntArray  # (L, M)
    g: FloatArray  # (L, M, 3)
    t: FloatArray  # (L, M)
    before: FloatArray  # (L, M, k + 1) 1 for the legs before the corner
    others: Rows | None  # ``h . corner[j]`` in all of them, where any has one

    @classmethod
    def of(cls, shapes: Sequence[Sequence[Row]], legs: int) -> Rows:
        """The same as arrays, for strands of so many legs; the fewer are filled up with rows that are always met."""
        most, others = max(len(rows) for rows in shapes), None
        filled = [[*rows, *[_ALWAYS] * (most - len(rows))] for rows in shapes]
        if any(row.other for rows in shapes for row in rows):
            others = cls.of([[Row(*(row.other or (0, np.zeros(3))), 0.0) for row in rows] for rows in filled], legs)
        corner = np.array([[row.corner for row in rows] for rows in filled], dtype=np.intp)
        return cls(
            corner,
            np.array([[row.g for row in rows] for rows in filled]).reshape(*corner.shape, 3),
            np.array([[row.t for row in rows] for rows in filled]),
            (np.arange(legs) < corner[:, :, None]).astype(np.float64),
            others,
        )

    def over(self, shape: IntArray, dirs: FloatArray, base: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rows over the lengths of N strands of shapes (N,): (N, k + 1, 3), (N, k + 2, 3) -> (N, M, k + 1), (N, M)."""
        if len(self.t) == 1:
            a = (dirs @ self.g[0].T).transpose(0, 2, 1) * self.before
            b = self.t - np.vecdot(base.take(self.corner[0], 1), self.g[0])
        else:
            g, corner = self.g.take(shape, 0), self.corner.take(shape, 0)
            a = (dirs @ g.transpose(0, 2, 1)).transpose(0, 2, 1) * self.before.take(shape, 0)
            b = self.t.take(shape, 0) - np.vecdot(base[np.arange(len(base))[:, None], corner], g)
        if self.others is not None:
            less, more = self.others.over(shape, dirs, base)
            a, b = a - less, b - more
        return a, b
