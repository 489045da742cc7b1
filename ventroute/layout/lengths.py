"""A straight stretch of pipe that is not sawn: lengths as they are sold, and an adjustable one for the rest."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations_with_replacement, islice, permutations

from ventroute.model.parts import Kit

Length = tuple[str, float]  # item, and how long it is or is set [m]
Span = tuple[float, float]

FITS_M = 1e-3  # closer than this, joints take it up
_HAIR_M = 1e-9
_MORE = 3  # pieces beyond the fewest that could be enough
_ORDERS = 720  # of the same pieces that are tried


def whole_lengths(length_m: float, kit: Kit, blocked: Sequence[Span]) -> list[Length] | None:
    """The fewest lengths that make up a stretch, at most one of them adjustable; None where none do.

    ``blocked`` are the intervals [m] where no joint's middle may stand; nor may an adjustable length, as it has a joint
    of its own, reach into one.
    """
    gap = kit.coupling.gap_m
    fewest = max(1, math.ceil((length_m + gap - FITS_M) / (max(kit.pipe.stick_m) + gap)))
    for count in range(fewest, fewest + _MORE + 1):
        for pieces in _made(length_m - gap * (count - 1), kit, count):
            for order in islice(_orders(pieces), _ORDERS):
                if _clear(order, kit, blocked):
                    return order
    return None


def _made(length_m: float, kit: Kit, count: int) -> Iterator[list[Length]]:
    """So many pieces that are that long together, without an adjustable one first, the longest first."""
    item, sold = kit.pipe.item, sorted(kit.pipe.stick_m, reverse=True)
    for lengths in combinations_with_replacement(sold, count):
        if abs(sum(lengths) - length_m) <= FITS_M:
            yield [(item, length) for length in lengths]
    for lengths in combinations_with_replacement(sold, count - 1):
        rest = length_m - sum(lengths)
        fits = next((a.item for a in kit.adjustables if a.least_m - _HAIR_M <= rest <= a.most_m + _HAIR_M), None)
        if fits is not None:
            yield [*((item, length) for length in lengths), (fits, rest)]


def _orders(pieces: list[Length]) -> Iterator[list[Length]]:
    """The pieces in every order, as they stand first."""
    seen: set[tuple[Length, ...]] = set()
    for order in permutations(pieces):
        if order not in seen:
            seen.add(order)
            yield list(order)


def _clear(order: Sequence[Length], kit: Kit, blocked: Sequence[Span]) -> bool:
    """Whether no joint, and no adjustable length, stands where none may."""
    at, gap = 0.0, kit.coupling.gap_m
    for n, (item, length) in enumerate(order):
        end = at + length
        if kit.adjusts(item) and any(low < end and at < high for low, high in blocked):
            return False
        if n + 1 < len(order) and any(low < end + gap / 2 < high for low, high in blocked):
            return False
        at = end + gap
    return True
