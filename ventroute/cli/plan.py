"""`ventroute plan` and `ventroute demo`."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from ventroute.cli.options import Have, Options, Prices, refuse_file

DEMOS = ("alder-cottage", "mill-row", "harbour-house")


def plan(
    site: Annotated[Path, Parameter(help="The site file.")],
    /,
    *,
    have: Have = None,
    prices: Prices = None,
    options: Options | None = None,
) -> int:
    """Find routes for the house in a site file."""
    from ventroute.cli.desk import open_site
    from ventroute.cli.stock import read_stock
    from ventroute.planner import plan as make_plan

    options = options or Options()
    refuse_file(options.out)
    desk = open_site(site, read_stock(have, prices))
    result = make_plan(desk.site, desk.building, desk.shop, _progress(options))
    if not result.routes:
        from ventroute.mending import mends

        result = replace(result, mends=mends(desk.site, desk.shop))
    return finish(desk, result, options)


def demo(
    name: Annotated[str, Parameter(help=f"One of {', '.join(DEMOS)}.")] = DEMOS[0],
    /,
    *,
    options: Options | None = None,
) -> int:
    """Plan a packaged example, end to end."""
    from ventroute.catalog.paths import catalogs_folder
    from ventroute.errors import VentrouteError

    if name not in DEMOS:
        raise VentrouteError(f'no demo "{name}"; one of {", ".join(DEMOS)} is wanted')
    return plan(catalogs_folder() / "sites" / f"{name}.toml", options=options)


def finish(desk: object, result: object, options: Options) -> int:
    """Write, print, and say whether there is a route."""
    from ventroute.cli.desk import Desk
    from ventroute.cli.export import export
    from ventroute.io.plan_file import plan_json
    from ventroute.model.plan import Plan

    assert isinstance(desk, Desk)
    assert isinstance(result, Plan)
    if options.out:
        export(desk, result, options)
    if options.json:
        print(plan_json(result), end="")
    elif not options.quiet:
        from ventroute.cli.show_plan import show_plan

        show_plan(desk, result, options)
    return 0 if result.routes else 1


def _progress(options: Options):  # type: ignore[no-untyped-def]
    """One line on the terminal that says what is being worked on."""
    if options.quiet or options.json or not sys.stderr.isatty():
        return lambda _: None

    def show(what: str) -> None:
        print(f"\r\033[K{what} ...", end="", file=sys.stderr, flush=True)

    return show
