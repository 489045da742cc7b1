"""Everything the job takes, line by line, each line saying why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from ventroute.model.plan import CutStick, FlueState, ShoppingLine
from ventroute.model.route import PartKind, Route
from ventroute.model.shelf import Asks, Shelf, Stock
from ventroute.model.site import Site
from ventroute.shop.barriers import barrier_lines
from ventroute.shop.sticks import route_cuts
from ventroute.shop.sundries import sundry_lines


@dataclass(frozen=True, slots=True)
class Bill:
    """The list and the cut list of one route.

    ``proved`` says that no cheaper way to cut exists, ``gap`` is the fraction that one could save otherwise.
    """

    lines: tuple[ShoppingLine, ...]
    cuts: tuple[CutStick, ...]
    proved: bool = True
    gap: float = 0.0

    @property
    def cost(self) -> float:
        """Cost of all lines with a known price."""
        return sum(line.cost or 0.0 for line in self.lines)


def shopping(
    route: Route, site: Site, shelf: Shelf, stock: Stock, flue: FlueState | None = None, asks: Asks | None = None
) -> Bill:
    """Everything that a route takes: pipe by the stick, fittings, what barriers take, sundries.

    Parameters
    ----------
    route, site : what is built, and where
    shelf : what can be bought
    stock : what is at home, and what shops ask
    flue : the gas on its way, for how much condensate there is
    asks : what the findings ask for beyond the parts

    Raises
    ------
    CutError
        The pipe cannot be had: a piece longer than a stick, too few sticks on sale, or pipe that must not be sawn.
    """
    asks = asks or Asks()
    cuts = route_cuts(route, stock)
    lines = [
        *_pipe(cuts.sticks, shelf),
        *_fittings(route, shelf),
        *barrier_lines(route, site, shelf, asks),
        *sundry_lines(route, site, shelf, stock, flue, asks),
    ]
    return Bill(shelved(_merged(lines), stock), cuts.sticks, cuts.proved, cuts.gap)


def _pipe(cuts: Sequence[CutStick], shelf: Shelf) -> Iterator[ShoppingLine]:
    """A line for each item and length, sticks to buy before pieces from home."""
    groups = Counter((cut.item, cut.offcut, cut.stick_m) for cut in cuts)
    for (item, offcut, length_m), count in sorted(groups.items(), key=lambda g: (g[0][0], g[0][1], -g[0][2])):
        own = [cut for cut in cuts if (cut.item, cut.offcut, cut.stick_m) == (item, offcut, length_m)]
        labels = [label for cut in own for label in cut.labels]
        why = f"{'piece' if len(labels) == 1 else 'pieces'} {', '.join(labels)}" + (" from what is at home" * offcut)
        unit, have = ("piece", count) if offcut else ("stick", 0)
        yield ShoppingLine(item, shelf.describe(item), count, unit, why, length_m=length_m, have=have)


def _fittings(route: Route, shelf: Shelf) -> Iterator[ShoppingLine]:
    """Every part that is not pipe from a stick, in the order of first use."""
    parts = [p for p in route.parts if (p.kind is not PartKind.PIPE or route.kit_of(p).adjusts(p.item)) and p.item]
    for item in dict.fromkeys(part.item for part in parts):
        own = [part for part in parts if part.item == item]
        why = f"{'part' if len(own) == 1 else 'parts'} {', '.join(str(part.n) for part in own)}"
        yield ShoppingLine(item, shelf.describe(item), len(own), "each", why)


def _merged(lines: Iterable[ShoppingLine]) -> tuple[ShoppingLine, ...]:
    """One line for one thing, at its first place; the reasons stand one after the other."""
    found: dict[tuple[str, str, float | None], ShoppingLine] = {}
    for line in lines:
        key = (line.item, line.unit, line.length_m)
        first = found.get(key)
        found[key] = line if first is None else _added(first, line)
    return tuple(found.values())


def _added(first: ShoppingLine, line: ShoppingLine) -> ShoppingLine:
    why = first.why if line.why == first.why else f"{first.why}; {line.why}"
    return replace(first, quantity=first.quantity + line.quantity, have=first.have + line.have, why=why)


def shelved(lines: Iterable[ShoppingLine], stock: Stock) -> tuple[ShoppingLine, ...]:
    """The lines with today's prices, packs and shops, less what is at home."""
    return tuple(_shelved(line, stock) for line in lines)


def _shelved(line: ShoppingLine, stock: Stock) -> ShoppingLine:
    if line.unit == "piece":  # pipe from home: nothing to buy
        return line
    if line.length_m is None:
        line = replace(line, have=min(line.quantity, stock.have.get(line.item, 0)))
    missing = line.quantity - line.have
    row = stock.offer(line.item, line.length_m, missing)
    line = replace(line, price=row.each, pack=row.pack, shop=row.shop) if row else replace(line, price=None, pack=1)
    if missing <= 0:
        return line
    could = stock.available(line.item, line.length_m)
    if could is not None and could < line.quantity:
        return replace(line, why=f"{line.why}; only {max(0, could - int(line.have))} on the shelves")
    if row and row.count is not None and row.count * row.pack < missing:
        return replace(line, why=f"{line.why}; {row.count * row.pack} there, the others elsewhere, dearer")
    return line
