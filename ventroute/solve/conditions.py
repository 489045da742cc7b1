"""What is worked out once for a problem and shared by its searches: bodies of each space, directions of each link."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.building import Building
from ventroute.layout.framing import members
from ventroute.solve.bodies import Bodies, Planes, Pool
from ventroute.solve.compounds import Compounds
from ventroute.solve.directions import Directions, Sides
from ventroute.solve.fittings import Bends, Fittings
from ventroute.solve.links import Link, direction_set, linked
from ventroute.solve.problem import Crossing, Problem, Weights
from ventroute.solve.reach import MOST_BENDS, Span, every, least_m
from ventroute.solve.rolls import with_rolls

if TYPE_CHECKING:
    from ventroute.solve.tree import Tree

FloatArray = NDArray[np.float64]

_AT_ONCE = 8  # stretches that are measured together: what they take is then a few megabytes
BORE_M = 0.003175  # a new hole is cut 1/8 in larger all round than the pipe: common practice


@dataclass(frozen=True, eq=False)
class Common:
    """What all problems of one house share: solids, the planes beside them, numbers of bends, and trees of strands.

    ``trees`` holds what is known of strands under any price.
    """

    building: Building
    planes: Planes = field(default_factory=Planes)
    bends: Bends = field(default_factory=Bends)
    trees: dict[tuple[object, ...], Tree] = field(default_factory=dict)
    _bodies: dict[int, Bodies] = field(default_factory=dict)

    def bodies(self, space: int) -> Bodies:
        """The solids of a space."""
        if space not in self._bodies:
            self._bodies[space] = Bodies.of_space(self.building.spaces[space], self.planes)
        return self._bodies[space]

    @cached_property
    def framing(self) -> Bodies:
        """Every joist, stud and rafter, which new holes miss."""
        found = [body for framing in self.building.site.framing for body in members(framing)]
        everywhere = np.array(list(product((-1e4, 1e4), repeat=3)))
        return Bodies([(body, BORE_M, 0) for body in found], everywhere, self.planes)


@dataclass(frozen=True, eq=False)
class Conditions:
    """Directions, planes and such of one problem, each made on first use, in a house that others may share.

    ``runs`` holds the least run of each multiset of bends in a link's space [m], see `measure`; ``clear`` whether pipe
    at the ends of a link keeps inside its spaces, with bends and without; ``ends_m`` what its end legs measure at least
    beside each bend.
    """

    problem: Problem
    common: Common
    runs: dict[tuple[tuple[str, ...], int], dict[tuple[float, ...], float]] = field(default_factory=dict)
    clear: dict[tuple[tuple[str, ...], bool], bool] = field(default_factory=dict)
    ends_m: dict[tuple[object, ...], FloatArray] = field(default_factory=dict)
    _fittings: dict[tuple[object, ...], Fittings] = field(default_factory=dict)
    _directions: dict[tuple[str, ...], Directions] = field(default_factory=dict)
    _compounds: dict[tuple[str, ...], Compounds] = field(default_factory=dict)
    _dirs: dict[tuple[str, ...], FloatArray] = field(default_factory=dict)
    _sides: dict[tuple[str, ...], Sides] = field(default_factory=dict)
    _in_steps_m: dict[tuple[str, ...], float] = field(default_factory=dict)
    _pools: dict[tuple[tuple[str, ...], int | None], Pool] = field(default_factory=dict)

    @classmethod
    def of(cls, problem: Problem) -> Conditions:
        """Those of a problem that shares its house with none."""
        return cls(problem, Common(problem.building))

    def beside(self, problem: Problem) -> Conditions:
        """Those of another problem in the same house."""
        return Conditions(problem, self.common)

    def measure(self, links: Sequence[Link]) -> None:
        """Find the least runs of multisets of bends in the spaces of links, where they are not known."""
        new = [
            (link, space) for link in links for space in range(len(link.spaces)) if (link.key, space) not in self.runs
        ]
        if not new:
            return
        parts, begin, turns = every(tuple(sorted(self.problem.elbows, reverse=True)), MOST_BENDS)
        between_m = np.array([self.problem.between_m(turns.angles, first=first) for first in (False, True)])
        spans: list[tuple[Link, int, Span]] = []
        for link, space in new:
            span = link.span(self.problem, space)
            if span is None:
                self.runs[link.key, space] = dict.fromkeys(parts, 0.0)
            else:
                spans.append((link, space, span))
        for i in range(0, len(spans), _AT_ONCE):
            some = spans[i : i + _AT_ONCE]
            own_m = between_m[[int(link.leaves_collar(space)) for link, space, _ in some]]
            legs_m = own_m[:, turns.steps[:, :-1], turns.steps[:, 1:]]
            runs = np.minimum.reduceat(least_m([span for _, _, span in some], turns, legs_m), begin, axis=1)
            for (link, space, _), run_m in zip(some, runs.tolist(), strict=True):
                self.runs[link.key, space] = dict(zip(parts, run_m, strict=True))

    def fittings(self, weights: Weights) -> Fittings:
        """The bends under one price."""
        if weights.key not in self._fittings:
            self._fittings[weights.key] = Fittings.of(self.problem, weights)
        return self._fittings[weights.key]

    def sides(self, link: Link) -> Sides:
        """Where the directions of a link with a fixed end lie."""
        if link.key not in self._sides:
            assert link.end is not None
            assert link.end.centre_m is not None
            self._sides[link.key] = Sides.of(self.directions(link).true, link.end.centre_m - link.start_m)
        return self._sides[link.key]

    @cached_property
    def linked(self) -> tuple[list[tuple[tuple[Crossing, ...], list[Link]]], list[str]]:
        """The chains and their links, which are the same under every price."""
        return linked(self.problem)

    @property
    def building(self) -> Building:
        """The house."""
        return self.problem.building

    def directions(self, link: Link) -> Directions:
        """The directions of a link, with the sequences found so far."""
        if link.key not in self._directions:
            self._directions[link.key] = with_rolls(self.problem, link, direction_set(self.problem, link))
        return self._directions[link.key]

    def compounds(self, link: Link) -> Compounds:
        """The compound rolls of a link."""
        if link.key not in self._compounds:
            self._compounds[link.key] = Compounds.of(self.problem, link)
        return self._compounds[link.key]

    def dirs(self, link: Link) -> FloatArray:
        """The directions of a link and, two by two, those of its compound rolls, (m + 2 n, 3)."""
        if link.key not in self._dirs:
            true, swung = self.directions(link).true, self.compounds(link).dirs
            self._dirs[link.key] = np.concatenate([true, swung.reshape(-1, 3)]) if len(swung) else true
        return self._dirs[link.key]

    def in_steps_m(self, link: Link) -> float:
        """What the legs of a link between two fixed places measure at least in its directions, 0 for any other."""
        if link.end is None or link.cuts:
            return 0.0
        if link.key not in self._in_steps_m:
            self._in_steps_m[link.key] = self.sides(link).least_m(self.dirs(link))
        return self._in_steps_m[link.key]

    def pool(self, link: Link, space: int | None) -> Pool:
        """The planes beside the bodies of a space, or beside the framing where it is None, for a link's directions."""
        key = (link.key, space)
        if key not in self._pools:
            bodies = self.common.framing if space is None else self.common.bodies(space)
            self._pools[key] = Pool(bodies, self.dirs(link))
        return self._pools[key]
