"""A route as placed parts, in flow order from the collar."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from ventroute.model.appliance import Vec3
from ventroute.model.parts import Kit


class PartKind(StrEnum):
    """Kinds of part, as in plan.json."""

    PIPE = "pipe"
    ELBOW = "elbow"
    COUPLING = "coupling"
    INCREASER = "increaser"
    REDUCER = "reducer"
    ADAPTER = "adapter"
    TERMINAL = "terminal"


@dataclass(frozen=True, slots=True)
class Part:
    """One placed part. Start and end are socket stops (the pipe's own ends)."""

    n: int
    kind: PartKind
    item: str
    start_m: Vec3
    end_m: Vec3
    space: str  # room name, or "outdoors", where the part starts
    corner_m: Vec3 | None = None  # elbows
    angle_deg: float | None = None  # elbows: the true turn
    nominal_deg: float | None = None  # elbows: the catalog's turn
    street: bool = False  # elbows: the upstream end is a spigot
    cut_m: float | None = None  # pipes
    equivalent_m: float = 0.0  # from the appliance's table, beyond the length counted as run
    passes: tuple[str, ...] = ()  # holes and cuts this part goes through


@dataclass(frozen=True, slots=True)
class Crossing:
    """Where the pipe goes through construction."""

    name: str  # of the hole or cut
    cut: bool  # a new hole
    point_m: Vec3  # on the axis, half-way through
    direction: Vec3


@dataclass(frozen=True, slots=True)
class Run:
    """A straight stretch between two corners (or collar, or terminal)."""

    start_m: Vec3
    end_m: Vec3
    length_m: float


@dataclass(frozen=True, slots=True)
class Route:
    """A whole way out, made of one kit."""

    kit: Kit
    terminal_kind: str  # roof | wall
    terminal_m: Vec3
    terminal_direction: Vec3
    runs: tuple[Run, ...]
    parts: tuple[Part, ...]
    crossings: tuple[Crossing, ...]
    runs_m: float  # what the appliance's way of counting adds up for pipe
    fittings_m: float

    @property
    def equivalent_m(self) -> float:
        """Equivalent length by the appliance's table [m]."""
        return self.runs_m + self.fittings_m

    @property
    def elbows(self) -> int:
        """Number of elbows."""
        return sum(part.kind is PartKind.ELBOW for part in self.parts)

    @property
    def new_holes(self) -> int:
        """Number of new holes."""
        return sum(crossing.cut for crossing in self.crossings)
