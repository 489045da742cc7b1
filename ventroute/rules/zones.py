"""Where a terminal's end may not be: every clause of a pack that applies, as a solid with a signed margin."""

from __future__ import annotations

from collections.abc import Iterator
from weakref import WeakKeyDictionary

from ventroute.layout.building import Building
from ventroute.layout.zone import Zone
from ventroute.model.site import Site
from ventroute.rules import heights, places
from ventroute.rules.clause import Clause
from ventroute.rules.pack import Pack
from ventroute.rules.scene import make_scene

MAKERS = {**places.MAKERS, **heights.MAKERS}

_Kept = dict[tuple[int, int, str, float], tuple[Site, Pack, tuple[Clause, ...]]]
_kept: WeakKeyDictionary[Building, _Kept] = WeakKeyDictionary()  # what was made for a house, as every route of it asks


def clauses(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> tuple[Clause, ...]:
    """Every rule of the pack about the terminal's place, applied to every thing it is about.

    Parameters
    ----------
    kind : roof | wall
    end_radius_m : outside radius of the pipe's end [m]
    """
    kept = _kept.setdefault(building, {})
    key = id(site), id(pack), kind, end_radius_m
    if key not in kept:
        kept[key] = site, pack, tuple(_made(site, building, pack, kind, end_radius_m))
    return kept[key][-1]


def _made(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> Iterator[Clause]:
    scene = make_scene(site, building, kind, end_radius_m)
    for rule in pack.applying(site.appliance).rules:
        if rule.kind in MAKERS and rule.when.end(kind, 2 * end_radius_m):
            yield from places.by_pressure(rule, scene, MAKERS[rule.kind])


def terminal_zones(site: Site, building: Building, pack: Pack, kind: str, end_radius_m: float) -> tuple[Zone, ...]:
    """Forbidden regions for the centre of the terminal's end; what only a person can judge is left out.

    Parameters
    ----------
    kind : roof | wall
    end_radius_m : outside radius of the pipe's end [m], accounted for where a rule measures from its nearest edge
    """
    found = clauses(site, building, pack, kind, end_radius_m)
    return tuple(clause.zone() for clause in found if not (clause.ask or clause.rule.ask))
