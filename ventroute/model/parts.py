"""What a shop sells: pipe, bends, couplings, size and material changes, terminals.

Sizes are nominal trade sizes in inches (``3.0`` is 3 in, and DN 80 where the material is made to metric sizes);
everything else is SI. Laying lengths run from the corner to the socket stop.
"""

from __future__ import annotations

from dataclasses import dataclass

from ventroute.model.appliance import SizeLimit
from ventroute.model.source import Evidence

_SAME_M = 1e-6


@dataclass(frozen=True, slots=True)
class PipeStock:
    """Straight pipe as it is sold."""

    item: str
    material: str  # PVC | CPVC | ABS | PP | stainless
    schedule: str  # "40", "single wall", ...
    size_in: float
    od_m: float  # outside diameter, for clearance and holes
    bore_m: float  # mean inside diameter, for flow
    stick_m: tuple[float, ...]  # lengths sold, longest first
    kg_m: float | None
    can_be_cut: bool
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Adjustable:
    """A length of vent that is not sawn, which telescopes: it is set to any length from ``least_m`` to ``most_m``."""

    item: str
    material: str
    size_in: float
    least_m: float
    most_m: float
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Bend:
    """A fitting that turns the run.

    ``spigot_m`` is the length of the upstream spigot of a street bend, None for hub x hub; the corner of a street
    bend stands ``laying_m + spigot_m`` from the stop of the socket its spigot enters.
    """

    item: str
    material: str
    size_in: float
    pattern: str  # pressure | drainage | short | long | system
    angle_deg: float  # nominal turn
    laying_m: float  # corner to socket stop
    socket_m: float  # stop to hub face
    hub_od_m: float
    give_deg: float  # how far the true turn may differ from the nominal one, both joints together
    spigot_m: float | None
    evidence: Evidence

    @property
    def street(self) -> bool:
        """Whether the upstream end is a spigot."""
        return self.spigot_m is not None


@dataclass(frozen=True, slots=True)
class Coupling:
    """Joins two pipes end to end, leaving ``gap_m`` between the pipe ends."""

    item: str
    material: str
    size_in: float
    gap_m: float
    socket_m: float
    hub_od_m: float
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Change:
    """An increaser, a reducer, or an adapter between materials: upstream spigot, downstream socket.

    ``length_m`` runs along the axis from the upstream spigot's end (the stop it rests on) to the downstream stop.
    """

    item: str
    kind: str  # increaser | reducer | adapter
    from_material: str
    from_size_in: float
    to_material: str
    to_size_in: float
    length_m: float
    socket_m: float  # of the downstream end
    hub_od_m: float
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class TerminalFitting:
    """What closes the outdoor end. It adds no length: the pipe's end is the terminal's point."""

    item: str
    material: str
    size_in: float
    kind: str  # roof | wall
    description: str
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Material:
    """A vent material and the temperatures it may see."""

    name: str
    listing_class: str  # e.g. "II A"; "" where there is none
    class_max_degC: float | None  # listing class limit, inclusive
    service_max_degC: float | None  # plain pipe's own service limit
    expansion_per_K: float
    conductivity_W_mK: float
    emissivity: float
    roughness_m: float
    joint: str  # cemented | gasketed
    evidence: Evidence  # of the class limit, or of the service limit where there is no class
    by_figure: tuple[tuple[str, Evidence], ...] = ()  # evidence of each figure by its field name

    def evidence_of(self, figure: str) -> Evidence:
        """Evidence of one figure, e.g. ``"service_max_degC"``; the row's own where none is kept apart."""
        return dict(self.by_figure).get(figure, self.evidence)


@dataclass(frozen=True, slots=True)
class Kit:
    """Everything of one material and size that a route may be made from.

    ``regular`` holds the laying length [m] of the material's own pattern by angle [deg]: what turns sharper resists the
    gas more than the figure that a manual gives for a bend.
    """

    material: Material
    schedule: str
    size_in: float
    pipe: PipeStock
    bends: tuple[Bend, ...]  # preferred first
    coupling: Coupling
    start: tuple[Change, ...]  # what stands between the collar, or the smaller pipe, and the run, in flow order
    terminals: tuple[TerminalFitting, ...]
    regular: tuple[tuple[float, float], ...] = ()
    adjustables: tuple[Adjustable, ...] = ()

    def equivalent_m(self, row: SizeLimit, bend: Bend) -> float | None:
        """Equivalent of a bend [m] by the appliance's table; None where the bend is not to be used.

        A pattern with a figure of its own has that; else the plain figure of the angle serves the material's own
        pattern and wider ones, and no sharper one.
        """
        own = row.own_equivalent_m(bend.angle_deg, bend.pattern)
        if own is not None:
            return own
        usual = dict(self.regular).get(bend.angle_deg, 0.0)
        return row.equivalent_m(bend.angle_deg) if bend.laying_m > usual - _SAME_M else None

    def bend(self, item: str) -> Bend | None:
        """The bend of an item, None where it is none of this kit's."""
        return next((bend for bend in self.bends if bend.item == item), None)

    def holds(self, item: str) -> bool:
        """Whether an item is of this kit."""
        if item in (self.pipe.item, self.coupling.item):
            return True
        groups = (self.bends, self.start, self.terminals, self.adjustables)
        return any(row.item == item for group in groups for row in group)

    def adjusts(self, item: str) -> bool:
        """Whether an item is an adjustable length."""
        return any(row.item == item for row in self.adjustables)

    @property
    def hub_od_m(self) -> float:
        """Greatest outside diameter of any fitting of the run."""
        return max([self.coupling.hub_od_m, *(bend.hub_od_m for bend in self.bends)])
