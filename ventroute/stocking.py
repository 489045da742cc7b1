"""What scarcity does to a plan: bends that nobody has are not used, and what that costs is said."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ventroute.catalog.load import Catalog
from ventroute.catalog.lookup import description
from ventroute.model.parts import Kit
from ventroute.model.plan import PlannedRoute
from ventroute.model.shelf import Stock
from ventroute.shop.count import Bill
from ventroute.units import note_length


@dataclass(frozen=True, slots=True)
class Buyable:
    """A kit without what cannot be had, and what that is."""

    kit: Kit
    gone: tuple[str, ...]  # items


def buyable(kit: Kit, stock: Stock) -> Buyable:
    """The kit without bends of which there are none, at home or in any shop."""
    gone = tuple(bend.item for bend in kit.bends if stock.available(bend.item) == 0)
    return (
        Buyable(replace(kit, bends=tuple(b for b in kit.bends if b.item not in gone)), gone)
        if gone
        else Buyable(kit, ())
    )


def short(bill: Bill, stock: Stock, catalog: Catalog) -> str:
    """What the bill asks more of than there is, "" where all can be had."""
    for line in bill.lines:
        there = stock.available(line.item, line.length_m)
        if there is not None and line.quantity > there:
            return f"{line.quantity:g} {line.description} are needed and {there} can be had"
    return ""


def scarcity(planned: PlannedRoute, wished: PlannedRoute, gone: tuple[str, ...], catalog: Catalog) -> str:
    """What it costs that some bends are out of stock, against the same kit with everything there."""
    names = ", ".join(description(catalog, item) for item in gone)
    longer = planned.route.equivalent_m - wished.route.equivalent_m
    dearer = planned.cost - wished.cost
    length = f"{'+' if longer >= 0 else '-'}{note_length(abs(longer))} equivalent"
    return f"with {names} out of stock: {length}, {dearer:+.2f} in price"
