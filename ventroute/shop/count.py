"""Everything the job takes, line by line, each line saying why."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from ventroute.model.plan import CutStick, ShoppingLine
from ventroute.model.route import Part, PartKind, Route
from ventroute.model.shelf import Asks, Shelf, Stock
from ventroute.model.site import Site
from ventroute.shop.barriers import barrier_lines
from ventroute.shop.cuts import KERF_M, CutError, CutPlan, Piece, StickOffer, cut_plan
from ventroute.shop.sundries import sundry_lines
from ventroute.units import format_length

_NOUN = {PartKind.ELBOW: "elbow", PartKind.COUPLING: "coupling"}


@dataclass(frozen=True, slots=True)
class Bill:
    """What a route takes: the list, the cuts, and what it costs."""

    lines: tuple[ShoppingLine, ...]
    cuts: CutPlan
    cost: float  # of all lines with a known price, and of making the new holes
    unpriced: tuple[str, ...]  # items that must be bought at a price nobody knows


def bill(
    route: Route,
    site: Site,
    shelf: Shelf,
    stock: Stock | None = None,
    asks: Asks | None = None,
    kerf_m: float = KERF_M,
) -> Bill:
    """Cuts, list and cost of a route.

    Raises
    ------
    CutError
        The pipe cannot be had: a piece longer than a stick, too few sticks on sale, or pipe that must not be sawn.
    """
    stock = stock or Stock()
    cuts = route_cuts(route, shelf, stock, kerf_m)
    lines = shopping(route, site, shelf, stock, cuts.sticks, asks)
    holes = {cut.name: cut.cost for cut in site.cuts}
    made = sum(holes.get(crossing.name, 0.0) for crossing in route.crossings if crossing.cut)
    cost, unpriced = total(lines)
    return Bill(lines, cuts, cost + made, unpriced)


def total(lines: Iterable[ShoppingLine]) -> tuple[float, tuple[str, ...]]:
    """Cost of all lines with a known price, and the items without one."""
    lines = tuple(lines)
    return sum(line.cost or 0.0 for line in lines), tuple(line.item for line in lines if line.cost is None)


def pieces(parts: Iterable[Part]) -> tuple[Piece, ...]:
    """The pipe pieces of a route, labelled by part number."""
    pipes = (part for part in parts if part.kind is PartKind.PIPE)
    return tuple(Piece(part.item, part.cut_m or 0.0, str(part.n)) for part in pipes)


def route_cuts(route: Route, shelf: Shelf, stock: Stock, kerf_m: float = KERF_M) -> CutPlan:
    """The pieces of a route from what is at home, then from what is on sale. Raises `CutError`."""
    pipe = route.kit.pipe
    wanted = pieces(route.parts)
    sold = {
        item: offers(item, pipe.stick_m if item == pipe.item else (), shelf, stock) for item in {p.item for p in wanted}
    }
    if pipe.can_be_cut:
        return cut_plan(wanted, sold, stock.pieces, kerf_m)
    return _whole_lengths(wanted, sold)


def offers(item: str, stick_m: Sequence[float], shelf: Shelf, stock: Stock) -> list[StickOffer]:
    """Sticks of an item on sale: lengths, prices, counts; sold-out lengths are left out."""
    found = shelf.goods.get(item)
    lengths = stick_m or (found.sticks_m if found else ())
    return [
        StickOffer(length, stock.price(item, length) or shelf.price(item, length), count)
        for length in lengths
        if (count := stock.available(item, length)) != 0
    ]


def _whole_lengths(wanted: Sequence[Piece], sold: dict[str, list[StickOffer]]) -> CutPlan:
    """Pipe that is not sawn: every piece must be a length that is sold."""
    sticks = []
    for n, piece in enumerate(wanted, start=1):
        lengths = [offer.length_m for offer in sold.get(piece.item, ())]
        length = min(lengths, key=lambda m: abs(m - piece.length_m), default=None)
        if length is None or abs(length - piece.length_m) > 1e-3:
            raise CutError(
                f"{piece.item}: piece {piece.label} is {format_length(piece.length_m)} and this pipe is not sawn; "
                f"sold are {', '.join(format_length(m, short=True) for m in lengths) or 'none'}"
            )
        sticks.append(CutStick(n, piece.item, length, (piece.length_m,), (piece.label,), 0.0))
    return CutPlan(tuple(sticks), (), True)


def shopping(
    route: Route,
    site: Site,
    shelf: Shelf,
    stock: Stock | None = None,
    cuts: Sequence[CutStick] = (),
    asks: Asks | None = None,
) -> tuple[ShoppingLine, ...]:
    """The list of a route: pipe by the stick, fittings, terminal, barriers, sundries; prices and what is at home filled in.

    Parameters
    ----------
    route, site : what is built, and where
    shelf : what shops sell
    stock : prices and what is at home; None: nothing known
    cuts : the sticks that the pipe is sawn from
    asks : what the findings ask for beyond the parts
    """
    stock, asks = stock or Stock(), asks or Asks()
    lines = [
        *_pipe(cuts, shelf),
        *_fittings(route, shelf),
        *barrier_lines(route, site, shelf, asks),
        *sundry_lines(route, site, shelf, stock, asks),
    ]
    return shelved(merged(lines), shelf, stock)


def _pipe(cuts: Sequence[CutStick], shelf: Shelf) -> Iterator[ShoppingLine]:
    groups = Counter((cut.item, cut.offcut, cut.stick_m) for cut in cuts)
    for (item, offcut, length_m), count in sorted(groups.items(), key=lambda g: (g[0][0], g[0][1], -g[0][2])):
        own = [cut for cut in cuts if (cut.item, cut.offcut, cut.stick_m) == (item, offcut, length_m)]
        labels = ", ".join(label for cut in own for label in cut.labels)
        words = f"{shelf.describe(item)}, {format_length(length_m)}"
        why = f"pieces {labels}" + (" from what is at home" if offcut else "")
        unit, have = ("piece", count) if offcut else ("stick", 0)
        yield ShoppingLine(item, words, count, unit, why, length_m=length_m, have=have)


def _fittings(route: Route, shelf: Shelf) -> Iterator[ShoppingLine]:
    """Every part that is not pipe, in the order of first use."""
    parts = [part for part in route.parts if part.kind is not PartKind.PIPE and part.item]
    for item in dict.fromkeys(part.item for part in parts):
        own = [part for part in parts if part.item == item]
        noun = _NOUN.get(own[0].kind, own[0].kind.value)
        why = f"{noun} {', '.join(str(part.n) for part in own)}"
        yield ShoppingLine(item, shelf.describe(item), len(own), "each", why)


def merged(lines: Iterable[ShoppingLine]) -> tuple[ShoppingLine, ...]:
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


def shelved(lines: Iterable[ShoppingLine], shelf: Shelf, stock: Stock) -> tuple[ShoppingLine, ...]:
    """The lines with today's prices, packs and shops, less what is at home."""
    return tuple(_shelved(line, shelf, stock) for line in lines)


def _shelved(line: ShoppingLine, shelf: Shelf, stock: Stock) -> ShoppingLine:
    if line.unit == "piece":  # pipe from home: nothing to buy
        return line
    if line.length_m is None:
        line = replace(line, have=min(line.quantity, stock.have.get(line.item, 0)))
    if (row := stock.offer(line.item, line.length_m)) is not None and row.each is not None:
        return replace(line, price=row.each, pack=row.pack, shop=row.shop)
    can = next((can.price for can in shelf.cans if can.item == line.item), None)
    price = shelf.price(line.item, line.length_m)
    return replace(line, price=can if price is None else price, pack=1, shop="")
