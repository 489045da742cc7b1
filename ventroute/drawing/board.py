"""Where labels go: each takes the cheapest of its spots where its box covers no other text.

Boxes of texts never share area; that is kept, not weighed. Crossing a pipe, a thin line or another label's leader
only costs, so a label always finds a place: the last spots lie farther out than anything drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ventroute.drawing.metrics import ASCENT, DESCENT, text_width
from ventroute.drawing.primitives import Box, Circle, Hatch, Item, Line, Point, Polyline, Text, grown, overlap, plain

CLEAR = 0.7  # mm between the boxes of two texts
LEADING = 1.22  # line distance over size
PIPE_COST, SYMBOL_COST, THIN_COST = 60.0, 25.0, 5.0
WALL_COST = 45.0  # lettering stands on one side of a wall or the other
CUT_TEXT_COST = 45.0  # a label's own line runs through another text


@dataclass(frozen=True)
class Label:
    """Lines of lettering that are placed as one block."""

    lines: tuple[str, ...]
    size: float = 3.0
    layer: str = "text"
    bold: bool = False
    value_m: float | None = None
    about: str = ""
    pad: float = 0.0  # kept free around the block, for a ring
    figure: str = ""  # a last line, the only one that has the value; without it every line has

    def __post_init__(self) -> None:
        lines = (*self.lines, self.figure) if self.figure else self.lines
        object.__setattr__(self, "lines", tuple(map(plain, lines)))

    @cached_property
    def extent(self) -> tuple[float, float]:
        """Width and height of the block."""
        width = max(text_width(line, self.size, self.bold) for line in self.lines)
        height = ((len(self.lines) - 1) * LEADING + ASCENT + DESCENT) * self.size
        return width + 2 * self.pad, height + 2 * self.pad

    def texts(self, centre: Point) -> Iterator[Text]:
        """The lines, placed around a centre."""
        for k, line in enumerate(self.lines):
            y = centre[1] + ((len(self.lines) - 1) / 2 - k) * LEADING * self.size
            valued = not self.figure or k == len(self.lines) - 1
            value_m, about = (self.value_m, self.about) if valued else (None, "")
            yield Text((centre[0], y), line, self.size, self.layer, self.bold, value_m, about)


@dataclass(frozen=True, slots=True)
class Spot:
    """One place for a label: its centre, the lines that come with it, and what it costs."""

    centre: Point
    cost: float
    lines: tuple[Item, ...] = ()


class Board:
    """A sheet that fills up: items, the boxes that texts may not cover, the strokes they should not."""

    def __init__(self) -> None:
        self.items: list[Item] = []
        self.boxes: list[Box] = []
        self._strokes: list[tuple[float, float, float, float]] = []
        self._weights: list[float] = []
        self._cache: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None

    def draw(self, *items: Item, cost: float = THIN_COST) -> None:
        """Put items down; strokes count against later labels, texts block them."""
        for item in items:
            self.items.append(item)
            if isinstance(item, Text):
                self.boxes.append(item.box)
            self.avoid(strokes_of(item), cost)

    def avoid(self, strokes: Iterable[tuple[Point, Point]], cost: float) -> None:
        """Make labels shun strokes that are drawn elsewhere."""
        for a, b in strokes:
            self._strokes.append((*a, *b))
            self._weights.append(cost)
            self._cache = None

    def block(self, box: Box) -> None:
        """Keep texts off a box."""
        self.boxes.append(box)

    def place(self, label: Label, spots: Iterable[Spot]) -> Spot:
        """Put a label at its best spot; the spots must come with rising cost, and end far out."""
        best: tuple[float, Spot] | None = None
        for spot in spots:
            if best is not None and spot.cost >= best[0]:
                break
            price = self._price(label, spot, math.inf if best is None else best[0])
            if price is not None:
                best = (price, spot)
        assert best is not None, "the spots of a label end before the drawing does"
        self.boxes.append(self._box(label, best[1]))
        self.items += label.texts(best[1].centre)
        for item in best[1].lines:
            self.items.append(item)
            self.avoid(strokes_of(item), THIN_COST)
        return best[1]

    def _box(self, label: Label, spot: Spot) -> Box:
        width, height = label.extent
        x, y = spot.centre
        return grown((x - width / 2, y - height / 2, x + width / 2, y + height / 2), CLEAR / 2)

    def _price(self, label: Label, spot: Spot, most: float) -> float | None:
        """What a spot costs, None where a text is in the way or it costs as much as ``most``."""
        box = self._box(label, spot)
        if any(overlap(box, other) for other in self.boxes):
            return None
        strokes, weights = self._arrays()
        price = spot.cost + float(weights[hits(strokes, np.array([box]))[:, 0]].sum())
        if price >= most:
            return None
        own = np.array([(*a, *b) for item in spot.lines for a, b in strokes_of(item)]).reshape(-1, 4)
        if len(own) and self.boxes:
            price += CUT_TEXT_COST * float(hits(own, np.array(self.boxes)).sum())
        if len(own) and len(weights):
            price += 0.4 * float((crossed(own, strokes) * np.where(weights >= PIPE_COST, weights, 0.0)).sum())
        return price if price < most else None

    def _arrays(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        if self._cache is None:
            self._cache = (np.array(self._strokes, float).reshape(-1, 4), np.array(self._weights, float))
        return self._cache


def hits(strokes: NDArray[np.float64], boxes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which strokes (n, 4) pass through which boxes (m, 4): (n, m)."""
    start, way = strokes[:, None, :2], strokes[:, None, 2:] - strokes[:, None, :2]
    safe = np.where(np.abs(way) < 1e-12, 1e-12, way)
    one, two = (boxes[None, :, :2] - start) / safe, (boxes[None, :, 2:] - start) / safe
    enter = np.minimum(one, two).max(axis=2)
    leave = np.maximum(one, two).min(axis=2)
    return np.asarray((enter < leave) & (enter < 1) & (leave > 0))


def crossed(own: NDArray[np.float64], strokes: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which strokes (n, 4) cut which others (m, 4) between their ends: (n, m)."""
    a, b = own[:, None, :2], own[:, None, 2:] - own[:, None, :2]
    c, d = strokes[None, :, :2], strokes[None, :, 2:] - strokes[None, :, :2]
    cross = b[..., 0] * d[..., 1] - b[..., 1] * d[..., 0]
    gap = c - a
    safe = np.where(np.abs(cross) < 1e-9, np.inf, cross)
    s = (gap[..., 0] * d[..., 1] - gap[..., 1] * d[..., 0]) / safe
    t = (gap[..., 0] * b[..., 1] - gap[..., 1] * b[..., 0]) / safe
    inside = (s > 0.02) & (s < 0.98) & (t > 0.02) & (t < 0.98)
    return np.asarray(inside)


def strokes_of(item: Item) -> list[tuple[Point, Point]]:
    """The straight lines that an item is drawn with."""
    if isinstance(item, Line):
        return [(item.start, item.end)]
    if isinstance(item, Polyline | Hatch):
        ring = item.points + (item.points[:1] if isinstance(item, Hatch) or item.closed else ())
        return list(pairwise(ring))
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        corners = ((x - r, y), (x, y - r), (x + r, y), (x, y + r), (x - r, y))
        return list(pairwise(corners))
    return []


def around(anchor: Point, label: Label, near: float = 2.0, leader: str = "leader", lead_from: float = 3.2,
           prefer_deg: float = 30.0, base: float = 0.0) -> Iterator[Spot]:  # fmt: skip
    """Spots in rings around a point, nearest first; a leader ties the farther ones to it."""
    width, height = label.extent
    radius = near
    while radius < 2000.0:
        for k in range(16):
            angle = math.radians(prefer_deg) + (k + 1) // 2 * (-1) ** k * math.tau / 16
            c, s = math.cos(angle), math.sin(angle)
            centre = (anchor[0] + c * (radius + width / 2), anchor[1] + s * (radius + height / 2))
            tie = (lead(anchor, centre, width, height, leader),) if radius >= lead_from else ()
            yield Spot(centre, base + radius + 0.08 * k, tie)
        radius *= 1.22


def lead(anchor: Point, centre: Point, width: float, height: float, layer: str = "leader") -> Line:
    """A line from a point to the nearest side of a block of lettering."""
    x = min(max(anchor[0], centre[0] - width / 2), centre[0] + width / 2)
    y = min(max(anchor[1], centre[1] - height / 2), centre[1] + height / 2)
    return Line(anchor, (x, y), layer)


THIN = ("dimension", "leader", "skew", "grid", "hidden")  # layers whose lines give way to lettering


def knocked_out(items: Iterable[Item], rings: Iterable[Box] = ()) -> list[Item]:
    """The items with thin lines and hatches broken where they would run through lettering, hatches at `rings` too."""
    kept = list(items)
    boxes = [grown(item.box, 0.3) for item in kept if isinstance(item, Text)]
    wide = [*boxes, *rings]
    out: list[Item] = []
    for item in kept:
        if isinstance(item, Line) and item.layer in THIN:
            out += _broken(item, boxes)
        elif isinstance(item, Hatch):
            out += [piece for a, b in item.strokes for piece in _broken(Line(a, b, item.layer), wide)]
        else:
            out.append(item)
    return out


def _broken(line: Line, boxes: list[Box]) -> list[Item]:
    """What is left of a line outside the boxes."""
    (x, y), (dx, dy) = line.start, (line.end[0] - line.start[0], line.end[1] - line.start[1])
    length = math.hypot(dx, dy)
    holes = sorted(span for box in boxes if (span := _span(line, box)) is not None)
    out: list[Item] = []
    at = 0.0
    for low, high in [*holes, (1.0, 1.0)]:
        if (low - at) * length > 0.3:
            out.append(Line((x + dx * at, y + dy * at), (x + dx * low, y + dy * low), line.layer))
        at = max(at, high)
    return out


def _span(line: Line, box: Box) -> tuple[float, float] | None:
    """The part of a line, as fractions of it, that lies inside a box."""
    low, high = 0.0, 1.0
    for axis in (0, 1):
        start, way = line.start[axis], line.end[axis] - line.start[axis]
        if abs(way) < 1e-12:
            if not box[axis] < start < box[axis + 2]:
                return None
            continue
        near, far = sorted(((box[axis] - start) / way, (box[axis + 2] - start) / way))
        low, high = max(low, near), min(high, far)
    return (low, high) if low < high else None
