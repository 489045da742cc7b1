"""What the job takes besides the vent itself: flashings, hangers and their spacing, cement, sundries.

A range is ``(low, high)``, both ends included.
"""

from __future__ import annotations

from dataclasses import dataclass

from ventroute.model.source import Evidence

Range = tuple[float, float]


def _within(value: float, limits: Range | None) -> bool:
    return limits is None or limits[0] - 1e-9 <= value <= limits[1] + 1e-9


@dataclass(frozen=True, slots=True)
class Flashing:
    """Closes the weather side around the pipe, at a roof or at a wall."""

    item: str
    kind: str  # roof | wall
    od_m: Range  # outside diameters it closes on
    pitch: Range | None  # roof pitch, rise over run; None at a wall
    max_degC: float | None  # hottest surface it may touch; None: metal
    description: str
    evidence: Evidence

    def fits(self, kind: str, od_m: float, surface_degC: float, pitch: float = 0.0) -> bool:
        """Whether it may be used on a pipe of this diameter [m] and surface [degC], at this roof pitch."""
        cool = self.max_degC is None or surface_degC <= self.max_degC
        return self.kind == kind and cool and _within(od_m, self.od_m) and _within(pitch, self.pitch)


@dataclass(frozen=True, slots=True)
class Hanger:
    """Carries the pipe and leaves it free to slide."""

    item: str
    od_m: Range
    description: str
    evidence: Evidence

    def fits(self, od_m: float) -> bool:
        """Whether it takes a pipe of this outside diameter [m]."""
        return _within(od_m, self.od_m)


@dataclass(frozen=True, slots=True)
class Spacing:
    """Greatest distance between supports that one rule allows."""

    rule: str  # what it is called where it stands
    material: str
    size_in: Range
    way: str  # horizontal | vertical
    at_degC: float | None  # pipe temperature the figure is for; None: any
    spacing_m: float
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Cement:
    """A can of solvent cement or primer."""

    item: str
    kind: str  # cement | primer
    joins: tuple[str, str]  # the two materials of the joint, the same twice but for a transition joint
    standard: str
    can_L: float
    description: str
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class JointYield:
    """How many sockets of a size one litre makes."""

    kind: str  # cement | primer
    size_in: float
    joints_per_L: float
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Sundry:
    """Whatever else is bought. ``fits_m``: pipe or hole diameters it is for; None where any will do."""

    item: str
    kind: str  # annulus seal | hole plug | firestop | drain tee | trap | tubing | label | alarm | insulation | shield
    material: str  # "" where any
    fits_m: Range | None
    unit: str  # each | m | tube
    pack: float  # how many units one sold piece holds
    description: str
    evidence: Evidence

    def fits(self, diameter_m: float, material: str = "") -> bool:
        """Whether it is for this pipe or hole diameter [m] and vent material."""
        return self.material in ("", material) and _within(diameter_m, self.fits_m)


def price_key(item: str, length_m: float | None = None) -> str:
    """Key of a price: the item, with the stick's length in whole millimetres where it is sold by the stick."""
    return item if length_m is None else f"{item}@{round(length_m * 1000)}"
