"""Cutting stock where a plain search is too long: patterns priced one by one, then chosen by HiGHS.

Gilmore and Gomory, "A linear programming approach to the cutting-stock problem", Operations Research 9 (1961). The
linear program's value bounds the cost from below; whole sticks are then chosen among the patterns that it made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ventroute.shop.filling import COARSE, FINE, fill, knapsack
from ventroute.shop.packing import Bin, Packing, pack

FloatArray = NDArray[np.float64]
Pattern = tuple[int, tuple[int, ...]]  # kind of bin, how many of each weight

_ROUNDS = 400  # more patterns than any instance here has asked for
_MOST_PATTERNS = 1500  # as many are all looked at together
_NODES = 500  # of the whole-number search: a limit that does not depend on the machine's speed
_TINY = 1e-9


def improve(found: Packing, weights: Sequence[int], kinds: Sequence[Bin]) -> Packing:
    """A packing at least as good as `found`, with a better bound where one is proved.

    Parameters
    ----------
    found : a way to fit all weights
    weights, kinds : as `ventroute.shop.packing.pack` takes them
    """
    found = fill(found, weights, kinds)
    if found.proved:
        return found
    task = _Task(tuple(sorted(set(weights), reverse=True)), Counter(weights), tuple(kinds))
    every = _every(task)
    if every is not None:
        chosen, proved = _choose(every, task)
    else:
        patterns = _start(found, task)
        proved, shares = _generate(patterns, task)
        chosen = _rounded(patterns, shares, task) if found.cost > proved else []
    best = min(found, _bins(chosen, task, found), key=lambda packing: packing.cost)
    return Packing(best.bins, best.cost, min(max(found.bound, proved), best.cost))


@dataclass(frozen=True, slots=True)
class _Task:
    """Different weights, heaviest first, how many of each, and the bins."""

    weights: tuple[int, ...]
    demand: Counter[int]
    kinds: tuple[Bin, ...]
    step: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "step", int(np.gcd.reduce([kind.cost for kind in self.kinds])) or 1)

    def wanted(self) -> FloatArray:
        """How many of each weight."""
        return np.array([self.demand[weight] for weight in self.weights], dtype=float)


def _start(found: Packing, task: _Task) -> list[Pattern]:
    """The patterns of the packing that is known already: they cover everything."""
    made = {(kind, tuple(Counter(inside)[weight] for weight in task.weights)) for kind, inside in found.bins}
    return sorted(made)


def _program(patterns: list[Pattern], task: _Task) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Costs, rows ``a x >= b``: every piece is cut, no kind is used more often than there are."""
    costs = np.array([task.kinds[kind].cost for kind, _ in patterns], dtype=float)
    pieces = np.array([inside for _, inside in patterns], dtype=float).T
    counted = [k for k, kind in enumerate(task.kinds) if kind.count is not None]
    limits = np.array([[-float(kind == k) for kind, _ in patterns] for k in counted]).reshape(
        len(counted), len(patterns)
    )
    least = np.concatenate([task.wanted(), [-float(task.kinds[k].count or 0) for k in counted]])
    return costs, np.vstack([pieces, limits]), least


def _generate(patterns: list[Pattern], task: _Task) -> tuple[int, FloatArray]:
    """Add patterns until none would lower the linear program.

    Returns a proved bound, rounded up to a cost that can be paid, and how often the program uses each pattern.
    """
    from scipy.optimize import linprog

    counted = [k for k, kind in enumerate(task.kinds) if kind.count is not None]
    known = set(patterns)
    for cells in (COARSE, FINE):
        for _ in range(_ROUNDS):
            costs, rows, least = _program(patterns, task)
            solved: Any = linprog(costs, A_ub=-rows, b_ub=-least, bounds=(0, None), method="highs")
            if solved.status != 0:
                return 0, np.zeros(len(patterns))
            duals = np.maximum(-np.asarray(solved.ineqlin.marginals, dtype=float), 0.0)
            values = duals[: len(task.weights)]
            limits = dict(zip(counted, duals[len(task.weights) :], strict=True))
            added = [pattern for pattern in _priced(values, limits, task, cells) if pattern not in known]
            if not added:
                break
            known.update(added)
            patterns.extend(added)
    return _bound(values, task), np.asarray(solved.x, dtype=float)


def _priced(values: FloatArray, limits: dict[int, float], task: _Task, cells: int) -> list[Pattern]:
    """Patterns worth more than their bin: for each kind the best one, then the best of other pieces, and so on."""
    found: list[Pattern] = []
    for k, kind in enumerate(task.kinds):
        price = kind.cost + limits.get(k, 0.0)
        left = values.copy()
        while True:
            worth, inside = _most(left, kind.room, task, cells, up=True)
            if worth <= price + 1e-7 * max(1.0, price):
                break
            found.append((k, inside))
            left[np.array(inside) > 0] = 0.0
    return found


def _bound(values: FloatArray, task: _Task) -> int:
    """What every way to cut must cost, from the worth of the pieces (Farley, Operations Research 38, 1990, p. 922).

    Pieces are rounded down here, so that no pattern that fits is worth more than what is found.
    """
    share, spared = 1.0, 0.0
    worth = [_most(values, kind.room, task, FINE, up=False)[0] for kind in task.kinds]
    for kind, most in zip(task.kinds, worth, strict=True):
        if kind.count is None and most > kind.cost:
            share = min(share, kind.cost / most)
    for kind, most in zip(task.kinds, worth, strict=True):
        if kind.count is not None:
            spared += kind.count * max(0.0, share * most - kind.cost)
    value = share * float(values @ task.wanted()) - spared
    return _payable(value, task.step)


def _most(values: FloatArray, room: int, task: _Task, cells: int, *, up: bool) -> tuple[float, tuple[int, ...]]:
    """The pattern worth the most in a room."""
    most = [min(task.demand[weight], room // weight) for weight in task.weights]
    items = [i for i in range(len(values)) for _ in range(most[i]) if values[i] > _TINY]
    best, inside = knapsack([task.weights[i] for i in items], [values[i] for i in items], room, cells, up=up)
    count = Counter(items[n] for n in inside)
    return best, tuple(count[i] for i in range(len(values)))


def _every(task: _Task) -> list[Pattern] | None:
    """Every pattern that nothing more would fit into, for each kind of bin; None where they are too many."""
    found: list[Pattern] = []
    for k, kind in enumerate(task.kinds):
        most = [min(task.demand[weight], kind.room // weight) for weight in task.weights]

        def more(n: int, room: int, most: list[int] = most) -> Iterator[tuple[int, ...]]:
            if n == len(most):
                yield ()
                return
            for count in range(min(most[n], room // task.weights[n]), -1, -1):
                for rest in more(n + 1, room - count * task.weights[n]):
                    yield (count, *rest)

        for steps, inside in enumerate(more(0, kind.room)):
            if len(found) > _MOST_PATTERNS or steps > 20 * _MOST_PATTERNS:
                return None
            if any(inside) and _full(inside, most, kind.room, task):
                found.append((k, inside))
    return found


def _full(inside: tuple[int, ...], most: list[int], room: int, task: _Task) -> bool:
    spare = room - sum(weight * count for weight, count in zip(task.weights, inside, strict=True))
    lists = zip(task.weights, inside, most, strict=True)
    return all(weight > spare or count == limit for weight, count, limit in lists)


def _choose(patterns: list[Pattern], task: _Task) -> tuple[list[Pattern], int]:
    """Whole sticks among all patterns, and the bound that HiGHS proves; none where it finds none."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    costs, rows, least = _program(patterns, task)
    scale = max(1.0, float(costs.max()))
    solved: Any = milp(
        costs / scale,
        constraints=LinearConstraint(rows, lb=least),
        integrality=np.ones(len(costs), dtype=np.int64),
        bounds=Bounds(0, np.inf),
        options={"node_limit": _NODES},
    )
    if solved.x is None:
        return [], 0
    chosen = [pattern for pattern, times in zip(patterns, solved.x, strict=True) for _ in range(round(times))]
    return chosen, _payable(float(solved.mip_dual_bound) * scale, task.step)


def _payable(value: float, step: int) -> int:
    """The least whole cost that is not under a bound; what the solver's sums may have lost is taken off first."""
    value -= 1e-6 * max(1.0, abs(value))
    return -int(-value // step) * step if value > 0 else 0


def _rounded(patterns: list[Pattern], shares: FloatArray, task: _Task) -> list[Pattern]:
    """The linear program's sticks in whole numbers, and what they leave packed by itself; empty where that fails."""
    whole = [pattern for pattern, share in zip(patterns, shares, strict=True) for _ in range(int(share + 1e-6))]
    left, used = Counter(task.demand), Counter(kind for kind, _ in whole)
    for _, inside in whole:
        left -= Counter(dict(zip(task.weights, inside, strict=True)))
    kinds = [
        Bin(kind.room, kind.cost, None if kind.count is None else max(0, kind.count - used[k]))
        for k, kind in enumerate(task.kinds)
    ]
    rest = list(left.elements())
    packing = pack(rest, kinds)
    if packing is None or not whole:
        return []
    packing = improve(packing, rest, kinds)
    return whole + [(k, tuple(Counter(inside)[weight] for weight in task.weights)) for k, inside in packing.bins]


def _bins(chosen: list[Pattern], task: _Task, found: Packing) -> Packing:
    """Patterns as a packing, without the pieces that were cut too often; the known packing where one is missing."""
    left = Counter(task.demand)
    bins = []
    for kind, inside in chosen:
        taken = Counter(dict(zip(task.weights, inside, strict=True))) & left
        left -= taken
        if taken:
            bins.append((kind, tuple(sorted(taken.elements(), reverse=True))))
    if left.total():
        return found
    return Packing(tuple(bins), sum(task.kinds[kind].cost for kind, _ in bins), found.bound)
