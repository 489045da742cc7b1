"""Best-first search over the strands of one link, many at a time.

The heaps hold three sorts of entry under a lower bound of their price: a multiset of fittings not yet laid out (bound:
the fittings and the straight distance), a strand whose program is not solved yet (bound: its program without walls and
bodies, or, with a choice made, the first pivot of its dual simplex), and a solved strand (bound: its program). The
entries of least bound are opened together, in waves of one shape; what they hold is pushed with bounds no smaller. So
when no entry is left below the best solution that breaks nothing, it is the best there is in these directions, and at
any moment the least bound on the heaps is a lower bound for all that has not been found.

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
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.family import Family, Hits, Mendings, Stretches
from ventroute.solve.fittings import Fittings
from ventroute.solve.laying import laid_out
from ventroute.solve.links import Link, terminal_kind
from ventroute.solve.lp import Program, Programs
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.reach import every
from ventroute.solve.strands import Strand

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

MOST_BENDS = 5  # in one link; more than any manual allows in a room
_TIE, _SURE = 1e-9, 1e-6  # by which prices are the same; by which a bound is kept below the rounding of its angles
_WAVE = (32, 256)


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


_Entry = tuple[float, int, int, Any]  # bound, bends, a number of its own that settles ties, and what is to be opened


@dataclass(slots=True)
class _Node:
    """A strand of a family with its program solved, in bends (k,) that are settled or open yet."""

    strand: int
    program: Program
    bends: IntArray


@dataclass(slots=True)
class _Child:
    """A node and one row more, not solved yet."""

    parent: _Node
    a: FloatArray
    b: float
    equal: bool


@dataclass(slots=True)
class _Open:
    """A family and what of it is still to be opened."""

    family: Family
    heap: list[_Entry] = field(default_factory=list)
    wave: int = _WAVE[0]


class Search:
    """The search of one link under one price."""

    def __init__(self, problem: Problem, link: Link, weights: Weights, conditions: Conditions) -> None:
        self.problem, self.link, self.weights, self.conditions = problem, link, weights, conditions
        self.directions = conditions.directions(link)
        self.fittings = Fittings.of(problem, weights)
        self.stops = [link.start_true, *(c.true for c in link.cuts)]
        self.families: dict[tuple[int, ...], _Open] = {}
        self.count = 0
        self.opened = 0
        self.found: list[LinkPath] = []
        self.heap = list(self._multisets())
        heapq.heapify(self.heap)
        cheapest = min(weights.bend.values(), default=math.inf)
        more = (MOST_BENDS + 1) * cheapest + weights.per_m * link.straight_m if cheapest >= 0.0 else 0.0
        self.rolled = min(more, self.bound) - _SURE  # nothing costs less, however the fittings roll and many there are

    def run(self, limit: float = np.inf) -> LinkResult:
        """The cheapest path, and those as cheap with fewer bends.

        It stops short once nothing that is left is below the limit; another call goes on from there.
        """
        while self.opened < self.weights.effort and (first := self._first()) and first[0][0] <= limit:
            if first is self.heap:
                self.opened += 1
                self._lay_out(heapq.heappop(self.heap)[3])
            else:
                self.opened += self._wave(next(o for o in self.families.values() if o.heap is first))
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
        for heap in (self.heap, *(opened.heap for opened in self.families.values())):
            while heap and self._hopeless(heap[0][0], heap[0][1]):
                heapq.heappop(heap)
            if heap and (not best or heap[0] < best[0]):
                best = heap
        return best

    def _hopeless(self, bound: float, bends: int) -> bool:
        if bound == math.inf or not self.found:
            return bound == math.inf
        return bound > self.found[0].price + _TIE or any(
            path.bends <= bends and path.price <= bound + _TIE for path in self.found
        )

    def _push(self, heap: list[_Entry], bound: float, bends: int, what: object) -> None:
        self.count += 1
        heapq.heappush(heap, (bound, bends, self.count, what))

    def _keep(self, path: LinkPath) -> None:
        """Keep a path; drop those that it beats."""
        others = [p for p in self.found if p.price <= path.price + _TIE and p.bends < path.bends]
        self.found = sorted([*others, path], key=lambda p: (p.price, p.bends))

    def _multisets(self) -> Iterator[_Entry]:
        angles = sorted(self.problem.elbows, reverse=True)
        choices = [self._parts(space, angles) for space in range(len(self.link.spaces))]
        for parts in _within(choices, MOST_BENDS):
            price = sum(p for p, _ in parts)
            if price < math.inf:
                self.count += 1
                yield price, sum(len(part) for _, part in parts), self.count, tuple(part for _, part in parts)

    def _parts(self, space: int, angles: list[float]) -> list[tuple[float, tuple[float, ...]]]:
        """Multisets of fittings that a space may hold, each with the least it costs with its run.

        Outdoors that is nothing, or two 90s that raise the end.
        """
        if self.conditions.building.spaces[self.link.spaces[space]].outdoors:
            raised = self.link.last is not None and terminal_kind(self.link.last) == "wall" and 90.0 in angles
            sets: list[tuple[float, ...]] = [(), (90.0, 90.0)] if raised else [()]
            run = self.weights.per_m * self.link.outdoors_m(self.problem)
            return [(sum(self.weights.bend[a] for a in part) + run, part) for part in sets]
        key = (self.link.key, space)
        if key not in self.conditions.runs:
            self.conditions.runs[key] = self._runs(space, angles)
        runs = self.conditions.runs[key]
        return [(sum(self.weights.bend[a] for a in p) + self.weights.per_m * run_m, p) for p, run_m in runs.items()]

    def _runs(self, space: int, angles: list[float]) -> dict[tuple[float, ...], float]:
        """Multisets of fittings in a space, and the least run of each."""
        span = self.link.span(self.problem, space)
        parts, first, turns = every(tuple(angles), MOST_BENDS)
        if span is None:
            return dict.fromkeys(parts, 0.0)
        run = span.least_m(turns, self.link.legs_m(self.problem, space, turns.angles, turns.steps))
        return dict(zip(parts, np.minimum.reduceat(run, first).tolist(), strict=True))

    def _lay_out(self, parts: tuple[tuple[float, ...], ...]) -> None:
        """Push every strand of a multiset with its bound."""
        counts = tuple(len(part) for part in parts)
        if counts not in self.families:
            family = Family(self.conditions, self.link, self.weights, self.fittings, counts)
            self.families[counts] = _Open(family)
        opened = self.families[counts]
        key = (self.link.key, parts, self.fittings.key)
        if key not in self.conditions.laid:
            shape, paths = opened.family.shape, self._paths(parts)
            self.conditions.laid[key] = laid_out(self.conditions, shape, self.fittings, paths)
        laid = self.conditions.laid[key]
        fittings = sum(self.weights.bend[a] for part in parts for a in part)
        first = opened.family.add(laid, fittings)
        bounds = fittings + self.weights.per_m * laid.run_m
        for strand, bound in enumerate(bounds.tolist(), first):
            self.count += 1
            opened.heap.append((bound, opened.family.shape.bends, self.count, strand))
        heapq.heapify(opened.heap)

    def _paths(self, parts: tuple[tuple[float, ...], ...]) -> NDArray[np.intp]:
        """Direction sequences through all spaces, sharing the direction in which each cut is crossed."""
        whole: NDArray[np.intp] | None = None
        for space, part in enumerate(parts):
            start = self.directions.at(self.stops[space])
            leg = self._through(space, start, part)
            if start < 0 or not len(leg):
                return np.zeros((0, sum(len(p) for p in parts) + 1), dtype=np.intp)
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
        whole = self.link.end is not None and not self.link.cuts
        paths = self.directions.sequences(start, end, part, self.conditions.sides(self.link) if whole else None)
        if part and self.link.end is None and space == len(self.link.spaces) - 1:
            up = self.directions.at(np.array([0.0, 0.0, 1.0]))
            paths = paths[paths[:, 1] == up]
        return paths

    def _wave(self, opened: _Open) -> int:
        """Open the entries of least bound of a family; returns how many."""
        family, bends, heap = opened.family, opened.family.shape.bends, opened.heap
        roots: list[int] = []
        nodes: list[_Node] = []
        children: list[_Child] = []
        count, last = 0, math.inf
        while heap and count < opened.wave:
            bound, _, _, what = heapq.heappop(heap)
            if not self._hopeless(bound, bends):
                count, last = count + 1, bound
                (nodes if isinstance(what, _Node) else children if isinstance(what, _Child) else roots).append(what)
        opened.wave = min(2 * opened.wave, _WAVE[1])
        for value, node in self._solved(family, np.array(roots, dtype=np.intp), children):
            if value <= last + _TIE:
                nodes.append(node)
            elif not self._hopeless(value, bends):
                self._push(heap, value, bends, node)
        if nodes:
            self._branch(opened, nodes)
        return count

    def _solved(self, family: Family, roots: IntArray, children: list[_Child]) -> Iterator[tuple[float, _Node]]:
        """Those that have a solution, with its price."""
        if len(roots):
            programs = family.roots(roots).solved()
            for i, value in enumerate(programs.value.tolist()):
                if value < math.inf:
                    yield value, _Node(int(roots[i]), programs.one(i), family.bends[roots[i]])
        if children:
            programs = Programs.stacked([child.parent.program for child in children])
            a, b = np.array([child.a for child in children]), np.array([child.b for child in children])
            programs = programs.add(a, b, np.array([child.equal for child in children])).solved()
            for i, value in enumerate(programs.value.tolist()):
                if value < math.inf:
                    parent = children[i].parent
                    yield value, _Node(parent.strand, programs.one(i), parent.bends)

    def _branch(self, opened: _Open, nodes: list[_Node]) -> None:
        """Keep solutions that break nothing; of the others push the mendings of one broken condition each."""
        family = opened.family
        programs = Programs.stacked([node.program for node in nodes])
        which = np.array([node.strand for node in nodes], dtype=np.intp)
        bends = np.array([node.bends for node in nodes], dtype=np.intp).reshape(len(nodes), -1)
        x = programs.x()
        corners = family.corners(which, x)
        whole = np.ones(len(nodes), dtype=np.bool_)
        rows, mendings = family.closing(which, bends, x)
        self._push_all(opened, nodes, programs, rows, mendings)
        whole[rows] = False
        whole[self._past_bodies(opened, nodes, programs, which, bends, corners, np.flatnonzero(whole))] = False
        clear = np.flatnonzero(whole)
        rows, mendings = family.leaving(which[clear], corners[clear])
        self._push_all(opened, nodes, programs, clear[rows], mendings)
        whole[clear[rows]] = False
        clear = np.flatnonzero(whole)
        rows, mendings = family.apart(which[clear], corners[clear])
        self._push_all(opened, nodes, programs, clear[rows], mendings)
        whole[clear[rows]] = False
        open_ = self.fittings.open[bends]
        for i in np.flatnonzero(whole & ~open_.any(axis=1)).tolist():
            price = float(programs.value[i])
            if not self._hopeless(price, bends.shape[1]):
                lengths = tuple((family.least[which[i]] + x[i]).tolist())
                self._keep(LinkPath(family.strand(int(which[i]), bends[i]), lengths, price))
        for nth in range(bends.shape[1]):
            rows = np.flatnonzero(whole & open_[:, nth] & ~open_[:, :nth].any(axis=1))
            if len(rows):
                self._settle(opened, programs.take(rows), which[rows], bends[rows], nth)

    def _settle(self, opened: _Open, programs: Programs, which: IntArray, bends: IntArray, nth: int) -> None:
        """Push strands that break nothing with every pattern for their nth bend."""
        at, settled, (a, b) = opened.family.settlings(which, bends, nth)
        tried = programs.take(at)
        tried.value += self.fittings.more[settled[:, nth]]
        for row in range(b.shape[1]):
            tried = tried.add(a[:, row], b[:, row], np.zeros(len(at), dtype=np.bool_))
        tried = tried.solved()
        for i in np.flatnonzero(np.isfinite(tried.value)).tolist():
            node = _Node(int(which[at[i]]), tried.one(i), settled[i])
            if not self._hopeless(float(tried.value[i]), bends.shape[1]):
                self._push(opened.heap, float(tried.value[i]), bends.shape[1], node)

    def _past_bodies(
        self,
        opened: _Open,
        nodes: list[_Node],
        programs: Programs,
        which: IntArray,
        bends: IntArray,
        corners: FloatArray,
        rows: IntArray,
    ) -> IntArray:
        """Push the mendings of what stands deepest in, or nearest to, a body; returns which nodes had such."""
        family = opened.family
        deepest = np.zeros(len(nodes))
        found: list[tuple[Stretches, Hits]] = []
        for stretches in family.stretches:
            hits = family.worst(stretches, which[rows], bends[rows], corners[rows])
            found.append((stretches, hits))
            np.maximum.at(deepest, rows[hits.strand], hits.depth)
        taken = np.zeros(len(nodes), dtype=np.bool_)
        for stretches, hits in found:
            at = rows[hits.strand]
            first = np.flatnonzero((hits.depth >= deepest[at]) & ~taken[at])
            if len(first):
                taken[at[first]] = True
                self._push_all(
                    opened, nodes, programs, at[first], family.past(stretches, hits.take(first), which[at[first]])
                )
        return np.flatnonzero(taken)

    def _push_all(
        self, opened: _Open, nodes: list[_Node], programs: Programs, rows: IntArray, mendings: Mendings
    ) -> None:
        if not len(rows):
            return
        a, b, equal = mendings.a, mendings.b, mendings.equal
        open_ = np.isfinite(b)
        raised = programs.take(rows).first_steps(a, np.where(open_, b, 0.0), equal)
        raised[~open_] = np.inf
        limit = self.found[0].price + _TIE if self.found else np.inf
        bends = opened.family.shape.bends
        i, q = ((raised < np.inf) & (raised <= limit)).nonzero()
        rest = raised[i, q].tolist(), a[i, q], b[i, q].tolist(), equal[i, q].tolist()
        for row, bound, *more in zip(rows[i].tolist(), *rest, strict=True):
            self._push(opened.heap, bound, bends, _Child(nodes[row], *more))


def _within(
    choices: list[list[tuple[float, tuple[float, ...]]]], most: int
) -> Iterator[tuple[tuple[float, tuple[float, ...]], ...]]:
    """Every pick of one multiset for each space with no more bends in all."""
    if not choices:
        yield ()
        return
    for part in choices[0]:
        if len(part[1]) <= most:
            for rest in _within(choices[1:], most - len(part[1])):
                yield (part, *rest)
