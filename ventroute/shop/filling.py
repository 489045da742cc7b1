"""Whether pieces fit into bins that are given: filled one by one, the smallest first, each with little waste."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

_TRIED = 6  # ways to fill one bin that are followed, the fullest first
_Contents = tuple[int, ...]


def fitted(weights: Sequence[int], rooms: Sequence[int], most_steps: int) -> tuple[_Contents, ...] | None:
    """What each bin holds so that every piece is in one; None where `most_steps` fillings found no way.

    Depth first. Sums that can be reached are bits of whole numbers (Kellerer, Pferschy and Pisinger, Knapsack
    Problems, 2004, section 4.1.1), so a filling is never followed that cannot come to its sum.

    Parameters
    ----------
    weights : pieces, in any order
    rooms : of every bin
    """
    spare = sum(rooms) - sum(weights)
    if spare < 0:
        return None
    order = sorted(range(len(rooms)), key=lambda n: (rooms[n], n))
    sizes = [rooms[n] for n in order]
    path: list[Iterator[tuple[_Contents, _Contents]]] = []
    inside: list[_Contents] = []
    left: list[_Contents] = [tuple(sorted(weights, reverse=True))]
    spares = [spare]
    while len(inside) < len(rooms):
        if len(path) == len(inside):
            n = len(inside)
            path.append(_fillings(left[-1], sizes[n], spares[-1], lead=bool(left[-1]) and sizes[n] == sizes[-1]))
        taken = next(path[-1], None) if most_steps > 0 else None
        most_steps -= 1
        if taken is not None:
            inside.append(taken[0])
            left.append(taken[1])
            spares.append(spares[-1] - (sizes[len(inside) - 1] - sum(taken[0])))
            continue
        path.pop()
        if not path or most_steps <= 0:
            return None
        inside.pop(), left.pop(), spares.pop()
    return tuple(contents for _, contents in sorted(zip(order, inside, strict=True)))


def _fillings(weights: _Contents, room: int, spare: int, *, lead: bool) -> Iterator[tuple[_Contents, _Contents]]:
    """Ways to fill a bin and what they leave, the fullest first; `lead`: with the heaviest piece."""
    first = weights[:1] if lead else ()
    rest = weights[len(first) :]
    room -= sum(first)
    if room < 0:
        return
    reach = _reach(rest, room)
    sums, count = reach[0], 0
    while sums:
        total = sums.bit_length() - 1
        if room - total > spare:
            return
        for places in _summing(rest, reach, total):
            chosen = set(places)
            yield (*first, *(rest[n] for n in places)), tuple(w for n, w in enumerate(rest) if n not in chosen)
            count += 1
            if count == _TRIED:
                return
        sums ^= 1 << total


def _reach(weights: _Contents, room: int) -> list[int]:
    """For each place, the sums up to the room that the weights from there on can make, as bits."""
    within = (1 << room + 1) - 1
    reach = [1]
    for weight in reversed(weights):
        reach.append((reach[-1] | reach[-1] << weight) & within)
    return reach[::-1]


def _summing(weights: _Contents, reach: list[int], total: int, start: int = 0) -> Iterator[tuple[int, ...]]:
    """Places of weights that make a total, heavy ones first; of equals the first ones are taken."""
    if total == 0:
        yield ()
        return
    n = start
    while n < len(weights) and reach[n] >> total & 1:
        weight = weights[n]
        if weight <= total and reach[n + 1] >> (total - weight) & 1:
            for places in _summing(weights, reach, total - weight, n + 1):
                yield (n, *places)
        while n < len(weights) and weights[n] == weight:
            n += 1
