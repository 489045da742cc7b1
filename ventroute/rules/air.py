"""Combustion air for an appliance that breathes the room it stands in."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ventroute.constants import INCH_M
from ventroute.geometry.polygon import area_m2
from ventroute.layout.building import Building
from ventroute.model.plan import Finding, Verdict
from ventroute.model.site import Site
from ventroute.rules.pack import Figure, Pack, Rule
from ventroute.rules.verdict import at_least, stated


def needed_volume_m3(rule: Rule, input_W: float) -> float:
    """Room volume [m3] that the standard method asks for a total input [W]."""
    return rule.figures["volume"].value * input_W


def opening(rule: Rule, input_W: float, vent_m2: float) -> tuple[float, Figure]:
    """Free area [m2] of an opening for an input [W] and a vent of this area [m2], and the figure that decides it."""
    by_input = rule.figures["share"]
    areas = [(by_input.value * input_W, by_input)]
    if "least" in rule.figures:
        areas.append((rule.figures["least"].value, rule.figures["least"]))
    if "vent" in rule.figures:
        areas.append((rule.figures["vent"].value * vent_m2, rule.figures["vent"]))
    return max(areas, key=lambda area: area[0])


def indoor_air(pack: Pack, rule: Rule, room: str, volume_m3: float, input_W: float, *, ask: bool) -> Iterator[Finding]:
    """The room's volume against the standard method; ``ask``: openings may still mend what it lacks."""
    needed = needed_volume_m3(rule, input_W)
    evidence = rule.figures["volume"].evidence
    yield from at_least(pack, rule.id, room, volume_m3, needed, "m3", evidence=evidence, ask=ask)


def air_findings(site: Site, building: Building, pack: Pack, vent_m: float) -> Iterator[Finding]:
    """Room air, where the appliance is not a direct-vent one; where the room is too small, the openings to choose from.

    Rooms that are one open space count together; a room up to the roof counts for nothing, its height being unknown
    here. Other appliances are not known, and are asked for. ``vent_m``: outside diameter of the vent [m].
    """
    rooms, volume = _open_space(site, building)
    input_W = site.appliance.input_W
    enough = False
    for rule in pack.of("indoor air"):
        found = tuple(indoor_air(pack, rule, rooms, volume, input_W, ask=True))
        enough = all(finding.verdict is Verdict.PASS for finding in found)
        yield from found
    for rule in pack.of("air openings") if not enough else ():
        area, figure = opening(rule, input_W, math.pi / 4 * vent_m**2)
        note = f"{area / INCH_M**2:.0f} in2 free; one of these ways is enough, but is it there?"
        yield from stated(pack, rule.id, rooms, Verdict.ASK, note=note, evidence=figure.evidence)


def _open_space(site: Site, building: Building) -> tuple[str, float]:
    """The rooms that share the appliance's air, and their volume [m3]; none that is known counts for nothing."""
    room = building.room_at(site.appliance.collar_m)
    space = building.space_named(room) if room else None
    if space is None:
        return "the appliance's room", 0.0
    volume = sum(
        area_m2(r.floor) * (r.top_m - r.bottom_m) for r in site.rooms if r.name in space.rooms and r.top_m is not None
    )
    return ", ".join(space.rooms) or "outdoors", volume
