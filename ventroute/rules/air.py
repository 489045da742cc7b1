"""Combustion air for an appliance that breathes the room it stands in."""

from __future__ import annotations

from collections.abc import Iterator

from ventroute.constants import INCH_M
from ventroute.geometry.polygon import area_m2
from ventroute.layout.building import Building
from ventroute.model.plan import Finding
from ventroute.model.site import Site
from ventroute.rules.pack import Pack, Rule
from ventroute.rules.verdict import at_least


def needed_volume_m3(rule: Rule, input_W: float) -> float:
    """Room volume [m3] that the standard method asks for a total input [W]."""
    return rule.figures["volume"].value * input_W


def opening_m2(rule: Rule, input_W: float) -> float:
    """Free area [m2] of an opening for a total input [W], not below the rule's least."""
    least = rule.figures["least"].value if "least" in rule.figures else 0.0
    return max(rule.figures["share"].value * input_W, least)


def indoor_air(pack: Pack, rule: Rule, room: str, volume_m3: float, input_W: float, *, ask: bool) -> Iterator[Finding]:
    """The room's volume against the standard method; ``ask``: openings may still mend what it lacks."""
    needed = needed_volume_m3(rule, input_W)
    evidence = rule.figures["volume"].evidence
    yield from at_least(
        pack, rule.id, room, volume_m3, needed, "m3", note=openings_note(pack, input_W), evidence=evidence, ask=ask
    )


def openings_note(pack: Pack, input_W: float) -> str:
    """What openings would do instead of the volume, in square inches of free area."""
    ways = [f"{rule.title}: {opening_m2(rule, input_W) / INCH_M**2:.0f} in2" for rule in pack.of("air openings")]
    return "or " + "; ".join(ways) if ways else ""


def air_findings(site: Site, building: Building, pack: Pack) -> Iterator[Finding]:
    """Room air, where the appliance is not a direct-vent one.

    Rooms that are one open space count together; a room up to the roof counts for nothing, its height being unknown
    here. Other appliances are not known, and are asked for.
    """
    appliance = site.appliance
    room = building.room_at(appliance.collar_m)
    space = building.space_named(room) if room else None
    for rule in pack.of("indoor air"):
        if space is not None:
            volume = sum(
                area_m2(r.floor) * (r.top_m - r.bottom_m)
                for r in site.rooms
                if r.name in space.rooms and r.top_m is not None
            )
            yield from indoor_air(pack, rule, ", ".join(space.rooms), volume, appliance.input_W, ask=True)
