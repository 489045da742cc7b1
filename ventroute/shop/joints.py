"""Glued joints, and the cans they take."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations_with_replacement

from ventroute.model.parts import Change, Kit
from ventroute.model.route import CHANGES, PartKind, Route
from ventroute.model.shelf import Can, Shelf

Joint = tuple[str, str, float]  # two materials in order of name, size
_MOST_CANS = 40
_SOCKETS = {PartKind.ELBOW: 2, PartKind.COUPLING: 2, PartKind.TERMINAL: 0, PartKind.PIPE: 0}


def pair(a: str, b: str) -> tuple[str, str]:
    """Two materials in order of name."""
    return (a, b) if a <= b else (b, a)


def joints(route: Route, collar_material: str | None) -> Mapping[Joint, int]:
    """Sockets to be cemented, by the materials they join and their size; one socket is one joint.

    An elbow or coupling has two; a street bend brings one, its spigot goes into its neighbour's; a change brings its
    downstream one. The collar's own socket is one where it is cemented too. Gasketed pipe has none, and neither has a
    joint between a plastic and a metal. What closes the end is pressed on.
    """
    collar_kit = route.kits[0]
    if collar_kit.material.joint != "cemented":
        return {}
    found: Counter[Joint] = Counter()
    own = collar_kit.material.name
    for part in route.parts:
        if part.kind in _SOCKETS:
            count = 1 if part.street else _SOCKETS[part.kind]
            found[*pair(own, own), route.kit_of(part).size_in] += count
    for change in (change for kit in route.kits for change in _used(route, kit)):
        found[*pair(change.to_material, change.to_material), change.to_size_in] += 1
    first = _used(route, collar_kit)[:1]
    start = (first[0].from_material, first[0].from_size_in) if first else (own, collar_kit.size_in)
    found[*pair(collar_material or start[0], start[0]), start[1]] += 1
    return {joint: count for joint, count in sorted(found.items()) if count and _glued(joint)}


def _used(route: Route, kit: Kit) -> list[Change]:
    """The changes that stand in the route, in flow order."""
    items = {part.item for part in route.parts if part.kind in CHANGES}
    return [change for change in kit.start if change.item in items]


def _glued(joint: Joint) -> bool:
    return not {"stainless", "PP"} & set(joint[:2])


def volume_L(counts: Iterable[tuple[float, int]], shelf: Shelf, kind: str) -> float | None:
    """Cement or primer that (size, joints) pairs take [L], None where a size has no figure."""
    total = 0.0
    for size_in, count in counts:
        yields = shelf.joints_per_L(kind, size_in)
        if yields is None:
            return None
        total += count / yields
    return total


def cans(volume: float, sizes: Sequence[Can], prices: Mapping[str, float | None]) -> tuple[tuple[Can, int], ...]:
    """Whole cans that hold the volume [L]: the cheapest where every price is known, else the least, then the fewest.

    Returns
    -------
    (can, how many) in order of item id; empty where no can is sold.
    """
    if not sizes:
        return ()
    known = all(prices.get(can.item) is not None for can in sizes)
    smallest = min(can.volume_L for can in sizes)
    if volume > _MOST_CANS * smallest:
        biggest = max(sizes, key=lambda can: (can.volume_L, can.item))
        return ((biggest, -int(-volume // biggest.volume_L)),)

    def worth(chosen: tuple[Can, ...]) -> tuple[float, float, int, tuple[str, ...]]:
        litres = round(sum(can.volume_L for can in chosen), 9)
        money = sum(prices.get(can.item) or 0.0 for can in chosen) if known else litres
        return (round(money, 6), litres, len(chosen), tuple(can.item for can in chosen))

    most = max(1, -int(-volume // smallest))
    ways = (
        way
        for n in range(1, most + 1)
        for way in combinations_with_replacement(sorted(sizes, key=lambda can: can.item), n)
        if sum(can.volume_L for can in way) >= volume - 1e-9
    )
    best = Counter(can.item for can in min(ways, key=worth))
    return tuple((can, best[can.item]) for can in sorted(sizes, key=lambda can: can.item) if best[can.item])
