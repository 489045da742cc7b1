"""A drawing painted on a PDF canvas."""

from __future__ import annotations

import io
from functools import cache
from importlib.resources import files
from typing import Any

from ventroute.drawing.primitives import Circle, Drawing, Hatch, Item, Line, Point, Polyline
from ventroute.drawing.style import STYLES

REGULAR, BOLD = "Lettering", "Lettering-Bold"
POINT_PER_MM = 72 / 25.4


@cache
def register_fonts() -> None:
    """Make the packaged fonts known to the PDF writer, once."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = files("ventroute.drawing") / "fonts"
    for name, file in ((REGULAR, "DejaVuSans.ttf"), (BOLD, "DejaVuSans-Bold.ttf")):
        pdfmetrics.registerFont(TTFont(name, io.BytesIO((folder / file).read_bytes())))
    pdfmetrics.registerFontFamily(REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD)


def paint(drawing: Drawing, canvas: Any) -> None:
    """Paint at the canvas's origin, one unit a millimetre; the caller has scaled the canvas."""
    register_fonts()
    for item in drawing.items:
        _paint(item, canvas)


def _pen(canvas: Any, layer: str) -> None:
    style = STYLES[layer]
    canvas.setStrokeColor(style.colour)
    canvas.setFillColor(style.colour)
    canvas.setLineWidth(style.width)
    canvas.setDash(list(style.dash))
    canvas.setLineCap(1)
    canvas.setLineJoin(1)


def _paint(item: Item, canvas: Any) -> None:
    _pen(canvas, item.layer)
    if isinstance(item, Line):
        canvas.line(*item.start, *item.end)
    elif isinstance(item, Circle):
        canvas.circle(*item.centre, item.radius, stroke=1, fill=0)
    elif isinstance(item, Hatch):
        for start, end in item.strokes:
            canvas.line(*start, *end)
    elif isinstance(item, Polyline):
        canvas.drawPath(_path(canvas, item.points, item.closed), stroke=1, fill=int(item.filled))
    else:
        canvas.setFont(BOLD if item.bold else REGULAR, item.size)
        canvas.drawString(*item.baseline, item.text)


def _path(canvas: Any, points: tuple[Point, ...], closed: bool) -> Any:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    return path
