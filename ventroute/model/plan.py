"""The answer: routes with what was found about them, and what was rejected."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from ventroute.model.route import Route
from ventroute.model.source import Grade


class Verdict(StrEnum):
    """Outcome of a rule."""

    PASS = "pass"
    FAIL = "fail"
    ASK = "ask"  # a person must judge


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule applied to one thing.

    ``margin`` is how far inside the limit the measure lies, in ``unit``, negative where it fails and None where
    there is nothing to measure.
    """

    rule: str
    source: str
    grade: Grade
    subject: str
    measured: float | None
    limit: float | None
    unit: str  # m | degC | Pa | deg | count | ""
    verdict: Verdict
    margin: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Rejected:
    """A choice without a compliant route, and what came nearest."""

    material: str
    size_in: float
    terminal: str  # roof | wall
    rule: str
    because: str
    nearest_m: float | None


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """A line of the list. ``length_m`` for pipe sold by the stick; ``price`` for one unit, None where unknown."""

    item: str
    description: str
    quantity: float
    unit: str
    why: str
    length_m: float | None = None
    price: float | None = None
    have: float = 0.0  # of the quantity, how many are already there
    pack: int = 1  # sold only in packs of so many
    shop: str = ""  # where the price is from

    @property
    def packs(self) -> int:
        """Packs to buy."""
        return math.ceil(max(0.0, self.quantity - self.have) / self.pack - 1e-9)

    @property
    def cost(self) -> float | None:
        """What is to be paid for this line, None where something must be bought at an unknown price."""
        if self.packs == 0:
            return 0.0
        return None if self.price is None else self.packs * self.pack * self.price


@dataclass(frozen=True, slots=True)
class CutStick:
    """One stick and the pieces sawn from it, in order; ``labels`` are the part numbers of the pieces.

    ``marks_m`` is what the tape reads at each saw mark, hooked on the stick's end, to 1/16 in; ``offcut`` says that
    the stick is a piece already at home.
    """

    stick: int
    item: str
    stick_m: float
    pieces_m: tuple[float, ...]
    labels: tuple[str, ...]
    waste_m: float
    marks_m: tuple[float, ...] = ()
    offcut: bool = False


@dataclass(frozen=True, slots=True)
class Station:
    """The flue at one place along the run: distance from the collar, wet and dry bound."""

    distance_m: float
    gas_degC: float
    gas_dry_degC: float
    wall_degC: float  # inner wall
    surface_degC: float  # outer wall
    pressure_Pa: float  # above outdoor air of the same height
    space: str
    wall_dry_degC: float | None = None  # inner wall, dry bound


@dataclass(frozen=True, slots=True)
class FlueState:
    """The steady state at full input: wet (expected) where nothing else is said, dry being the coldest bound."""

    dew_point_degC: float
    flow_kg_s: float
    drop_Pa: float
    outlet_degC: float
    condensate_kg_h: float  # in the vent
    velocity_m_s: float = 0.0
    appliance_condensate_kg_h: float = 0.0
    reference_drop_Pa: float | None = None  # what the manual's greatest length costs in this size
    stations: tuple[Station, ...] = ()
    notes: tuple[str, ...] = ()
    draught_Pa: float = 0.0  # lift of the warm gas, not taken off the drop
    outlet_dry_degC: float | None = None
    wall_min_degC: float | None = None  # coldest inner wall, dry bound
    surface_max_degC: float | None = None  # hottest outside, gas at its hottest
    first_foot_degC: float | None = None  # gas a foot from the collar, at its hottest
    heat_lost_W: float | None = None
    efficiency: float | None = None  # of the appliance on its gross input, 0 to 1
    drain_max_kg_h: float | None = None  # all water that burning makes, to size a drain by
    condenses_from_m: float | None = None  # where the wall first stands below the dew point
    freezes_running: tuple[str, ...] = ()  # spaces where the dry bound's wall can fall below 0 degC
    freezes_idle: tuple[str, ...] = ()  # spaces below 0 degC, where water at rest freezes once the burner is off
    insulate_m: float | None = None  # keeps the dry bound's wall above 0 degC; None: not needed, or none does


@dataclass(frozen=True, slots=True)
class PlannedRoute:
    """A compliant route with everything that is shown about it."""

    id: str
    route: Route
    limit_m: float
    least_possible_m: float  # no route is shorter, however its fittings roll
    proved_optimal: bool  # it is no more than 1 mm longer than that
    cost: float
    findings: tuple[Finding, ...]
    shopping: tuple[ShoppingLine, ...]
    cuts: tuple[CutStick, ...]
    flue: FlueState | None
    reason: str = ""  # why one would take it
    scarcity: str = ""  # what it cost that parts are out of stock
    least_in_steps_m: float = 0.0  # none at the rolls that are searched is shorter

    @property
    def proved_in_steps(self) -> bool:
        """Whether no route at the rolls that are searched is shorter by more than 1 mm."""
        return self.route.equivalent_m - self.least_in_steps_m <= 1e-3

    @property
    def unpriced(self) -> int:
        """How many lines of the bill have no price: what is not known is not nothing."""
        return sum(line.cost is None for line in self.shopping)


@dataclass(frozen=True, slots=True)
class Plan:
    """Routes, best first, and what was rejected."""

    site: str
    rules: str
    routes: tuple[PlannedRoute, ...]
    rejected: tuple[Rejected, ...]
    mends: tuple[str, ...] = ()  # where there is no route: changes that would give one

    @property
    def status(self) -> str:
        """``ok`` where there is a route, else ``none``."""
        return "ok" if self.routes else "none"
