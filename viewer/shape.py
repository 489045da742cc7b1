"""The one description that every picture is made from: named plain shapes."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One thing that can be seen and pointed at.

    ``triangles`` (n, 3, 3) [m], counter-clockwise from outside; ``look`` is a key of `palette.LOOKS`; ``route`` is
    the id of the route that it belongs to, "" for what is always there; ``label`` is the point [m] where its name is
    written, None where it needs none.
    """

    id: str
    name: str
    look: str
    description: str
    triangles: FloatArray
    route: str = ""
    label: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Everything that can be seen, in the order in which it is listed."""

    name: str
    shapes: tuple[Shape, ...]
    routes: tuple[str, ...] = ()
    views: dict[str, tuple[float, float, float]] = field(
        default_factory=lambda: {
            "corner": (-0.9, -1.5, 0.9),
            "top": (0.0, -0.001, 1.0),
            "north": (0.0, 1.0, 0.0),
            "south": (0.0, -1.0, 0.0),
            "east": (1.0, 0.0, 0.0),
            "west": (-1.0, 0.0, 0.0),
        }
    )

    def of(self, route: str) -> tuple[Shape, ...]:
        """What is seen when one route is chosen: the house, and that route."""
        return tuple(shape for shape in self.shapes if shape.route in ("", route))

    def bounds_m(self) -> FloatArray:
        """(2, 3) least and greatest coordinates; a 1 m cube at the origin where there is nothing."""
        points = [shape.triangles.reshape(-1, 3) for shape in self.shapes if len(shape.triangles)]
        if not points:
            return np.array([[0.0, 0.0, 0.0], [1.0, 1.0, 1.0]])
        every = np.concatenate(points)
        return np.array([every.min(axis=0), every.max(axis=0)])


def ident(kind: str, number: int, route: str = "") -> str:
    """An id that survives every format: letters, digits and underscores only (``part_1``, ``route_2_part_1``)."""
    plain = "".join(letter if letter.isalnum() and letter.isascii() else "_" for letter in route)
    return f"route_{plain}_{kind}_{number}" if route else f"{kind}_{number}"
