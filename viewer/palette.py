"""What the colours mean.

The eight colours are those of Okabe and Ito, "Color Universal Design" (2002, revised 2008), which people with the
common kinds of colour blindness can tell apart; the values are second-hand, as many drawing libraries carry them.
Colour is never the only sign: every kind also has a word, and what must not be entered has a pattern.
"""

from __future__ import annotations

from dataclasses import dataclass

BLACK = "#000000"
ORANGE = "#E69F00"
SKY = "#56B4E9"
GREEN = "#009E73"
YELLOW = "#F0E442"
BLUE = "#0072B2"
VERMILLION = "#D55E00"
PURPLE = "#CC79A7"
GREY = "#8A8F94"  # construction: no meaning of its own, so it may be grey


@dataclass(frozen=True, slots=True)
class Look:
    """How one kind of thing is shown: ``opacity`` 0 to 1, ``pattern`` solid | hatch | lines | dots | outline."""

    label: str
    colour: str
    opacity: float
    pattern: str = "solid"

    @property
    def rgb(self) -> tuple[int, int, int]:
        """Red, green, blue, 0 to 255."""
        red, green, blue = bytes.fromhex(self.colour[1:])
        return red, green, blue


LOOKS: dict[str, Look] = {
    "room": Look("room", SKY, 0.10),
    "cold_room": Look("unheated room", BLUE, 0.10),
    "building": Look("outside walls", GREY, 0.10, "outline"),
    "roof": Look("roof", GREY, 0.32),
    "ground": Look("ground", GREY, 0.25),
    "obstacle": Look("obstacle", ORANGE, 0.85),
    "hole": Look("existing hole", GREEN, 0.55),
    "cut": Look("where a new hole may be cut", YELLOW, 0.55, "hatch"),
    "feature": Look("window, door, meter or other feature", BLUE, 0.55),
    "keep_out": Look("keep out", PURPLE, 0.45, "dots"),
    "zone": Look("no terminal here", VERMILLION, 0.40, "hatch"),
    "wide_zone": Look("no terminal here: too near ground, snow or roof", VERMILLION, 0.35, "lines"),
    "appliance": Look("appliance", BLACK, 0.55),
    "pipe": Look("pipe", BLUE, 1.0),
    "fitting": Look("fitting", ORANGE, 1.0),
    "terminal": Look("terminal", VERMILLION, 1.0),
}
