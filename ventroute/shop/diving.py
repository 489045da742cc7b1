"""Whole bins for pieces that a linear program can share out: rounded a few at a time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from ventroute.shop.columns import FloatArray, Pattern, Task, shares
from ventroute.shop.filling import fitted

Filled = tuple[tuple[int, tuple[int, ...]], ...]  # kind of bin, weights

QUICK, LONG = 150, 1500  # fillings tried
_FEW, _LAST = 8, 4  # bins left that are filled outright; so few of them at length
_WHOLE = 0.99  # a share of a pattern that is as good as one
_PRICED = 8  # rounds of pricing on the way down


def filled(task: Task, pieces: Counter[int], counts: Sequence[int], most_steps: int = QUICK) -> Filled | None:
    """The pieces in so many bins of each kind, None where no way was found."""
    size = dict(zip(task.weights, task.up, strict=True))
    kinds = [k for k, count in enumerate(counts) for _ in range(count)]
    ordered = sorted(pieces.elements(), reverse=True)
    found = fitted([size[weight] for weight in ordered], [task.rooms[k] for k in kinds], most_steps)
    if found is None:
        return None
    waiting: dict[int, list[int]] = {}
    for weight in reversed(ordered):
        waiting.setdefault(size[weight], []).append(weight)
    bins = zip(kinds, found, strict=True)
    return tuple((k, tuple(waiting[cells].pop() for cells in inside)) for k, inside in bins if inside)


def dived(task: Task, counts: Sequence[int], used: FloatArray, turn: int = 0) -> Filled | None:
    """Bins by rounding: the largest shares become whole, the linear program is solved for the rest, and so on.

    A way down that failed is not tried again: a later ``turn`` begins with the next largest share alone.
    """
    fixed: list[tuple[int, tuple[int, ...]]] = []
    rest, left = _demand(task), list(counts)
    while rest:
        order = np.argsort(-used, kind="stable")
        whole = [int(n) for n in np.flatnonzero(used > _WHOLE)] if not turn else []
        whole = whole or [int(order[turn])]
        turn = 0
        for n in whole:
            _fix(task.patterns[n], max(1, int(used[n] + 1 - _WHOLE)), task, rest, left, fixed)
        if sum(left) <= _FEW:
            last = filled(task, rest, left, LONG if sum(left) <= _LAST else QUICK)
            if last is not None:
                return (*fixed, *last)
        worth, used = shares(task, task.count(rest), left, _PRICED)
        if worth is not None:
            return None
    return tuple(fixed)


def _demand(task: Task) -> Counter[int]:
    return Counter(dict(zip(task.weights, task.wanted.tolist(), strict=True)))


def _fix(
    pattern: Pattern,
    times: int,
    task: Task,
    rest: Counter[int],
    left: list[int],
    fixed: list[tuple[int, tuple[int, ...]]],
) -> None:
    """Cut a pattern so often, without the pieces that are cut already."""
    kind, inside = pattern
    for _ in range(min(times, left[kind])):
        taken = Counter(dict(zip(task.weights, inside, strict=True))) & rest
        if not taken:
            return
        rest -= taken
        left[kind] -= 1
        fixed.append((kind, tuple(taken.elements())))
