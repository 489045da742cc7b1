"""How short a run can be that turns by given angles, whatever the rolls of its fittings.

After i bends whose angles add up to A, a leg's direction lies within A of the start's; before the remaining bends,
which add up to B, within B of the end's; and where everything drains back, not below the pitch. Forget all else that
couples the directions. For any vector w with ``w . d <= 1`` for every direction d that some leg may have,

    sum L_i  >=  w . D + sum m_i (1 - max w . d_i)

for legs of at least m_i that add up to D: weak duality of the program over all directions. So every w gives a lower
bound for every route with those bends at any roll; the best of a fixed set of w is taken. Obstacles are not looked at.

References
----------
.. [1] S. Boyd, L. Vandenberghe, Convex Optimization, Cambridge 2004, section 5.1: the Lagrange dual as a lower bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

_STEP_RAD = math.radians(15.0)
_UP = np.array([0.0, 0.0, 1.0])


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

    def least_m(self, turns: Sequence[Sequence[float]], legs_m: FloatArray) -> FloatArray:
        """Lower bounds of the length, (S,), infinite where the turns cannot lead there.

        Parameters
        ----------
        turns : S sequences of k turns [deg], or multisets of them
        legs_m : (S, k + 1) what the legs measure at least; 0 is safe

        Notes
        -----
        The turns may come in any order: each leg is taken to have the greatest ones before and after it.
        """
        greatest = np.sort(np.radians(np.array(turns, dtype=float).reshape(len(turns), -1)), axis=1)[:, ::-1]
        bent = np.concatenate([np.zeros((len(turns), 1)), np.cumsum(greatest + self.give_rad, axis=1)], axis=1)
        w = self._vectors()
        angle = [np.arccos(np.clip(w @ d, -1.0, 1.0)) for d in (self.start, self.end, _UP)]
        off = np.maximum(angle[0] - bent[:, :, None], angle[1] - bent[:, ::-1, None])
        off = np.maximum(off, angle[2] - (math.pi / 2 - self.lowest_rad))
        most = np.cos(np.clip(off, 0.0, math.pi))  # (S, k + 1, W) greatest w . d of each leg
        top = most.max(axis=1)
        ahead = np.where(w > 0, w * self.low, w * self.high).sum(axis=1)  # least w . D
        with np.errstate(divide="ignore", invalid="ignore"):
            scale = np.where(top > 1e-9, 1.0 / top, 0.0)
            bound = scale * ahead + np.einsum("sk,skw->sw", legs_m, 1.0 - scale[:, None] * most)
        bound[(top <= 1e-9) & (ahead > 1e-6)] = np.inf
        least: FloatArray = bound.max(axis=1)
        return np.maximum(least, 0.0)

    def _vectors(self) -> FloatArray:
        """Unit vectors w, (W, 3)."""
        lattice = np.array([v for v in product((-1.0, 0.0, 1.0), repeat=3) if any(v)])
        toward = (self.low + self.high) / 2
        fans = [lattice, toward[None]]
        for d in (self.start, self.end, _UP):
            across = toward - (toward @ d) * d
            size = float(np.linalg.norm(across))
            if size > 1e-9:
                turn = np.arange(1, 12) * _STEP_RAD
                fans.append(np.cos(turn)[:, None] * d + np.sin(turn)[:, None] * across / size)
        out: FloatArray = np.concatenate(fans)
        lengths = np.linalg.norm(out, axis=1)
        unit: FloatArray = out[lengths > 1e-9] / lengths[lengths > 1e-9, None]
        return unit
