"""A flat-roofed house with a garden: what the tests of rules put their terminals round."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from ventroute.layout.building import Building, build
from ventroute.model.appliance import Appliance, SizeLimit
from ventroute.model.plan import Finding, Verdict
from ventroute.model.site import Envelope, Feature, Place, Room, Site
from ventroute.rules.clause import Clause
from ventroute.rules.pack import Pack, load_pack
from ventroute.rules.zones import clauses
from ventroute.units import parse_length, parse_power_W

RULES = Path(__file__).parents[2] / "catalogs" / "rules"
PACKS = ("us-2018", "us-2021", "ca-b149-2025")
RADIUS_M = 0.04445  # of a 3 in pipe, 3.500 in outside

pack = lru_cache(lambda name: load_pack(name, RULES))


def m(text: str) -> float:
    """Metres of a length as written."""
    return parse_length(text, None)


def appliance(**changes: object) -> Appliance:
    """A direct-vent condensing appliance."""
    base = Appliance(
        name="heater", fuel="natural gas", input_W=parse_power_W("40000 Btu/h"), category="IV", vent_style="direct",
        exhaust_max_degC=60.0, exhaust_usual_degC=50.0, materials=("PVC", "ABS"), collar_size_in=3.0,
        collar_material=None, collar_m=(3.0, 3.0, 1.0), faces=(0.0, 0.0, 1.0),
        sizes=(SizeLimit(3.0, 12.0, elbow_90_m=1.5, elbow_45_m=0.75),),
    )  # fmt: skip
    return replace(base, **changes)  # type: ignore[arg-type]


def power(text: str) -> float:
    """Watts of a power as written."""
    return parse_power_W(text)


def house(features: Sequence[Feature] = (), heater: Appliance | None = None, **changes: object) -> Site:
    """A house of 10 m by 8 m, 6 m high, on level ground; the north wall's outside face is y = 8."""
    base = Site(
        name="yard",
        place=Place(),
        building=Envelope(((0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0)), 0.0, 6.0),
        appliance=heater or appliance(),
        rooms=(Room("hall", ((0.2, 0.2), (9.8, 0.2), (9.8, 7.8), (0.2, 7.8)), 0.2, 5.7),),
        features=tuple(features),
    )
    return replace(base, **changes)  # type: ignore[arg-type]


@lru_cache(maxsize=64)
def built(site: Site) -> Building:
    """The house as solids."""
    return build(site)


def window(kind: str = "window, openable", **changes: object) -> Feature:
    """An opening 1 m by 1 m in the north wall: x 4 to 5, z 2 to 3, and 0.1 m of the wall's depth."""
    return replace(Feature(kind, kind, (4.0, 7.9, 2.0), (1.0, 0.1, 1.0)), **changes)  # type: ignore[arg-type]


def found(
    site: Site, rules: str | Pack, rule: str, kind: str = "wall", radius_m: float = RADIUS_M
) -> tuple[Clause, ...]:
    """Clauses of every rule whose id starts with ``rule``."""
    used = pack(rules) if isinstance(rules, str) else rules
    every = clauses(site, built(site), used, kind, radius_m)
    return tuple(clause for clause in every if clause.rule.id.startswith(rule))


def judged(
    site: Site, rules: str | Pack, rule: str, at: Sequence[float], kind: str = "wall", radius_m: float = RADIUS_M
) -> list[Finding]:
    """Findings of those rules for a terminal whose end is centred at a point."""
    used = pack(rules) if isinstance(rules, str) else rules
    return [clause.finding(np.asarray(at, float), used) for clause in found(site, used, rule, kind, radius_m)]


def verdict(*args: object, **options: object) -> Verdict:
    """The worst verdict of those rules; at least one must apply."""
    verdicts = [finding.verdict for finding in judged(*args, **options)]  # type: ignore[arg-type]
    assert verdicts, f"no rule applied: {args[1:3]}"
    return min(verdicts, key=[Verdict.FAIL, Verdict.ASK, Verdict.PASS].index)
