"""Best-first search over the strands of one link, many at a time.

The heaps hold three sorts of entry under a lower bound of their price: a multiset of fittings not yet laid out (bound:
the fittings and the straight distance), a strand whose program is not solved yet (bound: its program without walls and
bodies, or, with a choice made, the first pivot of its dual simplex), and a solved strand (bound: its program). Of the
strands of one multiset that were not opened yet the cheapest stands for all. The entries of least bound are opened
together, in waves of one shape; what they hold is pushed with bounds no smaller. So when no entry is left below the
best solution that breaks nothing, it is the best there is in these directions, and at any moment the least bound on
the heaps is a lower bound for all that has not been found.

References
----------
.. [1] A. H. Land, A. G. Doig, An automatic method of solving discrete programming problems, Econometrica 28 (1960)
   497-520: branch and bound.
.. [2] P. E. Hart, N. J. Nilsson, B. Raphael, A formal basis for the heuristic determination of minimum cost paths,
   IEEE Trans. Systems Science and Cybernetics 4 (1968) 100-107: best-first order.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.laying import Parts, may_lead
from ventroute.solve.links import Link, terminal_kind
from ventroute.solve.problem import Weights
from ventroute.solve.reach import MOST_BENDS
from ventroute.solve.strands import Strand
from ventroute.solve.together import BRANCH, LAY, SOLVE, Ask, Steps
from ventroute.solve.tree import Node, Strands, Tree

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

_TIE, _SURE = 1e-9, 1e-6  # by which prices are the same; by which a bound is kept below the rounding of its angles
_WAVE = (32, 256)


@dataclass(eq=False)
class LinkPath:
    """A way through a link: what a strand's lengths came to."""

    strand: Strand
    lengths: tuple[float, ...]
    price: float

    @cached_property
    def corners(self) -> FloatArray:
        """(k + 1, 3) corners after the start, the end included."""
        steps = self.strand.dirs * np.array(self.lengths)[:, None]
        steps[0] += self.strand.shape.link.start_m
        corners: FloatArray = steps.cumsum(axis=0)
        return corners

    @property
    def bends(self) -> int:
        """Number of bends."""
        return len(self.strand.angles)


@dataclass(eq=False)
class LinkResult:
    """Paths not beaten in price and bends at once, cheapest first, and the bound on what was not searched."""

    paths: tuple[LinkPath, ...]
    bound: float  # nothing that was not found costs less


_Entry = tuple[float, int, int, Any]  # bound, bends, a number of its own that settles ties, and what is to be opened


@dataclass(slots=True)
class _Open:
    """The strands of one shape, and what of them is still to be opened."""

    tree: Tree
    member: int  # of the tree's family
    heap: list[_Entry] = field(default_factory=list)
    wave: int = _WAVE[0]


@dataclass(slots=True)
class _Queue:
    """The strands of a multiset, cheapest first, of which only the next stands on a heap."""

    strands: Strands
    per_m: float
    bends: float  # what those cost
    count: int  # of the first strand
    at: int = 0

    @property
    def entry(self) -> _Entry:
        """What stands on the heap."""
        strands, at = self.strands, self.at
        return self.per_m * strands.least_m(at) + self.bends, strands.bends.shape[1], self.count + at, self

    def taken(self) -> Node:
        """The strand that comes next; the one after it is next then."""
        self.at += 1
        return self.strands.node(self.at - 1)


class Search:
    """The search of one link under one price."""

    def __init__(self, conditions: Conditions, link: Link, weights: Weights) -> None:
        self.problem, self.conditions, self.link, self.weights = conditions.problem, conditions, link, weights
        self.fittings = conditions.fittings(weights)
        self.first = conditions.common.bends.first(self.fittings)
        self.prices: list[float] = [math.inf] * self.first + self.fittings.price.tolist()  # by number in the house
        self.sums: dict[tuple[int, ...], float] = {}  # the prices of bends, summed up
        self.shapes: dict[tuple[int, ...], _Open] = {}
        self.heaps: list[list[_Entry]] = []  # of the multisets, and of each shape
        self.count = 0
        self.opened = 0
        self.found: list[LinkPath] = []
        self.caps = [math.inf] * (MOST_BENDS + 1)  # by number of bends: what a way must stay below to be wanted
        conditions.measure([link])
        self.heap = self._multisets()
        heapq.heapify(self.heap)
        self.heaps.append(self.heap)
        cheapest = min(weights.bend.values(), default=math.inf)
        more = (MOST_BENDS + 1) * cheapest + weights.per_m * link.straight_m if cheapest >= 0.0 else 0.0
        self.rolled = min(more, self.bound) - _SURE  # nothing costs less, however the fittings roll and many there are
        self.narrowed = False  # the multisets' bounds hold in the directions of the link only

    def steps(self, limit: float = np.inf) -> Steps:
        """Find the cheapest path, and those as cheap with fewer bends, beside other searches.

        It stops short once nothing that is left is below the limit; another call goes on from there.
        """
        while self.opened < self.weights.effort and (first := self._first()) and first[0][0] <= limit:
            if first is self.heap and not self.narrowed:
                self._narrow()
            elif first is self.heap:
                self.opened += 1
                parts: Parts = heapq.heappop(self.heap)[3]
                if not may_lead(self.conditions, self.link, parts):
                    continue
                opened = self._shape(tuple(len(part) for part in parts))
                yield Ask(LAY, opened.tree, [(opened.member, parts)])
                self._strung(opened, parts)
            else:
                yield from self._wave(next(o for o in self.shapes.values() if o.heap is first))

    @property
    def result(self) -> LinkResult:
        """What was found so far."""
        return LinkResult(tuple(self.found), self.bound)

    @property
    def over(self) -> bool:
        """Whether nothing is left that is worth opening, or the effort is spent."""
        return self.bound == math.inf or self.opened >= self.weights.effort

    @property
    def bound(self) -> float:
        """Nothing that is not found costs less."""
        first = self._first()
        return first[0][0] if first else math.inf

    def _first(self) -> list[_Entry]:
        """The heap whose first entry is the first of all, empty where there is none; hopeless entries are dropped."""
        best = self.heap
        for heap in self.heaps:
            while heap and heap[0][0] >= self.caps[heap[0][1]]:
                heapq.heappop(heap)
            if heap and (not best or heap[0] < best[0]):
                best = heap
        return best

    def _keep(self, path: LinkPath) -> None:
        """Keep a path; drop those that it beats."""
        others = [p for p in self.found if p.price <= path.price + _TIE and p.bends < path.bends]
        self.found = sorted([*others, path], key=lambda p: (p.price, p.bends))
        self.caps = [self.found[0].price + _TIE] * len(self.caps)
        for p in self.found:
            self.caps[p.bends :] = [min(cap, p.price - _TIE) for cap in self.caps[p.bends :]]

    def _multisets(self) -> list[_Entry]:
        """Every pick of one multiset for each space with no more bends in all than a link may have."""
        angles = sorted(self.problem.elbows, reverse=True)
        picks: list[tuple[float, int, Parts]] = [(0.0, 0, ())]
        for space in range(len(self.link.spaces)):
            choice = self._parts(space, angles)
            picks = [
                (price + more, bends + len(part), (*parts, part))
                for price, bends, parts in picks
                for more, part in choice
                if bends + len(part) <= MOST_BENDS
            ]
        out = [(price, bends, n, parts) for n, (price, bends, parts) in enumerate(picks, self.count + 1)]
        self.count += len(out)
        return [entry for entry in out if entry[0] < math.inf]

    def _narrow(self) -> None:
        """Raise the bounds of multisets to what they cost at least in the directions of the link."""
        self.narrowed = True
        run, prices = self.weights.per_m * self.conditions.in_steps_m(self.link), self.fittings.prices
        if run:
            self.heap[:] = [(max(price, prices[parts[0]] + run), *more, parts) for price, *more, parts in self.heap]
            heapq.heapify(self.heap)

    def _parts(self, space: int, angles: list[float]) -> list[tuple[float, tuple[float, ...]]]:
        """Multisets of fittings that a space may hold, each with the least it costs with its run.

        Outdoors that is nothing, or two 90s that raise the end.
        """
        if self.conditions.building.spaces[self.link.spaces[space]].outdoors:
            raised = self.link.last is not None and terminal_kind(self.link.last) == "wall" and 90.0 in angles
            sets: list[tuple[float, ...]] = [(), (90.0, 90.0)] if raised else [()]
            run = self.weights.per_m * self.link.outdoors_m(self.problem)
            return [(self.fittings.prices[part] + run, part) for part in sets]
        runs, prices, per_m = self.conditions.runs[self.link.key, space], self.fittings.prices, self.weights.per_m
        return [(prices[part] + per_m * run_m, part) for part, run_m in runs.items() if run_m < math.inf]

    def _shape(self, counts: tuple[int, ...]) -> _Open:
        """What there is of a number of bends in each space."""
        if counts not in self.shapes:
            self.shapes[counts] = _Open(*Tree.of(self.conditions, self.link, self.fittings, counts))
            self.heaps.append(self.shapes[counts].heap)
        return self.shapes[counts]

    def _strung(self, opened: _Open, parts: Parts) -> None:
        """Push every strand of a multiset with its bound."""
        strands = opened.tree.strands(opened.member, parts)
        if len(strands):
            bends = self._together(tuple(strands.bends[0].tolist()))
            heapq.heappush(opened.heap, _Queue(strands, self.weights.per_m, bends, self.count + 1).entry)
        self.count += len(strands)

    def _together(self, bends: tuple[int, ...]) -> float:
        """The price of bends."""
        if bends not in self.sums:
            self.sums[bends] = sum(self.prices[bend] for bend in bends)
        return self.sums[bends]

    def _wave(self, opened: _Open) -> Steps:
        """Open the entries of least bound of a shape."""
        tree, heap, bends = opened.tree, opened.heap, sum(opened.tree.family.counts)
        per_m, cap = self.weights.per_m, self.caps[bends]
        taken: list[Node] = []
        last = math.inf
        while heap and len(taken) < opened.wave:
            bound, _, _, what = heapq.heappop(heap)
            if bound >= cap:
                heap.clear()
                break
            if isinstance(what, _Queue):
                taken.append(what.taken())
                if what.at < len(what.strands):
                    heapq.heappush(heap, what.entry)
            else:
                taken.append(what)
            last = bound
        opened.wave = min(2 * opened.wave, _WAVE[1])
        self.opened += len(taken)
        if unsolved := [node for node in taken if not node.solved]:
            yield Ask(SOLVE, tree, unsolved)
        due: list[Node] = []
        later: list[tuple[float, Node, int]] = []  # with the number of the row that mends it, -1 for the node itself
        for node in taken:
            price = per_m * node.run_m + self._together(node.bends)
            if price <= last + _TIE:
                due.append(node)
            else:
                later.append((price, node, -1))
        if unseen := [node for node in due if not node.seen]:
            yield Ask(BRANCH, tree, unseen)
        for node in due:
            more, cap = self._together(node.bends), self.caps[bends]
            if node.lengths is not None and (price := per_m * node.run_m + more) < cap:
                self._keep(LinkPath(tree.family.strand(node.strand, node.bends), node.lengths, price))
            for i, run_m in enumerate(node.below_m):
                if (price := per_m * run_m + more) < cap:
                    later.append((price, node, i))
            for child in node.settled:
                later.append((per_m * child.run_m + self._together(child.bends), child, -1))
        cap, count = self.caps[bends], self.count
        for price, node, i in later:
            if price < cap:
                count += 1
                heapq.heappush(heap, (price, bends, count, node if i < 0 else node.mended(i)))
        self.count = count
