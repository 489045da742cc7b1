"""What a drawing is made of: lines, polylines, circles, texts with boxes, hatches. Millimetres on paper, y up."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from ventroute.drawing.metrics import ASCENT, DESCENT, text_width

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y


@dataclass(frozen=True, slots=True)
class Line:
    """A straight stroke."""

    start: Point
    end: Point
    layer: str


@dataclass(frozen=True, slots=True)
class Polyline:
    """Strokes through points; closed and filled where asked."""

    points: tuple[Point, ...]
    layer: str
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Circle:
    """A ring."""

    centre: Point
    radius: float
    layer: str


@dataclass(frozen=True, slots=True)
class Text:
    """One level line of text, centred on a point.

    ``value_m`` is what a dimension says, in metres, and ``about`` names what it measures; both go into the files, so
    that a program can read a drawing without reading its lettering.
    """

    centre: Point
    text: str
    size: float  # of an em
    layer: str
    bold: bool = False
    value_m: float | None = None
    about: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "text", plain(self.text))
        object.__setattr__(self, "about", plain(self.about))

    @property
    def box(self) -> Box:
        """What the letters can cover."""
        width, height = text_size(self.text, self.size, self.bold)
        x, y = self.centre
        return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)

    @property
    def baseline(self) -> Point:
        """Left end of the base line."""
        left, low, _, _ = self.box
        return (left, low + DESCENT * self.size)


@dataclass(frozen=True, slots=True)
class Hatch:
    """A polygon filled with parallel strokes."""

    points: tuple[Point, ...]
    layer: str
    angle_deg: float = 45.0
    spacing: float = 1.6

    @property
    def strokes(self) -> tuple[tuple[Point, Point], ...]:
        """The parallel strokes, clipped to the polygon (even-odd)."""
        return hatch_strokes(self.points, self.angle_deg, self.spacing)


Item = Line | Polyline | Circle | Text | Hatch


@dataclass(frozen=True, slots=True)
class Drawing:
    """Items on a sheet of paper whose lower left corner is the origin."""

    width: float
    height: float
    items: tuple[Item, ...]
    title: str
    description: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", plain(self.title))
        object.__setattr__(self, "description", plain(self.description))

    @property
    def texts(self) -> tuple[Text, ...]:
        """All texts."""
        return tuple(item for item in self.items if isinstance(item, Text))

    @property
    def dimensions(self) -> tuple[Text, ...]:
        """The texts that state a measure."""
        return tuple(text for text in self.texts if text.value_m is not None)


def plain(text: str) -> str:
    """Text on one line without signs that are not printed: a name may hold anything, and DXF ends a value at a line."""
    return "".join(char if char.isprintable() else " " for char in text)


def text_size(text: str, size: float, bold: bool = False) -> tuple[float, float]:
    """Width and height of a text's box."""
    return text_width(text, size, bold), (ASCENT + DESCENT) * size


def centred_box(centre: Point, width: float, height: float) -> Box:
    """A box around a point."""
    return (centre[0] - width / 2, centre[1] - height / 2, centre[0] + width / 2, centre[1] + height / 2)


def grown(box: Box, by: float) -> Box:
    """A box with a margin."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share area."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def hatch_strokes(points: tuple[Point, ...], angle_deg: float, spacing: float) -> tuple[tuple[Point, Point], ...]:
    """Parallel strokes inside a polygon (even-odd rule), in order across it."""
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned = [(x * c + y * s, y * c - x * s) for x, y in points]
    low, high = min(y for _, y in turned), max(y for _, y in turned)
    strokes: list[tuple[Point, Point]] = []
    for k in range(math.floor(low / spacing) + 1, math.ceil(high / spacing)):
        y = k * spacing + spacing * 1e-6  # off the corners
        xs = sorted(_crossings(turned, y))
        ends = [(x * c - y * s, x * s + y * c) for x in xs]
        strokes += zip(ends[::2], ends[1::2], strict=True)
    return tuple(strokes)


def _crossings(points: list[Point], y: float) -> list[float]:
    pairs = zip(points, points[1:] + points[:1], strict=True)
    return [a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) for a, b in pairs if (a[1] <= y) != (b[1] <= y)]


def moved(item: Item, dx: float, dy: float, factor: float = 1.0) -> Item:
    """An item scaled about the origin, then moved."""

    def at(point: Point) -> Point:
        return (point[0] * factor + dx, point[1] * factor + dy)

    if isinstance(item, Line):
        return replace(item, start=at(item.start), end=at(item.end))
    if isinstance(item, Circle):
        return replace(item, centre=at(item.centre), radius=item.radius * factor)
    if isinstance(item, Text):
        return replace(item, centre=at(item.centre), size=item.size * factor)
    if isinstance(item, Hatch):
        return replace(item, points=tuple(map(at, item.points)), spacing=item.spacing * factor)
    return replace(item, points=tuple(map(at, item.points)))


def bounds(items: Iterable[Item]) -> Box:
    """Least box around all items (0, 0, 0, 0 where there are none)."""
    boxes = [_item_box(item) for item in items]
    if not boxes:
        return (0.0, 0.0, 0.0, 0.0)
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def _item_box(item: Item) -> Box:
    if isinstance(item, Text):
        return item.box
    if isinstance(item, Circle):
        return centred_box(item.centre, 2 * item.radius, 2 * item.radius)
    points = (item.start, item.end) if isinstance(item, Line) else item.points
    return (min(x for x, _ in points), min(y for _, y in points), max(x for x, _ in points), max(y for _, y in points))


def on_paper(items: Iterable[Item], title: str, description: str = "", margin: float = 4.0) -> Drawing:
    """A drawing just large enough for the items."""
    kept = tuple(items)
    left, low, right, high = bounds(kept)
    placed = tuple(moved(item, margin - left, margin - low) for item in kept)
    return Drawing(right - left + 2 * margin, high - low + 2 * margin, placed, title, description)
