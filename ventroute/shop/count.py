"""From placed parts to what is bought: each part a line or part of one, and all else the job takes, each with why."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from ventroute.constants import INCH_M
from ventroute.model.parts import Bend
from ventroute.model.plan import CutStick, FlueState, ShoppingLine
from ventroute.model.route import Part, PartKind, Route, Run
from ventroute.model.shelf import Asks, Can, Goods, Shelf, Stock
from ventroute.model.site import Hole, Roof, Site
from ventroute.shop.cuts import Piece, StickOffer, cut_plan

_STEEP = math.sin(math.radians(45.0))  # a run steeper than this counts as upright for its hangers


@dataclass(frozen=True, slots=True)
class Bill:
    """The list and the cut list of one route."""

    lines: tuple[ShoppingLine, ...]
    cuts: tuple[CutStick, ...]


@dataclass(frozen=True, slots=True)
class _Job:
    route: Route
    site: Site
    shelf: Shelf
    stock: Stock
    asks: Asks

    def line(
        self, item: str, quantity: float, why: str, unit: str = "each", length_m: float | None = None
    ) -> ShoppingLine:
        """A line at the cheapest shop, less what is at home."""
        offer = self.stock.offer(item, length_m)
        have = min(quantity, self.stock.have.get(item, 0)) if length_m is None else 0
        return ShoppingLine(
            item, self.shelf.describe(item), quantity, unit, why, length_m, offer.each if offer else None, have,
            offer.pack if offer else 1, offer.shop if offer else "",
        )  # fmt: skip


def shopping(
    route: Route, site: Site, shelf: Shelf, stock: Stock, flue: FlueState | None = None, asks: Asks | None = None
) -> Bill:
    """Everything that a route takes.

    Parameters
    ----------
    shelf : what can be bought
    stock : what is at home, and what shops ask
    flue : the gas on its way, for condensate and insulation
    asks : what the findings ask for beyond the parts

    Raises
    ------
    CutError
        A piece is longer than every stick on sale.
    """
    job = _Job(route, site, shelf, stock, asks or Asks())
    cuts = _cuts(job)
    lines = [*_pipe(job, cuts), *_fittings(job), *_outside(job), *_holes(job), *_hangers(job), *_joints(job)]
    lines += [*_condensate(job, flue), *_insulation(job), *_always(job)]
    return Bill(tuple(lines), cuts)


def _cuts(job: _Job) -> tuple[CutStick, ...]:
    stock, pipe = job.stock, job.route.kit.pipe
    pieces = [Piece(p.item, p.cut_m or 0.0, str(p.n)) for p in job.route.parts if p.kind is PartKind.PIPE]
    sticks = [StickOffer(length, stock.price(pipe.item, length)) for length in pipe.stick_m]
    return cut_plan(pieces, {pipe.item: sticks}, {pipe.item: stock.pieces.get(pipe.item, ())}).sticks


def _pipe(job: _Job, cuts: tuple[CutStick, ...]) -> Iterator[ShoppingLine]:
    bought = Counter((cut.item, cut.stick_m) for cut in cuts if not cut.offcut)
    for (item, length), count in sorted(bought.items()):
        pieces = sum(len(c.pieces_m) for c in cuts if (c.item, c.stick_m, c.offcut) == (item, length, False))
        yield job.line(item, count, f"{pieces} pieces of the route, see the cut list", "stick", length)


def _fittings(job: _Job) -> Iterator[ShoppingLine]:
    found: dict[str, list[Part]] = {}
    for part in job.route.parts:
        if part.kind is not PartKind.PIPE:
            found.setdefault(part.item, []).append(part)
    for item, parts in found.items():
        numbers = ", ".join(str(part.n) for part in parts)
        yield job.line(item, len(parts), f"part {numbers}" if len(parts) == 1 else f"parts {numbers}")


def _outside(job: _Job) -> Iterator[ShoppingLine]:
    """Flashing at the roof, or a plate at the wall."""
    route, kit = job.route, job.route.kit
    if route.terminal_kind == "wall":
        plates = job.shelf.of_kind("wall plate", kit.size_in, kit.material.name)
        if plates:
            yield job.line(plates[0].item, 1, "closes the wall around the pipe, outside")
        return
    pitch = roof_pitch(job.site, route.terminal_m[0], route.terminal_m[1])
    boots = [
        b for b in job.shelf.of_kind("flashing", kit.size_in, kit.material.name)
        if b.pitch and b.pitch[0] - 1e-9 <= pitch <= b.pitch[1] + 1e-9
    ]  # fmt: skip
    if boots:
        yield job.line(boots[0].item, 1, f"roof of {pitch * 12:.1f}/12")


def roof_pitch(site: Site, x_m: float, y_m: float) -> float:
    """Rise over run of the roof above a place, 0 for a flat roof."""
    over = [r for r in site.roofs if _holds([(c[0], c[1]) for c in r.corners], x_m, y_m)]
    return _pitch(over[0]) if over else 0.0


def _holds(ring: list[tuple[float, float]], x: float, y: float) -> bool:
    inside = False
    for (ax, ay), (bx, by) in zip(ring, ring[1:] + ring[:1], strict=True):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            inside = not inside
    return inside


def _pitch(roof: Roof) -> float:
    a, b, c = roof.corners[:3]
    u, v = [b[k] - a[k] for k in range(3)], [c[k] - a[k] for k in range(3)]
    n = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return math.hypot(n[0], n[1]) / abs(n[2]) if n[2] else math.inf


def _spanning(goods: tuple[Goods, ...], width_m: float) -> Goods | None:
    fitting = (g for g in goods if g.span_m and g.span_m[0] - 1e-9 <= width_m <= g.span_m[1] + 1e-9)
    return next(fitting, None)


def _holes(job: _Job) -> Iterator[ShoppingLine]:
    """Every hole that is used is sealed at both faces, every one that is not is closed."""
    used = {crossing.name: crossing for crossing in job.route.crossings}
    od = job.route.kit.pipe.od_m
    for hole in job.site.holes:
        if hole.name in used:
            yield from _seal(job, hole.name, max(0.0, (hole.clear_m - od) / 2))
        else:
            yield from _plug(job, hole)
    for name, crossing in used.items():
        if crossing.cut:
            yield from _seal(job, name, 0.125 * INCH_M)  # a new hole is cut 1/4 in over the pipe: common practice
        if name in job.asks.firestop:
            for goods in job.shelf.of_kind("firestop")[:1]:
                yield job.line(goods.item, 1, f'"{name}", if the barrier is fire-rated')


def _seal(job: _Job, name: str, gap_m: float) -> Iterator[ShoppingLine]:
    goods = _spanning(job.shelf.of_kind("hole seal"), gap_m)
    if goods:
        yield job.line(goods.item, 2, f'"{name}", both faces, {gap_m / INCH_M:.2f} in all round')


def _plug(job: _Job, hole: Hole) -> Iterator[ShoppingLine]:
    goods = _spanning(job.shelf.of_kind("plug"), hole.clear_m)
    why = f'"{hole.name}" is not used: close it, both faces, {hole.clear_m / INCH_M:.2f} in clear'
    if goods:
        yield job.line(goods.item, 2, why)
    else:
        yield ShoppingLine("plug-hole", "closure for an abandoned hole, made to measure", 2, "each", why)


def spacing_m(job_shelf: Shelf, material: str, size_in: float, degC: float, upright: bool) -> float | None:
    """Farthest apart that pipe may be held at this temperature: the least of every row that applies."""
    found: list[float] = []
    rows = [r for r in job_shelf.spacings if r.material == material and (r.size_in is None or r.size_in == size_in)]
    for row in rows:
        figure = row.vertical_m if upright else row.horizontal_m
        if figure is not None and row.degC is None:
            found.append(figure)
    warm = sorted(
        (r.degC, r.horizontal_m) for r in rows if r.degC is not None and r.horizontal_m is not None and not upright
    )
    hot_enough = [figure for at, figure in warm if at >= degC - 0.5] or [figure for _, figure in warm[-1:]]
    return min([*found, *hot_enough[:1]], default=None)


def _hangers(job: _Job) -> Iterator[ShoppingLine]:
    """At both ends of every run, and between them no farther apart than material, size and heat allow."""
    kit = job.route.kit
    count, spacings = 0, set()
    for run in job.route.runs:
        upright = _rises(run)
        apart = spacing_m(job.shelf, kit.material.name, kit.size_in, job.site.appliance.exhaust_max_degC, upright)
        if apart is None:
            continue
        spacings.add(round(apart, 4))
        count += math.ceil(run.length_m / apart - 1e-9) + (0 if upright else 1)
    goods = job.shelf.of_kind("hanger", kit.size_in, kit.material.name)
    if count and goods:
        feet = ", ".join(f"{s / 0.3048:g} ft" for s in sorted(spacings))
        yield job.line(goods[0].item, count, f"no farther apart than {feet}, at both ends of level runs")


def _rises(run: Run) -> bool:
    return abs(run.end_m[2] - run.start_m[2]) > _STEEP * run.length_m


def sockets(route: Route) -> int:
    """Joints to make: one for each socket, that of the collar among them."""
    bends = {bend.item: bend for bend in route.kit.bends}
    count = 1
    for part in route.parts:
        if part.kind is PartKind.ELBOW:
            count += 1 if _street(bends, part) else 2
        elif part.kind is PartKind.COUPLING:
            count += 2
        elif part.kind not in (PartKind.PIPE, PartKind.TERMINAL):
            count += 1
    return count


def _street(bends: dict[str, Bend], part: Part) -> bool:
    return bends[part.item].street if part.item in bends else part.street


def _joints(job: _Job) -> Iterator[ShoppingLine]:
    """Cement and primer in whole cans."""
    kit = job.route.kit
    if kit.material.joint != "cemented":
        return
    joints = sockets(job.route)
    for kind in ("cement", "primer"):
        per_L = job.shelf.joints_per_L(kind, kit.size_in)
        pair = (kit.material.name, kit.material.name)
        cans = [can for can in job.shelf.cans if can.kind == kind and can.pair == pair]
        if per_L is None or not cans:
            continue
        need_L = joints / per_L
        can, number = _fewest(cans, need_L)
        yield ShoppingLine(
            can.item, can.description, number, "can", f"{joints} joints, {need_L:.2f} L", None,
            job.stock.price(can.item), min(number, job.stock.have.get(can.item, 0)),
        )  # fmt: skip


def _fewest(cans: list[Can], need_L: float) -> tuple[Can, int]:
    """The smallest can that is enough; else whole cans of the largest."""
    enough = sorted((can for can in cans if can.volume_L >= need_L - 1e-12), key=lambda can: (can.volume_L, can.item))
    if enough:
        return enough[0], 1
    largest = max(cans, key=lambda can: (can.volume_L, can.item))
    return largest, math.ceil(need_L / largest.volume_L - 1e-9)


def _condensate(job: _Job, flue: FlueState | None) -> Iterator[ShoppingLine]:
    appliance = job.site.appliance
    if not appliance.condensing:
        return
    amount = ""
    if flue is not None:
        amount = f", up to {flue.condensate_kg_h + flue.appliance_condensate_kg_h:.1f} kg/h"
    if job.asks.drain_tee or appliance.falls_to == "terminal":
        for goods in job.shelf.of_kind("drain tee", job.route.kit.size_in, job.route.kit.material.name)[:1]:
            yield job.line(goods.item, 1, "condensate that does not run back to the appliance")
    for kind, why in (("trap", "condensate drain, if the appliance has none of its own"), ("tubing", "to the drain")):
        for goods in job.shelf.of_kind(kind)[:1]:
            yield job.line(goods.item, 1, why + amount)


def _insulation(job: _Job) -> Iterator[ShoppingLine]:
    length = sum(p.cut_m or 0.0 for p in job.route.parts if p.kind is PartKind.PIPE and p.space in job.asks.insulate)
    goods = job.shelf.of_kind("insulation", job.route.kit.size_in)
    if length > 0 and goods:
        where = ", ".join(sorted(job.asks.insulate))
        packs = math.ceil(length / (goods[0].pack_m or length) - 1e-9)
        yield job.line(goods[0].item, packs, f"{length:.1f} m in {where}: condensate can freeze there")


def _always(job: _Job) -> Iterator[ShoppingLine]:
    for goods in job.shelf.of_kind("label")[:1]:
        yield job.line(
            goods.item, len(job.route.crossings) + 1, "gas vent, no drain: appliance and each barrier"
        )
    for goods in job.shelf.of_kind("CO alarm")[:1]:
        yield job.line(goods.item, 2, "at least one on each level and outside sleeping rooms: count yours")
