"""The dimensioned piping isometric of a route, after the conventions of ISO 6412-2.

Axes stand at 30 degrees and nothing is to scale. Dimensions run from corner to corner along the pipe. A skew run has
hatched triangles with what it covers along each axis. Pieces of pipe carry the numbers of the cut list in circles,
fittings their part numbers in squares.
"""

from __future__ import annotations

import math

from ventroute.drawing import iso_labels as labels
from ventroute.drawing import iso_marks as marks
from ventroute.drawing.board import PIPE_COST, SYMBOL_COST, Board, Label, around, knocked_out
from ventroute.drawing.dxf import to_dxf
from ventroute.drawing.iso_view import Leg, View, choose
from ventroute.drawing.metrics import text_width
from ventroute.drawing.primitives import Drawing, Text, bounds, on_paper
from ventroute.drawing.svg import to_svg
from ventroute.drawing.words import kit_words, level_words, room_name, route_title
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import Part, PartKind, Route, Run
from ventroute.model.site import Site
from ventroute.units import format_size

__all__ = ["isometric", "to_dxf", "to_svg"]

SAMPLES = 40  # places along a run that are asked which room they are in
STRAIGHT = (PartKind.COUPLING, PartKind.INCREASER, PartKind.REDUCER, PartKind.ADAPTER)
KEY = (
    "Not to scale. Dimensions run along the pipe from corner to corner, and are not cut lengths.",
    "Circle: piece of pipe. Square: fitting. Numbered as in the list of parts; the cut list has the same numbers.",
    "Hatched triangle: skew run, with what it covers along each axis.",
    "Hatched frame: floor, wall or roof; with a ring in it, a new hole.",
)


def isometric(planned: PlannedRoute, site: Site, units: str) -> Drawing:
    """The isometric of a planned route; `units` is ``us`` or ``metric``. No two texts overlap."""
    route = planned.route
    view = choose(route)
    board = Board()
    _draw_pipe(board, view, route)
    _letter_runs(board, view, units)
    _letter_parts(board, view, route)
    _letter_barriers(board, view, route)
    _letter_ends(board, view, route, site, units)
    _letter_spaces(board, view, site)
    title = f"Route {planned.id}: {route_title(route, units)}"
    _frame(board, view, title, site.name)
    return on_paper(knocked_out(board.items, board.boxes), title, _description(route))


def _draw_pipe(board: Board, view: View, route: Route) -> None:
    board.draw(*marks.pipes(view), cost=PIPE_COST)
    for before, after in zip(view.legs, view.legs[1:], strict=False):
        board.draw(*marks.elbow_ticks(before, after), cost=SYMBOL_COST)
    for leg, part in _straight_fittings(view, route):
        board.draw(*marks.straight_fitting(leg, marks.place_on(leg, part), part.kind), cost=SYMBOL_COST)
    for leg in view.legs:
        if leg.skew:
            board.draw(*marks.skew_box(view, leg), cost=2.0)
    for crossed in route.crossings:
        leg = nearest_leg(view, crossed.point_m)
        board.draw(*marks.slab(view, leg.at(leg.along(crossed.point_m)), crossed), cost=SYMBOL_COST)
    board.draw(*marks.collar(view.legs[0]), *marks.terminal(view.legs[-1]), cost=SYMBOL_COST)


def _straight_fittings(view: View, route: Route) -> list[tuple[Leg, Part]]:
    parts = [part for part in route.parts if part.kind in STRAIGHT]
    return [(nearest_leg(view, part.start_m), part) for part in parts]


def nearest_leg(view: View, point: tuple[float, float, float]) -> Leg:
    """The run that a point of space lies on."""

    def off(leg: Leg) -> float:
        part = leg.along(point)
        ends = zip(leg.run.start_m, leg.run.end_m, point, strict=True)
        return sum((s + (e - s) * part - p) ** 2 for s, e, p in ends)

    return min(view.legs, key=off)


def _letter_runs(board: Board, view: View, units: str) -> None:
    for number, leg in enumerate(view.legs, 1):
        label = labels.dimension_label(leg, number, units)
        board.place(label, labels.dimension_spots(view, leg, label))
    for number, leg in enumerate(view.legs, 1):
        if leg.skew:
            for label, spots in labels.skew_labels(view, leg, number, units):
                board.place(label, spots)
        if leg.fall:
            label = labels.fall_label(leg, units)
            board.place(label, labels.fall_spots(leg, label))


def _letter_parts(board: Board, view: View, route: Route) -> None:
    for part in route.parts:
        if part.kind is PartKind.TERMINAL:
            continue
        if part.corner_m is not None:
            corner = part.corner_m
            leg = min(view.legs, key=lambda leg: math.dist(leg.run.end_m, corner))
            anchor = leg.end
        else:
            leg = nearest_leg(view, _middle_m(part))
            anchor = leg.at(marks.place_on(leg, part))
        way = marks.unit(leg.start, leg.end)
        board.place(*labels.balloon(part.n, anchor, way, part.kind is PartKind.PIPE))


def _middle_m(part: Part) -> tuple[float, float, float]:
    x, y, z = ((a + b) / 2 for a, b in zip(part.start_m, part.end_m, strict=True))
    return (x, y, z)


def _letter_barriers(board: Board, view: View, route: Route) -> None:
    for crossed in route.crossings:
        leg = nearest_leg(view, crossed.point_m)
        kind = "new hole" if crossed.cut else "hole"
        anchor = leg.at(leg.along(crossed.point_m))
        corner = (anchor[0] + marks.SLAB_MM * 0.8, anchor[1])
        board.place(*labels.note((f"{kind}: {crossed.name}",), corner, near=4.0))


def _letter_ends(board: Board, view: View, route: Route, site: Site, units: str) -> None:
    grade = site.place.grade_m
    start, end = route.runs[0].start_m, route.terminal_m
    outlet = f"COLLAR {format_size(site.appliance.collar_size_in)}"
    collar = (outlet, site.appliance.name, level_words(start[2], grade, units))
    way = marks.unit(view.legs[0].end, view.legs[0].start)
    anchor = marks.shift(view.legs[0].start, way, 7.0)
    board.place(*labels.note(collar, anchor, near=2.0, prefer_deg=-60.0))
    last = view.legs[-1]
    tip = marks.shift(last.end, marks.unit(last.start, last.end), 4.6)
    way_out = f"{route.terminal_kind.upper()} TERMINAL {format_size(route.kit.size_in, route.kit.material.name, units)}"
    board.place(*labels.note((way_out, level_words(end[2], grade, units)), tip, near=2.0, prefer_deg=60.0))
    _letter_pipe(board, view, route, units)


def _letter_pipe(board: Board, view: View, route: Route, units: str) -> None:
    """What the pipe is: at its first run, and where its size has changed."""
    for number, stretch in enumerate(route.stretches):
        anchor = view.legs[0].at(0.3)
        if number:
            place = _point(stretch.runs[0], 0.5)
            leg = nearest_leg(view, place)
            anchor = leg.at(leg.along(place))
        label = Label((kit_words(stretch.kit, units),), 3.2, "text", bold=True)
        board.place(label, around(anchor, label, 6.5))


def _letter_spaces(board: Board, view: View, site: Site) -> None:
    """The name of each room beside the longest stretch of pipe in it."""
    for name, (leg, low, high) in _stretches(view, site).items():
        label = Label((name.upper(),), 2.9, "note")
        board.place(label, around(leg.at((low + high) / 2), label, 7.0, lead_from=9.0, prefer_deg=200.0))


def _stretches(view: View, site: Site) -> dict[str, tuple[Leg, float, float]]:
    """By room: the run with the most pipe in it, and the fractions of it, to a fortieth of the run."""
    best: dict[str, tuple[Leg, float, float]] = {}
    for leg in view.legs:
        names = [room_name(site, _point(leg.run, (k + 0.5) / SAMPLES)) for k in range(SAMPLES)]
        for name in dict.fromkeys(names):
            if name:
                at = [k for k, other in enumerate(names) if other == name]
                found = (leg, at[0] / SAMPLES, (at[-1] + 1) / SAMPLES)
                if name not in best or _metres(found) > _metres(best[name]) + 1e-9:
                    best[name] = found
    return best


def _metres(stretch: tuple[Leg, float, float]) -> float:
    return (stretch[2] - stretch[1]) * stretch[0].run.length_m


def _point(run: Run, fraction: float) -> tuple[float, float, float]:
    x, y, z = (s + (e - s) * fraction for s, e in zip(run.start_m, run.end_m, strict=True))
    return (x, y, z)


def _frame(board: Board, view: View, title: str, site: str) -> None:
    """North arrow above the drawing, title and key below it."""
    left, low, _, high = bounds(board.items)
    centre = (left + 10.0, high + 14.0)
    strokes = marks.north(view, centre)
    board.draw(*strokes)
    for word, way, size in (("N", (0.0, 1.0, 0.0), 12.5), ("E", (1.0, 0.0, 0.0), 8.2), ("UP", (0.0, 0.0, 1.0), 8.2)):
        bold = word == "N"
        board.draw(Text(marks.shift(centre, view.axis(way), size), word, 4.0 if bold else 2.4, "text", bold))
    for k, (line, size, bold) in enumerate([(f"{site}. {title}", 4.2, True), *((line, 2.5, False) for line in KEY)]):
        y = low - 9.0 - (5.6 if k else 0.0) - max(k - 1, 0) * 3.4
        board.draw(Text((left + text_width(line, size, bold) / 2, y), line, size, "note", bold))


def _description(route: Route) -> str:
    """For those who hear the drawing instead of seeing it."""
    holes = ", ".join(crossed.name for crossed in route.crossings) or "no hole"
    ends = f"from the collar to the {route.terminal_kind} terminal"
    return f"{len(route.runs)} runs and {route.elbows} elbows {ends}, through {holes}."
