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
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations_with_replacement, permutations, product

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

MOST_BENDS = 5  # in one link; more than any manual allows in a room
_STEP_RAD = math.radians(11.25)  # half of a sixteenth bend: between two legs that a fitting joins
_FAN = np.array([np.cos(np.arange(1, 16) * _STEP_RAD), np.sin(np.arange(1, 16) * _STEP_RAD)]).T
_UP = np.array([0.0, 0.0, 1.0])
_LATTICE = np.array([np.array(v) / math.hypot(*v) for v in product((-1.0, 0.0, 1.0), repeat=3) if any(v)])


@dataclass(eq=False)
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

    @cached_property
    def vectors(self) -> FloatArray:
        """Unit vectors w, (W, 3)."""
        toward = (self.low + self.high) / 2
        far = math.hypot(*toward.tolist())
        if far <= 1e-9:
            return _LATTICE
        fans = [_LATTICE, (toward / far)[None]]
        for d in {d.tobytes(): d for d in (self.start, self.end, _UP)}.values():
            across = toward - (toward @ d) * d
            size = math.hypot(*across.tolist())
            if size > 1e-9:
                fans.append(_FAN @ np.array([d, across / size]))
        return np.concatenate(fans)


@dataclass(frozen=True, eq=False)
class Turns:
    """S orders of up to K turns. What lies before a leg, and what after, is looked at once for each set of turns.

    ``steps`` (S, K + 2) numbers each turn's angle among ``angles``, with one number more where there is none: first,
    and after the last. ``sides`` (2, Q) number the sets before and after a leg, -1 where there is no leg, and ``legs``
    (K + 1, S) the columns of each leg; ``whole`` (S,) the set of all. Of each set (P,): how many turns, their sum and
    the greatest [rad].
    """

    angles: tuple[float, ...]
    steps: IntArray
    sides: IntArray
    legs: IntArray
    whole: IntArray
    count: FloatArray
    total: FloatArray
    greatest: FloatArray

    @classmethod
    def of(cls, orders: Sequence[tuple[float, ...]]) -> Turns:
        """Turns in their order [deg]."""
        angles = tuple(sorted({angle for order in orders for angle in order}, reverse=True))
        most = max(len(order) for order in orders)
        sets: dict[tuple[float, ...], int] = {}

        def number(part: tuple[float, ...]) -> int:
            return sets.setdefault(tuple(sorted(part)), len(sets))

        steps = np.full((len(orders), most + 2), len(angles), dtype=np.intp)
        sides = np.full((2, len(orders), most + 1), -1, dtype=np.intp)
        for s, order in enumerate(orders):
            k = len(order)
            steps[s, 1 : k + 1] = [angles.index(angle) for angle in order]
            sides[0, s, : k + 1] = [number(order[:i]) for i in range(k + 1)]
            sides[1, s, : k + 1] = [number(order[i:]) for i in range(k + 1)]
        whole = np.array([number(order) for order in orders], dtype=np.intp)
        count, total = np.array([len(part) for part in sets], float), np.array([math.radians(sum(p)) for p in sets])
        greatest = np.array([math.radians(max(part, default=0.0)) for part in sets])
        kinds, legs = np.unique(sides.reshape(2, -1), axis=1, return_inverse=True)
        return cls(
            angles, steps, kinds, np.ascontiguousarray(legs.reshape(sides.shape[1:]).T), whole, count, total, greatest
        )

    def turned(self, give_rad: FloatArray) -> tuple[FloatArray, FloatArray]:
        """How far each set may turn a direction, at least and at most, (L, P) each [rad], by the give (L, 1)."""
        slack = give_rad * self.count
        return np.maximum(0.0, 2 * self.greatest - self.total - slack), self.total + slack


def least_m(spans: Sequence[Span], turns: Turns, legs_m: FloatArray) -> FloatArray:
    """Lower bounds of the lengths of L stretches, (L, S), infinite where the turns cannot lead there.

    Parameters
    ----------
    spans : L stretches
    turns : S orders of turns
    legs_m : (L, S, K + 1) what the legs measure at least, 0 where there is none; 0 is always safe
    """
    fans = [span.vectors for span in spans]
    many = np.arange(max(len(fan) for fan in fans))
    w = np.array([fan.take(many, 0, mode="wrap") for fan in fans])  # (L, W, 3)
    low, high = np.array([(span.low, span.high) for span in spans]).transpose(1, 0, 2)
    ends = np.array([(span.start, span.end, _UP) for span in spans])
    lowest, give = np.array([(span.lowest_rad, span.give_rad) for span in spans]).T[:, :, None]
    away = _apart(ends @ w.transpose(0, 2, 1))  # (L, 3, W)
    near, far = turns.turned(give)
    off = np.maximum(away[:, :2, None] - far[:, None, :, None], near[:, None, :, None] - away[:, :2, None])
    np.maximum(off, (away[:, 2] - (math.pi / 2 - lowest))[:, None, None], out=off)
    cosine = np.full((len(spans), 2, off.shape[2] + 1, len(many)), -1.0)  # the last row for legs that are none
    np.cos(np.minimum(np.maximum(off, 0.0, out=off), math.pi, out=off), out=cosine[:, :, :-1])
    before, after = turns.sides
    most = np.minimum(cosine[:, 0].take(before, 1), cosine[:, 1].take(after, 1)).take(turns.legs, 1)  # greatest w . d
    top = most.max(axis=1)
    ahead = (np.matvec(w, low + high) - np.matvec(np.abs(w), high - low))[:, None] / 2  # least w . D
    open_ = top > 1e-9
    scale = np.divide(1.0, top, out=np.zeros(top.shape), where=open_)
    bound = scale * (ahead - np.einsum("lsk,lksw->lsw", legs_m, most)) + legs_m.sum(axis=2)[:, :, None]
    bound[~open_ & (ahead > 1e-6)] = np.inf
    least: FloatArray = np.maximum(bound.max(axis=2), 0.0)
    turned = _apart((ends[:, 0] * ends[:, 1]).sum(axis=1))[:, None]  # from start to end
    never = (turned > far + 1e-6) | (turned < near - 1e-6)
    least[never.take(turns.whole, 1)] = np.inf
    return least


def _apart(cosines: FloatArray) -> FloatArray:
    """Angles [rad]."""
    out: FloatArray = np.arccos(np.minimum(np.maximum(cosines, -1.0), 1.0))
    return out


@lru_cache(maxsize=16)
def every(angles: tuple[float, ...], most: int) -> tuple[tuple[tuple[float, ...], ...], IntArray, Turns]:
    """Multisets of no more turns than that, those of few turns first; where the orders of each begin; the orders."""
    parts = tuple(part for k in range(most + 1) for part in combinations_with_replacement(angles, k))
    orders = [sorted(set(permutations(part))) for part in parts]
    first = np.cumsum([0, *(len(row) for row in orders[:-1])])
    return parts, first, Turns.of([order for row in orders for order in row])
