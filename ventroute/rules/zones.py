"""Where a terminal's end may not be: every clause of a pack that applies, as a solid with a signed margin."""

from __future__ import annotations

from ventroute.layout.building import Building
from ventroute.layout.zone import Zone
from ventroute.model.site import Site
from ventroute.rules import heights, places
from ventroute.rules.clause import Clause
from ventroute.rules.pack import Pack
from ventroute.rules.scene import Scene, make_scene

MAKERS = {**places.MAKERS, **heights.MAKERS}


def clauses(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> tuple[Clause, ...]:
    """Every rule of the pack about the terminal's place, applied to every thing it is about.

    Parameters
    ----------
    kind : roof | wall
    end_radius_m : outside radius of the pipe's end [m]
    """
    kept = building.memo
    scene: Scene | None = None
    found: list[Clause] = []
    for rule in pack.applying(site.appliance).rules:
        if rule.kind in MAKERS and rule.when.end(kind, 2 * end_radius_m):
            key = "clauses", id(site), id(rule), kind, end_radius_m  # both are kept with it: no other has their number
            if key not in kept:
                scene = scene or make_scene(site, building, kind, end_radius_m)
                kept[key] = site, rule, tuple(places.by_pressure(rule, scene, MAKERS[rule.kind]))
            found += kept[key][-1]
    return tuple(found)


def terminal_zones(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> tuple[Zone, ...]:
    """Forbidden regions for the centre of the terminal's end; what only a person can judge is left out.

    Parameters
    ----------
    kind : roof | wall
    end_radius_m : outside radius of the pipe's end [m], accounted for where a rule measures from its nearest edge
    """
    found = clauses(site, building, pack, kind, end_radius_m)
    return tuple(clause.zone() for clause in found if not (clause.ask or clause.rule.ask))
