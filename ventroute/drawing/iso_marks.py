"""Symbols of the isometric: pipe, sockets, couplings, barriers, skew boxes, fall, collar, terminal, north."""

from __future__ import annotations

import math
from itertools import pairwise

from ventroute.drawing.iso_view import Leg, View, between, crossing
from ventroute.drawing.primitives import Circle, Hatch, Item, Line, Point, Polyline
from ventroute.model.appliance import Vec3
from ventroute.model.route import Crossing, Part, PartKind

TICK_MM = 1.5  # half of a socket's cross stroke
SOCKET_MM = 2.6  # of a socket's stroke from its corner
GAP_MM = 2.6  # a pipe that passes behind another is broken by this much
SLAB_MM = 5.2  # half of a barrier's sign
HEAD_MM = 2.2  # of an arrow


def unit(a: Point, b: Point) -> Point:
    """Direction from one point to another."""
    size = math.dist(a, b) or 1.0
    return ((b[0] - a[0]) / size, (b[1] - a[1]) / size)


def shift(point: Point, way: Point, by: float) -> Point:
    """A point moved along a direction."""
    return (point[0] + way[0] * by, point[1] + way[1] * by)


def square_to(way: Point) -> Point:
    """Direction turned left."""
    return (-way[1], way[0])


def pipes(view: View) -> list[Line]:
    """The runs, each broken where it passes behind another."""
    out = []
    for k, leg in enumerate(view.legs):
        gaps = sorted(_gap(leg, other) for j, other in enumerate(view.legs) if j != k and _behind(view, leg, other))
        at = 0.0
        for low, high in [*gaps, (1.0, 1.0)]:
            if low > at:
                out.append(Line(leg.at(at), leg.at(low), "pipe"))
            at = max(at, high)
    return out


def _gap(leg: Leg, other: Leg) -> tuple[float, float]:
    place = crossing(leg, other)
    half = GAP_MM / 2 / (leg.length or 1.0)
    middle = place[0] if place else 0.0
    return (max(middle - half, 0.0), middle + half)


def _behind(view: View, leg: Leg, other: Leg) -> bool:
    place = crossing(leg, other)
    return place is not None and _depth(view, leg, place[0]) < _depth(view, other, place[1])


def _depth(view: View, leg: Leg, fraction: float) -> float:
    """How near the viewer a point of a run is: the viewer stands above the corner that faces them."""
    x, y, z = (s + (e - s) * fraction for s, e in zip(leg.run.start_m, leg.run.end_m, strict=True))
    for _ in range(view.quarter):
        x, y = -y, x
    return z - x - y


def tick(leg: Leg, point: Point, layer: str = "fitting") -> Line:
    """A stroke across the pipe."""
    across = square_to(unit(leg.start, leg.end))
    return Line(shift(point, across, -TICK_MM), shift(point, across, TICK_MM), layer)


def elbow_ticks(before: Leg, after: Leg) -> list[Item]:
    """The two sockets of a bend."""
    into = min(SOCKET_MM / before.length, 0.3)
    out = min(SOCKET_MM / after.length, 0.3)
    return [tick(before, before.at(1 - into)), tick(after, after.at(out))]


def straight_fitting(leg: Leg, fraction: float, kind: PartKind) -> list[Item]:
    """Coupling: two strokes. Increaser, reducer, adapter: a wedge that opens or closes along the flow."""
    way = unit(leg.start, leg.end)
    middle = leg.at(fraction)
    ends = shift(middle, way, -0.9), shift(middle, way, 0.9)
    if kind is PartKind.COUPLING:
        return [tick(leg, end) for end in ends]
    across = square_to(way)
    small, large = (0.7, 1.9) if kind is not PartKind.REDUCER else (1.9, 0.7)
    corners = (shift(ends[0], across, small), shift(ends[0], across, -small), shift(ends[1], across, -large),
               shift(ends[1], across, large))  # fmt: skip
    return [Polyline(corners, "fitting", closed=True)]


def slab(view: View, centre: Point, crossed: Crossing) -> list[Item]:
    """A piece of the barrier around the pipe, in the plane that the pipe goes through."""
    one, two = (view.axis(way) for way in _plane(crossed.direction))
    corners = tuple(
        (centre[0] + SLAB_MM * (a * one[0] + b * two[0]), centre[1] + SLAB_MM * (a * one[1] + b * two[1]))
        for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    )  # fmt: skip
    angle = math.degrees(math.atan2(one[1] + two[1], one[0] + two[0]))
    ring: list[Item] = [Circle(centre, 1.7, "barrier")] if crossed.cut else []
    return [Polyline(corners, "barrier", closed=True), Hatch(corners, "barrier", angle, 1.3), *ring]


def _plane(way: Vec3) -> tuple[Vec3, Vec3]:
    axis = max(range(3), key=lambda k: abs(way[k]))
    return [((0, 1, 0), (0, 0, 1)), ((1, 0, 0), (0, 0, 1)), ((1, 0, 0), (0, 1, 0))][axis]


def skew_corners(view: View, leg: Leg) -> list[Point]:
    """The way along the axes from start to end of a skew run: east, north, then up; level steps first."""
    corners = [leg.start]
    for k in range(3):
        if leg.parts_m[k]:
            step = view.axis(tuple(leg.parts_m[j] if j == k else 0.0 for j in range(3)))  # type: ignore[arg-type]
            corners.append((corners[-1][0] + step[0] * leg.scale, corners[-1][1] + step[1] * leg.scale))
    return corners


def skew_box(view: View, leg: Leg) -> list[Item]:
    """Hatched triangles that show a skew run: the level offset, and the rise over it (ISO 6412-2)."""
    corners = skew_corners(view, leg)
    out: list[Item] = [Line(a, b, "skew") for a, b in pairwise(corners)]
    if len(corners) == 4:
        out.append(Line(corners[0], corners[2], "skew"))
        out.append(Hatch((corners[0], corners[1], corners[2]), "skew", _angle(corners[0], corners[1]), 1.5))
        out.append(Hatch((corners[0], corners[2], corners[3]), "skew", 90.0, 1.5))
    else:
        angle = 90.0 if leg.parts_m[2] else _angle(corners[0], corners[1])
        out.append(Hatch((corners[0], corners[1], corners[2]), "skew", angle, 1.5))
    return out


def _angle(a: Point, b: Point) -> float:
    return math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))


def arrow(tail: Point, head: Point, layer: str, size: float = HEAD_MM) -> list[Item]:
    """A line with a filled head."""
    return [Line(tail, head, layer), arrow_head(tail, head, layer, size)]


def arrow_head(tail: Point, head: Point, layer: str, size: float = HEAD_MM) -> Polyline:
    """A slim filled triangle."""
    way = unit(tail, head)
    across = square_to(way)
    back = shift(head, way, -size)
    return Polyline((head, shift(back, across, size * 0.17), shift(back, across, -size * 0.17)), layer, True, True)


def collar(leg: Leg) -> list[Item]:
    """The appliance's outlet: a flange and a piece of casing behind it."""
    way = unit(leg.start, leg.end)
    across = square_to(way)
    flange = Line(shift(leg.start, across, -2.6), shift(leg.start, across, 2.6), "pipe")
    near = shift(leg.start, way, -1.0)
    far = shift(leg.start, way, -7.0)
    casing = (shift(near, across, -5), shift(near, across, 5), shift(far, across, 5), shift(far, across, -5))
    box: list[Item] = [Polyline(casing, "wall", closed=True), Hatch(casing, "skew", 45.0, 2.0)]
    return [flange, Line(leg.start, near, "pipe"), *box]


def terminal(leg: Leg) -> list[Item]:
    """The open end: a wide stroke and three short strokes of exhaust."""
    way = unit(leg.start, leg.end)
    across = square_to(way)
    out: list[Item] = [Line(shift(leg.end, across, -2.4), shift(leg.end, across, 2.4), "pipe")]
    for side in (-1.8, 0.0, 1.8):
        foot = shift(shift(leg.end, across, side), way, 1.6)
        out.append(Line(foot, shift(foot, way, 2.6), "fitting"))
    return out


def north(view: View, centre: Point, size: float = 9.0) -> list[Item]:
    """North arrow, with thin strokes east and up."""
    way = view.axis((0.0, 1.0, 0.0))
    east, up = view.axis((1.0, 0.0, 0.0)), (0.0, 1.0)
    others: list[Item] = [Line(centre, shift(centre, axis, size * 0.6), "note") for axis in (east, up)]
    return [Circle(centre, 1.0, "note"), *arrow(centre, shift(centre, way, size), "text", 3.2), *others]


def place_on(leg: Leg, part: Part) -> float:
    """Fraction along the drawn run of a part's middle."""
    middle = tuple((a + b) / 2 for a, b in zip(part.start_m, part.end_m, strict=True))
    return leg.along(middle)  # type: ignore[arg-type]


def middle(a: Point, b: Point) -> Point:
    """Half-way between two points."""
    return between(a, b, 0.5)
