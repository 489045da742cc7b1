"""Which pieces come from which stick: least cost, proved.

Everything is whole numbers here (tenths of a micrometre, money in thousandths), so that a fit is a fit. A bin is a
stick or an offcut; its room and the weight of every piece already hold one kerf each, which makes n pieces need n - 1
cuts at least.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from math import gcd


@dataclass(frozen=True, slots=True)
class Bin:
    """A kind of stick: its room, what one costs (0: an offcut), and how many there are (None: as many as asked)."""

    room: int
    cost: int
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Packing:
    """Bins in use as (kind, weights), what they cost, and the proved lower bound on that cost."""

    bins: tuple[tuple[int, tuple[int, ...]], ...]
    cost: int
    bound: int

    @property
    def proved(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.cost <= self.bound


_MOST_SEARCHED = 40  # longer lists are not searched through here: see buying
_Filled = tuple[tuple[int, tuple[int, ...]], ...]
_Rank = tuple[int, int]  # cost, bins bought
_NEVER: _Rank = (1 << 62, 1 << 62)


def pack(weights: Sequence[int], kinds: Sequence[Bin], most_steps: int = 2_000) -> Packing | None:
    """Cheapest way to fit the weights into bins, then the fewest bought bins; None where no way exists.

    Depth-first bin completion (Martello and Toth, Knapsack Problems, 1990, ch. 8, gives the dominance): the heaviest
    piece left opens a bin, which is filled so that nothing left would still fit. Ties fall the same way every time.
    """
    if weights and max(weights) > max((kind.room for kind in kinds), default=0):
        return None
    search = _Search(kinds, most_steps if len(weights) <= _MOST_SEARCHED else 0)
    search.start(tuple(sorted(weights, reverse=True)))
    if search.best is None:
        return None
    floor = search.floor(tuple(sorted(weights, reverse=True)), tuple(kind.count for kind in kinds))[0]
    cost = search.rank[0]
    return Packing(search.best, cost, cost if search.finished else min(cost, floor))


class _Search:
    """The state of one search: the best found so far, and what has been seen."""

    def __init__(self, kinds: Sequence[Bin], most_steps: int) -> None:
        self.kinds = tuple(kinds)
        self.steps_left = most_steps
        self.best: _Filled | None = None
        self.rank: _Rank = _NEVER
        self.seen: dict[tuple[tuple[int, ...], tuple[int | None, ...]], _Rank] = {}
        self.step = reduce(gcd, (kind.cost for kind in kinds), 0) or 1
        bought = [kind for kind in kinds if kind.cost]
        self.least = min((kind.cost for kind in bought), default=0)
        self.widest = max((kind.room for kind in bought), default=0)
        self.cheapest = min(((kind.cost, kind.room) for kind in bought), key=lambda cr: cr[0] / cr[1], default=None)
        # dear bins last, so that the first way down is already a good one
        self.order = sorted(range(len(kinds)), key=lambda k: (kinds[k].cost > 0, kinds[k].room, k))

    @property
    def finished(self) -> bool:
        """Whether every way was looked at or ruled out."""
        return self.steps_left > 0

    def start(self, weights: tuple[int, ...]) -> None:
        """Run the search to its end, or until the steps are used up."""
        for greedy in _greedy(weights, self.kinds):
            self._keep(greedy)
        self._descend(weights, tuple(kind.count for kind in self.kinds), (0, 0), ())

    def floor(self, weights: tuple[int, ...], left: tuple[int | None, ...]) -> _Rank:
        """What the pieces left must still cost at least, and in how many bought bins."""
        free = [(kind.room, count or 0) for kind, count in zip(self.kinds, left, strict=True) if not kind.cost]
        rest = sum(weights) - sum(room * count for room, count in free)
        crowd = _crowd(weights, max([self.widest, *(room for room, count in free if count)])) if weights else 0
        bins = max(-(-rest // self.widest) if self.widest else 0, crowd - sum(count for _, count in free), 0)
        if rest <= 0 and bins == 0:
            return (0, 0)
        if self.cheapest is None:
            return _NEVER
        cost, room = self.cheapest
        steps = max(-(-(max(rest, 0) * cost) // (room * self.step)), -(-(bins * self.least) // self.step))
        return (steps * self.step, bins)

    def _keep(self, filled: _Filled) -> None:
        rank = self._rank(filled)
        if rank < self.rank:
            self.best, self.rank = filled, rank

    def _rank(self, filled: _Filled) -> _Rank:
        costs = [self.kinds[kind].cost for kind, _ in filled]
        return (sum(costs), sum(cost > 0 for cost in costs))

    def _descend(self, weights: tuple[int, ...], left: tuple[int | None, ...], spent: _Rank, filled: _Filled) -> None:
        if not weights:
            self._keep(filled)
            return
        least = self.floor(weights, left)
        if (spent[0] + least[0], spent[1] + least[1]) >= self.rank or not self.finished:
            return
        if self.seen.get((weights, left), _NEVER) <= spent:
            return
        self.seen[weights, left] = spent
        for kind in self.order:
            if left[kind] == 0 or self.kinds[kind].room < weights[0]:
                continue
            cost = self.kinds[kind].cost
            count = left[kind]
            then = (*left[:kind], None if count is None else count - 1, *left[kind + 1 :])
            for taken, rest in _fillings(weights, self.kinds[kind].room):
                self.steps_left -= 1
                if not self.finished:
                    return
                self._descend(rest, then, (spent[0] + cost, spent[1] + (cost > 0)), (*filled, (kind, taken)))


def _fillings(weights: tuple[int, ...], room: int) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every different way to fill a bin with the heaviest piece and others, such that nothing left still fits."""

    def more(k: int, room: int, skipped: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
        if k == len(weights):
            if not skipped or skipped[-1] > room:
                yield (), skipped
            return
        weight = weights[k]
        if weight <= room:
            for taken, rest in more(k + 1, room - weight, skipped):
                yield (weight, *taken), rest
        end = k
        while end < len(weights) and weights[end] == weight:  # to skip one of equals is to skip them all
            end += 1
        if weight > room or not _would_stay(weight, room, weights[end:]):
            yield from more(end, room, skipped + weights[k:end])

    for taken, rest in more(1, room - weights[0], ()):
        yield (weights[0], *taken), rest


def _would_stay(weight: int, room: int, later: tuple[int, ...]) -> bool:
    """Whether a skipped piece would still fit after all later ones went in: then skipping it is never the best."""
    return weight + sum(later) <= room


def _crowd(weights: tuple[int, ...], room: int) -> int:
    """Bins of one room that the pieces need at least.

    Bound L2 of Martello and Toth, Knapsack Problems, 1990, section 8.3.2: pieces over half a bin never share one,
    and pieces over ``room - small`` share with nothing of ``small`` or more.
    """
    best = 0
    for small in {0, *(weight for weight in weights if 2 * weight <= room)}:
        alone = sum(weight > room - small for weight in weights)
        half = [weight for weight in weights if 2 * weight > room and weight <= room - small]
        loose = sum(weight for weight in weights if small <= weight and 2 * weight <= room)
        over = loose - (len(half) * room - sum(half))
        best = max(best, alone + len(half) + max(0, -(-over // room)))
    return best


def _greedy(weights: tuple[int, ...], kinds: tuple[Bin, ...]) -> Iterator[_Filled]:
    """First fit and best fit, heaviest first, buying each kind of stick in turn after the offcuts."""
    for buy in [k for k, kind in enumerate(kinds) if kind.cost] or [-1]:
        for best in (False, True):
            filled = _fit(weights, kinds, buy, best)
            if filled is not None:
                yield filled


def _fit(weights: tuple[int, ...], kinds: tuple[Bin, ...], buy: int, best: bool) -> _Filled | None:
    bins = [(k, kind.room) for k, kind in enumerate(kinds) if not kind.cost for _ in range(kind.count or 0)]
    bins.sort(key=lambda b: (b[1], b[0]))
    inside: list[list[int]] = [[] for _ in bins]
    rooms = [room for _, room in bins]
    bought = 0
    for weight in weights:
        fits = [n for n, room in enumerate(rooms) if room >= weight]
        if not fits:
            limit = kinds[buy].count if buy >= 0 else 0
            if buy < 0 or kinds[buy].room < weight or (limit is not None and bought >= limit):
                return None
            bins.append((buy, kinds[buy].room))
            rooms.append(kinds[buy].room)
            inside.append([])
            bought += 1
            fits = [len(rooms) - 1]
        n = min(fits, key=lambda n: (rooms[n], n)) if best else fits[0]
        rooms[n] -= weight
        inside[n].append(weight)
    return tuple((bins[n][0], tuple(inside[n])) for n in range(len(bins)) if inside[n])
