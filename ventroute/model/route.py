"""A route as placed parts, in flow order from the collar."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from ventroute.model.appliance import SizeLimit, Vec3
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


CHANGES = (PartKind.INCREASER, PartKind.REDUCER, PartKind.ADAPTER)


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
    """A whole way out, made of one kit, or of two where its size grows on the way.

    Of two sizes, lengths are in metres of the larger: a metre of the smaller counts as much of its own greatest length.
    """

    kit: Kit  # at its end
    terminal_kind: str  # roof | wall
    terminal_m: Vec3
    terminal_direction: Vec3
    runs: tuple[Run, ...]
    parts: tuple[Part, ...]
    crossings: tuple[Crossing, ...]
    runs_m: float  # what the appliance's way of counting adds up for pipe
    fittings_m: float
    smaller: Kit | None = None  # up to the change of size on the way, None where there is none

    @property
    def kits(self) -> tuple[Kit, ...]:
        """What it is made from, in flow order."""
        return (self.kit,) if self.smaller is None else (self.smaller, self.kit)

    def kit_of(self, part: Part) -> Kit:
        """The kit that a part is of; that of the end where it is of none."""
        return next((kit for kit in self.kits if kit.holds(part.item)), self.kit)

    def kit_in(self, crossing: Crossing) -> Kit:
        """The kit of the pipe that goes through a crossing; the larger where no part says so."""
        through = (part for part in self.parts if crossing.name in part.passes)
        return max((self.kit_of(part) for part in through), key=lambda kit: kit.pipe.od_m, default=self.kit)

    @property
    def grows_at(self) -> int | None:
        """Index of the first part that is not of the smaller kit, None where there is but one kit."""
        if self.smaller is None:
            return None
        return next((k for k, part in enumerate(self.parts) if self.kit_of(part) is self.kit), len(self.parts))

    @property
    def stretches(self) -> tuple[Route, ...]:
        """The route cut where its size changes, each piece of one kit; lengths that were counted stay with the whole.

        What ends at the change has no terminal of its own: its kind is "".
        """
        at = self.grows_at
        if self.smaller is None or at is None or not 0 < at < len(self.parts):
            return (self,)
        leg = min(sum(part.kind is PartKind.ELBOW for part in self.parts[:at]), len(self.runs) - 1)
        cut, place = self.runs[leg], self.parts[at].start_m
        before = Run(cut.start_m, place, math.dist(cut.start_m, place))
        after = Run(place, cut.end_m, math.dist(place, cut.end_m))
        passed = {name for part in self.parts[:at] for name in part.passes}
        first = replace(
            self,
            kit=self.smaller,
            smaller=None,
            terminal_kind="",
            terminal_m=place,
            runs=(*self.runs[:leg], before),
            parts=self.parts[:at],
            crossings=tuple(c for c in self.crossings if c.name in passed),
        )
        last = replace(
            self,
            smaller=None,
            runs=(after, *self.runs[leg + 1 :]),
            parts=self.parts[at:],
            crossings=tuple(c for c in self.crossings if c.name not in passed),
        )
        return first, last

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


def bend_equivalent_m(row: SizeLimit, kit: Kit, part: Part) -> float | None:
    """The table's figure [m] for a bend of a route, None where it has none for its angle, or for its pattern."""
    bend = kit.bend(part.item)
    return row.equivalent_m(part.nominal_deg or 0.0) if bend is None else kit.equivalent_m(row, bend)
