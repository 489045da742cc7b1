"""`ventroute sizes`: what fits in each material and size, by how much, and why not."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from cyclopts import Parameter

from ventroute.cli.options import Have, Options, Prices, refuse_file

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
_WIDE = 120  # columns below which the table is told in sentences


def sizes(
    site: Annotated[Path, Parameter(help="The site file.")],
    /,
    *,
    have: Have = None,
    prices: Prices = None,
    options: Options | None = None,
) -> int:
    """Show what fits in each material and size, by how much, and why not."""
    import json

    from ventroute.cli.desk import open_site
    from ventroute.cli.stock import read_stock
    from ventroute.drawing.retold import retold
    from ventroute.planner import plan
    from ventroute.sizing import size_rows

    options = options or Options()
    refuse_file(options.out)
    desk = open_site(site, read_stock(have, prices))
    result = plan(desk.site, desk.building, desk.shop)
    rows = size_rows(result if options.json else retold(result, options.units), desk.site, desk.shop)
    if options.out:
        from ventroute.cli.export import export

        export(desk, result, options)
    if options.json:
        print(json.dumps({"format": 1, "site": result.site, "sizes": rows}, indent=1, ensure_ascii=False))
    elif not options.quiet:
        _show(rows, options)
    return 0 if result.routes else 1


def _show(rows: list[dict[str, Any]], options: Options) -> None:
    from rich.console import Console
    from rich.table import Table

    console = Console()
    if console.width < _WIDE:
        for row in rows:
            said = (
                f"{name} {cell}"
                for name, cell in zip(_COLUMNS[3:], _cells(row, options.units)[3:], strict=True)
                if cell
            )
            name = f"{_size(row, options.units)} {row['material']} to the {row['terminal']}:"
            console.print(name, "; ".join(said))
        return
    table = Table(*_COLUMNS, title="Materials and sizes")
    for row in rows:
        table.add_row(*_cells(row, options.units))
    console.print(table)


def _cells(row: dict[str, Any], units: str) -> list[str]:
    from ventroute.units import format_length

    def length(key: str) -> str:
        return "" if row[key] is None else format_length(row[key], units)

    drop = "-" if row["drop_Pa"] is None else f"{row['drop_Pa']:.0f}"
    drop = "" if row["reference_drop_Pa"] is None else f"{drop} / {row['reference_drop_Pa']:.0f} Pa"
    speed = "" if row["velocity_m_s"] is None else _speed(row["velocity_m_s"], units)
    cost = "" if row["cost"] is None else f"{row['cost']:.2f}"
    because = row["because"] if row["fits"] else f"no: {row['because']}"
    return [
        row["material"], _size(row, units), row["terminal"], length("equivalent_m"), length("limit_m"),
        length("margin_m"), drop, speed, cost, because,
    ]  # fmt: skip


def _size(row: dict[str, Any], units: str) -> str:
    """Its size, after the one it grows from."""
    from ventroute.units import format_size

    sizes = [row[key] for key in ("grows_from_in", "size_in") if key in row]
    return ", then ".join(format_size(size, row["material"], units) for size in sizes)


def _speed(m_s: float, units: str) -> str:
    return f"{m_s:.1f} m/s" if units == "metric" else f"{m_s / 0.3048:.0f} ft/s"
