"""What the work page is told: the house in metres, the routes, and the tables, all ready to be shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from ventroute.drawing.words import money, route_title
from ventroute.errors import Fault
from ventroute.model.plan import Plan, PlannedRoute
from ventroute.model.site import Site
from ventroute.units import format_length as length

from . import report_lists as lists
from .glb import glb_text
from .page_data import scene_data
from .scene import scene

if TYPE_CHECKING:
    from ventroute.layout.building import Building
    from ventroute.layout.zone import Zone

Answer = dict[str, Any]


def refused(faults: Sequence[Fault]) -> Answer:
    """The answer to a text that is not a site: every fault."""
    return {"ok": False, "faults": [{"line": f.line, "key": f.key, "what": f.what} for f in faults]}


def looked(site: Site) -> Answer:
    """The house alone, for the plan editor: the site in metres, without triangles of meshes."""
    bare = replace(site, obstacles=tuple(replace(thing, triangles=()) for thing in site.obstacles))
    return {"ok": True, "faults": [], "site": asdict(bare)}


def answered(
    site: Site, building: Building | None, plan: Plan, zones: Sequence[Zone] = (), units: str = "us"
) -> Answer:
    """Everything that the page shows of a planned site."""
    seen = scene(site, building, plan, zones, units)
    return {
        **looked(site),
        "status": plan.status,
        "routes": [_route(planned, units) for planned in plan.routes],
        "rejected": lists.rejected_table(plan.rejected, units) if plan.rejected else "",
        "data": scene_data(seen),
        "glb": glb_text(seen),
    }


def _route(planned: PlannedRoute, units: str) -> Answer:
    route = planned.route
    return {
        "id": planned.id,
        "name": route_title(planned.route, units),
        "equivalent": length(route.equivalent_m, units),
        "limit": length(planned.limit_m, units),
        "share": round(route.equivalent_m / planned.limit_m, 4) if planned.limit_m else None,
        "elbows": route.elbows,
        "cost": money(planned.cost),
        "reason": planned.reason,
        "corners": [list(run.start_m) for run in route.runs] + [list(route.terminal_m)],
        "asks": sum(finding.verdict == "ask" for finding in planned.findings),
        "findings": lists.findings_table(planned.findings, units),
        "bill": lists.shopping_table(planned, units) + lists.cuts_table(planned, units),
        "length": lists.worksheet(planned, units) + lists.parts_table(planned, units),
        "flue": lists.flue_block(planned.flue, units) if planned.flue else "",
    }
