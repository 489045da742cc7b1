"""Ways whose size grows once, right after a hole that the larger pipe does not go through.

Up to and through that hole all is of the smaller kit; then come the smaller pipe's end in a coupling, clear of
construction, the increasers, and the larger kit. The place of the change is fixed by the hole, so the links before and
after it share nothing but their sum. The change stands indoors: a hole that leads outdoors is not one to grow after.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from ventroute.solve.conditions import Conditions
from ventroute.solve.couplings import fits
from ventroute.solve.links import MOST_CHAINS, Link, links, terminal_kind
from ventroute.solve.problem import Crossing, Problem, Weights
from ventroute.solve.solver import Growth, Quest, Row, Sought, holes_price


@dataclass(frozen=True, eq=False)
class _Chain:
    """A chain with a change of size in it, and its links: smaller, the first of the larger, and what follows."""

    crossings: tuple[Crossing, ...]
    growth: Growth
    before: tuple[Link, ...]
    first: Link
    begun: Conditions  # of the larger kit, its collar where the change begins
    after: tuple[Link, ...]


@dataclass(frozen=True, eq=False)
class Growing:
    """Two kits of one material in one house; the larger's `start` leads from the smaller size to its own."""

    smaller: Conditions
    larger: Conditions
    _begun: dict[str, Conditions] = field(default_factory=dict)

    @cached_property
    def chains(self) -> tuple[_Chain, ...]:
        """Every chain and hole of it after which the size may grow, where all in the larger size cannot be."""
        found, _ = self.smaller.linked
        return tuple(one for chain, row in found for one in self._grown(chain, row))

    @property
    def kinds(self) -> frozenset[str]:
        """Kinds of terminal that such chains lead to."""
        return frozenset(terminal_kind(chain.crossings[-1]) for chain in self.chains)

    def seek(self, smaller: Weights, larger: Weights) -> Quest:
        """The best ways under one price, which each size has figures of its own for; `solver.solve` says the rest."""
        sought: dict[tuple[object, ...], Sought] = {}

        def part(conditions: Conditions, link: Link, weights: Weights) -> Sought:
            """The link, once for all chains that share it."""
            key = (conditions, link.key)
            if key not in sought:
                sought[key] = Sought.of(conditions, link, weights)
            return sought[key]

        rows = []
        for chain in self.chains:
            if terminal_kind(chain.crossings[-1]) not in self.larger.problem.want.terminals:
                continue
            parts = [
                *(part(self.smaller, link, smaller) for link in chain.before),
                part(chain.begun, chain.first, larger),
                *(part(self.larger, link, larger) for link in chain.after),
            ]
            fixed = holes_price(chain.crossings, larger) + self._change_price(chain.growth, smaller, larger)
            rows.append(Row(chain.crossings, parts, fixed, chain.growth))
        return Quest(rows, (), every=len(self.smaller.linked[0]) < MOST_CHAINS)

    def _change_price(self, growth: Growth, smaller: Weights, larger: Weights) -> float:
        """From the hole's middle to the change, and what the change's length costs more than larger pipe."""
        kit, count = self.smaller.problem.kit, self.smaller.problem.appliance.count
        run = growth.run_m - (kit.coupling.gap_m if count == "pipe" else 0.0)
        dearer = max(0.0, smaller.per_m - larger.per_m)
        return smaller.per_m * run + dearer * self.larger.problem.start_m

    def _grown(self, chain: tuple[Crossing, ...], row: list[Link]) -> Iterator[_Chain]:
        larger = self.larger.problem
        wider = [larger.crossing(crossing.passage) for crossing in chain]
        tight = next((i for i, crossing in enumerate(wider) if isinstance(crossing, str)), len(chain))
        for i, crossing in enumerate(chain[:-1]):
            onward = [c for c in wider[i + 1 :] if not isinstance(c, str)]
            if i < tight or crossing.is_cut or len(onward) < len(chain) - i - 1:
                continue
            growth = _growth(self.smaller.problem, larger, crossing, i)
            if not self._has_room(growth, crossing):
                continue
            begun = self._begun.setdefault(crossing.mark, self.larger.beside(_from(larger, growth, crossing)))
            first, *after = links(begun.problem, tuple(onward))
            first = replace(first, start_nominal=crossing.nominal)
            holes = sum(not c.is_cut for c in chain[: i + 1])
            yield _Chain((*chain[: i + 1], *onward), growth, tuple(row[:holes]), first, begun, tuple(after))

    def _has_room(self, growth: Growth, crossing: Crossing) -> bool:
        """Whether coupling and increasers keep clear in the space that the hole leads into."""
        coupling, larger = self.smaller.problem.kit.coupling, self.larger.problem
        start = growth.stop_m - crossing.true * coupling.socket_m
        end = growth.start_m + crossing.true * (larger.start_m + larger.start_socket_m)
        radius = _hub_m(self.smaller.problem, larger) / 2
        return fits(self.larger, crossing.passage.spaces[1], start, end, radius)


def _hub_m(smaller: Problem, larger: Problem) -> float:
    """Outside diameter of the widest hub of the change."""
    return max(smaller.kit.coupling.hub_od_m, *(change.hub_od_m for change in larger.kit.start))


def _growth(smaller: Problem, larger: Problem, crossing: Crossing, i: int) -> Growth:
    """The nearest place after a hole where coupling and increasers keep the gap to its barrier."""
    coupling = smaller.kit.coupling
    assert crossing.centre_m is not None
    along = float(crossing.passage.mouth_b[0] @ crossing.true)
    rim = 0.5 * _hub_m(smaller, larger) * math.sqrt(max(0.0, 1.0 - along * along))
    pipe = crossing.half_b_m + (rim + smaller.gap_m) / along + coupling.socket_m
    stop = crossing.centre_m + crossing.true * pipe
    return Growth(i, stop, stop + crossing.true * coupling.gap_m, pipe + coupling.gap_m)


def _from(larger: Problem, growth: Growth, crossing: Crossing) -> Problem:
    """The larger kit's problem as if its collar were where the change begins."""
    x, y, z = growth.start_m.tolist()
    u, v, w = crossing.true.tolist()
    return replace(larger, appliance=replace(larger.appliance, collar_m=(x, y, z), faces=(u, v, w)))
