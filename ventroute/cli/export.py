"""The folder that `--out` fills."""

from __future__ import annotations

from ventroute.cli.desk import Desk
from ventroute.cli.options import Options
from ventroute.layout.zone import Zone
from ventroute.model.plan import Plan, PlannedRoute


def export(desk: Desk, plan: Plan, options: Options) -> None:
    """Write everything about a plan into one folder, each file whole.

    Raises
    ------
    OSError
        The folder cannot be written.
    """
    from ventroute.io.whole import write_folder

    assert options.out is not None
    write_folder(options.out, contents(desk, plan, options.units))


def zones_of(desk: Desk, planned: PlannedRoute | None) -> tuple[Zone, ...]:
    """Forbidden termination zones of a route's kind and pipe."""
    from ventroute.rules.zones import terminal_zones

    if planned is None:
        return ()
    route = planned.route
    return terminal_zones(desk.site, desk.building, desk.shop.pack, route.terminal_kind, route.kit.pipe.od_m / 2)


def contents(desk: Desk, plan: Plan, units: str) -> dict[str, bytes]:
    """Files by name."""
    from ventroute.drawing.assembly import steps
    from ventroute.drawing.retold import retold
    from ventroute.drawing.sheet import sheet_pdf
    from ventroute.io.plan_file import plan_json
    from ventroute.io.shopping_file import cuts_csv, phone_html, shopping_csv, shopping_xlsx
    from ventroute.rules.cautions import cautions

    files = {"plan.json": plan_json(plan).encode(), "site.toml": desk.text.encode()}
    plan = retold(plan, units)
    best = plan.routes[0] if plan.routes else None
    zones = zones_of(desk, best)
    said = cautions(desk.shop.pack)
    if best is not None:
        files["shopping.csv"] = shopping_csv(best, units)
        files["shopping.xlsx"] = shopping_xlsx(best, units)
        files["cuts.csv"] = cuts_csv(best, units)
        files["phone.html"] = phone_html(best, units, steps(best.route, units))
    drawings = _drawings(desk, plan, zones, units)
    files |= {name: data for name, data in drawings.items() if name.startswith("route-")}
    files |= _page(desk, plan, zones, {n: d for n, d in drawings.items() if n.endswith(".svg")}, said, units)
    sources = {**desk.shop.catalog.sources, **desk.shop.pack.sources}
    files["sheet.pdf"] = sheet_pdf(plan, desk.site, desk.building, zones, said, sources, "letter", units)
    files["sheet-a4.pdf"] = sheet_pdf(plan, desk.site, desk.building, zones, said, sources, "a4", units)
    return files


def _drawings(desk: Desk, plan: Plan, zones: tuple[Zone, ...], units: str) -> dict[str, bytes]:
    from ventroute.drawing.dxf import to_dxf
    from ventroute.drawing.graph import flue_graph
    from ventroute.drawing.isometric import isometric
    from ventroute.drawing.outside import outside_sketch
    from ventroute.drawing.svg import to_svg

    out: dict[str, bytes] = {}
    for planned in plan.routes:
        drawing = isometric(planned, desk.site, units)
        out[f"route-{planned.id}.svg"] = to_svg(drawing)
        out[f"route-{planned.id}.dxf"] = to_dxf(drawing)
        graph = flue_graph(planned, units)
        if graph is not None:
            out[f"route-{planned.id}-flue.svg"] = to_svg(graph)
    if plan.routes:
        out["outside.svg"] = to_svg(outside_sketch(plan.routes[0], desk.building, zones, units))
    return out


def _page(
    desk: Desk, plan: Plan, zones: tuple[Zone, ...], drawings: dict[str, bytes], said: tuple[str, ...], units: str
) -> dict[str, bytes]:
    """The report and the model: what needs the viewer."""
    from importlib import import_module

    shapes = import_module("ventroute.viewer.scene").scene(desk.site, desk.building, plan, zones, units)
    report = import_module("ventroute.viewer.report").report_html(plan, desk.site, shapes, drawings, said, units)
    return {"report.html": report, "model.glb": import_module("ventroute.viewer.glb").glb(shapes)}
