"""What a vent takes besides pipe and fittings: hangers, cement, insulation, a drain, labels, alarms."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise
from math import ceil, dist

from ventroute.layout.supports import Supports, supports
from ventroute.model.parts import Kit
from ventroute.model.plan import FlueState, ShoppingLine
from ventroute.model.route import Part, PartKind, Route
from ventroute.model.shelf import Asks, Goods, Shelf, Spacing, Stock
from ventroute.model.site import Site
from ventroute.sentences import counted
from ventroute.shop.joints import cans, joints, volume_L
from ventroute.units import format_length, format_size, format_temperature

_STOREY_M = 1.2  # floors closer than this are one level: steps within a storey
_NO_PRIMER = {"ABS"}  # primer is not recommended for it: cement makers' guides, read


def sundry_lines(
    route: Route, site: Site, shelf: Shelf, stock: Stock, flue: FlueState | None, asks: Asks
) -> Iterator[ShoppingLine]:
    """Everything but pipe, fittings and what a barrier takes, in a fixed order."""
    yield from _held(route, site, shelf, asks)
    yield from _glue(route, site, shelf, stock)
    for stretch in route.stretches:
        yield from _insulation(stretch, shelf, flue, asks)
    yield from _drain(route, site, shelf, flue, asks)
    yield _label(route, shelf)
    yield _alarms(site, shelf)


def _first(shelf: Shelf, kind: str, kit: Kit) -> Goods | None:
    found = shelf.of_kind(kind, kit.size_in, kit.material.name)
    return found[0] if found else None


def _line(goods: Goods | None, item: str, words: str, quantity: float, why: str) -> ShoppingLine:
    name, description = (goods.item, goods.description) if goods else (item, words)
    return ShoppingLine(name, description, quantity, "each", why)


def _held(route: Route, site: Site, shelf: Shelf, asks: Asks) -> Iterator[ShoppingLine]:
    """Hangers by the spacing that the rules ask for at the hottest gas the appliance sends."""
    for stretch in route.stretches:
        kit, spacing = stretch.kit, asks.spacing if stretch.kit is route.kit else asks.smaller
        count = supports(stretch, spacing)
        words = f"{format_size(kit.size_in)} {kit.material.name} pipe hanger, leaves the pipe free to slide"
        reason = f"{spacing.why}; gas at {format_temperature(site.appliance.exhaust_max_degC)}"
        why = "; ".join(text for text in (_level_words(count, spacing, reason), _riser_words(count)) if text)
        if count.total:
            yield _line(_first(shelf, "hanger", kit), f"hanger-{kit.size_in:g}", words, count.total, why)


def _level_words(count: Supports, spacing: Spacing, reason: str) -> str:
    if not count.level:
        return ""
    if spacing.level_m is None:
        return f"{count.level} at the ends of level runs only ({reason})"
    return f"{count.level} on level runs, at most {format_length(spacing.level_m)} apart ({reason})"


def _riser_words(count: Supports) -> str:
    if not count.feet:
        return ""
    middle = f", {counted(count.guides, 'guide')} between" if count.guides else ""
    return f"{count.feet} at the foot of risers and where they cross construction{middle}"


def _glue(route: Route, site: Site, shelf: Shelf, stock: Stock) -> Iterator[ShoppingLine]:
    """Cans by pair of materials: every socket is a joint."""
    by_pair: dict[tuple[str, str], list[tuple[float, int]]] = defaultdict(list)
    for (a, b, size_in), count in joints(route, site.appliance.collar_material).items():
        by_pair[a, b].append((size_in, count))
    for pair, counts in sorted(by_pair.items()):
        for kind in ("cement", "primer"):
            if kind == "cement" or not _NO_PRIMER & set(pair):
                yield from _cans(kind, pair, counts, shelf, stock)


def _cans(
    kind: str, pair: tuple[str, str], counts: list[tuple[float, int]], shelf: Shelf, stock: Stock
) -> Iterator[ShoppingLine]:
    name = pair[0] if pair[0] == pair[1] else f"{pair[0]} to {pair[1]}"
    made = f"{name} joints: " + " and ".join(f"{count} of {format_size(size_in)}" for size_in, count in counts)
    volume = volume_L(counts, shelf, kind)
    sizes = [can for can in shelf.cans if can.kind == kind and can.pair == pair]
    if volume is None or not sizes:
        why = f"{made}; how many a can makes is not known, one is listed: judge it yourself"
        item = sizes[0].item if sizes else f"{kind}-{name.lower().replace(' ', '-')}"
        yield ShoppingLine(item, f"{name} {kind}", 1, "can", why)
        return
    prices = {can.item: stock.price(can.item) for can in sizes}
    for can, count in cans(volume, sizes, prices):
        why = f"{made}, one for each socket; they take {volume:.3f} L"
        yield ShoppingLine(can.item, f"{can.description}, {can.volume_L:.2f} L", count, "can", why)


def _insulation(route: Route, shelf: Shelf, flue: FlueState | None, asks: Asks) -> Iterator[ShoppingLine]:
    """Insulation over all pipe and fittings in the spaces that ask for it, in as many layers as make the thickness."""
    length = sum(_length(part) for part in route.parts if part.space in asks.insulate)
    if length <= 0:
        return
    goods = _first(shelf, "insulation", route.kit)
    spaces = ", ".join(sorted(space for space in asks.insulate if any(part.space == space for part in route.parts)))
    least = flue.insulate_m if flue else None
    layers = max(1, ceil(least / goods.span_m[1] - 1e-9)) if least and goods and goods.span_m else 1
    thick = f"at least {format_length(least, short=True)} thick" if least else "but none is known to be enough"
    why = f"{format_length(length)} of vent in {spaces}: the flue findings ask for it, {thick}"
    why += f"; {layers} layers" if layers > 1 else ""
    if goods and goods.pack_m:
        yield _line(goods, "", "", layers * ceil(length / goods.pack_m - 1e-9), why)
    else:
        yield ShoppingLine(f"insulation-{route.kit.size_in:g}", "pipe insulation", round(length, 3), "m", why)


def _length(part: Part) -> float:
    """Along the axis, from start over the corner to end [m]."""
    through = [part.start_m, part.corner_m, part.end_m] if part.corner_m else [part.start_m, part.end_m]
    return sum(dist(p, q) for p, q in pairwise(through))


def _drain(route: Route, site: Site, shelf: Shelf, flue: FlueState | None, asks: Asks) -> Iterator[ShoppingLine]:
    """Trap and tubing wherever condensate is to be expected; a tee in the run where it does not run back."""
    appliance = site.appliance
    if not appliance.condensing:
        return
    why = f"category {appliance.category}: condensate{_amount(flue)} must be drained"
    tee = appliance.falls_to == "terminal"
    kit = route.kit if tee else route.kits[0]  # at the end that the water runs to
    if tee:
        words = f"{format_size(kit.size_in)} {kit.material.name} drain tee"
        found = _first(shelf, "drain tee", kit)
        yield _line(found, f"drain-tee-{kit.size_in:g}", words, 1, f"{why}, and does not run back to the appliance")
    own = "" if tee else "; leave it out where the appliance brings its own"
    yield _line(_first(shelf, "trap", kit), "trap-condensate", "condensate trap", 1, why + own)
    where = "one length to a drain: measure the way, and neutralise where the rules ask"
    yield _line(_first(shelf, "tubing", kit), "tubing-condensate", "condensate tubing", 1, f"{why}; {where}")


def _amount(flue: FlueState | None) -> str:
    """How much condensate vent and appliance make together."""
    total = flue.condensate_kg_h + flue.appliance_condensate_kg_h if flue else 0.0
    return f", up to {total:.1f} kg/h," if total >= 0.05 else ""


def _label(route: Route, shelf: Shelf) -> ShoppingLine:
    rooms = sorted({part.space for part in route.parts if part.kind is PartKind.PIPE} - {"outdoors", ""})
    why = f"one in each space the vent runs through ({', '.join(rooms)}), so that nobody takes it for plumbing"
    return _line(_first(shelf, "label", route.kit), "label-vent", "label: appliance vent", max(1, len(rooms)), why)


def _alarms(site: Site, shelf: Shelf) -> ShoppingLine:
    """One on every level with a heated room; where people sleep nobody has told us."""
    levels: list[float] = []
    for bottom in sorted(room.bottom_m for room in site.rooms if room.heated):
        if not levels or bottom - levels[-1] > _STOREY_M:
            levels.append(bottom)
    goods = shelf.of_kind("CO alarm")
    why = "one on each level that people use; add one outside every sleeping area and in bedrooms with an appliance"
    return _line(goods[0] if goods else None, "alarm-co", "carbon monoxide alarm", max(1, len(levels)), why)
