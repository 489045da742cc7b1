"""A drawing as DXF (R2010, millimetres, model space), the same bytes every time."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

from ventroute.drawing.primitives import Circle, Drawing, Hatch, Item, Line, Polyline, Text, bounds
from ventroute.drawing.style import STYLES

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

CAP = 0.729  # cap height of the drawing font over its size; a DXF text height is a cap height
APP = "VENTROUTE"  # under which dimensions carry their value
_WEIGHTS = (5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100)  # hundredths of a mm that DXF knows
_FIXED_GUID = "{00000000-0000-0000-0000-000000000000}"
_FIXED_DAY = 2451544.5  # 2000-01-01 as a Julian date
_WRITTEN = re.compile(r"\d+\.\d+[.\w]* @ \d{4}-\d\d-\d\dT[^\r\n]+")


def to_dxf(drawing: Drawing) -> bytes:
    """The drawing as a DXF document: a layer for each kind of line; dimension texts carry metres as extended data."""
    from ezdxf import units
    from ezdxf.filemanagement import new

    document = new("R2010", units=units.MM)
    document.appids.add(APP)
    document.styles.add("LETTERING", font="DejaVuSans.ttf")
    document.styles.add("LETTERING_BOLD", font="DejaVuSans-Bold.ttf")
    for name, style in STYLES.items():
        layer = document.layers.add(name.upper(), color=style.number)
        layer.dxf.lineweight = min(_WEIGHTS, key=lambda weight: abs(weight - style.width * 100))
    space = document.modelspace()
    for item in drawing.items:
        _draw(space, item)
    left, low, right, high = bounds(drawing.items)  # inside the sheet's margin: the writer takes 0, 0 for not known
    space.reset_extents((left, low, 0), (right, high, 0))
    document.set_modelspace_vport(drawing.height, (drawing.width / 2, drawing.height / 2))
    return _written(document)


def _draw(space: Any, item: Item) -> None:
    attributes = {"layer": item.layer.upper()}
    if isinstance(item, Line):
        _stroke(space, item.start, item.end, item.layer)
    elif isinstance(item, Circle):
        space.add_circle(item.centre, item.radius, dxfattribs=attributes)
    elif isinstance(item, Hatch):
        for start, end in item.strokes:
            _stroke(space, start, end, item.layer)
    elif isinstance(item, Polyline):
        _polyline(space, item, attributes)
    else:
        _text(space, item, attributes)


def _stroke(space: Any, start: tuple[float, float], end: tuple[float, float], layer: str) -> None:
    space.add_line(start, end, dxfattribs={"layer": layer.upper()})


def _polyline(space: Any, item: Polyline, attributes: dict[str, str]) -> None:
    space.add_lwpolyline(item.points, close=item.closed, dxfattribs=attributes)
    if item.filled:
        space.add_hatch(color=256, dxfattribs=attributes).paths.add_polyline_path(item.points, is_closed=True)


def _text(space: Any, item: Text, attributes: dict[str, str]) -> None:
    style = "LETTERING_BOLD" if item.bold else "LETTERING"
    entity = space.add_text(item.text, height=item.size * CAP, dxfattribs={**attributes, "style": style})
    entity.set_placement(item.baseline)
    if item.value_m is not None:
        entity.set_xdata(APP, [(1040, item.value_m), (1000, item.about[:250])])


def _written(document: Document) -> bytes:
    """The document without the clock and the chance that a DXF writer puts into it."""
    for name in ("$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE"):
        document.header[name] = _FIXED_DAY
    _order_classes(document)
    stream = io.StringIO()
    document.write(stream)
    text = re.sub(r"\{[0-9A-Fa-f]{8}-(?:[0-9A-Fa-f]{4}-){3}[0-9A-Fa-f]{12}\}", _FIXED_GUID, stream.getvalue())
    text = re.sub(r"(\$TDU?UPDATE\s+40\s+)[\d.]+", rf"\g<1>{_FIXED_DAY}", text)
    text = _WRITTEN.sub("written", text)
    return text.encode(document.output_encoding, errors="dxfreplace")


def _order_classes(document: Document) -> None:
    """Name the classes in order: the writer would add them in the order of a set."""
    document.classes.add_required_classes(document.dxfversion)
    for name in sorted({entity.dxftype() for entity in document.entitydb.values()}):
        document.classes.add_class(name)
    ordered = sorted(document.classes.classes.items())
    document.classes.classes.clear()
    document.classes.classes.update(ordered)
