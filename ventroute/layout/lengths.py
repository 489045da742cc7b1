"""A straight stretch of pipe that is not sawn: lengths as they are sold, and an adjustable one for the rest."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from ventroute.model.parts import Kit

Length = tuple[str, float]  # item, and how long it is or is set [m]
Span = tuple[float, float]

FITS_M = 1e-3  # closer than this, joints take it up: a reading of this project
_HAIR_M = 1e-9
_MORE = 3  # pieces beyond the fewest that could be enough
_FREE = 6  # pieces of a stretch that may be of any length
_MOST = 200  # pieces of a stretch: above that of any vent
_TRIES = 5000  # places for a piece


def whole_lengths(length_m: float, kit: Kit, blocked: Sequence[Span]) -> list[Length] | None:
    """The fewest lengths that make up a stretch, at most one of them adjustable; None where none do.

    ``blocked`` are the intervals [m] where no joint's middle may stand; nor may an adjustable length, as it has a joint
    of its own, reach into one. So many places are tried and no more, so that a long stretch comes to an end.
    """
    gap, order = kit.coupling.gap_m, _Order(kit, blocked)
    fewest = max(1, math.ceil((length_m + gap - FITS_M) / (max(kit.pipe.stick_m) + gap)))
    if fewest > _MOST:
        return None
    for count in range(fewest, fewest + _MORE + 1):
        for pieces in _made(length_m - gap * (count - 1), kit, count):
            if (found := order.of(Counter(pieces), 0.0)) is not None:
                return found
    return None


@dataclass(slots=True)
class _Order:
    """Pieces put one after the other, no joint and no adjustable length where none may be."""

    kit: Kit
    blocked: Sequence[Span]
    tries: int = _TRIES

    def of(self, left: Counter[Length], at: float) -> list[Length] | None:
        """The pieces that are left in an order that will do from a place [m] on, as they were counted first."""
        if not left:
            return []
        for piece in list(left):
            if self.tries == 0:
                return None
            self.tries -= 1
            item, length = piece
            end, gap = at + length, self.kit.coupling.gap_m
            joint = end + gap / 2 if left.total() > 1 else None
            if joint is not None and any(low < joint < high for low, high in self.blocked):
                continue
            if self.kit.adjusts(item) and any(low < end and at < high for low, high in self.blocked):
                continue
            rest = self.of(left - Counter([piece]), end + gap)
            if rest is not None:
                return [piece, *rest]
        return None


def _made(length_m: float, kit: Kit, count: int) -> Iterator[list[Length]]:
    """So many pieces that are that long together, without an adjustable one first, the longest first.

    Of many pieces all but a few are of the longest length that is sold.
    """
    item, sold = kit.pipe.item, sorted(kit.pipe.stick_m, reverse=True)
    for lengths in _chosen(sold, count):
        if abs(sum(lengths) - length_m) <= FITS_M:
            yield [(item, length) for length in lengths]
    for lengths in _chosen(sold, count - 1):
        rest = length_m - sum(lengths)
        fits = next((a.item for a in kit.adjustables if a.least_m - _HAIR_M <= rest <= a.most_m + _HAIR_M), None)
        if fits is not None:
            yield [*((item, length) for length in lengths), (fits, rest)]


def _chosen(sold: Sequence[float], count: int) -> Iterator[tuple[float, ...]]:
    """So many lengths, the longest first."""
    long = max(0, count - _FREE)
    for lengths in combinations_with_replacement(sold, count - long):
        yield (*(sold[0] for _ in range(long)), *lengths)
