"""From placed parts to the stretches that the gas meets: in which space, how steep, where it turns.

References
----------
.. [1] A moulded bend turns at most as widely as the laying length from stop to corner allows; of drainage, long and
   system patterns that radius is taken, of short and pressure patterns none (a mitre). Nothing measured was found for
   moulded plastic vent elbows: common practice between the two.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from ventroute.constants import INCH_M
from ventroute.flue.losses import change_k
from ventroute.flue.stretch import RISING, Bend, Stretch
from ventroute.model.parts import Kit
from ventroute.model.route import CHANGES, Part, PartKind, Route

Air = Callable[[str], float] | Mapping[str, float]
ROUND = ("drainage", "long", "system")  # patterns whose inside turns with a radius [1]


@dataclass(frozen=True, slots=True)
class _Leg:
    """A straight piece of the axis in one space, with what stands at its start."""

    length_m: float
    rise_m: float
    space: str
    kit: Kit
    k: float = 0.0
    turn: tuple[float, float] | None = None  # true angle, radius / bore

    @property
    def kind(self) -> tuple[str, float, bool]:
        return self.space, self.kit.size_in, abs(self.rise_m) > RISING * self.length_m


def radius_ratio(kit: Kit, item: str, nominal_deg: float) -> float:
    """Radius of a bend's centre line over the bore, 0 for one that is taken as a mitre [1]."""
    bend = kit.bend(item)
    if bend is None or bend.pattern not in ROUND:
        return 0.0
    return bend.laying_m / math.tan(math.radians(nominal_deg) / 2) / kit.pipe.bore_m


def _start_k(route: Route, kit: Kit, item: str) -> float:
    """Velocity heads, at the run's bore, that a change of size costs; the collar's bore taken as nominal."""
    change = next((change for change in kit.start if change.item == item), None)
    if change is None or change.from_size_in == change.to_size_in:
        return 0.0
    known = {each.size_in: each.pipe.bore_m for each in route.kits}
    before, run = known.get(change.from_size_in, change.from_size_in * INCH_M), kit.pipe.bore_m
    return float(change_k(before, run)) * max(1.0, (run / before) ** 4)


def _spaces(part: Part, after: str, through: Mapping[str, tuple[str, str]]) -> list[str]:
    """The spaces a part runs through in order; one that cannot be told is left blank."""
    spaces = [part.space]
    for name in part.passes:
        pair = through.get(name)
        here = spaces[-1]
        spaces.append(pair[1 - pair.index(here)] if pair and here in pair else "")
    if part.passes:
        spaces[-1] = after
    return spaces


def _legs(route: Route, through: Mapping[str, tuple[str, str]]) -> Iterator[_Leg]:
    crossings = {crossing.name: crossing.point_m for crossing in route.crossings}
    turn: tuple[float, float] | None = None
    for part, following in zip(route.parts, [*route.parts[1:], None], strict=True):
        after = following.space if following else "outdoors"
        points = [part.start_m, *(crossings[name] for name in part.passes if name in crossings), part.end_m]
        spaces = _spaces(part, after, through)[: len(points) - 1]
        kit = route.kit_of(part)
        k = _start_k(route, kit, part.item) if part.kind in CHANGES else 0.0
        if part.kind is PartKind.ELBOW and part.corner_m is not None:
            points, spaces = [part.start_m, part.corner_m, part.end_m], [part.space, part.space]
        for number, (a, b, space) in enumerate(zip(points, points[1:], spaces, strict=False)):
            if part.kind is PartKind.ELBOW and number == 1:
                nominal = part.nominal_deg or part.angle_deg or 90.0
                turn = (part.angle_deg or nominal, radius_ratio(kit, part.item, nominal))
            length = math.dist(a, b)
            if length > 1e-9:
                yield _Leg(length, b[2] - a[2], space, kit, k, turn)
                k, turn = 0.0, None
        if k or (turn and following is None):
            yield _Leg(0.0, 0.0, part.space, kit, k, turn)
            turn = None


def air_of(air: Air, space: str, coldest_degC: float) -> float:
    """Air temperature of a space; the coldest there is for one that is not known, so that no frost is missed."""
    if callable(air):
        return float(air(space)) if space else coldest_degC
    return float(air.get(space, coldest_degC))


def _groups(legs: Iterable[_Leg]) -> list[list[_Leg]]:
    """Neighbours of one kind together; what has no length goes with what comes after it, or before it at the end."""
    groups: list[list[_Leg]] = []
    for leg in legs:
        last = next((other for other in reversed(groups[-1]) if other.length_m > 0), None) if groups else None
        if groups and (leg.length_m == 0 or last is None or last.kind == leg.kind):
            groups[-1].append(leg)
        else:
            groups.append([leg])
    return groups


def _merge(legs: list[_Leg], pipe: Stretch) -> Stretch:
    """One stretch of legs of one kind."""
    length = sum(leg.length_m for leg in legs)
    bends, reached = [], 0.0
    for leg in legs:
        if leg.turn:
            bends.append(Bend(*leg.turn, at=reached / length))
        reached += leg.length_m
    return replace(
        pipe,
        length_m=length,
        rise_m=sum(leg.rise_m for leg in legs),
        k=sum(leg.k for leg in legs),
        bends=tuple(bends),
    )


def stretches(
    route: Route,
    air: Air,
    *,
    coldest_degC: float,
    through: Mapping[str, tuple[str, str]] | None = None,
    insulation_m: Mapping[str, float] | None = None,
    wind_m_s: float = 0.0,
) -> tuple[Stretch, ...]:
    """The route as stretches in flow order, each in one space, of one size, and either upright or rather level.

    Parameters
    ----------
    route : what is placed
    air : air temperature [degC] by the name of a space
    coldest_degC : for a space that is not known
    through : the two spaces of each hole or cut by name, needed only where one pipe goes through several
    insulation_m : thickness by the name of a space
    wind_m_s : across pipe outdoors

    Returns
    -------
    at least one stretch
    """
    groups = _groups(_legs(route, through or {}))
    whole = []
    for legs in groups:
        first = next((leg for leg in legs if leg.length_m > 0), legs[0])
        space, kit = first.space, first.kit
        outdoors = space == "outdoors"
        pipe = Stretch(
            0.0,
            0.0,
            kit.pipe.bore_m,
            kit.pipe.od_m,
            kit.material.conductivity_W_mK,
            kit.material.emissivity,
            kit.material.roughness_m,
            air_of(air, space, coldest_degC),
            space=space,
            insulation_m=(insulation_m or {}).get(space, 0.0),
            wind_m_s=wind_m_s if outdoors else 0.0,
        )
        whole.append(_merge(legs, pipe))
    return tuple(whole)
