"""`ventroute shop`: the shopping and cut lists of a finished plan."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from ventroute.cli.options import Have, Options, Prices

if TYPE_CHECKING:
    from ventroute.model.plan import Plan, PlannedRoute

_FILES = (".csv", ".xlsx", ".html")
_NOT_FILES = (".pdf", ".json", ".txt", ".tsv", ".xls", ".ods", ".htm", ".svg", ".dxf")  # no folder is called so


def shop(
    plan: Annotated[Path, Parameter(help="A plan.json, with its site.toml beside it.")],
    /,
    *,
    route: Annotated[str, Parameter(help="Id of the route; default: the first, which is the best.")] = "",
    have: Have = None,
    prices: Prices = None,
    options: Options | None = None,
) -> int:
    """Make the shopping and cut lists of a plan. --out takes a folder, or one file: .csv, .xlsx or .html."""
    from ventroute.drawing.retold import retold_route
    from ventroute.io.plan_file import read_plan

    options = options or Options()
    _refuse(options.out)
    read = read_plan(plan)
    if not read.routes:
        print(f"ventroute: {plan} has no route, so there is nothing to buy", file=sys.stderr)
        return 1
    found = _chosen(read, route, str(plan))
    routes = list(read.routes)
    if have or prices:
        routes = _again(routes, plan.parent / "site.toml", have, prices)
        found = next(planned for planned in routes if planned.id == found.id)
    shown = retold_route(found, options.units)
    if options.out:
        _write(shown, options.out, options.units)
    if options.json:
        print(_document(found, routes))
    elif not options.quiet:
        from ventroute.drawing.summary import cost_lines, shopping_lines

        print("\n".join([*shopping_lines(shown, options.units), "", *cost_lines(routes, options.units)]))
    return 0


def _refuse(out: Path | None) -> None:
    """Before any work: a file of a kind that is not made here."""
    from ventroute.errors import VentrouteError

    if out is None or out.is_dir():
        return
    if out.suffix.lower() in _NOT_FILES or (out.exists() and out.suffix.lower() not in _FILES):
        raise VentrouteError(f"{out}: --out wants a folder, or a file that ends in {', '.join(_FILES)}")


def _chosen(plan: Plan, route: str, file: str) -> PlannedRoute:
    """The route that was named, or the best."""
    from ventroute.errors import Fault, InputError

    if not route:
        return plan.routes[0]
    found = next((planned for planned in plan.routes if planned.id == route), None)
    if found is None:
        ids = ", ".join(planned.id for planned in plan.routes)
        raise InputError([Fault(file, 1, "routes", f'no route "{route}"; the plan has {ids}')])
    return found


def _again(routes: list[PlannedRoute], site: Path, have: Path | None, prices: Path | None) -> list[PlannedRoute]:
    """The lists made anew with what is at home and what shops ask; a route that cannot be had is an error."""
    from ventroute.cli.desk import open_site
    from ventroute.cli.stock import read_stock
    from ventroute.planner import bill_of

    desk = open_site(site, read_stock(have, prices))
    out = []
    for planned in routes:
        bill = bill_of(desk.site, desk.shop, planned.route, planned.flue, planned.findings)
        new = sum(cut.cost for cut in desk.site.cuts if any(c.name == cut.name for c in planned.route.crossings))
        out.append(replace(planned, shopping=bill.lines, cuts=bill.cuts, cost=round(bill.cost + new, 2)))
    return out


def _document(planned: PlannedRoute, routes: list[PlannedRoute]) -> str:
    import json

    from ventroute.io.plan_file import FORMAT
    from ventroute.io.plan_shape import to_plain

    document = {
        "format": FORMAT,
        "route": planned.id,
        "shopping": to_plain(planned.shopping),
        "cuts": to_plain(planned.cuts),
        "cost": round(sum(line.cost or 0.0 for line in planned.shopping), 2),
        "without_price": [line.item for line in planned.shopping if line.cost is None],
        "routes": [{"id": other.id, "cost": other.cost} for other in routes],
    }
    return json.dumps(document, indent=1, ensure_ascii=False)


def _write(planned: PlannedRoute, out: Path, units: str) -> None:
    from ventroute.drawing.assembly import steps
    from ventroute.io.shopping_file import cuts_csv, phone_html, shopping_csv, shopping_xlsx
    from ventroute.io.whole import write_folder, write_whole

    def phone(planned: PlannedRoute, units: str) -> bytes:
        return phone_html(planned, units, steps(planned.route, units))

    if out.suffix.lower() in _FILES and not out.is_dir():
        make = {".csv": shopping_csv, ".xlsx": shopping_xlsx, ".html": phone}[out.suffix.lower()]
        write_whole(out, make(planned, units))
        return
    files = {
        "shopping.csv": shopping_csv(planned, units),
        "shopping.xlsx": shopping_xlsx(planned, units),
        "cuts.csv": cuts_csv(planned, units),
        "phone.html": phone(planned, units),
    }
    write_folder(out, files)
