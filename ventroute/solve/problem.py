"""What is to be solved: one kit in one house, at one price; how a passage is crossed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from ventroute.layout.building import Building, Passage
from ventroute.layout.zone import Zone
from ventroute.model.appliance import Appliance, SizeLimit, Want
from ventroute.model.parts import Bend, Kit
from ventroute.solve.directions import LEVEL, compass, tilted

FloatArray = NDArray[np.float64]

HAIR_M = 3e-7  # kept beyond every gap, so that rounding does not make an answer fail an exact check


@dataclass(frozen=True)
class Weights:
    """What is to be least: a price for each metre of run and each bend, in one unit.

    ``more`` holds by nominal angle [deg] and number among the problem's patterns what a bend costs above ``bend``: no
    entry, nothing; infinite, it is not used.
    """

    name: str
    per_m: float
    bend: Mapping[float, float]  # by nominal angle [deg], in the pattern that costs least
    new_hole: float = 0.0
    effort: int = 6000  # entries of the search that are opened before it ends with a gap; counted, so answers repeat
    more: Mapping[tuple[float, int], float] = field(default_factory=dict)

    @classmethod
    def of(cls, name: str, per_m: float, each: Mapping[tuple[float, int], float], effort: int = 6000) -> Weights:
        """From the price of each bend, by angle and number of its pattern; a pattern without a price is not used."""
        bend = {a: min(p for (angle, _), p in each.items() if angle == a) for a, _ in each}
        return cls(name, per_m, bend, effort=effort, more={key: p - bend[key[0]] for key, p in each.items()})

    @cached_property
    def key(self) -> tuple[object, ...]:
        """Equal for equal prices."""
        return self.name, self.per_m, tuple(sorted(self.bend.items())), tuple(sorted(self.more.items()))


@dataclass(frozen=True, slots=True)
class Elbow:
    """The fittings for one angle in one pattern: hub x hub, and the street bend that closes up to another fitting."""

    hub: Bend
    street: Bend | None

    @property
    def reach_m(self) -> float:
        """Corner to hub face."""
        return self.hub.laying_m + self.hub.socket_m

    @property
    def measures(self) -> tuple[float, float, float, float]:
        """Laying length, reach, outside diameter of the hub, and the street bend's spigot, infinite where none."""
        spigot_m = self.street.spigot_m if self.street else None
        return self.hub.laying_m, self.reach_m, self.hub.hub_od_m, math.inf if spigot_m is None else spigot_m


@dataclass(frozen=True, eq=False)
class Crossing:
    """A passage in the direction of travel, with the true direction of the pipe in it.

    ``centre_m`` is set for a hole: the pipe's axis goes through it, half-way through the barrier; ``half_a_m`` and
    ``half_b_m`` are the distances from there to the mouths along the pipe.
    """

    passage: Passage
    nominal: FloatArray
    true: FloatArray
    centre_m: FloatArray | None = None
    half_a_m: float = 0.0
    half_b_m: float = 0.0

    @cached_property
    def mark(self) -> str:
        """What tells it from another of the same problem."""
        place = [round(x, 6) for x in (*self.passage.point.tolist(), *self.true.tolist())]
        return f"{self.passage.name} {self.passage.spaces} {place}"

    @cached_property
    def is_cut(self) -> bool:
        """Whether a new hole is made."""
        return self.passage.kind == "cut"

    def clear_of_a_m(self, reach_m: FloatArray, radius_m: FloatArray, gap_m: float) -> FloatArray:
        """Least distance from the centre back to the corner of a bend in space a, hub clear of the barrier."""
        return self.half_a_m + hub_clear_m(self.passage.mouth_a[0], self.true, reach_m, radius_m, gap_m)

    def clear_of_b_m(self, reach_m: FloatArray, radius_m: FloatArray, gap_m: float) -> FloatArray:
        """Least distance from the centre on to the corner of a bend in space b, hub clear of the barrier."""
        return self.half_b_m + hub_clear_m(self.passage.mouth_b[0], self.true, reach_m, radius_m, gap_m)

    def mouth_box(self, mouth: tuple[FloatArray, float]) -> tuple[FloatArray, FloatArray]:
        """Box around where a new hole's axis may meet one of its mouths."""
        area, (normal, offset) = self.passage.area, mouth
        assert area is not None
        along = self.passage.axis
        if np.abs(along).max() < 0.999999:
            return area
        corners = np.array(list(product(*zip(*area, strict=True))))
        at = corners + ((offset - corners @ normal) / float(normal @ along))[:, None] * along
        return at.min(axis=0), at.max(axis=0)


def hub_clear_m(
    normal: FloatArray, true: FloatArray, reach_m: FloatArray, radius_m: FloatArray, gap_m: float
) -> FloatArray:
    """Least distance along the pipe from a mouth plane to the corners of bends whose hubs keep the gap to it."""
    along = float(normal @ true)
    rim = radius_m * math.sqrt(max(0.0, 1.0 - along * along))
    need: FloatArray = reach_m + (rim + gap_m) / along
    return need


@dataclass(frozen=True, eq=False)
class Problem:
    """One kit in one house.

    ``zones`` holds the forbidden termination zones by terminal kind ("roof", "wall"), made for this pipe's radius.
    """

    building: Building
    kit: Kit
    limit: SizeLimit
    appliance: Appliance
    want: Want
    zones: Mapping[str, tuple[Zone, ...]]
    _between: dict[tuple[tuple[float, ...], bool], FloatArray] = field(default_factory=dict, init=False, repr=False)

    @property
    def gap_m(self) -> float:
        """The wanted gap and a hair."""
        return self.want.gap_m + HAIR_M

    @cached_property
    def radius_m(self) -> float:
        """Outside radius of the pipe."""
        return self.kit.pipe.od_m / 2

    @cached_property
    def patterns(self) -> Mapping[float, tuple[Elbow, ...]]:
        """Fittings by nominal angle that the catalog has and the appliance's table counts, preferred first."""
        out: dict[float, list[Elbow]] = {}
        for bend in self.kit.bends:
            if not bend.street and self.kit.equivalent_m(self.limit, bend) is not None:
                out.setdefault(bend.angle_deg, []).append(Elbow(bend, _street_of(bend, self.kit.bends)))
        return {angle: tuple(elbows) for angle, elbows in out.items()}

    @cached_property
    def elbows(self) -> Mapping[float, Elbow]:
        """By nominal angle the smallest pattern; where none is smallest in all, what each of them needs at least."""
        return {angle: _smallest(elbows) for angle, elbows in self.patterns.items()}

    def between_m(self, angles: tuple[float, ...], *, first: bool) -> FloatArray:
        """What a leg measures at least by the bends before and after it, (A + 1, A + 1), the last for none.

        Closed up where street bends can be; ``first``: before the first bend stands the collar.
        """
        if (angles, first) not in self._between:
            elbows, none = [self.elbows[a] for a in angles], len(angles)
            out = self._between[angles, first] = np.zeros((none + 1, none + 1))
            if elbows:
                lay, reach = np.array([[e.hub.laying_m, e.reach_m] for e in elbows]).T
                spigot = np.array([e.street.spigot_m if e.street else np.inf for e in elbows])
                out[:none, :none] = np.minimum(lay[:, None] + lay + spigot, reach[:, None] + reach)
                out[none, :none] = out[:none, none] = reach
                if first:
                    out[none, :none] = self.start_m + np.minimum(lay + spigot, reach + self.start_socket_m)
        return self._between[angles, first]

    @cached_property
    def give_deg(self) -> float:
        """Least give of the fittings used."""
        return min((e.hub.give_deg for elbows in self.patterns.values() for e in elbows), default=0.0)

    @cached_property
    def measures(self) -> tuple[object, ...]:
        """All that the search takes from the kit: kits of the same measures have the same ways."""
        bends = tuple((angle, *(e.measures for e in elbows)) for angle, elbows in sorted(self.patterns.items()))
        coupling = self.kit.coupling
        joint = (coupling.socket_m, coupling.gap_m, coupling.hub_od_m, self.give_deg, self.kit.hub_od_m)
        return (self.kit.pipe.od_m, bends, joint, self.start_m, self.start_socket_m)

    @cached_property
    def start_m(self) -> float:
        """Length of the changes of size and material at the collar."""
        return sum(change.length_m for change in self.kit.start)

    @cached_property
    def start_socket_m(self) -> float:
        """Depth of the socket that the first pipe enters."""
        return self.kit.start[-1].socket_m if self.kit.start else self.kit.coupling.socket_m

    @cached_property
    def compass(self) -> FloatArray:
        """Level, plumb and diagonal directions about the building's longest wall, (m, 3)."""
        return compass(_azimuth(self))

    @property
    def rise(self) -> float:
        """Tangent by which level runs are raised along the flow, negative where they fall."""
        return self.appliance.pitch if self.appliance.falls_to == "appliance" else -self.appliance.pitch

    def tilt(self, nominal: FloatArray) -> FloatArray:
        """The true direction of a nominal one."""
        return tilted(nominal, self.rise)

    def equivalent_m(self, bend: Bend) -> float:
        """Equivalent of a bend; only for those in `patterns`."""
        value = self.kit.equivalent_m(self.limit, bend)
        assert value is not None
        return value

    def crossing(self, passage: Passage) -> Crossing | str:
        """The passage as this pipe crosses it, or why it cannot."""
        nominal, true = self.forms(passage.axis)
        refusal = self._refusal(passage, true)
        return refusal or self._crossed(passage, nominal, true)

    def level_crossing(self, passage: Passage) -> Crossing | None:
        """The passage as a level run straight from a level collar crosses it, None where it cannot."""
        faces = np.asarray(self.appliance.faces)
        straight = abs(faces[2]) < LEVEL and float(np.linalg.norm(passage.axis - faces)) < 1e-6
        return self._crossed(passage, faces, faces) if straight and not self._too_tight(passage) else None

    def forms(self, axis: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Nominal and true form of an axis: one bored nearly level is level to the fittings, by their give."""
        run = math.hypot(float(axis[0]), float(axis[1]))
        if abs(axis[2]) < LEVEL or abs(axis[2]) > math.tan(math.radians(self.give_deg)) * run:
            return axis, self.tilt(axis)
        return np.array([axis[0], axis[1], 0.0]) / run, axis

    def _crossed(self, passage: Passage, nominal: FloatArray, true: FloatArray) -> Crossing:
        if passage.kind == "cut":
            return Crossing(passage, nominal, true)
        (na, oa), (nb, ob) = passage.mouth_a, passage.mouth_b
        (pa, ga, ta), (pb, gb, tb) = (np.array([na, nb]) @ np.array([passage.point, passage.axis, true]).T).tolist()
        a, b = (oa - pa) / ga, (ob - pb) / gb  # from the point to the mouths, along the axis
        half = (b - a) / 2
        return Crossing(
            passage, nominal, true, passage.point + passage.axis * ((a + b) / 2), half * ga / ta, half * gb / tb
        )

    def _too_tight(self, passage: Passage) -> bool:
        clear = passage.clear_m
        return passage.kind == "hole" and clear is not None and self.kit.pipe.od_m > clear + 1e-9

    def _refusal(self, passage: Passage, true: FloatArray) -> str:
        clear = passage.clear_m
        if clear is not None and self._too_tight(passage):
            return (
                f'hole "{passage.name}" is {clear / 0.0254:.2f} in clear and the pipe is '
                f"{self.kit.pipe.od_m / 0.0254:.3f} in outside"
            )
        level = abs(passage.axis[2]) < LEVEL
        run = math.hypot(float(true[0]), float(true[1]))
        if self.appliance.falls_to == "appliance" and not level and true[2] < self.appliance.pitch * run - 1e-12:
            return f'"{passage.name}" would take the exhaust downhill'
        return ""


def _smallest(elbows: tuple[Elbow, ...]) -> Elbow:
    """One that is as small as any in every measure, or a bend that none is smaller than, which nobody makes."""
    measures = np.array([e.measures for e in elbows])
    laying, reach, hub_od, spigot = least = measures.min(axis=0).tolist()
    made = next((e for e, row in zip(elbows, measures.tolist(), strict=True) if row == least), None)
    if made is not None:
        return made
    hub = replace(elbows[0].hub, laying_m=laying, socket_m=reach - laying, hub_od_m=hub_od)
    return Elbow(hub, replace(hub, spigot_m=spigot) if spigot < math.inf else None)


def _street_of(hub: Bend, bends: tuple[Bend, ...]) -> Bend | None:
    same = (b for b in bends if b.street and b.angle_deg == hub.angle_deg and b.pattern == hub.pattern)
    return next(same, None)


def _azimuth(problem: Problem) -> float:
    """Azimuth of the building's longest wall."""
    footprint = np.array(problem.building.site.building.footprint)
    sides = np.roll(footprint, -1, axis=0) - footprint
    x, y = sides[int(np.argmax(np.round(np.hypot(sides[:, 0], sides[:, 1]), 6)))]
    return float(np.arctan2(y, x) % (np.pi / 2))
