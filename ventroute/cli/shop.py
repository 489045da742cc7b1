"""`ventroute shop`: the shopping and cut lists of a finished plan."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from ventroute.cli.options import Options

if TYPE_CHECKING:
    from ventroute.model.plan import PlannedRoute


def shop(
    plan: Annotated[Path, Parameter(help="A plan.json, with its site.toml beside it.")],
    /,
    *,
    route: Annotated[str, Parameter(help="Id of the route.")] = "1",
    have: Annotated[Path | None, Parameter(help="Parts and pipe already there: CSV or XLSX.")] = None,
    prices: Annotated[Path | None, Parameter(help="What shops ask, and what they have: CSV or XLSX.")] = None,
    options: Options | None = None,
) -> int:
    """Make the shopping and cut lists of a plan."""
    from ventroute.io.plan_file import read_plan

    options = options or Options()
    found = next((planned for planned in read_plan(plan).routes if planned.id == route), None)
    if found is None:
        return 1
    if have or prices:
        found = _again(found, plan.parent / "site.toml", have, prices)
    if options.out:
        _write(found, options)
    if options.json:
        import json

        from ventroute.io.plan_shape import to_plain

        document = {"format": 1, "shopping": to_plain(found.shopping), "cuts": to_plain(found.cuts)}
        print(json.dumps(document, indent=1, ensure_ascii=False))
    elif not options.quiet:
        from ventroute.drawing.summary import shopping_lines

        print("\n".join(shopping_lines(found, options.units)))
    return 0


def _again(planned: PlannedRoute, site: Path, have: Path | None, prices: Path | None) -> PlannedRoute:
    """The list made anew with what is at home and what shops ask."""
    from ventroute.cli.desk import open_site
    from ventroute.cli.stock import read_stock
    from ventroute.planner import bill_of

    desk = open_site(site, read_stock(have, prices))
    bill = bill_of(desk.site, desk.shop, planned.route, planned.flue)
    return replace(planned, shopping=bill.lines, cuts=bill.cuts)


def _write(planned: PlannedRoute, options: Options) -> None:
    from ventroute.io.shopping_file import cuts_csv, phone_html, shopping_csv, shopping_xlsx
    from ventroute.io.whole import write_folder

    assert options.out is not None
    files = {
        "shopping.csv": shopping_csv(planned, options.units),
        "shopping.xlsx": shopping_xlsx(planned, options.units),
        "cuts.csv": cuts_csv(planned, options.units),
        "phone.html": phone_html(planned, options.units),
    }
    write_folder(options.out, files)
