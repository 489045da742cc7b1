"""How many sticks of each kind to buy: the cheapest choice first, until one is found that the pieces fit into.

What a choice lacks becomes a condition that all later choices keep (Benders, "Partitioning procedures for solving
mixed-variables programming problems", Numerische Mathematik 4, 1962). So the first choice that holds all the pieces
costs least, and that is proved; a choice that could neither be filled nor refused is where the proof ends.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Sequence
from functools import reduce
from math import gcd

import numpy as np

from ventroute.shop.columns import Need, Task, shares, task_of
from ventroute.shop.diving import Filled, dived, filled
from ventroute.shop.packing import Bin, Packing

_CHOICES = 60  # looked at: a limit that does not depend on the machine's speed
_DIVES = 4  # ways down for the first choice that asks for them: there the bound is decided; one for each later
_NO_WAY = 1 << 62

Counts = tuple[int, ...]


def improve(found: Packing, weights: Sequence[int], kinds: Sequence[Bin]) -> Packing:
    """A packing at least as good as `found`, with a better bound where one is proved.

    Parameters
    ----------
    found : a way to fit all weights
    weights, kinds : as `ventroute.shop.packing.pack` takes them
    """
    if found.proved:
        return found
    task = task_of(weights, kinds)
    choices = _Choices(kinds, (found.cost, sum(kinds[k].cost > 0 for k, _ in found.bins)))
    choices.needs.append(task.need(np.array(task.down, dtype=np.int64)))
    floor: int | None = None
    dives = _DIVES
    for _ in range(_CHOICES):
        counts = choices.cheapest()
        if counts is None:
            return Packing(found.bins, found.cost, found.cost if floor is None else floor)
        cost = choices.cost(counts)
        bins = filled(task, Counter(weights), counts)
        if bins is None:
            bins, need = _worked_out(task, counts, dives)
            if need is not None:
                choices.needs.append(need)
                continue
            dives = 1
        floor = cost if floor is None else min(floor, cost)
        if bins is not None:
            return Packing(bins, sum(kinds[k].cost for k, _ in bins), floor)
        choices.tried.add(counts)
    return Packing(found.bins, found.cost, found.bound if floor is None else max(found.bound, floor))


def _worked_out(task: Task, counts: Counts, dives: int) -> tuple[Filled | None, Need | None]:
    """What the bins of a choice hold, or the need that it breaks; neither where neither was found."""
    worth, used = shares(task, task.wanted, counts)
    if worth is not None:
        need = task.need(worth)
        return None, need if need.short(counts) > 0 else None
    for turn in range(dives):
        bins = dived(task, counts, used, turn)
        if bins is not None:
            return bins, None
    return None, None


class _Choices:
    """Numbers of bins of each kind, cheapest first and of these the fewest; all offcuts are always among them."""

    def __init__(self, kinds: Sequence[Bin], below: tuple[int, int]) -> None:
        self.kinds = tuple(kinds)
        self.below = below  # cost and bought bins that a choice must be better than
        self.needs: list[Need] = []
        self.tried: set[Counts] = set()
        self.bought = [k for k, kind in enumerate(kinds) if kind.cost]
        self.free = tuple(0 if kind.cost else kind.count or 0 for kind in kinds)
        self.step = reduce(gcd, (kind.cost for kind in kinds), 0) or 1

    def cost(self, counts: Counts) -> int:
        """What a choice costs."""
        return sum(kind.cost * count for kind, count in zip(self.kinds, counts, strict=True))

    def cheapest(self) -> Counts | None:
        """The least choice that keeps every need and was not tried yet, None where none is good enough.

        Best first: a kind is bought once more, or done with.
        """
        start = tuple(need.short(self.free) for need in self.needs)
        heap = [(self._floor(0, start), 0, self.free, 0, 0, start)]
        while heap:
            floor, bins, counts, at, spent, short = heapq.heappop(heap)
            if (floor, bins) >= self.below:
                return None
            if max(short) <= 0 and counts not in self.tried:
                return counts
            if at == len(self.bought):
                continue
            k = self.bought[at]
            kind = self.kinds[k]
            heapq.heappush(heap, (spent + self._floor(at + 1, short), bins, counts, at + 1, spent, short))
            if kind.count is None or counts[k] < kind.count:
                more = (*counts[:k], counts[k] + 1, *counts[k + 1 :])
                lack = tuple(lacks - need.holds[k] for lacks, need in zip(short, self.needs, strict=True))
                paid = spent + kind.cost
                heapq.heappush(heap, (paid + self._floor(at, lack), bins + 1, more, at, paid, lack))
        return None

    def _floor(self, at: int, short: Sequence[int]) -> int:
        """What must still be paid at least, where only kinds from one on are bought."""
        most = 0
        for need, lacks in zip(self.needs, short, strict=True):
            if lacks > 0:
                kinds = [(self.kinds[k].cost, need.holds[k]) for k in self.bought[at:] if need.holds[k]]
                most = max(most, min((-(-lacks * cost // holds) for cost, holds in kinds), default=_NO_WAY))
        return -(-most // self.step) * self.step
