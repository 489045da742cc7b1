"""The outside wall or the roof where a route ends: forbidden zones shaded, the terminal's place dimensioned."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ventroute.drawing.board import WALL_COST, Board, Label, Spot, around, knocked_out
from ventroute.drawing.flat import Flat, hull, slice_of
from ventroute.drawing.iso_marks import arrow_head, middle
from ventroute.drawing.primitives import Circle, Drawing, Hatch, Item, Line, Point, Polyline, Text, bounds, on_paper
from ventroute.drawing.words import level_words, route_title
from ventroute.geometry.polygon import inside
from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import Building
from ventroute.layout.zone import Zone
from ventroute.model.appliance import Vec3
from ventroute.model.plan import PlannedRoute
from ventroute.model.site import Feature, Site
from ventroute.units import format_length

REACH_M = 4.6  # on either side of the terminal; the longest clearance of the rules is about 4.6 m (15 ft)
SIZE_MM = 125.0
NEAR_M = 3.1  # features farther than this from the terminal's plane are left out (10 ft)
UP = (0.0, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Scene:
    """What the sketch is made from: the view, the window in metres along its axes, the terminal."""

    view: Flat
    window: tuple[Point, Point]
    terminal: Vec3
    edges: tuple[Point, Point]  # measures of the building's own edges that dimensions start from
    wall: bool


def outside_sketch(planned: PlannedRoute, building: Building, zones: tuple[Zone, ...], units: str) -> Drawing:
    """Elevation of the wall as seen from outside, or plan of the roof, around the terminal, to scale."""
    site = building.site
    scene = _scene(planned, site)
    board = Board()
    _draw_house(board, scene, building)
    _draw_zones(board, scene, zones)
    features = [f for f in site.features if _shown(scene, f)]
    for feature in features:
        board.draw(Polyline(_ring(scene, feature), "thing", closed=True), cost=12.0)
    _draw_terminal(board, scene, planned)
    _dimension_place(board, scene, units)
    _name_things(board, scene, planned, features, zones, units)
    seen = "wall from outside" if scene.wall else "roof from above"
    title = f"Route {planned.id}: {route_title(planned.route, units)}, {seen}"
    _caption(board, scene, planned, building, title, units)
    return on_paper(knocked_out(board.items, board.boxes), title, "To scale. Shaded: where the terminal may not be.")


def _scene(planned: PlannedRoute, site: Site) -> Scene:
    route = planned.route
    wall = route.terminal_kind == "wall"
    out = route.crossings[-1].direction if route.crossings else route.terminal_direction
    right, up = _axes(out, site) if wall else ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    flat = Flat(right, up, (0.0, 0.0), 1.0)
    low, high = _building_edges(flat, site, wall)
    u, v = flat.measure(route.terminal_m)
    bottom = max(low[1] - 0.5, v - REACH_M) if not wall else site.place.grade_m - 0.4
    window = (
        (max(u - REACH_M, low[0] - 1.0), bottom),
        (min(u + REACH_M, high[0] + 1.0), v + (1.8 if wall else REACH_M)),
    )
    if not wall:
        window = (window[0], (window[1][0], min(window[1][1], high[1] + 1.0)))
    scale = SIZE_MM / max(window[1][k] - window[0][k] for k in (0, 1))
    origin = (-window[0][0] * scale, -window[0][1] * scale)
    return Scene(replace(flat, origin=origin, scale=scale), window, route.terminal_m, (low, high), wall)


def _axes(out: Vec3, site: Site) -> tuple[Vec3, Vec3]:
    """Right and up for somebody who faces the wall: the side of the building that looks the way of the pipe."""
    ring = site.building.footprint
    sides = [np.subtract(b, a) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    units = [side / np.linalg.norm(side) for side in sides]
    normals = [np.array([side[1], -side[0]]) for side in units]
    n = max(normals, key=lambda normal: round(float(normal @ np.array(out[:2])), 9))
    return (-float(n[1]), float(n[0]), 0.0), UP


def _building_edges(flat: Flat, site: Site, wall: bool) -> tuple[Point, Point]:
    """Least and greatest measures of the building in the view; heights count from grade."""
    at = [flat.measure((x, y, 0.0)) for x, y in site.building.footprint]
    u = [p[0] for p in at]
    v = [site.place.grade_m] * 2 if wall else [p[1] for p in at]
    return (min(u), min(v)), (max(u), max(v))


def _draw_house(board: Board, scene: Scene, building: Building) -> None:
    site = building.site
    if scene.wall:
        (left, _), (right, _) = scene.edges
        grade = site.place.grade_m
        ends = [scene.view.paper((u, grade)) for u in (scene.window[0][0], scene.window[1][0])]
        board.draw(Line(ends[0], ends[1], "wall"), cost=WALL_COST)
        for u in (left, right):
            if scene.window[0][0] <= u <= scene.window[1][0]:
                top = scene.view.paper((u, scene.window[1][1]))
                board.draw(Line(scene.view.paper((u, grade)), top, "wall"), cost=WALL_COST)
    else:
        ring = tuple(scene.view.at((x, y, 0.0)) for x, y in site.building.footprint)
        board.draw(*_clipped_ring(ring, scene, "hidden"))
    for roof in site.roofs:
        ring = hull([scene.view.at(corner) for corner in roof.corners])
        board.draw(*_clipped_ring(ring, scene, "thing"))


def _clipped_ring(ring: tuple[Point, ...], scene: Scene, layer: str) -> list[Item]:
    """Strokes of a ring inside the window."""
    low, high = (scene.view.paper(corner) for corner in scene.window)
    out: list[Item] = []
    for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
        span = _inside(a, b, low, high)
        if span is not None:
            p, q = ((a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in span)
            out.append(Line(p, q, layer))
    return out


def _inside(a: Point, b: Point, low: Point, high: Point) -> tuple[float, float] | None:
    first, last = 0.0, 1.0
    for k in (0, 1):
        way = b[k] - a[k]
        if abs(way) < 1e-9:
            if not low[k] <= a[k] <= high[k]:
                return None
            continue
        near, far = sorted(((low[k] - a[k]) / way, (high[k] - a[k]) / way))
        first, last = max(first, near), min(last, far)
    return (first, last) if first < last else None


def slices(scene: Scene, zone: Zone) -> list[tuple[Point, ...]]:
    """A zone's bodies cut by the terminal's plane, on paper."""
    cut = [slice_of(body, scene.view, scene.terminal, scene.window) for body in zone.cover]
    return [tuple(scene.view.paper(p) for p in ring) for ring in cut if ring]


def _draw_zones(board: Board, scene: Scene, zones: tuple[Zone, ...]) -> None:
    for k, zone in enumerate(zones):
        for ring in slices(scene, zone):
            board.draw(Polyline(ring, "zone", closed=True), cost=3.0)
            board.draw(Hatch(ring, "zone", 45.0 + 30.0 * (k % 4), 2.4), cost=0.0)


def _shown(scene: Scene, feature: Feature) -> bool:
    """Whether a feature lies in the window and near the terminal's plane."""
    toward = np.array(scene.view.toward)
    box = Polytope.box(feature.corner, np.add(feature.corner, np.maximum(feature.size, 1e-3)))
    deep = box.vertices @ toward - float(np.array(scene.terminal) @ toward)
    at = [scene.view.measure(vertex) for vertex in box.vertices]
    seen = all(
        min(p[k] for p in at) <= scene.window[1][k] and max(p[k] for p in at) >= scene.window[0][k] for k in (0, 1)
    )
    return seen and (not scene.wall or bool(deep.min() <= NEAR_M and deep.max() >= -NEAR_M))


def _ring(scene: Scene, feature: Feature) -> tuple[Point, ...]:
    """A feature's outline, kept inside the window."""
    ends = (feature.corner, tuple(c + s for c, s in zip(feature.corner, feature.size, strict=True)))
    at = [scene.view.measure(end) for end in ends]
    low, high = scene.window
    u = sorted(min(max(p[0], low[0]), high[0]) for p in at)
    v = sorted(min(max(p[1], low[1]), high[1]) for p in at)
    return tuple(scene.view.paper(p) for p in ((u[0], v[0]), (u[1], v[0]), (u[1], v[1]), (u[0], v[1])))


def _draw_terminal(board: Board, scene: Scene, planned: PlannedRoute) -> None:
    at = scene.view.at(scene.terminal)
    radius = max(planned.route.kit.pipe.od_m / 2 * scene.view.scale, 0.8)
    board.draw(Circle(at, radius, "pipe"), cost=60.0)
    for way in ((1.0, 0.0), (0.0, 1.0)):
        ends = [(at[0] + s * way[0] * (radius + 1.2), at[1] + s * way[1] * (radius + 1.2)) for s in (-1, 1)]
        board.draw(Line(ends[0], ends[1], "fitting"), cost=20.0)


def _dimension_place(board: Board, scene: Scene, units: str) -> None:
    """Where the terminal is: from the nearer end of the wall and above grade, or from two outside faces."""
    u, v = scene.view.measure(scene.terminal)
    (left, low), (right, high) = scene.edges
    near = left if u - left <= right - u else right
    base = low if scene.wall or v - low <= high - v else high
    words = ("wall's end", "grade") if scene.wall else ("outside face, east or west", "outside face, north or south")
    _dimension(board, scene, 0, near, words[0], units)
    _dimension(board, scene, 1, base, words[1], units)


def _dimension(board: Board, scene: Scene, axis: int, datum: float, word: str, units: str) -> None:
    """A dimension along one axis of the view from a datum to the terminal; the line stops at the window's edge."""
    at = scene.view.at(scene.terminal)
    value = abs(scene.view.measure(scene.terminal)[axis] - datum)
    low, high = scene.window[0][axis], scene.window[1][axis]
    shown = scene.view.paper((min(max(datum, low), high),) * 2)[axis]
    label = Label((format_length(value, units),), 3.0, "dimension", value_m=value, about=f"terminal: from the {word}")
    spots = []
    for level in range(12):
        for side in (-1, 1):
            across = at[1 - axis] + side * (7.0 + 6.0 * level)
            ends = _on(axis, at[axis], across), _on(axis, shown, across)
            witness = [Line(_on(axis, end[axis], at[1 - axis]), end, "leader") for end in ends]
            heads = [arrow_head(a, b, "dimension") for a, b in (ends, ends[::-1])]
            lines: tuple[Item, ...] = (*witness, Line(*ends, "dimension"), *heads)
            spots.append(Spot(middle(*ends), 6.0 * level + (side > 0), lines))
    rest = [replace(spot, cost=spot.cost + 80.0) for spot in _some(at, label)]
    board.place(label, [*spots, *rest])


def _on(axis: int, along: float, across: float) -> Point:
    return (along, across) if axis == 0 else (across, along)


def _some(centre: Point, label: Label) -> list[Spot]:
    """Enough spots around a point to leave any sketch."""
    spots = []
    for spot in around(centre, label, 2.0):
        spots.append(spot)
        if spot.cost > 400.0:
            return spots
    return spots


def _name_things(board: Board, scene: Scene, planned: PlannedRoute, features: list[Feature], zones: tuple[Zone, ...],
                 units: str) -> None:  # fmt: skip
    for feature in features:
        label = _named(feature, planned, units)
        ring = _ring(scene, feature)
        board.place(label, around(middle(ring[0], ring[2]), label, 0.2))
    for zone in zones:
        rings = slices(scene, zone)
        if rings and zone.subject not in {feature.label for feature in features}:
            box = bounds([Polyline(rings[0], "zone")])
            label = Label((f"no terminal: {zone.subject}",), 2.4, "zone")
            board.place(label, around(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), label, 0.2))


def _named(feature: Feature, planned: PlannedRoute, units: str) -> Label:
    """A feature's name; below it how far the terminal is, and what the rule wants that is nearest to failing."""
    names = (feature.name,) if feature.name == feature.kind else (feature.name, f"({feature.kind})")
    label = Label(names, 2.5, "note")
    found = [f for f in planned.findings if f.subject == feature.label and f.unit == "m" and f.measured is not None]
    if not found:
        return label
    measured, limit = found[0].measured or 0.0, found[0].limit
    need = "" if not limit else f" (rule: {format_length(limit, units)})"
    figure = format_length(measured, units) + need
    return replace(label, figure=figure, value_m=measured, about=f"terminal to {feature.name}")


def _caption(board: Board, scene: Scene, planned: PlannedRoute, building: Building, title: str, units: str) -> None:
    low = bounds(board.items)[1]
    grade = building.site.place.grade_m
    lines = [
        "Hatched: the terminal's centre may not be there (cut at the terminal's own plane).",
        f"Terminal: {level_words(scene.terminal[2], grade, units)}. {_roof_words(scene, building, units)}".strip(),
        "Under a name: how far off the terminal is, and what the rule asks that comes nearest to failing.",
        "Seen from outside; along the wall from its nearer end."
        if scene.wall
        else "North is up; distances from outside faces.",
    ]
    for k, (line, size, bold) in enumerate([(title, 3.8, True), *((line, 2.5, False) for line in lines)]):
        text = Text((0.0, low - 8.0 - (5.2 if k else 0.0) - max(k - 1, 0) * 3.4), line, size, "note", bold)
        board.draw(replace(text, centre=((text.box[2] - text.box[0]) / 2, text.centre[1])))


def _roof_words(scene: Scene, building: Building, units: str) -> str:
    """How far above the roof under it the terminal stands."""
    if scene.wall:
        return ""
    x, y, z = scene.terminal
    over = [s for s in building.slopes if any(inside(part, (x, y))[0] for part in s.plan)]
    heights = [z - float((s.offset - s.normal[0] * x - s.normal[1] * y) / s.normal[2]) for s in over]
    top = building.site.building.top_m
    heights += [z - top] if top is not None else []
    above = [height for height in heights if height > 0]
    return f"{format_length(min(above), units)} above the roof, plumb." if above else ""
