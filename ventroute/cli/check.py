"""`ventroute check`: a drawn route or a finished plan against the rules, without the solver."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from ventroute.cli.options import Options, refuse_file
from ventroute.errors import InputError

if TYPE_CHECKING:
    from ventroute.cli.desk import Desk
    from ventroute.model.plan import Finding
    from ventroute.model.route import Route


def check(
    site: Annotated[Path, Parameter(help="The site file.")],
    route: Annotated[Path, Parameter(help="A route file (TOML), or a plan.json.")],
    /,
    *,
    options: Options | None = None,
) -> int:
    """Judge a route that somebody drew, or every route of a plan."""
    import json

    from ventroute.cli.desk import open_site

    options = options or Options()
    refuse_file(options.out)
    desk = open_site(site)
    results = [(name, found, _findings(desk, found)) for name, found in _routes(desk, route)]
    document = {"format": 1, "site": desk.site.name, "routes": _document(results)}
    said = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
    if options.out:
        from ventroute.io.whole import write_folder

        write_folder(options.out, {"check.json": said.encode()})
    if options.json:
        print(said, end="")
    elif not options.quiet:
        _show(desk, results, options)
    return 1 if any(f.verdict == "fail" for _, _, findings in results for f in findings) or not results else 0


def _routes(desk: Desk, path: Path) -> list[tuple[str, Route]]:
    if path.suffix.lower() == ".json":
        return _planned(desk, path)
    from ventroute.drawn import drawn_route
    from ventroute.io.route_file import read_route_text, route_faults
    from ventroute.io.site_text import read_text

    text = read_text(path)
    drawn = read_route_text(text, str(path), desk.site)
    try:
        return [("drawn", drawn_route(desk.site, desk.building, desk.shop, drawn))]
    except InputError as error:
        raise route_faults(text, str(path), error.faults) from None


def _planned(desk: Desk, path: Path) -> list[tuple[str, Route]]:
    """Routes of a plan, in parts of the catalog."""
    from ventroute.io.plan_file import plan_faults, read_plan
    from ventroute.whole_route import with_catalog_kit

    found = [(r.id, with_catalog_kit(r.route, desk.site, desk.shop.catalog)) for r in read_plan(path).routes]
    unknown = [(f"routes[{n}].kit", what) for n, (_, what) in enumerate(found, 1) if isinstance(what, str)]
    if unknown:
        raise plan_faults(path, unknown)
    return [(name, route) for name, route in found if not isinstance(route, str)]


def _findings(desk: Desk, route: Route) -> tuple[Finding, ...]:
    from ventroute.planner import judged

    return judged(desk.site, desk.building, desk.shop, route)


def _document(results: list[tuple[str, Route, tuple[Finding, ...]]]) -> list[dict[str, Any]]:
    from ventroute.io.plan_shape import to_plain

    return [
        {
            "id": name,
            "equivalent_m": route.equivalent_m,
            "verdict": worst(findings),
            "findings": [to_plain(finding) for finding in findings],
        }
        for name, route, findings in results
    ]


def worst(findings: tuple[Finding, ...]) -> str:
    """fail, ask or pass: the worst verdict."""
    verdicts = {finding.verdict.value for finding in findings}
    return next((v for v in ("fail", "ask") if v in verdicts), "pass")


def _show(desk: Desk, results: list[tuple[str, Route, tuple[Finding, ...]]], options: Options) -> None:
    from ventroute.drawing.retold import retold_findings
    from ventroute.drawing.summary import findings_lines
    from ventroute.drawing.words import route_title
    from ventroute.rules.cautions import cautions

    for name, route, findings in results:
        print(f"Route {name}: {route_title(route, options.units)}: {worst(findings)}")
        for line in findings_lines(retold_findings(findings, route, options.units), options.units):
            print(line)
    print("\nCautions")
    for n, caution in enumerate(cautions(desk.shop.pack), 1):
        print(f"  {n:>2}. {caution}")
