"""Plan and elevation of each room that a route passes, to scale, with running dimensions from walls and floor."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ventroute.drawing.board import WALL_COST, Board, Label, around, knocked_out
from ventroute.drawing.flat import Flat, Mark, running, within
from ventroute.drawing.iso_marks import arrow, shift, square_to, unit
from ventroute.drawing.primitives import Circle, Drawing, Hatch, Item, Line, Point, Polyline, Text, bounds, on_paper
from ventroute.layout.building import Building, Passage, Solid
from ventroute.layout.spaces import RoomCells
from ventroute.model.appliance import Vec3
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import Route, Run

EAST, NORTH, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
VIEW_MM = (78.0, 78.0)  # what one view may fill
BETWEEN_MM = 34.0  # from plan to elevation: room for the heights
LEAST_M = 0.02  # a shorter stretch in a room is only a way through its wall


@dataclass(frozen=True, slots=True)
class Stretch:
    """The part of a run that lies in a room."""

    start_m: Vec3
    end_m: Vec3
    od_m: float


def room_sketches(planned: PlannedRoute, building: Building, units: str) -> tuple[Drawing, ...]:
    """A drawing of every room on the way, in order of the flow: plan on the left, elevation on the right."""
    found = []
    for room in _in_order(planned.route, building):
        stretches = stretches_in(planned.route, room)
        if sum(_length(s) for s in stretches) > LEAST_M:
            found.append(_sketch(planned, building, room, stretches, units))
    return tuple(found)


def _in_order(route: Route, building: Building) -> list[RoomCells]:
    """Rooms by where along the route they are met first."""
    first: dict[int, float] = {}
    for k, run in enumerate(route.runs):
        for n, room in enumerate(building.rooms):
            spans = _spans(run, room)
            if spans and n not in first:
                first[n] = k + spans[0][0]
    return [building.rooms[n] for n, _ in sorted(first.items(), key=lambda entry: (entry[1], entry[0]))]


def stretches_in(route: Route, room: RoomCells) -> tuple[Stretch, ...]:
    """What of a route lies in a room."""
    out = []
    for piece in route.stretches:
        for run in piece.runs:
            for low, high in _spans(run, room):
                out.append(Stretch(_between(run, low), _between(run, high), piece.kit.pipe.od_m))
    return tuple(out)


def _spans(run: Run, room: RoomCells) -> list[tuple[float, float]]:
    """Fractions of a run inside a room, joined where its cells meet."""
    spans: list[tuple[float, float]] = []
    for low, high in sorted(span for cell in room.cells if (span := within(run.start_m, run.end_m, cell))):
        if spans and low <= spans[-1][1] + 1e-6:
            spans[-1] = (spans[-1][0], max(spans[-1][1], high))
        else:
            spans.append((low, high))
    return spans


def _between(run: Run, fraction: float) -> Vec3:
    x, y, z = (s + (e - s) * fraction for s, e in zip(run.start_m, run.end_m, strict=True))
    return (x, y, z)


def _length(stretch: Stretch) -> float:
    return float(np.linalg.norm(np.subtract(stretch.end_m, stretch.start_m)))


def _sketch(planned: PlannedRoute, building: Building, room: RoomCells, stretches: tuple[Stretch, ...],
            units: str) -> Drawing:  # fmt: skip
    side, word = _looking(stretches)
    scale = min(_scale(room, EAST, NORTH), _scale(room, side, UP))
    plan = _placed(room, Flat(EAST, NORTH, (0.0, 0.0), scale), 0.0)
    board = Board()
    _caption(board, plan, room, "Plan. To the pipe's centre, from the west and south walls' inside faces.")
    board.draw(*_north(plan, room))
    _measure(board, plan, room, stretches, units, ("west wall", "south wall"))
    _view(board, plan, planned.route, building, room, stretches)
    left = bounds(board.items)[2] + BETWEEN_MM
    view = _placed(room, Flat(side, UP, (0.0, 0.0), scale), left)
    _caption(board, view, room, f"Elevation, looking {word}. Heights above the floor to the pipe's centre.")
    _measure(board, view, room, stretches, units, ("", "floor"))
    _view(board, view, planned.route, building, room, stretches)
    title = f"Route {planned.id} in the room: {room.room.name}"
    low = bounds(board.items)[1]
    board.draw(_left(Text((0.0, low - 8.0), title, 3.8, "note", bold=True)))
    return on_paper(
        knocked_out(board.items), title, "To scale. Plan and elevation with the pipe and what is in its way."
    )


def _looking(stretches: tuple[Stretch, ...]) -> tuple[Vec3, str]:
    """The elevation that shows more of the route."""
    across = [sum(abs(s.end_m[k] - s.start_m[k]) for s in stretches) for k in (0, 1)]
    return (NORTH, "west") if across[1] > across[0] + 1e-9 else (EAST, "north")


def _corners(room: RoomCells, view: Flat) -> tuple[Point, Point]:
    """Least and greatest measures of a room in a view."""
    at = [view.measure(vertex) for cell in room.cells for vertex in cell.vertices]
    return (min(x for x, _ in at), min(y for _, y in at)), (max(x for x, _ in at), max(y for _, y in at))


def _scale(room: RoomCells, right: Vec3, up: Vec3) -> float:
    low, high = _corners(room, Flat(right, up, (0.0, 0.0), 1.0))
    return min(size / max(high[k] - low[k], 0.1) for k, size in enumerate(VIEW_MM))


def _placed(room: RoomCells, view: Flat, left: float) -> Flat:
    """The view moved so that the room's lower left corner is at `left`, 0."""
    low, _ = _corners(room, view)
    return replace(view, origin=(left - low[0] * view.scale, -low[1] * view.scale))


def _view(board: Board, view: Flat, route: Route, building: Building, room: RoomCells,
          stretches: tuple[Stretch, ...]) -> None:  # fmt: skip
    for cell in room.cells:
        board.draw(Polyline(view.outline(cell), "wall", closed=True), cost=WALL_COST)
    space = building.space_named(room.room.name)
    solids = [s for s in (space.solids if space else ()) if s.kind in ("obstacle", "keep_out")]
    for solid in solids:
        board.draw(*_solid(view, solid, room))
    for stretch in stretches:
        board.draw(*pipe_strokes(view, stretch, stretch.od_m), cost=30.0)
    used = {crossed.name for crossed in route.crossings}
    index = space.index if space else -1
    for passage in building.passages:
        if passage.name in used and index in passage.spaces:
            _opening(board, view, route, passage, stretches)
    for solid in solids:
        if spot := _middle(view, solid, room):
            label = Label((solid.name,), 2.5, "note")
            board.place(label, around(spot, label, 0.5))


def pipe_strokes(view: Flat, stretch: Stretch, od_m: float) -> list[Item]:
    """Pipe to scale: two edges and a centre line, or a ring where it runs towards the viewer."""
    a, b = view.at(stretch.start_m), view.at(stretch.end_m)
    half = od_m * view.scale / 2
    if np.hypot(a[0] - b[0], a[1] - b[1]) < half:
        return [Circle(a, half, "fitting"), Circle(a, 0.2, "fitting")]
    across = square_to(unit(a, b))
    edges = [Line(shift(a, across, side * half), shift(b, across, side * half), "fitting") for side in (1, -1)]
    return [*edges, Line(a, b, "hidden")]


def _solid(view: Flat, solid: Solid, room: RoomCells) -> list[Item]:
    """Outline and light hatch of what is in the way, as far as it lies in the room."""
    bodies = [inside for body in solid.bodies for cell in room.cells if (inside := body.intersect(cell)) is not None]
    rings = [view.outline(body) for body in bodies]
    return [item for ring in rings for item in (Polyline(ring, "thing", closed=True), Hatch(ring, "grid", 135.0, 1.8))]


def _middle(view: Flat, solid: Solid, room: RoomCells) -> Point | None:
    for body in solid.bodies:
        for cell in room.cells:
            inside = body.intersect(cell)
            if inside is not None:
                return view.at(inside.centre)
    return None


def _opening(board: Board, view: Flat, route: Route, passage: Passage, stretches: tuple[Stretch, ...]) -> None:
    """A hole: a ring where its axis runs towards the viewer, else its two edges; the name beside it."""
    crossed = next(c for c in route.crossings if c.name == passage.name)
    ends = [point for stretch in stretches for point in (stretch.start_m, stretch.end_m)]
    at = view.at(min(ends, key=lambda point: math.dist(point, crossed.point_m)))  # its mouth in this room
    half = (passage.clear_m or route.kit_in(crossed).pipe.od_m * 1.15) * view.scale / 2
    way = view.measure(crossed.direction)
    if abs(float(np.dot(crossed.direction, view.toward))) > 0.7:
        board.draw(Circle(at, half, "barrier"))
    else:
        along = unit((0.0, 0.0), way)
        across = square_to(along)
        for side in (half, -half):
            edge = shift(at, across, side)
            board.draw(Line(shift(edge, along, -2.0), shift(edge, along, 2.0), "barrier"))
    label = Label((f"{'new hole' if crossed.cut else 'hole'}: {passage.name}",), 2.5, "note")
    board.place(label, around(at, label, half + 1.5, lead_from=half + 2.5))


def _measure(board: Board, view: Flat, room: RoomCells, stretches: tuple[Stretch, ...], units: str,
             datum: tuple[str, str]) -> None:  # fmt: skip
    """Running dimensions of every corner and way through a wall; no datum name: that axis is not measured."""
    low, _ = _corners(room, view)
    points = [point for stretch in stretches for point in (stretch.start_m, stretch.end_m)]
    edges = view.paper(low)
    for axis, wall in enumerate(datum):
        if wall:
            marks = [
                Mark(view.at(p), view.measure(p)[axis] - low[axis], f"{room.room.name}: from the {wall}")
                for p in points
            ]
            running(board, marks, edges[1 - axis], axis == 0, units)


def _caption(board: Board, view: Flat, room: RoomCells, text: str) -> None:
    low, high = (view.paper(corner) for corner in _corners(room, view))
    words, *rest = text.split(". ", 1)
    board.draw(_left(Text((low[0], high[1] + 9.0), words, 3.0, "note", bold=True)))
    for line in rest:
        board.draw(_left(Text((low[0], high[1] + 5.2), line, 2.4, "note")))


def _north(view: Flat, room: RoomCells) -> list[Item]:
    _, high = (view.paper(corner) for corner in _corners(room, view))
    foot = (high[0] + 8.0, high[1] - 10.0)
    return [
        *arrow(foot, shift(foot, (0.0, 1.0), 7.0), "text"),
        Text(shift(foot, (0.0, 1.0), 9.4), "N", 3.2, "text", True),
    ]


def _left(text: Text) -> Text:
    """A text that starts at the point instead of being centred on it."""
    left, _, right, _ = text.box
    return replace(text, centre=(text.centre[0] + (right - left) / 2, text.centre[1]))
