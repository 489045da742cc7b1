"""What each passage through construction takes: flashing, seals, plates, firestops, plugs for holes left behind."""

from __future__ import annotations

from collections.abc import Iterator
from math import sqrt

from ventroute.model.parts import Kit
from ventroute.model.plan import ShoppingLine
from ventroute.model.route import Crossing, Route
from ventroute.model.shelf import Asks, Goods, Shelf
from ventroute.model.site import Cut, Hole, Roof, Site
from ventroute.sentences import note_length, note_roof
from ventroute.units import format_size

_OUTDOORS = "outdoors"


def barrier_lines(route: Route, site: Site, shelf: Shelf, asks: Asks) -> Iterator[ShoppingLine]:
    """Lines for every crossing in flow order, then for every old hole that the route leaves."""
    for crossing in route.crossings:
        yield from _crossing(crossing, route.kit_in(crossing), site, shelf)
        if crossing.name in asks.firestop:
            why = f"if the barrier at '{crossing.name}' is fire-rated: then in place of the seals there, else left out"
            kit = route.kit_in(crossing)
            yield _line(_pick(shelf, "firestop", kit), "firestop", f"firestop for {_pipe(kit)} pipe", why)
    used = {crossing.name for crossing in route.crossings}
    for hole in site.holes:
        if hole.name not in used:
            yield _plug(hole, shelf)


def _crossing(crossing: Crossing, kit: Kit, site: Site, shelf: Shelf) -> Iterator[ShoppingLine]:
    yield _seal(crossing, kit, site, shelf)
    if _OUTDOORS not in _through(crossing, site):
        return
    if abs(crossing.direction[2]) > 0.5:
        yield _flashing(crossing, kit, site, shelf)
    else:
        plate = _pick(shelf, "wall plate", kit)
        why = f"both faces of the wall at '{crossing.name}'"
        yield _line(plate, f"wall-plate-{kit.size_in:g}", f"wall plate for {_pipe(kit)} pipe", why, 2)


def _through(crossing: Crossing, site: Site) -> tuple[str, ...]:
    passages: list[Hole | Cut] = [*site.holes, *site.cuts]
    return next((p.through for p in passages if p.name == crossing.name), ())


def _pipe(kit: Kit) -> str:
    return f"{format_size(kit.size_in)} {kit.material.name}"


def _pick(shelf: Shelf, kind: str, kit: Kit) -> Goods | None:
    found = shelf.of_kind(kind, kit.size_in, kit.material.name)
    return found[0] if found else None


def _line(goods: Goods | None, item: str, description: str, why: str, quantity: int = 1) -> ShoppingLine:
    """A line of the shelf's goods, or of our own words where the shelf has nothing."""
    name, words = (goods.item, goods.description) if goods else (item, description)
    return ShoppingLine(name, words, quantity, "each", why)


def _spanned(shelf: Shelf, kind: str, measure_m: float) -> Goods | None:
    """The goods with the narrowest range that holds the measure."""
    fits = [g for g in shelf.of_kind(kind) if g.span_m and g.span_m[0] - 1e-6 <= measure_m <= g.span_m[1] + 1e-6]
    return min(fits, key=lambda g: (g.span_m[1] if g.span_m else 0.0, g.item), default=None)


def _seal(crossing: Crossing, kit: Kit, site: Site, shelf: Shelf) -> ShoppingLine:
    """What fills the ring between hole and pipe; a new hole's ring is not known before it is made."""
    od = kit.pipe.od_m
    hole = next((h for h in site.holes if h.name == crossing.name), None)
    if hole is None:
        why = f"round the pipe ({note_length(od, short=True)} outside) at the new hole, '{crossing.name}'"
        smallest = min(shelf.of_kind("hole seal"), key=lambda g: g.span_m or (0.0, 0.0), default=None)
        why = f"both faces {why}: make the hole no wider than it takes"
        return _line(smallest, "hole-seal", "seal for a new hole", why, 2)
    gap = max(0.0, (hole.clear_m - od) / 2)
    why = (
        f"'{hole.name}': {note_length(gap, short=True)} all round, "
        f"hole {note_length(hole.clear_m, short=True)} clear, pipe {note_length(od, short=True)} outside"
    )
    words = f"seal for a gap of {note_length(gap, short=True)}"
    rated = "" if _OUTDOORS in hole.through else "; a fire-rated barrier wants a listed firestop instead"
    return _line(_spanned(shelf, "hole seal", gap), "hole-seal", words, f"both faces of {why}{rated}", 2)


def _plug(hole: Hole, shelf: Shelf) -> ShoppingLine:
    why = f"'{hole.name}' is left behind: {note_length(hole.clear_m, short=True)} clear, to be closed on both sides"
    plug = _spanned(shelf, "plug", hole.clear_m)
    return _line(plug, "hole-plug", f"cap and sealant for a {note_length(hole.clear_m, short=True)} hole", why, 2)


def _flashing(crossing: Crossing, kit: Kit, site: Site, shelf: Shelf) -> ShoppingLine:
    roof = _roof_at(crossing, site)
    slope = _slope(roof) if roof else 0.0
    words = note_roof(slope)
    fits = [g for g in shelf.of_kind("flashing", kit.size_in, kit.material.name) if _takes(g, slope)]
    why = f"'{crossing.name}' through '{roof.name}', {words}" if roof else f"'{crossing.name}', flat roof"
    best = min(fits, key=lambda g: (g.pitch or (0.0, 0.0), g.item), default=None)
    return _line(best, f"flashing-{kit.size_in:g}", f"flashing for {_pipe(kit)} pipe, roof {words}", why)


def _takes(goods: Goods, slope: float) -> bool:
    return goods.pitch is None or goods.pitch[0] - 1e-3 <= slope <= goods.pitch[1] + 1e-3


def _normal(roof: Roof) -> tuple[float, float, float]:
    """The polygon's area vector (Newell), upward."""
    x = y = z = 0.0
    for a, b in zip(roof.corners, (*roof.corners[1:], roof.corners[0]), strict=True):
        x += (a[1] - b[1]) * (a[2] + b[2])
        y += (a[2] - b[2]) * (a[0] + b[0])
        z += (a[0] - b[0]) * (a[1] + b[1])
    return (x, y, z) if z >= 0 else (-x, -y, -z)


def _slope(roof: Roof) -> float:
    """Rise over run."""
    x, y, z = _normal(roof)
    return sqrt(x * x + y * y) / z if z > 0 else 0.0


def _roof_at(crossing: Crossing, site: Site) -> Roof | None:
    """The slope over the crossing; of several, the one whose outer surface is nearest above."""
    px, py, pz = crossing.point_m
    found = []
    for roof in site.roofs:
        if _over(roof, px, py):
            x, y, z = _normal(roof)
            a = roof.corners[0]
            found.append((abs(a[2] - ((px - a[0]) * x + (py - a[1]) * y) / z - pz), roof.name, roof))
    return min(found, key=lambda f: f[:2], default=(0.0, "", None))[2]


def _over(roof: Roof, x: float, y: float) -> bool:
    """Whether the roof's plan holds the point (crossing count)."""
    inside = False
    for a, b in zip(roof.corners, (*roof.corners[1:], roof.corners[0]), strict=True):
        if (a[1] > y) != (b[1] > y) and x < a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]):
            inside = not inside
    return inside
