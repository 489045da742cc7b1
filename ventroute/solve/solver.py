"""From a problem to ways out: chains of links, each link searched once, the best put together.

At a hole the pipe's place and direction are fixed, so the links of a chain share nothing but their sum, and the least
of a chain is the sum of the least of its links. Chains whose lower bound cannot beat what is found are not searched.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from ventroute.solve.conditions import Conditions
from ventroute.solve.problem import Crossing, Link, Problem, Weights, chains, links, terminal_kind
from ventroute.solve.search import LinkPath, LinkResult, Search

FloatArray = NDArray[np.float64]

_MANY = 1000.0  # price of a bend where the fewest are wanted: above that of any length


@dataclass(frozen=True, eq=False)
class Way:
    """A whole way out: corners from collar to terminal, bends between them, and what it comes to."""

    kind: str
    crossings: tuple[Crossing, ...]
    corners: FloatArray  # (k + 2, 3)
    dirs: FloatArray  # (k + 1, 3)
    angles: tuple[float, ...]
    street: tuple[bool, ...]  # the bend is a street bend, its spigot in the fitting before it
    crossing_leg: tuple[int, ...]  # leg on which each crossing lies
    leg_space: tuple[int, ...]  # space in which each leg starts
    price: float

    @property
    def new_holes(self) -> int:
        """Number of cuts."""
        return sum(crossing.is_cut for crossing in self.crossings)


@dataclass(frozen=True, eq=False)
class Outcome:
    """What the search under one price gave."""

    ways: tuple[Way, ...]  # cheapest first
    least: dict[str, float] = field(default_factory=dict)  # by terminal kind: no way is cheaper
    refusals: tuple[str, ...] = ()


def solve(problem: Problem, weights: Weights, conditions: Conditions | None = None) -> Outcome:
    """The best ways out under one price, for every terminal kind that is wanted.

    A way is kept where no other of its kind has as low a price with as few bends and as few new holes. Prices are
    exact in the directions of `search.direction_set`; ``least`` is a lower bound in the same directions.
    """
    conditions = conditions or Conditions(problem)
    found, refusals = chains(problem)
    wanted = [c for c in found if terminal_kind(c[-1]) in problem.want.terminals]
    ranked = sorted(((_floor(problem, c, weights), i) for i, c in enumerate(wanted)), key=lambda r: (r[0], r[1]))
    searched: dict[tuple[str, ...], LinkResult] = {}
    ways: list[Way] = []
    least: dict[str, float] = {}
    for floor, i in ranked:
        chain = wanted[i]
        kind = terminal_kind(chain[-1])
        if _beaten(floor, _holes(chain), kind, ways):
            continue
        parts = links(problem, chain)
        results = [_searched(problem, link, weights, conditions, searched) for link in parts]
        holes_price = weights.new_hole * _holes(chain) + _cut_price(chain, weights)
        bound = sum(min([r.bound, *(p.price for p in r.paths)]) for r in results) + holes_price
        least[kind] = min(least.get(kind, np.inf), bound)
        ways += _combined(chain, kind, parts, results, holes_price)
    return Outcome(tuple(_undominated(ways)), least, tuple(refusals))


def _holes(chain: Sequence[Crossing]) -> int:
    return sum(crossing.is_cut for crossing in chain)


def _cut_price(chain: Sequence[Crossing], weights: Weights) -> float:
    return sum(c.passage.cost for c in chain if c.is_cut) if weights.name == "cost" else 0.0


def _floor(problem: Problem, chain: tuple[Crossing, ...], weights: Weights) -> float:
    """No way through this chain costs less: straight lines from place to place."""
    at = np.asarray(problem.appliance.collar_m)
    length = 0.0
    for crossing in chain:
        if crossing.centre_m is not None:
            length += float(np.linalg.norm(crossing.centre_m - at))
            at = crossing.centre_m
        elif crossing.passage.area is not None:
            low, high = crossing.passage.area
            to = np.clip(at, low, high)
            if crossing is chain[-1] or len(chain) == 1:
                length += float(np.linalg.norm(to - at))
            at = at if crossing is not chain[-1] else to
    return length * weights.per_m + _cut_price(chain, weights) + weights.new_hole * _holes(chain)


def _beaten(floor: float, holes: int, kind: str, ways: list[Way]) -> bool:
    return any(w.kind == kind and w.price <= floor and w.new_holes <= holes for w in ways)


def _searched(
    problem: Problem, link: Link, weights: Weights, conditions: Conditions, done: dict[tuple[str, ...], LinkResult]
) -> LinkResult:
    if link.key not in done:
        found = Search(problem, link, weights, conditions).run()
        done[link.key] = (
            found if found.paths or found.bound == np.inf else _fewest(problem, link, weights, conditions, found)
        )
    return done[link.key]


def _fewest(problem: Problem, link: Link, weights: Weights, conditions: Conditions, found: LinkResult) -> LinkResult:
    """A search that ended before its first path, helped by one for the fewest bends, which comes to an end sooner."""
    few = replace(weights, bend={angle: price + _MANY for angle, price in weights.bend.items()})
    paths = Search(problem, link, few, conditions).run().paths
    priced = (replace(p, price=p.price - _MANY * p.bends) for p in paths)
    return LinkResult(tuple(sorted(priced, key=lambda p: (p.price, p.bends))), found.bound)


def _combined(
    chain: tuple[Crossing, ...], kind: str, parts: list[Link], results: list[LinkResult], holes_price: float
) -> list[Way]:
    """Every sum of the links' paths that no other of the chain beats in price and bends."""
    sums: list[tuple[float, int, tuple[LinkPath, ...]]] = [(holes_price, 0, ())]
    for result in results:
        sums = [(s + p.price, b + p.bends, (*paths, p)) for s, b, paths in sums for p in result.paths]
        sums.sort(key=lambda row: (row[0], row[1]))
        kept: list[tuple[float, int, tuple[LinkPath, ...]]] = []
        for row in sums:
            if all(row[1] < other[1] for other in kept):
                kept.append(row)
        sums = kept
    return [_joined(chain, kind, parts, paths, price) for price, _, paths in sums]


def _joined(
    chain: tuple[Crossing, ...], kind: str, parts: list[Link], paths: tuple[LinkPath, ...], price: float
) -> Way:
    corners = [paths[0].corners[:1]]
    dirs: list[FloatArray] = []
    angles: list[float] = []
    street: list[bool] = []
    crossing_leg: list[int] = []
    leg_space: list[int] = []
    for link, path in zip(parts, paths, strict=True):
        strand = path.strand
        first = len(angles)
        corners.append(path.corners[1:-1])
        dirs += list(strand.dirs if not dirs else strand.dirs[1:])
        angles += strand.angles
        street += [bool(strand.hub[i] - path.lengths[i] > 1e-6) for i in range(len(strand.angles))]
        starts = [0, *strand.shape.corner_space]
        leg_space += [link.spaces[s] for s in (starts if not leg_space else starts[1:])]
        crossing_leg += [first + leg for leg in strand.shape.cut_leg]
        if link.end is not None:
            crossing_leg.append(len(angles))
    corners.append(paths[-1].corners[-1:])
    return Way(
        kind, chain, np.concatenate(corners), np.array(dirs), tuple(angles), tuple(street),
        tuple(crossing_leg), tuple(leg_space), price,
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
