"""How short a run can be that turns by given angles, whatever the rolls of its fittings.

After bends of angles a_1 ... a_i the direction lies between ``2 max a - sum a`` and ``sum a`` from the start's; before
the remaining ones likewise from the end's; and where everything drains back, not below the pitch. Forget all else that
couples the directions. For any vector w with ``w . d <= 1`` for every direction d that some leg may have,

    sum L_i  >=  w . D + sum m_i (1 - max w . d_i)

for legs of at least m_i that add up to D: weak duality of the program over all directions. So every w gives a lower
bound for every route with those bends in that order at any roll; the best of a fixed set of w is taken. Walls and
obstacles are not looked at.

References
----------
.. [1] S. Boyd, L. Vandenberghe, Convex Optimization, Cambridge 2004, section 5.1: the Lagrange dual as a lower bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_STEP_RAD = math.radians(11.25)  # half of a sixteenth bend: between two legs that a fitting joins
_UP = np.array([0.0, 0.0, 1.0])
_LATTICE = np.array([v for v in product((-1.0, 0.0, 1.0), repeat=3) if any(v)])


@dataclass(frozen=True, eq=False)
class Span:
    """A stretch between two places: where it may start and end, its first and last direction, and the least slope.

    ``low`` and ``high`` (3,) bound the vector from start to end; ``lowest_rad`` is the least elevation that a leg may
    have, minus a quarter turn where it may have any; ``give_rad`` is how far a true turn may exceed its nominal one.
    """

    low: FloatArray
    high: FloatArray
    start: FloatArray
    end: FloatArray
    lowest_rad: float
    give_rad: float

    def least_m(self, turns: FloatArray, legs_m: FloatArray) -> FloatArray:
        """Lower bounds of the length, (S,), infinite where the turns cannot lead there.

        Parameters
        ----------
        turns : (S, k) turns in their order [deg]
        legs_m : (S, k + 1) what the legs measure at least; 0 is safe
        """
        angle = np.radians(turns)
        near, far = _turned(angle, self.give_rad)
        end_near, end_far = (v[:, ::-1] for v in _turned(angle[:, ::-1], self.give_rad))
        w = self._vectors
        from_start, from_end, from_up = (np.arccos(np.clip(w @ d, -1.0, 1.0)) for d in (self.start, self.end, _UP))
        off = np.maximum(from_start - far[:, :, None], near[:, :, None] - from_start)
        off = np.maximum(off, np.maximum(from_end - end_far[:, :, None], end_near[:, :, None] - from_end))
        off = np.maximum(off, from_up - (math.pi / 2 - self.lowest_rad))
        most = np.cos(np.clip(off, 0.0, math.pi))  # (S, k + 1, W) greatest w . d of each leg
        top = most.max(axis=1)
        ahead = np.where(w > 0, w * self.low, w * self.high).sum(axis=1)  # least w . D
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(top > 1e-9, 1.0 / top, 0.0)
        bound = scale * ahead + np.einsum("sk,skw->sw", legs_m, 1.0 - scale[:, None] * most)
        bound[(top <= 1e-9) & (ahead > 1e-6)] = np.inf
        turned = math.acos(max(-1.0, min(1.0, float(self.start @ self.end))))
        bound[(turned > far[:, -1] + 1e-6) | (turned < near[:, -1] - 1e-6)] = np.inf
        least: FloatArray = np.maximum(bound.max(axis=1), 0.0)
        return least

    @cached_property
    def _vectors(self) -> FloatArray:
        """Unit vectors w, (W, 3)."""
        toward = (self.low + self.high) / 2
        fans = [_LATTICE, toward[None]]
        for d in (self.start, self.end, _UP):
            across = toward - (toward @ d) * d
            size = float(np.linalg.norm(across))
            if size > 1e-9:
                turn = np.arange(1, 16) * _STEP_RAD
                fans.append(np.cos(turn)[:, None] * d + np.sin(turn)[:, None] * across / size)
        out: FloatArray = np.concatenate(fans)
        lengths = np.linalg.norm(out, axis=1)
        unit: FloatArray = out[lengths > 1e-9] / lengths[lengths > 1e-9, None]
        return unit


def _turned(angle: FloatArray, give: float) -> tuple[FloatArray, FloatArray]:
    """How far from the first direction each leg's is at least and at most, (S, k) turns -> two (S, k + 1)."""
    first = np.zeros((len(angle), 1))
    total = np.concatenate([first, np.cumsum(angle, axis=1)], axis=1)
    greatest = np.concatenate([first, np.maximum.accumulate(angle, axis=1)], axis=1)
    slack = give * np.arange(total.shape[1])
    return np.maximum(0.0, 2 * greatest - total - slack), total + slack
