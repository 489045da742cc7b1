"""Conditions on the corners of a strand, and the same as rows over its lengths."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """``g . corner[i] >= t``; with `other`, ``g . corner[i] - h . corner[j] >= t``."""

    corner: int
    g: FloatArray
    t: float
    other: tuple[int, FloatArray] | None = None


NEVER = Row(0, np.zeros(3), 1.0)  # no strand meets it


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """M conditions that all strands of a shape share, as arrays."""

    corner: IntArray  # (M,)
    g: FloatArray  # (M, 3)
    t: FloatArray  # (M,)
    before: FloatArray  # (M, k + 1) 1 for the legs before the corner
    others: Rows | None  # ``h . corner[j]`` in all of them, where any has one

    @classmethod
    def of(cls, rows: Sequence[Row], legs: int) -> Rows:
        """The same as arrays, for strands of so many legs."""
        others = None
        if any(row.other for row in rows):
            others = cls.of([Row(*(row.other or (0, np.zeros(3))), 0.0) for row in rows], legs)
        corner = np.array([row.corner for row in rows], dtype=np.intp)
        return cls(
            corner,
            np.array([row.g for row in rows]).reshape(-1, 3),
            np.array([row.t for row in rows]),
            (np.arange(legs) < corner[:, None]).astype(np.float64),
            others,
        )

    def over(self, dirs: FloatArray, base: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rows over the lengths of many strands: (N, k + 1, 3), (N, k + 2, 3) -> (N, M, k + 1), (N, M)."""
        a = (dirs @ self.g.T).transpose(0, 2, 1) * self.before
        b = self.t - np.einsum("nmk,mk->nm", base[:, self.corner], self.g)
        if self.others is not None:
            less, more = self.others.over(dirs, base)
            a, b = a - less, b - more
        return a, b
