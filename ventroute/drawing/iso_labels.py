"""Lettering of the isometric: dimensions, offsets of skew runs, falls, piece numbers, barriers, spaces, ends."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ventroute.drawing.board import Label, Spot, around, lead
from ventroute.drawing.iso_marks import arrow, arrow_head, middle, shift, skew_corners, square_to, unit
from ventroute.drawing.iso_view import Leg, View, between
from ventroute.drawing.metrics import wrap
from ventroute.drawing.primitives import Circle, Item, Line, Point, Polyline
from ventroute.drawing.words import AXES
from ventroute.model.appliance import Vec3
from ventroute.units import format_length, format_pitch

DIM_SIZE, NOTE_SIZE, NUMBER_SIZE = 3.1, 2.8, 2.6
FIRST_MM, STEP_MM, LEVELS = 8.5, 5.5, 6  # distance of dimension lines from the pipe
BALLOON_MM = 2.7


def dimension_label(leg: Leg, number: int, units: str) -> Label:
    """Length of a run from corner to corner."""
    length = leg.run.length_m
    return Label((format_length(length, units),), DIM_SIZE, "dimension", value_m=length, about=f"run {number}")


def dimension_spots(view: View, leg: Leg, label: Label) -> Iterator[Spot]:
    """Dimension lines beside a run, on either side, along the axes that the run does not follow."""
    spots = [spot for way in _witness_ways(view, leg) for spot in _beside(leg, way, _along_pipe(view, leg, way))]
    yield from sorted(spots, key=lambda spot: (spot.cost, spot.centre))
    yield from around(middle(leg.start, leg.end), label, 6.0, base=90.0)


def _witness_ways(view: View, leg: Leg) -> list[Point]:
    """Directions on paper for the witness lines: axes well across the run, else square to it."""
    way = unit(leg.start, leg.end)
    axes: list[Vec3] = [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)]
    ways = [view.axis(axis) for axis in axes] + ([square_to(way)] if leg.skew else [])
    across = [w for w in ways if abs(w[0] * way[1] - w[1] * way[0]) > 0.6]
    return [(sign * w[0], sign * w[1]) for w in across for sign in (1, -1)]


def _along_pipe(view: View, leg: Leg, way: Point) -> float:
    """Cost of witness lines that would lie on the run before or after this one."""
    k = view.legs.index(leg)
    onward = [unit(leg.end, other.end) for other in view.legs[k + 1 : k + 2]]
    back = [unit(leg.start, other.start) for other in view.legs[k - 1 : k]] if k else []
    size = math.hypot(*way)
    return 6.0 * sum(other[0] * way[0] + other[1] * way[1] > 0.97 * size for other in (*onward, *back))


def _beside(leg: Leg, way: Point, extra: float) -> Iterator[Spot]:
    for level in range(LEVELS):
        offset = FIRST_MM + level * STEP_MM
        a, b = shift(leg.start, way, offset), shift(leg.end, way, offset)
        lines: tuple[Item, ...] = (
            *(Line(shift(p, way, 1.6), shift(p, way, offset + 1.2), "dimension") for p in (leg.start, leg.end)),
            Line(a, b, "dimension"), arrow_head(b, a, "dimension"), arrow_head(a, b, "dimension"),
        )  # fmt: skip
        for k, fraction in enumerate((0.5, 0.36, 0.64)):
            yield Spot(between(a, b, fraction), extra + 4.0 * level + 0.5 * k, lines)


def skew_labels(view: View, leg: Leg, number: int, units: str) -> Iterator[tuple[Label, Iterator[Spot]]]:
    """What a skew run covers along each axis: ``2 ft east``."""
    corners = skew_corners(view, leg)
    steps = [(k, part) for k, part in enumerate(leg.parts_m) if part]
    for (k, part), a, b in zip(steps, corners, corners[1:], strict=False):
        word = AXES[k][part < 0]
        label = Label((f"{format_length(abs(part), units)} {word}",), NOTE_SIZE, "dimension", value_m=abs(part),
                      about=f"run {number} {word}")  # fmt: skip
        yield label, around(middle(a, b), label, 1.2, lead_from=2.0, prefer_deg=_outward(middle(a, b), leg))


def _outward(point: Point, leg: Leg) -> float:
    """Away from the run, in degrees."""
    centre = middle(leg.start, leg.end)
    return math.degrees(math.atan2(point[1] - centre[1], point[0] - centre[0]))


def fall_label(leg: Leg, units: str) -> Label:
    """The fall of a run."""
    return Label((f"fall {format_pitch(abs(leg.fall or 0.0), units)}",), NOTE_SIZE, "note")


def fall_spots(leg: Leg, label: Label) -> Iterator[Spot]:
    """An arrow beside the pipe that points downhill, the words beyond it."""
    way = unit(leg.start, leg.end) if (leg.fall or 0.0) < 0 else unit(leg.end, leg.start)
    across = square_to(way)
    width, height = label.extent
    spots = []
    for side in (1, -1):
        for k, fraction in enumerate((0.5, 0.3, 0.7, 0.18, 0.82)):
            centre = shift(leg.at(fraction), across, side * 2.6)
            reach = 2.6 + abs(across[0]) * width / 2 + abs(across[1]) * height / 2 + 1.4
            words = shift(leg.at(fraction), across, side * reach)
            line = tuple(arrow(shift(centre, way, -4.0), shift(centre, way, 4.0), "text", 2.6))
            spots.append(Spot(words, k * 1.0, line))
    yield from sorted(spots, key=lambda spot: spot.cost)
    centre = shift(leg.at(0.5), across, 2.6)
    line = tuple(arrow(shift(centre, way, -4.0), shift(centre, way, 4.0), "text", 2.6))
    for spot in around(centre, label, 3.0, base=12.0):
        yield replace(spot, lines=spot.lines + line)


def balloon(number: int, anchor: Point, way: Point, pipe: bool) -> tuple[Label, Iterator[Spot]]:
    """A part's number: in a circle for pipe, in a square for fittings."""
    label = Label((str(number),), NUMBER_SIZE, "text", bold=True, pad=0.9)
    return label, _balloon_spots(anchor, way, label, pipe)


def _balloon_spots(anchor: Point, way: Point, label: Label, pipe: bool) -> Iterator[Spot]:
    base = math.degrees(math.atan2(way[1], way[0])) + 90.0
    radius = max(BALLOON_MM, label.extent[0] / 2)
    distance = radius + 1.9
    while distance < 2000.0:
        for k, turn in enumerate((0, 180, 30, -30, 150, 210, 60, -60, 120, 240, 90, -90)):
            angle = math.radians(base + turn)
            centre = shift(anchor, (math.cos(angle), math.sin(angle)), distance)
            edge = shift(centre, unit(centre, anchor), radius)
            yield Spot(centre, distance + 0.3 * k, (_ring(centre, radius, pipe), Line(edge, anchor, "leader")))
        distance *= 1.25


def _ring(centre: Point, radius: float, pipe: bool) -> Item:
    if pipe:
        return Circle(centre, radius, "text")
    r = radius * 0.88
    x, y = centre
    return Polyline(((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)), "text", closed=True)


def note(text: tuple[str, ...], anchor: Point, width: float = 40.0, near: float = 6.0, prefer_deg: float = 20.0,
         bold: bool = False, size: float = NOTE_SIZE) -> tuple[Label, Iterator[Spot]]:  # fmt: skip
    """Wrapped words tied to a point."""
    lines = tuple(line for part in text for line in wrap(part, width, size, bold))
    label = Label(lines, size, "note", bold)
    return label, around(anchor, label, near, prefer_deg=prefer_deg)


def tie(anchor: Point, spot: Spot, label: Label) -> Line:
    """Leader of a label placed without one."""
    return lead(anchor, spot.centre, *label.extent)
