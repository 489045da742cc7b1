"""The table of materials and sizes: the best route in each, or why there is none."""

from __future__ import annotations

from typing import Any

from ventroute.choices import group
from ventroute.flue.sizes import drop_for_size, flow_in
from ventroute.flue.state import appliance_gas
from ventroute.model.appliance import SizeLimit
from ventroute.model.plan import Plan, PlannedRoute, Rejected
from ventroute.model.site import Site
from ventroute.planner import Workshop


def size_rows(plan: Plan, site: Site, shop: Workshop) -> list[dict[str, Any]]:
    """One row for every material, size and terminal kind: the best route, or why there is none.

    A route whose size grows has a row of its own, with the size it grows from.
    """
    best: dict[tuple[str, float, str, float], PlannedRoute] = {}
    for planned in plan.routes:
        key = group(planned)
        if key not in best or planned.route.equivalent_m < best[key].route.equivalent_m:
            best[key] = planned
    rows = [_fits(planned) for planned in best.values()]
    rows += [_fails(rejected, site, shop) for rejected in plan.rejected]
    return sorted(rows, key=lambda r: (r["material"], r["size_in"], r["terminal"], r.get("grows_from_in", 0.0)))


def _fits(planned: PlannedRoute) -> dict[str, Any]:
    route, flue = planned.route, planned.flue
    return {
        "material": route.kit.material.name,
        "size_in": route.kit.size_in,
        **({"grows_from_in": route.smaller.size_in} if route.smaller is not None else {}),
        "terminal": route.terminal_kind,
        "fits": True,
        "equivalent_m": route.equivalent_m,
        "limit_m": planned.limit_m,
        "margin_m": planned.limit_m - route.equivalent_m,
        "drop_Pa": flue.drop_Pa if flue else None,
        "reference_drop_Pa": flue.reference_drop_Pa if flue else None,
        "velocity_m_s": flue.velocity_m_s if flue else None,
        "cost": planned.cost,
        "because": planned.reason,
    }


def _fails(rejected: Rejected, site: Site, shop: Workshop) -> dict[str, Any]:
    """Why not; and what the manual's greatest length would cost, and the speed, so that sizes compare all the same."""
    limit = site.appliance.limit(rejected.size_in)
    speed, reference = _bare(rejected, limit, site, shop)
    return {
        "material": rejected.material,
        "size_in": rejected.size_in,
        "terminal": rejected.terminal,
        "fits": False,
        "equivalent_m": rejected.nearest_m,
        "limit_m": limit.max_length_m if limit else None,
        "margin_m": limit.max_length_m - rejected.nearest_m if limit and rejected.nearest_m is not None else None,
        "drop_Pa": None,
        "reference_drop_Pa": reference,
        "velocity_m_s": speed,
        "cost": None,
        "because": rejected.because,
    }


def _bare(rejected: Rejected, limit: SizeLimit | None, site: Site, shop: Workshop) -> tuple[float | None, float | None]:
    """Speed [m/s] and drop over the manual's greatest length [Pa] in a size without a route."""
    catalog, appliance = shop.catalog, site.appliance
    pipe = next((p for p in catalog.pipes if (p.material, p.size_in) == (rejected.material, rejected.size_in)), None)
    if pipe is None or limit is None:
        return None, None
    gas, hottest = appliance_gas(appliance, site.place, shop.fuels), appliance.exhaust_max_degC
    rough = catalog.materials[rejected.material].roughness_m
    speed = flow_in(gas, hottest, pipe.bore_m, rough).speed_m_s
    drop = drop_for_size(gas, hottest, pipe.bore_m, limit.max_length_m, roughness_m=rough)
    return float(speed), float(drop)
