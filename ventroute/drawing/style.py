"""What each layer looks like, in every format."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Style:
    """Pen of a layer: width in mm, colour as #rrggbb, dash pattern in mm, the number of the nearest plotter colour."""

    width: float
    colour: str
    dash: tuple[float, ...] = ()
    number: int = 7


# Dark blue, orange-brown and black stay apart for every common colour blindness, and differ in width or dash as well.
STYLES: dict[str, Style] = {
    "pipe": Style(0.9, "#0b3c6f", number=5),
    "fitting": Style(0.5, "#0b3c6f", number=5),
    "barrier": Style(0.25, "#6b4a1f", number=34),
    "skew": Style(0.13, "#5f6b76", number=8),
    "dimension": Style(0.18, "#1d1d1d", number=7),
    "leader": Style(0.13, "#1d1d1d", number=8),
    "text": Style(0.18, "#111111", number=7),
    "note": Style(0.18, "#333333", number=7),
    "wall": Style(0.5, "#222222", number=7),
    "thing": Style(0.25, "#444444", number=8),
    "hidden": Style(0.18, "#666666", (1.6, 1.0), 8),
    "zone": Style(0.2, "#b04a00", number=30),
    "grid": Style(0.1, "#c4c9ce", number=9),
    "first": Style(0.55, "#0b3c6f", number=5),
    "second": Style(0.45, "#b04a00", (2.4, 1.0), 30),
    "third": Style(0.35, "#3f3f3f", (0.8, 0.8), 8),
    "limit": Style(0.45, "#8a1f11", (4.0, 1.2), 12),
}
