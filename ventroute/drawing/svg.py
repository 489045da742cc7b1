"""A drawing as SVG: one file, no script, no outside reference, the same bytes every time."""

from __future__ import annotations

from html import escape

from ventroute.drawing.metrics import text_width
from ventroute.drawing.primitives import Circle, Drawing, Hatch, Item, Line, Point, Polyline, Text
from ventroute.drawing.style import STYLES

FAMILY = "'DejaVu Sans',Verdana,sans-serif"


def to_svg(drawing: Drawing) -> bytes:
    """The drawing as an SVG document in UTF-8, in millimetres, with a title for screen readers.

    Dimensions carry ``data-m`` (metres) and ``data-about`` (what they measure).
    """
    height = drawing.height
    body = "\n".join(_item(item, height) for item in drawing.items)
    size = f'width="{_n(drawing.width)}mm" height="{_n(height)}mm" viewBox="0 0 {_n(drawing.width)} {_n(height)}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="{FAMILY}">\n'
        f"<title>{escape(drawing.title)}</title>\n<desc>{escape(drawing.description)}</desc>\n"
        f"<style>{_css()}</style>\n"
        f'<rect width="100%" height="100%" fill="#fff"/>\n{body}\n</svg>\n'
    ).encode()


def _css() -> str:
    rules = []
    for name, style in STYLES.items():
        dash = f";stroke-dasharray:{' '.join(_n(d) for d in style.dash)}" if style.dash else ""
        pen = f"stroke:{style.colour};stroke-width:{_n(style.width)}{dash}"
        # A prefix of our own: inside a web page a style sheet reaches everything on the page.
        rules.append(f".vr-{name}{{fill:none;{pen};stroke-linecap:round;stroke-linejoin:round}}")
        rules.append(f"text.vr-{name},.vr-{name}.vr-solid{{fill:{style.colour}}}text.vr-{name}{{stroke:none}}")
    return "".join(rules)


def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _path(points: tuple[Point, ...], height: float, closed: bool) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(height - y)}" for x, y in points) + ("Z" if closed else "")


def _item(item: Item, height: float) -> str:
    if isinstance(item, Line):
        return f'<path class="vr-{item.layer}" d="{_path((item.start, item.end), height, False)}"/>'
    if isinstance(item, Polyline):
        solid = " vr-solid" if item.filled else ""
        return f'<path class="vr-{item.layer}{solid}" d="{_path(item.points, height, item.closed)}"/>'
    if isinstance(item, Circle):
        x, y = item.centre
        return f'<circle class="vr-{item.layer}" cx="{_n(x)}" cy="{_n(height - y)}" r="{_n(item.radius)}"/>'
    if isinstance(item, Hatch):
        strokes = "".join(_path(stroke, height, False) for stroke in item.strokes)
        return f'<path class="vr-{item.layer}" d="{strokes}"/>' if strokes else ""
    return _text(item, height)


def _text(text: Text, height: float) -> str:
    x, y = text.baseline
    data = "" if text.value_m is None else f' data-m="{text.value_m:.7f}" data-about="{escape(text.about)}"'
    weight = ' font-weight="bold"' if text.bold else ""
    # textLength holds the measured width whatever font the machine has, so that the boxes stay true.
    width = _n(text_width(text.text, text.size, text.bold))
    return (
        f'<text class="vr-{text.layer}" x="{_n(x)}" y="{_n(height - y)}" font-size="{_n(text.size)}"{weight} '
        f'textLength="{width}" lengthAdjust="spacingAndGlyphs"{data}>{escape(text.text)}</text>'
    )
