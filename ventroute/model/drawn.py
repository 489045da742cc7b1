"""A route as somebody drew it: runs from the collar, not yet parts."""

from __future__ import annotations

from dataclasses import dataclass

from ventroute.model.appliance import Vec3


@dataclass(frozen=True, slots=True)
class DrawnRun:
    """A straight stretch, corner to corner; ``toward`` is its true direction."""

    toward: Vec3
    length_m: float
    through: tuple[str, ...] = ()  # holes and cuts, in order


@dataclass(frozen=True, slots=True)
class DrawnRoute:
    """Runs from collar to terminal in one material and size."""

    material: str
    size_in: float
    terminal: str  # roof | wall
    runs: tuple[DrawnRun, ...]
