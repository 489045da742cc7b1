"""Best-first search over the strands of one link.

The heap holds three sorts of entry under a lower bound of their price: a multiset of fittings not yet laid out (bound:
the fittings and the straight distance), a strand (bound: its program without obstacles), and a strand with some
choices made (bound: its program with them). The entry of least bound is opened; what it holds is pushed with bounds no
smaller. So the first solution popped that breaks nothing is the best there is in these directions, and at any moment
the least bound on the heap is a lower bound for all that has not been found.

References
----------
.. [1] A. H. Land, A. G. Doig, An automatic method of solving discrete programming problems, Econometrica 28 (1960)
   497-520: branch and bound.
.. [2] P. E. Hart, N. J. Nilsson, B. Raphael, A formal basis for the heuristic determination of minimum cost paths,
   IEEE Trans. Systems Science and Cybernetics 4 (1968) 100-107: best-first order.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.lp import Lp, bounds
from ventroute.solve.problem import Link, Problem, Weights, terminal_kind
from ventroute.solve.strands import Row, Shape, Strand

FloatArray = NDArray[np.float64]

MOST_BENDS = 5  # in one link; more than any manual allows in a room
EXTRA = 0.0  # a path with fewer bends is kept if it costs no more than this fraction beyond the cheapest
_TIE = 1e-9


@dataclass(frozen=True, eq=False)
class LinkPath:
    """A way through a link: what a strand's lengths came to."""

    strand: Strand
    lengths: tuple[float, ...]
    price: float

    @property
    def corners(self) -> FloatArray:
        """(k + 2, 3) corners, ends included."""
        steps = np.cumsum(self.strand.dirs * np.asarray(self.lengths)[:, None], axis=0)
        corners: FloatArray = self.strand.shape.link.start_m + np.concatenate([np.zeros((1, 3)), steps])
        return corners

    @property
    def bends(self) -> int:
        """Number of bends."""
        return len(self.strand.angles)


@dataclass(frozen=True, eq=False)
class LinkResult:
    """Paths not beaten in price and bends at once, cheapest first, and the bound on what was not searched."""

    paths: tuple[LinkPath, ...]
    bound: float  # nothing that was not found costs less


@dataclass(order=True, slots=True)
class _Entry:
    bound: float
    bends: int
    number: int
    what: object = field(compare=False)


@dataclass(slots=True)
class _Node:
    strand: Strand
    lp: Lp


class Search:
    """The search of one link under one price."""

    def __init__(self, problem: Problem, link: Link, weights: Weights, conditions: Conditions) -> None:
        self.problem, self.link, self.weights, self.conditions = problem, link, weights, conditions
        self.directions = conditions.directions(link)
        self.stops = [link.start_true, *(c.true for c in link.cuts)]
        self.heap: list[_Entry] = []
        self.count = 0
        self.found: list[LinkPath] = []

    def run(self) -> LinkResult:
        """The cheapest path, and those with fewer bends that cost little more."""
        for entry in self._multisets():
            heapq.heappush(self.heap, entry)
        pops = 0
        while self.heap and pops < self.weights.effort:
            entry = heapq.heappop(self.heap)
            if self._hopeless(entry):
                continue
            pops += 1
            self._open(entry)
        left = [e.bound for e in self.heap if not self._hopeless(e)]
        return LinkResult(tuple(self.found), min(left, default=np.inf))

    def _hopeless(self, entry: _Entry) -> bool:
        if not np.isfinite(entry.bound) or (self.found and entry.bound > (1.0 + EXTRA) * self.found[0].price):
            return True
        return any(path.bends <= entry.bends and path.price <= entry.bound + _TIE for path in self.found)

    def _push(self, bound: float, bends: int, what: object) -> None:
        self.count += 1
        heapq.heappush(self.heap, _Entry(bound, bends, self.count, what))

    def _multisets(self) -> Iterator[_Entry]:
        angles = sorted(self.problem.elbows, reverse=True)
        distance = self.weights.per_m * self._straight_m()
        choices = [self._parts(space, angles) for space in range(len(self.link.spaces))]
        for parts in _within(choices, MOST_BENDS):
            fittings = sum(self.weights.bend[a] for part in parts for a in part)
            self.count += 1
            yield _Entry(fittings + distance, sum(len(part) for part in parts), self.count, parts)

    def _parts(self, space: int, angles: list[float]) -> list[tuple[float, ...]]:
        """Multisets of fittings that a space may hold: outdoors nothing, or two 90s that raise the end."""
        if self.conditions.building.spaces[self.link.spaces[space]].outdoors:
            raised = self.link.last is not None and terminal_kind(self.link.last) == "wall" and 90.0 in angles
            return [(), (90.0, 90.0)] if raised else [()]
        return [c for k in range(MOST_BENDS + 1) for c in combinations_with_replacement(angles, k)]

    def _straight_m(self) -> float:
        """No way is shorter than the straight line to the end, or to the box that the end lies behind."""
        if self.link.end is not None:
            assert self.link.end.centre_m is not None
            return float(np.linalg.norm(self.link.end.centre_m - self.link.start_m))
        if not self.link.cuts or self.link.cuts[0].passage.area is None:
            return 0.0
        low, high = self.link.cuts[0].passage.area
        nearest = np.clip(self.link.start_m, low, high)
        return float(np.linalg.norm(nearest - self.link.start_m))

    def _open(self, entry: _Entry) -> None:
        if isinstance(entry.what, tuple):
            self._lay_out(entry.what)
        elif isinstance(entry.what, Strand):
            self._start(entry.what)
        elif isinstance(entry.what, _Node):
            self._branch(entry.what, entry.bends)

    def _lay_out(self, parts: tuple[tuple[float, ...], ...]) -> None:
        """Push every strand of a multiset with its bound."""
        shape = Shape(self.problem, self.link, tuple(len(part) for part in parts))
        paths = self._paths(parts)
        if not len(paths):
            return
        turn = self.directions.turn
        angles = turn[paths[:, :-1], paths[:, 1:]]
        dirs = self.directions.true[paths]
        least, hub = shape.least_m(angles)
        fittings = sum(self.weights.bend[a] for part in parts for a in part)
        a, b, equal = shape.bounding(dirs, least)
        extra = bounds(np.full(paths.shape[1], self.weights.per_m), a, b, equal)
        total = fittings + self.weights.per_m * least.sum(axis=1) + extra
        for i in np.flatnonzero(np.isfinite(total)):
            strand = Strand(shape, dirs[i], tuple(angles[i].tolist()), least[i], hub[i], fittings)
            self._push(float(total[i]), paths.shape[1] - 1, strand)

    def _paths(self, parts: tuple[tuple[float, ...], ...]) -> NDArray[np.intp]:
        """Direction sequences through all spaces, sharing the direction in which each cut is crossed."""
        whole: NDArray[np.intp] | None = None
        for space, part in enumerate(parts):
            start = self.directions.at(self.stops[space])
            leg = self._through(space, start, part)
            if start < 0 or not len(leg):
                return np.zeros((0, 1), dtype=np.intp)
            if whole is None:
                whole = leg
            else:
                left = np.repeat(whole, len(leg), axis=0)
                whole = np.concatenate([left, np.tile(leg[:, 1:], (len(whole), 1))], axis=1)
        assert whole is not None
        return whole

    def _through(self, space: int, start: int, part: tuple[float, ...]) -> NDArray[np.intp]:
        if space + 1 < len(self.stops):
            end = self.directions.at(self.stops[space + 1])
        elif self.link.end is not None:
            end = self.directions.at(self.link.end.true)
        else:
            end = start
        if start < 0 or end < 0:
            return np.zeros((0, 1), dtype=np.intp)
        paths = self.directions.sequences(start, end, part)
        if part and self.link.end is None and space == len(self.link.spaces) - 1:
            up = self.directions.at(np.array([0.0, 0.0, 1.0]))
            paths = paths[paths[:, 1] == up]
        return paths

    def _start(self, strand: Strand) -> None:
        lp = Lp([self.weights.per_m] * len(strand.dirs))
        lp.value = strand.fittings + self.weights.per_m * float(strand.least.sum())
        self._settle(_Node(strand, lp), strand.shape.rows, len(strand.angles))

    def _settle(self, node: _Node, rows: tuple[Row, ...] | list[Row], bends: int) -> None:
        """Add rows until nothing without a choice is broken, and push the node."""
        lp, strand = node.lp, node.strand
        pending = list(rows)
        while pending:
            for row in pending:
                a, b = strand.coefficients(row)
                lp.add(a, b, row.equal)
            if not lp.solve():
                return
            pending = self.conditions.outright(strand, strand.corners(lp.x()))
        self._push(lp.value, bends, node)

    def _branch(self, node: _Node, bends: int) -> None:
        lp, strand = node.lp, node.strand
        x = lp.x()
        choice = self._closed_up(strand, x)
        if choice is not None:
            for a, b, equal in choice:
                child = lp.copy()
                child.add(a, b, equal)
                if child.solve():
                    self._settle(
                        _Node(strand, child), self.conditions.outright(strand, strand.corners(child.x())), bends
                    )
            return
        branches = self.conditions.choice(strand, strand.corners(x))
        if branches is None:
            self.found.append(LinkPath(strand, tuple((strand.least + np.asarray(x)).tolist()), lp.value))
            return
        for rows in branches:
            self._settle(_Node(strand, lp.copy()), rows, bends)

    def _closed_up(self, strand: Strand, x: list[float]) -> list[tuple[list[float], float, bool]] | None:
        """Between two fittings there is no pipe, or enough of it to fill two sockets."""
        for i, extra in enumerate(x):
            need = float(strand.hub[i] - strand.least[i])
            if need > 1e-9 and 1e-9 < extra < need - 1e-9:
                unit = [0.0] * len(x)
                unit[i] = 1.0
                return [(unit, 0.0, True), (unit, need, False)]
        return None


def _within(choices: list[list[tuple[float, ...]]], most: int) -> Iterator[tuple[tuple[float, ...], ...]]:
    """Every pick of one multiset for each space with no more bends in all."""
    if not choices:
        yield ()
        return
    for part in choices[0]:
        if len(part) <= most:
            for rest in _within(choices[1:], most - len(part)):
                yield (part, *rest)
