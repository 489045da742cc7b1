"""What scarcity does to a plan: bends that nobody has are not used, and what that costs is said."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ventroute.catalog.load import Catalog
from ventroute.catalog.lookup import description
from ventroute.model.parts import Kit, PipeStock
from ventroute.model.plan import Finding, PlannedRoute
from ventroute.model.route import PartKind, Route
from ventroute.model.shelf import Stock
from ventroute.model.site import Site
from ventroute.sentences import note_length
from ventroute.shop.count import Bill

_OWN = 0.05  # of its price: what a part from the box counts in the search
_FIRESTOP = "hole.firestop"
_TRIES = 3  # kits with ever fewer bends, where some ran short


@dataclass(frozen=True, slots=True)
class Buyable:
    """A kit without what cannot be had, and what that is."""

    kit: Kit
    gone: tuple[str, ...]  # items


def buyable(kit: Kit, stock: Stock, least: int = 1) -> Buyable:
    """The kit without bends of which there are fewer than `least`, at home and in the shops together."""
    counts = {bend.item: stock.available(bend.item) for bend in kit.bends}
    gone = tuple(item for item, count in counts.items() if count is not None and count < least)
    return (
        Buyable(replace(kit, bends=tuple(b for b in kit.bends if b.item not in gone)), gone)
        if gone
        else Buyable(kit, ())
    )


def scarcer(kit: Kit, stock: Stock) -> Iterator[Buyable]:
    """The kit without the bends that are fewest, then without the next fewest too, as often as is worth trying."""
    counts = {count for bend in kit.bends if (count := stock.available(bend.item))}
    yield from (buyable(kit, stock, count + 1) for count in sorted(counts)[:_TRIES])


Pattern = tuple[float, int]  # of a bend: angle [deg], and number among the patterns of that angle


def priced(
    stock: Stock, pipe: PipeStock, bends: Mapping[Pattern, str]
) -> Iterator[tuple[float, Mapping[Pattern, float]]]:
    """What a metre of pipe and each bend cost: all bought, then with what the box holds as good as free.

    Infinite where a price is not known; nothing where that is so for every pattern of an angle. A part from the box
    still makes a joint, so it keeps a small share of its price.
    """
    metres = [each / length for length in pipe.stick_m if (each := stock.price(pipe.item, length)) is not None]
    prices = {bend: stock.price(item) for bend, item in bends.items()}
    bought = {bend: math.inf if price is None else price for bend, price in prices.items()}
    if metres and _angles(bought) == _angles(bends):
        yield min(metres), bought
    own = {bend for bend, item in bends.items() if stock.have.get(item)}
    if not metres or not (own or stock.pieces.get(pipe.item)):
        return
    per_m = min(metres) * (_OWN if stock.pieces.get(pipe.item) else 1.0)
    mine = {b: _OWN * (min(metres) if prices[b] is None else p) if b in own else p for b, p in bought.items()}
    if _angles(mine) == _angles(bends):
        yield per_m, mine


def _angles(prices: Mapping[Pattern, object]) -> set[float]:
    """The angles of which some pattern has a price."""
    return {angle for (angle, _), price in prices.items() if price != math.inf}


def rated(site: Site, route: Route, findings: Iterable[Finding]) -> frozenset[str]:
    """The crossings that the findings ask to be firestopped, should their barrier be fire-rated."""
    through = {hole.name: hole.through for hole in site.holes} | {cut.name: cut.through for cut in site.cuts}
    asked = [finding.subject for finding in findings if finding.rule == _FIRESTOP]
    inner = (c.name for c in route.crossings if "outdoors" not in through.get(c.name, ()))
    return frozenset(name for name in inner if any(f'"{name}"' in subject for subject in asked))


def short(bill: Bill, stock: Stock, catalog: Catalog) -> str:
    """What the bill asks more of than there is, "" where all can be had."""
    for line in bill.lines:
        there = stock.available(line.item, line.length_m)
        if there is not None and line.quantity > there:
            return f"{line.quantity:g} {line.description} are needed and {there} can be had"
    return ""


def scarcity(planned: PlannedRoute, wished: PlannedRoute, gone: tuple[str, ...], stock: Stock, catalog: Catalog) -> str:
    """What it costs that some bends are out of stock or too few, against the same kit with everything there."""
    before, after = _bends(wished.route), _bends(planned.route)
    used = {part.item for part in wished.route.parts}
    missed = [item for item in gone if item in used]
    names = " and ".join(description(catalog, item) for item in missed)
    state = "too few on the shelves" if any(stock.available(item) for item in missed) else "out of stock"
    if not names:
        return ""
    longer = planned.route.equivalent_m - wished.route.equivalent_m
    dearer = planned.cost - wished.cost
    length = f"{'+' if longer >= 0 else '-'}{note_length(abs(longer))} equivalent"
    swapped = f"{_counted(after - before)} in place of {_counted(before - after)}, " if after != before else ""
    return f"with {names} {state}: {swapped}{length}, {dearer:+.2f} in price"


def elsewhere(routes: Sequence[PlannedRoute]) -> tuple[PlannedRoute, ...]:
    """The routes; where scarcity cost something, with the cheapest way out of a material that is all in stock."""
    return tuple(_elsewhere(planned, routes) for planned in routes)


def _elsewhere(planned: PlannedRoute, routes: Sequence[PlannedRoute]) -> PlannedRoute:
    own = planned.route
    others = [
        other
        for other in routes
        if not other.scarcity
        and other.route.terminal_kind == own.terminal_kind
        and other.route.kit.material.name != own.kit.material.name
    ]
    if not planned.scarcity or not others:
        return planned
    best = min(others, key=lambda other: other.cost)
    less = planned.cost - best.cost
    money = f"{abs(less):.2f} {'less' if less >= 0 else 'more'}"
    words = f"in {best.route.kit.material.name}, all in stock, {money} and within the appliance's list"
    return replace(planned, scarcity=f"{planned.scarcity}; {words}")


def _bends(route: Route) -> Counter[float]:
    """How many bends of each nominal angle."""
    nominal = {bend.item: bend.angle_deg for bend in route.kit.bends}
    return Counter(nominal[part.item] for part in route.parts if part.kind is PartKind.ELBOW and part.item in nominal)


def _counted(bends: Counter[float]) -> str:
    """Bends in words: ``4 of 22 1/2 and 1 of 90 degrees``."""
    names = {angle: "22 1/2" if angle == 22.5 else f"{angle:g}" for angle in bends}
    return (
        " and ".join(f"{bends[angle]} of {names[angle]}" for angle in sorted(bends)) + " degrees" if bends else "none"
    )
