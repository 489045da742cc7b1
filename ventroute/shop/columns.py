"""Whether so many bins of each kind can hold the pieces: a linear program over patterns, priced as they are needed.

Gilmore and Gomory, "A linear programming approach to the cutting-stock problem", Operations Research 9 (1961). A worth
for every piece proves what bins there must be: together they hold no more worth than the best filling of each. Worths
are whole numbers and so are the sums, so that rounding never proves what is not true.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ventroute.shop.packing import Bin

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
Pattern = tuple[int, tuple[int, ...]]  # kind of bin, how many of each weight

_CELLS = 1 << 15  # that the longest bin is divided into where the weights have no larger common measure
_WORTH = 10**9  # the largest worth: as many steps as a linear program's prices are good for
_ROUNDS = 150  # of pricing: more than any instance here has asked for
_BATCH = 4  # fillings priced in a round for each kind, of different pieces
_BENT = (
    1.0,
    1.02,
    1.05,
    1.1,
    1.2,
    1.35,
    1.5,
    0.97,
)  # first worths are powers of the weight: above 1 long pieces go first
_TINY = 1e-7


@dataclass(frozen=True, slots=True)
class Need:
    """What every way to cut keeps: ``sum(holds[k] * bins of kind k) >= least``."""

    holds: tuple[int, ...]
    least: int

    def short(self, counts: Sequence[int]) -> int:
        """How much so many bins of each kind lack, 0 or less where they may be enough."""
        return self.least - sum(hold * count for hold, count in zip(self.holds, counts, strict=True))


@dataclass(frozen=True, eq=False)
class Task:
    """Different weights, heaviest first, how many of each, the kinds of bin, and all lengths in whole cells.

    ``up`` and ``down`` are the weights rounded to cells, ``rooms`` are rounded down: what fits rounded up does fit,
    what does not fit rounded down does not. They are exact where the weights' common measure is not too small.
    """

    weights: tuple[int, ...]
    wanted: IntArray
    kinds: tuple[Bin, ...]
    up: tuple[int, ...]
    down: tuple[int, ...]
    rooms: tuple[int, ...]
    patterns: list[Pattern] = field(default_factory=list)

    def count(self, pieces: Counter[int]) -> IntArray:
        """How many there are of each weight."""
        return np.array([pieces[weight] for weight in self.weights], dtype=np.int64)

    def need(self, worth: IntArray) -> Need:
        """What the worth of each weight proves."""
        best, _ = _most(worth, self.down, max(self.rooms), self.wanted)
        return Need(tuple(int(best[room]) for room in self.rooms), int(worth @ self.wanted))


def task_of(weights: Sequence[int], kinds: Sequence[Bin]) -> Task:
    """The pieces and bins, with the first patterns: the best fillings by powers of the weight."""
    different = sorted(set(weights), reverse=True)
    demand = Counter(weights)
    cell = max(int(np.gcd.reduce(different)), -(-max(kind.room for kind in kinds) // _CELLS))
    task = Task(
        tuple(different),
        np.array([demand[weight] for weight in different], dtype=np.int64),
        tuple(kinds),
        tuple(-(-weight // cell) for weight in different),
        tuple(weight // cell for weight in different),
        tuple(kind.room // cell for kind in kinds),
    )
    part = np.array(different) / different[0]
    found = (_priced((part**power * _WORTH).astype(np.int64), task, task.wanted) for power in _BENT)
    task.patterns.extend(dict.fromkeys(pattern for patterns in found for pattern in patterns))
    return task


def program(task: Task, wanted: IntArray, counts: Sequence[int]) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Prices, rows and least values of ``rows x >= least``: patterns cost nothing, what is left uncut its length.

    The columns are the task's patterns, then what is not cut of each weight; the rows the weights, then the kinds.
    """
    m, n = len(task.weights), len(task.patterns)
    rows = np.zeros((m + len(task.kinds), n + m))
    rows[:m, :n] = np.array([inside for _, inside in task.patterns], dtype=float).reshape(n, m).T
    rows[m + np.array([kind for kind, _ in task.patterns], dtype=np.int64), np.arange(n)] = -1.0
    rows[:m, n:] = np.eye(m)
    price = np.concatenate([np.zeros(n), np.array(task.weights) / task.weights[0]])
    return price, rows, np.concatenate([wanted, -np.array(counts)]).astype(float)


def shares(
    task: Task, wanted: IntArray, counts: Sequence[int], rounds: int = _ROUNDS
) -> tuple[IntArray | None, FloatArray]:
    """Shares of patterns that cut what is wanted from so many bins of each kind, or the worth that speaks against it.

    Patterns are priced half-way between the program's prices and the best ones so far, and by the program's own only
    where that brings none (Wentges, International Transactions in Operational Research 4, 1997).

    Parameters
    ----------
    task : its patterns are used, and new ones are added to them
    wanted : how many of each weight
    counts : bins of each kind
    rounds : of pricing, at most

    Returns
    -------
    a worth of each weight, by which something stays uncut, None where all is cut; how often each pattern is used
    """
    from scipy.optimize import linprog

    m = len(task.weights)
    best: tuple[int, IntArray] | None = None
    for _ in range(rounds):
        price, rows, least = program(task, wanted, counts)
        solved: Any = linprog(price, A_ub=-rows, b_ub=-least, bounds=(0, None), method="highs")
        if solved.status != 0:
            break
        used = np.asarray(solved.x, dtype=float)[: len(task.patterns)]
        if solved.fun < _TINY:
            return None, used
        duals = np.maximum(-np.asarray(solved.ineqlin.marginals, dtype=float), 0.0) * _WORTH
        worth = np.floor(duals[:m]).astype(np.int64)
        added: list[Pattern] = []
        for at in (worth,) if best is None else ((worth + best[1]) // 2, worth):
            uncut = _uncut(at, task, wanted, counts)
            if uncut > 0:
                return at, used
            if best is None or uncut > best[0]:
                best = (uncut, at)
            added = _new(at, worth, duals[m:], task, wanted)
            if added:
                break
        if not added:
            return worth, used
        task.patterns.extend(added)
    return np.zeros(m, dtype=np.int64), np.zeros(len(task.patterns))


def _uncut(worth: IntArray, task: Task, wanted: IntArray, counts: Sequence[int]) -> int:
    """The worth that no bins of these counts hold, where it is above 0."""
    best, _ = _most(worth, task.down, max(task.rooms), wanted)
    held = sum(int(best[room]) * count for room, count in zip(task.rooms, counts, strict=True))
    return int(worth @ wanted) - held


def _new(at: IntArray, worth: IntArray, asked: FloatArray, task: Task, wanted: IntArray) -> list[Pattern]:
    """The best patterns by one worth that are not known yet and that another finds worth more than their bin asks."""
    known = set(task.patterns)
    found = [pattern for pattern in _priced(at, task, wanted) if pattern not in known]
    return [(k, inside) for k, inside in found if np.dot(worth, inside) > asked[k] + _TINY * _WORTH]


def _priced(worth: IntArray, task: Task, wanted: IntArray) -> list[Pattern]:
    """For each kind the pattern worth the most, then the best of other pieces, and so on."""
    found: dict[Pattern, None] = {}
    left = worth.copy()
    for _ in range(_BATCH):
        best, inside = _most(left, task.up, max(task.rooms), wanted)
        new = [(k, inside(room)) for k, room in enumerate(task.rooms) if best[room]]
        if not new:
            break
        found.update(dict.fromkeys(new))
        left[np.any([np.array(counts) > 0 for _, counts in new], axis=0)] = 0
    return list(found)


def _most(
    worth: IntArray, sizes: Sequence[int], cells: int, wanted: IntArray
) -> tuple[IntArray, Callable[[int], tuple[int, ...]]]:
    """The most worth in each number of cells, and what is inside: a knapsack by dynamic programming."""
    most = [min(int(count), cells // max(size, 1)) for count, size in zip(wanted, sizes, strict=True)]
    items = [i for i in range(len(worth)) for _ in range(most[i]) if worth[i] > 0]
    best: IntArray = np.zeros(cells + 1, dtype=np.int64)
    took = np.zeros((len(items), cells + 1), dtype=bool)
    for n, i in enumerate(items):
        with_it = best[: cells + 1 - sizes[i]] + worth[i]
        np.greater(with_it, best[sizes[i] :], out=took[n, sizes[i] :])
        np.maximum(with_it, best[sizes[i] :], out=best[sizes[i] :])

    def inside(room: int) -> tuple[int, ...]:
        count = [0] * len(worth)
        for n in range(len(items) - 1, -1, -1):
            if took[n, room]:
                count[items[n]] += 1
                room -= sizes[items[n]]
        return tuple(count)

    return best, inside
