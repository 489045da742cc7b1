"""Room round the route: to construction and obstacles, and to itself."""

from __future__ import annotations

from collections.abc import Iterator

from ventroute.layout.building import Building
from ventroute.layout.clearance import WITHIN_M, Clearance, clearances
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import Route
from ventroute.rules.pack import Pack
from ventroute.rules.verdict import at_least, stated


def gap_findings(building: Building, pack: Pack, route: Route, gap_m: float) -> Iterator[Finding]:
    """The nearest part to every solid and surface, and the nearest two parts of the route."""
    own = {f"part {part.n}" for part in route.parts}
    nearest: dict[tuple[str, str], Clearance] = {}
    for found in clearances(building, route, gap_m):
        key = ("gap.self", "itself") if found.what in own else ("gap", found.what)
        if key not in nearest or _spare_m(found) < _spare_m(nearest[key]):
            nearest[key] = found
    if not nearest:
        yield from stated(pack, "gap", "all parts", Verdict.PASS, note=f"nothing within {WITHIN_M:g} m of them")
    for (rule, _), found in nearest.items():
        subject = f"part {found.part_n} to {found.what}"
        note = "from its hub" if found.hub else "from the pipe"
        yield from at_least(pack, rule, subject, found.gap_m, found.needed_m, "m", note=note)


def _spare_m(found: Clearance) -> float:
    return found.gap_m - found.needed_m
