"""Filling one stick as well as can be, and whole lists stick by stick."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from math import ceil

import numpy as np
from numpy.typing import NDArray

from ventroute.shop.packing import Bin, Packing

COARSE, FINE = 1024, 16384  # cells that a stick is divided into: about 3 mm and 0.2 mm of a 10 ft stick
_TINY = 1e-9
_BENT = (1.0, 1.02, 1.05, 1.1, 1.2, 1.35, 1.5, 0.97)  # powers of a weight as its worth: above 1 long pieces go first


def knapsack(
    weights: Sequence[int], values: Sequence[float], room: int, cells: int = FINE, *, up: bool = True
) -> tuple[float, list[int]]:
    """Most value that fits a room of so many cells, and the places of what is inside.

    Lengths are rounded up to cells, so that what fits does fit; or down, so that the value is a bound.
    """
    sizes = [ceil(weight * cells / room - 1e-9) if up else weight * cells // room for weight in weights]
    best: NDArray[np.float64] = np.zeros(cells + 1)
    took = np.zeros((len(sizes), cells + 1), dtype=bool)
    for n, size in enumerate(sizes):
        if size <= cells and values[n] > 0:
            with_it = best[: cells + 1 - size] + values[n]
            np.greater(with_it, best[size:] + _TINY, out=took[n, size:])
            best[size:] = np.where(took[n, size:], with_it, best[size:])
    inside, at = [], cells
    for n in range(len(sizes) - 1, -1, -1):
        if took[n, at]:
            inside.append(n)
            at -= sizes[n]
    return float(best[cells]), inside[::-1]


def fill(found: Packing, weights: Sequence[int], kinds: Sequence[Bin]) -> Packing:
    """A packing at least as good, each stick in turn filled as full as can be around the heaviest piece left.

    After Gupta and Ho, "A new heuristic algorithm for the one-dimensional bin-packing problem", Production Planning &
    Control 10 (1999); we also bend the worth of a piece, to use long pieces up early.
    """
    best = found
    ordered = sorted(weights, reverse=True)
    for bins in _ways(ordered, kinds):
        cost = sum(kinds[kind].cost for kind, _ in bins)
        if (cost, len(bins)) < (best.cost, len(best.bins)):
            best = Packing(bins, cost, min(found.bound, cost))
        if best.proved:
            break
    return best


def _ways(weights: list[int], kinds: Sequence[Bin]) -> Iterator[tuple[tuple[int, tuple[int, ...]], ...]]:
    buys = sorted((k for k, kind in enumerate(kinds) if kind.cost), key=lambda k: kinds[k].cost / kinds[k].room)
    for power in _BENT:
        for buy in buys:
            bins = _filled(weights, kinds, buy, power)
            if bins is not None:
                yield bins


def _filled(
    weights: list[int], kinds: Sequence[Bin], buy: int, power: float
) -> tuple[tuple[int, tuple[int, ...]], ...] | None:
    """Offcuts first, the shortest first; then sticks of one kind, and for the rest the cheapest that holds it."""
    left = Counter(weights)
    used: Counter[int] = Counter()
    bins: list[tuple[int, tuple[int, ...]]] = []
    for k in sorted((k for k, kind in enumerate(kinds) if not kind.cost), key=lambda k: kinds[k].room):
        for _ in range(kinds[k].count or 0):
            _take(k, left, kinds[k].room, power, bins, lead=False)
    while left:
        rest = sum(weight * count for weight, count in left.items())
        enough = [k for k, kind in enumerate(kinds) if kind.cost and kind.room >= rest and used[k] != kind.count]
        k = min(enough, key=lambda k: (kinds[k].cost, k)) if enough else buy
        if used[k] == kinds[k].count or kinds[k].room < max(left):
            return None
        used[k] += 1
        _take(k, left, kinds[k].room, power, bins, lead=True)
    return tuple(bins)


def _take(
    k: int, left: Counter[int], room: int, power: float, bins: list[tuple[int, tuple[int, ...]]], *, lead: bool
) -> None:
    """Fill one bin; `lead`: around the heaviest piece."""
    could = Counter({weight: min(count, room // weight) for weight, count in left.items() if weight <= room})
    pieces = sorted(could.elements(), reverse=True)
    if not pieces:
        return
    inside = [pieces.pop(0)] if lead else []
    spare = room - sum(inside)
    small = [weight for weight in pieces if weight <= spare]
    if small:
        values = [(weight / room) ** power for weight in small]
        inside += [small[n] for n in knapsack(small, values, spare, 4 * COARSE)[1]]
    left -= Counter(inside)
    if inside:
        bins.append((k, tuple(inside)))
