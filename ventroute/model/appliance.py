"""The appliance's own limits, and what the person wants."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ventroute.model.excess import DryGas

Vec3 = tuple[float, float, float]

# the keys of a table's row that hold the figure of one pattern by itself, with its angle [deg] and its name
PATTERN_KEYS: Mapping[str, tuple[float, str]] = {
    "elbow_90_short": (90.0, "short"),
    "elbow_90_long": (90.0, "long"),
    "elbow_90_pressure": (90.0, "pressure"),
    "elbow_45_pressure": (45.0, "pressure"),
    "elbow_22_pressure": (22.5, "pressure"),
}


@dataclass(frozen=True, slots=True)
class SizeLimit:
    """One row of the appliance's vent table. Equivalents are lengths; None: that fitting is not used."""

    size_in: float
    max_length_m: float
    min_length_m: float = 0.0
    max_elbows: int | None = None
    elbow_90_m: float | None = None
    elbow_45_m: float | None = None
    elbow_22_m: float | None = None
    terminal_m: float = 0.0
    reducer_m: float = 0.0
    increaser_m: float = 0.0
    by_pattern: tuple[tuple[float, str, float], ...] = ()  # angle [deg], pattern, equivalent [m]: a figure of its own

    def equivalent_m(self, angle_deg: float) -> float | None:
        """Equivalent of a bend of this nominal angle [deg], None where the table has no figure."""
        return {90.0: self.elbow_90_m, 45.0: self.elbow_45_m, 22.5: self.elbow_22_m}.get(angle_deg)

    def own_equivalent_m(self, angle_deg: float, pattern: str) -> float | None:
        """The figure that the table has for this pattern by itself, None where it has none."""
        return next((m for angle, own, m in self.by_pattern if (angle, own) == (angle_deg, pattern)), None)


def share_ratio(smaller: SizeLimit, larger: SizeLimit) -> float:
    """Metres of the larger size that a metre of the smaller counts: both are the same share of the greatest length."""
    return larger.max_length_m / smaller.max_length_m


def in_metres_of(smaller: SizeLimit, larger: SizeLimit) -> SizeLimit:
    """The row of a smaller size with its fittings in metres of a larger one."""
    ratio = share_ratio(smaller, larger)
    return replace(
        smaller,
        elbow_90_m=None if smaller.elbow_90_m is None else smaller.elbow_90_m * ratio,
        elbow_45_m=None if smaller.elbow_45_m is None else smaller.elbow_45_m * ratio,
        elbow_22_m=None if smaller.elbow_22_m is None else smaller.elbow_22_m * ratio,
        reducer_m=smaller.reducer_m * ratio,
        increaser_m=smaller.increaser_m * ratio,
        by_pattern=tuple((angle, pattern, m * ratio) for angle, pattern, m in smaller.by_pattern),
    )


def change_m(smaller: SizeLimit, larger: SizeLimit) -> float:
    """Equivalent of an increaser from one size to the other [m of the larger], by the row that makes it more."""
    return max(smaller.increaser_m * share_ratio(smaller, larger), larger.increaser_m)


@dataclass(frozen=True, slots=True)
class Appliance:
    """A gas appliance with a forced or natural exhaust, as its rating plate and manual describe it."""

    name: str
    fuel: str  # natural gas | propane
    input_W: float
    category: str  # I | II | III | IV
    vent_style: str  # direct | non-direct
    exhaust_max_degC: float
    exhaust_usual_degC: float
    materials: tuple[str, ...]
    collar_size_in: float
    collar_material: str | None  # None: takes the run's own material
    collar_m: Vec3
    faces: Vec3
    sizes: tuple[SizeLimit, ...]
    pitch: float = 1 / 48  # rise over horizontal run
    falls_to: str = "appliance"  # appliance | terminal
    count: str = "centreline"  # centreline | pipe
    mixed_sizes: str = "no"  # no | by share: whether the size may grow along the run, and how lengths then count
    excess_air: float | DryGas = 0.4  # fraction over the stoichiometric need, or what the dry gas holds
    derate: str = "none"  # reading of the altitude rule, see flue.gas
    cellular_core: bool = False  # the manual names cellular-core pipe
    above_roof_m: float = 0.0  # terminal height the manual asks for
    above_grade_m: float = 0.0
    model: str = ""
    source: str = ""

    @property
    def condensing(self) -> bool:
        """Whether condensate is to be expected in the vent (category II or IV)."""
        return self.category in ("II", "IV")

    def limit(self, size_in: float) -> SizeLimit | None:
        """The table's row for a nominal size, None where there is none."""
        return next((row for row in self.sizes if abs(row.size_in - size_in) < 1e-6), None)


@dataclass(frozen=True, slots=True)
class Want:
    """What the person asks for. Empty tuples: all that the appliance allows."""

    materials: tuple[str, ...] = ()
    sizes_in: tuple[float, ...] = ()
    terminals: tuple[str, ...] = ("roof", "wall")
    prefer: str = "length"  # length | cost | fittings
    gap_m: float = 0.0254
    outdoors_m: float = 0.6096  # most pipe outdoors from a wall
    reach_m: float = 0.1524  # least distance of a wall terminal's end beyond the outside face
