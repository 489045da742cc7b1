"""From a problem to ways out: chains of links, each link searched once, the best put together.

At a hole the pipe's place and direction are fixed, so the links of a chain share nothing but their sum, and the least
of a chain is the sum of the least of its links. A link is shared by all chains that hold it, and searched no further
than it takes to raise the bound of a chain above what is found, or above that of the next chain.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Generator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.links import MOST_CHAINS, Link, terminal_kind
from ventroute.solve.problem import Crossing, Problem, Weights
from ventroute.solve.reach import MOST_BENDS
from ventroute.solve.search import LinkPath, LinkResult, Search
from ventroute.solve.together import Ask, Await, Steps, together

FloatArray = NDArray[np.float64]

_MANY = 1000.0  # price of a bend where the fewest are wanted: above that of any length


@dataclass(frozen=True, eq=False)
class Growth:
    """Where the size grows: the smaller pipe goes on from a hole to its own end, the larger begins at ``start_m``."""

    crossing: int  # of the chain
    stop_m: FloatArray  # the smaller pipe's end, in its coupling
    start_m: FloatArray  # the coupling's other stop, where the first increaser's spigot rests
    run_m: float  # from the hole's middle to ``start_m``


@dataclass(frozen=True, eq=False)
class Way:
    """A whole way out: corners from collar to terminal, bends between them, and what it comes to."""

    kind: str
    crossings: tuple[Crossing, ...]
    corners: FloatArray  # (k + 2, 3)
    dirs: FloatArray  # (k + 1, 3)
    angles: tuple[float, ...]
    patterns: tuple[int, ...]  # of each bend, the number among the problem's patterns of its angle
    street: tuple[bool, ...]  # the bend is a street bend, its spigot in the fitting before it
    crossing_leg: tuple[int, ...]  # leg on which each crossing lies
    leg_space: tuple[int, ...]  # space in which each leg starts
    price: float
    growth: Growth | None = None

    @cached_property
    def new_holes(self) -> int:
        """Number of cuts."""
        return _holes(self.crossings)


@dataclass(frozen=True, eq=False)
class Outcome:
    """What the search under one price gave."""

    ways: tuple[Way, ...]  # cheapest first
    least: dict[str, float] = field(default_factory=dict)  # by terminal kind: no way in these directions is cheaper
    rolled: dict[str, float] = field(default_factory=dict)  # by terminal kind: none is, however its fittings roll
    refusals: tuple[str, ...] = ()


def solve(problem: Problem, weights: Weights, conditions: Conditions | None = None) -> Outcome:
    """The best ways out under one price, for every terminal kind that is wanted.

    A way is kept where no other of its kind has as low a price with as few bends and as few new holes. Prices are
    exact in the directions of `links.direction_set`; ``least`` is a lower bound in the same directions, ``rolled``
    one for fittings at any roll.
    """
    return seek(conditions or Conditions.of(problem), weights).run()


def seek(conditions: Conditions, weights: Weights) -> Quest:
    """What `solve` does, to be carried on beside others."""
    problem, (found, refusals) = conditions.problem, conditions.linked
    wanted = [(chain, row) for chain, row in found if terminal_kind(chain[-1]) in problem.want.terminals]
    links = dict.fromkeys(link for _, row in wanted for link in row)
    sought = {link: Sought.of(conditions, link, weights) for link in links}  # once for all chains that share it
    rows = [Row(chain, [sought[link] for link in row], holes_price(chain, weights)) for chain, row in wanted]
    return Quest(rows, refusals, every=len(found) < MOST_CHAINS)


@dataclass(frozen=True, eq=False)
class Row:
    """A chain, its links under one price, and what it costs besides them."""

    chain: tuple[Crossing, ...]
    parts: list[Sought]
    fixed: float
    growth: Growth | None = None

    @cached_property
    def kind(self) -> str:
        """Of its terminal."""
        return terminal_kind(self.chain[-1])

    @cached_property
    def new_holes(self) -> int:
        """Number of cuts."""
        return _holes(self.chain)

    @property
    def bound(self) -> float:
        """No way through it is cheaper."""
        return sum(part.bound for part in self.parts) + self.fixed


@dataclass(eq=False)
class Quest:
    """The best ways through chains, each link searched no further than it takes; ``every``: no chain is left out."""

    rows: Sequence[Row]
    refusals: Sequence[str]
    every: bool
    _ways: list[Way] = field(default_factory=list)
    _least: dict[str, float] = field(default_factory=dict)

    def run(self) -> Outcome:
        """The search by itself, and what it found."""
        together([self.steps()])
        return self.outcome

    def steps(self) -> Steps:
        """The search, to be carried on beside others."""
        rows, least = self.rows, self._least
        queue = [(row.bound, i) for i, row in enumerate(rows)]
        heapq.heapify(queue)
        while queue:
            _, i = heapq.heappop(queue)
            row, kind, bound = rows[i], rows[i].kind, rows[i].bound
            beaten_by = (w.price for w in self._ways if w.kind == kind and w.new_holes <= row.new_holes)
            to_beat = min(beaten_by, default=np.inf)
            unknown = [part for part in row.parts if part.result is None]
            if bound >= to_beat or not math.isfinite(bound):
                least.setdefault(kind, np.inf)
            elif not unknown:
                least[kind] = min(least.get(kind, np.inf), bound)
                self._ways += _combined(row)
            else:
                more = min([to_beat, *(other[0] for other in queue[:1])]) - bound
                for conditions in dict.fromkeys(part.conditions for part in unknown):
                    conditions.measure([part.link for part in unknown if part.conditions is conditions])
                yield Await([part.looking(part.bound + more) for part in unknown])
                heapq.heappush(queue, (row.bound, i))

    @cached_property
    def outcome(self) -> Outcome:
        """What was found, after `steps`."""
        rolled: dict[str, float] = {}
        for row in self.rows:
            price = sum(part.rolled for part in row.parts) + row.fixed
            rolled[row.kind] = min(rolled.get(row.kind, np.inf), price)
        least = self._least
        if not self.every:
            least, rolled = dict.fromkeys(least, 0.0), dict.fromkeys(rolled, 0.0)
        return Outcome(tuple(_undominated(self._ways)), least, rolled, tuple(self.refusals))


@dataclass(slots=True)
class Sought:
    """A link under one price: what no way through it is cheaper than, raised by as much work as is asked for."""

    conditions: Conditions
    link: Link
    weights: Weights
    bound: float
    floor: float  # the bound at first
    search: Search | None = None
    result: LinkResult | None = None  # once there is no more to know

    @classmethod
    def of(cls, conditions: Conditions, link: Link, weights: Weights) -> Sought:
        """The link at first, under a bound that costs nothing."""
        floor = link.straight_m * weights.per_m + _turning(conditions.problem, weights, link)
        return cls(conditions, link, weights, floor, floor)

    @property
    def rolled(self) -> float:
        """No way through it is cheaper, whatever the rolls of its fittings."""
        return max(self.floor, self.search.rolled) if self.search else self.floor

    def looking(self, limit: float) -> Steps:
        """A search until the bound is above the limit, or all is known."""
        if self.search is None:
            self.search = Search(self.conditions, self.link, self.weights)
        yield from self.search.steps(limit)
        found = self.search.result
        self.bound = max(self.bound, min([found.bound, *(path.price for path in found.paths)]))
        if self.search.over:
            helped = not found.paths and self.search.heap
            self.result = (yield from self._fewest(found)) if helped else found

    def _fewest(self, found: LinkResult) -> Generator[Ask | Await, None, LinkResult]:
        """A search that ended before its first path, helped by one for the fewest bends, which ends sooner."""
        few = replace(self.weights, bend={angle: price + _MANY for angle, price in self.weights.bend.items()})
        search = Search(self.conditions, self.link, few)
        yield from search.steps()
        priced = (replace(p, price=p.price - _MANY * p.bends) for p in search.result.paths)
        return LinkResult(tuple(sorted(priced, key=lambda p: (p.price, p.bends))), found.bound)


def _turning(problem: Problem, weights: Weights, link: Link) -> float:
    """No fittings that a link needs cost less: what each degree costs in the one that is best at it, give and all.

    Nor do as many as it needs at least, each the cheapest there is.
    """
    give, cheapest = problem.give_deg, min(weights.bend.values(), default=0.0)
    if cheapest < 0.0:
        return MOST_BENDS * cheapest
    by_degree = sum(link.turns_deg) * min((p / (a + give) for a, p in weights.bend.items()), default=0.0)
    return max(by_degree, link.bends(give) * cheapest)


def _holes(chain: Sequence[Crossing]) -> int:
    return sum(crossing.is_cut for crossing in chain)


def holes_price(chain: Sequence[Crossing], weights: Weights) -> float:
    """What the new holes of a chain cost."""
    made = sum(c.passage.cost for c in chain if c.is_cut) if weights.name == "cost" else 0.0
    return weights.new_hole * _holes(chain) + made


def _combined(row: Row) -> list[Way]:
    """Every sum of the links' paths that no other of the chain beats in price and bends."""
    sums: list[tuple[float, int, tuple[LinkPath, ...]]] = [(row.fixed, 0, ())]
    for result in (part.result for part in row.parts if part.result is not None):
        sums = [(s + p.price, b + p.bends, (*paths, p)) for s, b, paths in sums for p in result.paths]
        sums.sort(key=lambda row: (row[0], row[1]))
        kept: list[tuple[float, int, tuple[LinkPath, ...]]] = []
        for one in sums:
            if all(one[1] < other[1] for other in kept):
                kept.append(one)
        sums = kept
    return [_joined(row, paths, price) for price, _, paths in sums]


def _joined(row: Row, paths: tuple[LinkPath, ...], price: float) -> Way:
    corners = [row.parts[0].link.start_m[None]]
    dirs: list[FloatArray] = []
    angles: list[float] = []
    patterns: list[int] = []
    street: list[bool] = []
    crossing_leg: list[int] = []
    leg_space: list[int] = []
    for link, path in zip((part.link for part in row.parts), paths, strict=True):
        strand, first = path.strand, len(angles)
        starts = [0, *strand.shape.corner_space]
        corners.append(path.corners[:-1])
        dirs.append(strand.dirs[1:] if dirs else strand.dirs)  # the leg through a hole is one
        leg_space += [link.spaces[s] for s in (starts[1:] if leg_space else starts)]
        angles += strand.angles
        patterns += strand.patterns
        street += [hub - length > 1e-6 for hub, length in zip(strand.hub[:-1].tolist(), path.lengths, strict=False)]
        crossing_leg += [first + leg for leg in strand.shape.cut_leg]
        if link.end is not None:
            crossing_leg.append(len(angles))
    corners.append(paths[-1].corners[-1:])
    return Way(
        row.kind, row.chain, np.concatenate(corners), np.concatenate(dirs), tuple(angles), tuple(patterns),
        tuple(street), tuple(crossing_leg), tuple(leg_space), price, row.growth,
    )  # fmt: skip


def _undominated(ways: list[Way]) -> list[Way]:
    """Ways that no other of their kind matches or beats in price, bends and new holes, cheapest first."""
    kept: list[Way] = []
    for way in sorted(ways, key=lambda w: (w.price, len(w.angles), w.new_holes)):
        if not any(
            o.kind == way.kind
            and o.price <= way.price + 1e-9
            and len(o.angles) <= len(way.angles)
            and o.new_holes <= way.new_holes
            for o in kept
        ):
            kept.append(way)
    return kept
