"""A route's pipe from what is at home and what is on sale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ventroute.layout.lengths import FITS_M
from ventroute.model.plan import CutStick
from ventroute.model.route import PartKind, Route
from ventroute.model.shelf import Stock
from ventroute.shop.cuts import KERF_M, CutError, CutPlan, Piece, StickOffer, cut_plan
from ventroute.units import format_length


def pieces(route: Route) -> tuple[Piece, ...]:
    """The pipe pieces of a route, labelled by part number; adjustable lengths are none."""
    pipes = (part for part in route.parts if part.kind is PartKind.PIPE and not route.kit_of(part).adjusts(part.item))
    return tuple(Piece(part.item, part.cut_m or 0.0, str(part.n)) for part in pipes)


def route_cuts(route: Route, stock: Stock, kerf_m: float = KERF_M) -> CutPlan:
    """The pieces of a route from what is at home, then from what is on sale.

    Raises
    ------
    CutError
        A piece longer than a stick, too few sticks on sale, or pipe that must not be sawn and is not sold in the
        lengths that the route needs.
    """
    wanted = pieces(route)
    sold = {kit.pipe.item: on_sale(kit.pipe.item, kit.pipe.stick_m, stock) for kit in route.kits}
    if all(kit.pipe.can_be_cut for kit in route.kits):
        return cut_plan(wanted, sold, stock.pieces, kerf_m)
    return _whole_lengths(wanted, sold)


def _not_sold(piece: Piece, lengths: Sequence[float]) -> str:
    """What is wanted of pipe that is not sawn."""
    sold = ", ".join(format_length(m, short=True) for m in sorted(lengths)) or "none"
    return (
        f"{piece.item}: piece {piece.label} would be {format_length(piece.length_m, short=True)}, and this pipe is not "
        f"sawn: wanted lengths that are sold ({sold}), or an adjustable one, every joint clear of walls"
    )


def on_sale(item: str, stick_m: Sequence[float], stock: Stock) -> list[StickOffer]:
    """Sticks of an item: lengths, prices, counts; lengths that are sold out everywhere are left out."""
    offers = ((length, stock.offer(item, length), stock.available(item, length)) for length in stick_m)
    return [StickOffer(length, row.each if row else None, count) for length, row, count in offers if count != 0]


def _whole_lengths(wanted: Sequence[Piece], sold: Mapping[str, Sequence[StickOffer]]) -> CutPlan:
    """Pipe that is not sawn: every piece must be a length that is sold."""
    sticks = []
    for n, piece in enumerate(wanted, start=1):
        lengths = [offer.length_m for offer in sold[piece.item]]
        length = min(lengths, key=lambda m: abs(m - piece.length_m), default=None)
        if length is None or abs(length - piece.length_m) > FITS_M:
            raise CutError(_not_sold(piece, lengths))
        sticks.append(CutStick(n, piece.item, length, (piece.length_m,), (piece.label,), 0.0))
    return CutPlan(tuple(sticks), (), True)
