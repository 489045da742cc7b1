"""The bends of a problem under one price, as arrays: those whose pattern is open yet, and those that are settled.

A house may be searched for several kits side by side; then `Bends` numbers the bends of all of them.

Patterns of one angle differ by an inch or so in what they need, and which is best shows only when the lengths beside
them are known. So the search begins with a bend that is as small and as cheap as any pattern of its angle. Where one
pattern is that bend, it is settled; else a way that breaks nothing is tried in every pattern of its first open bend.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.problem import Problem, Weights
from ventroute.solve.reach import MOST_BENDS, every

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Fittings:
    """S bends: first one for each nominal angle, then the patterns of the angles that are open.

    ``angle`` (S,) nominal, ascending in the first ``angles`` of them [deg]; ``laying``, ``reach``, ``radius``,
    ``spigot`` (S,) [m], the last infinite where there is no street bend; ``price`` (S,), the least of its angle where
    the pattern is open; ``choices[s]`` what settles bend s, none where it is settled; ``pattern[s]`` the number of a
    settled bend among the problem's patterns of its angle.
    """

    angles: int
    angle: FloatArray
    laying: FloatArray
    reach: FloatArray
    radius: FloatArray
    spigot: FloatArray
    price: FloatArray
    choices: tuple[tuple[int, ...], ...]
    pattern: tuple[int, ...]

    @classmethod
    def of(cls, problem: Problem, weights: Weights) -> Fittings:
        """The bends of a problem; patterns that are no smaller and no cheaper than another are left out."""
        angles = sorted(problem.elbows)
        measures = [problem.elbows[a].measures for a in angles]
        price, pattern = [weights.bend[a] for a in angles], [0] * len(angles)
        choices: list[tuple[int, ...]] = [()] * len(angles)
        all_angles = list(angles)
        for s, angle in enumerate(angles):
            offers = [(e.measures, weights.more.get((angle, i), 0.0)) for i, e in enumerate(problem.patterns[angle])]
            kept = [i for i in range(len(offers)) if not _beaten(i, offers)]
            if len(kept) == 1:
                measures[s], pattern[s] = offers[kept[0]][0], kept[0]
                continue
            choices[s] = tuple(range(len(measures), len(measures) + len(kept)))
            for i in kept:
                all_angles.append(angle)
                measures.append(offers[i][0])
                price.append(weights.bend[angle] + offers[i][1])
                pattern.append(i)
                choices.append(())
        laying, reach, hub_od, spigot = np.array(measures).reshape(-1, 4).T
        sizes = laying, reach, hub_od / 2, spigot
        return cls(len(angles), np.array(all_angles), *sizes, np.array(price), tuple(choices), tuple(pattern))

    @cached_property
    def prices(self) -> dict[tuple[float, ...], float]:
        """What multisets of nominal angles cost at least, greatest angle first."""
        each = dict(zip(self.angle[: self.angles].tolist(), self.price.tolist(), strict=False))
        parts, *_ = every(tuple(reversed(each)), MOST_BENDS)
        return {part: sum(each[angle] for angle in part) for part in parts}

    @cached_property
    def key(self) -> tuple[object, ...]:
        """Equal for bends that differ in nothing but their prices."""
        measures = np.concatenate([self.angle, self.laying, self.reach, self.radius, self.spigot])
        return (*measures.tolist(), self.choices, self.pattern)


class Bends:
    """The bends of all problems of a house, those of one after those of another.

    (S,) nominal ``angle`` [deg], ``laying``, ``reach``, ``radius``, ``spigot`` [m], and which are ``open``; ``choices``
    and ``pattern`` as in `Fittings`, by these numbers.
    """

    def __init__(self) -> None:
        self.angle, self.laying, self.reach, self.radius, self.spigot = (np.zeros(0) for _ in range(5))
        self.open = np.zeros(0, dtype=np.bool_)
        self.any_open = False
        self.choices: list[tuple[int, ...]] = []
        self.pattern: list[int] = []
        self._first: dict[tuple[object, ...], int] = {}
        self._known: dict[Fittings, int] = {}

    def first(self, fittings: Fittings) -> int:
        """The number of the first of some bends, which are added if none like them are there."""
        if fittings in self._known:
            return self._known[fittings]
        first = self._known[fittings] = self._first.setdefault(fittings.key, len(self.pattern))
        if first == len(self.pattern):
            for name in ("angle", "laying", "reach", "radius", "spigot"):
                setattr(self, name, np.concatenate([getattr(self, name), getattr(fittings, name)]))
            self.choices += [tuple(first + s for s in row) for row in fittings.choices]
            self.pattern += fittings.pattern
            self.open = np.array([bool(row) for row in self.choices], dtype=np.bool_)
            self.any_open = bool(self.open.any())
        return first


def _beaten(which: int, offers: Sequence[tuple[tuple[float, ...], float]]) -> bool:
    """Whether another is no larger in any measure and no dearer; of equals the first stays. One without a price is."""
    size, price = offers[which]
    return price == math.inf or any(
        cost <= price
        and all(a <= b for a, b in zip(other, size, strict=True))
        and (i < which or (other, cost) != offers[which])
        for i, (other, cost) in enumerate(offers)
    )
