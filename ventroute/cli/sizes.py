"""`ventroute sizes`: what fits in each material and size, by how much, and why not."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from ventroute.cli.options import Options

if TYPE_CHECKING:
    from ventroute.model.plan import Plan, PlannedRoute, Rejected

_COLUMNS = (
    "material",
    "size",
    "ends at",
    "equivalent",
    "limit",
    "room left",
    "drop / manual's",
    "speed",
    "cost",
    "why",
)


def sizes(
    site: Annotated[Path, Parameter(help="The site file.")],
    /,
    *,
    have: Annotated[Path | None, Parameter(help="Parts and pipe already there: CSV or XLSX.")] = None,
    prices: Annotated[Path | None, Parameter(help="What shops ask, and what they have: CSV or XLSX.")] = None,
    options: Options | None = None,
) -> int:
    """Show what fits in each material and size, by how much, and why not."""
    import json

    from ventroute.cli.desk import open_site
    from ventroute.cli.stock import read_stock
    from ventroute.planner import plan

    options = options or Options()
    desk = open_site(site, read_stock(have, prices))
    result = plan(desk.site, desk.building, desk.shop)
    rows = size_rows(result)
    if options.json:
        print(json.dumps({"format": 1, "site": result.site, "sizes": rows}, indent=1, ensure_ascii=False))
    elif not options.quiet:
        _show(rows, options)
    return 0 if result.routes else 1


def size_rows(plan: Plan) -> list[dict[str, Any]]:
    """One row for every material, size and terminal kind: the best route, or why there is none."""
    best: dict[tuple[str, float, str], PlannedRoute] = {}
    for planned in plan.routes:
        key = (planned.route.kit.material.name, planned.route.kit.size_in, planned.route.terminal_kind)
        if key not in best or planned.route.equivalent_m < best[key].route.equivalent_m:
            best[key] = planned
    rows = [_fits(planned) for planned in best.values()]
    rows += [_fails(rejected) for rejected in plan.rejected]
    return sorted(rows, key=lambda r: (r["material"], r["size_in"], r["terminal"]))


def _fits(planned: PlannedRoute) -> dict[str, Any]:
    route, flue = planned.route, planned.flue
    return {
        "material": route.kit.material.name,
        "size_in": route.kit.size_in,
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


def _fails(rejected: Rejected) -> dict[str, Any]:
    return {
        "material": rejected.material,
        "size_in": rejected.size_in,
        "terminal": rejected.terminal,
        "fits": False,
        "equivalent_m": rejected.nearest_m,
        "limit_m": None,
        "margin_m": None,
        "drop_Pa": None,
        "reference_drop_Pa": None,
        "velocity_m_s": None,
        "cost": None,
        "because": rejected.because,
    }


def _show(rows: list[dict[str, Any]], options: Options) -> None:
    from rich.console import Console
    from rich.table import Table

    table = Table(*_COLUMNS, title="Materials and sizes")
    for row in rows:
        table.add_row(*_cells(row, options.units))
    Console().print(table)


def _cells(row: dict[str, Any], units: str) -> list[str]:
    from ventroute.units import format_length

    def length(key: str) -> str:
        return "" if row[key] is None else format_length(row[key], units)

    drop = "" if row["drop_Pa"] is None else f"{row['drop_Pa']:.0f}"
    if drop and row["reference_drop_Pa"] is not None:
        drop += f" / {row['reference_drop_Pa']:.0f} Pa"
    speed = "" if row["velocity_m_s"] is None else _speed(row["velocity_m_s"], units)
    cost = "" if row["cost"] is None else f"{row['cost']:.2f}"
    because = row["because"] if row["fits"] else f"no: {row['because']}"
    return [
        row["material"], f"{row['size_in']:g} in", row["terminal"], length("equivalent_m"), length("limit_m"),
        length("margin_m"), drop, speed, cost, because,
    ]  # fmt: skip


def _speed(m_s: float, units: str) -> str:
    return f"{m_s:.1f} m/s" if units == "metric" else f"{m_s / 0.3048:.0f} ft/s"
