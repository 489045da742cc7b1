"""Rows with units in their keys as a table that people read."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from ventroute.constants import INCH_M
from ventroute.units import format_pitch, format_size, format_temperature

if TYPE_CHECKING:
    from rich.table import Table

_THIN_M = 1e-4  # below this a length is a roughness, and read in mm by everybody
_WIDE = 8  # columns beyond which a page no longer reads well beside the figures
_ENDINGS = ("_W_mK", "_per_K", "_per_L", "_degC", "_deg", "_kg_m", "_in", "_m", "_L")


def _length(metres: float, units: str) -> str:
    """A catalog measure, not rounded to a sixteenth as a saw mark is."""
    if units == "metric" or 0 < metres < _THIN_M:
        return f"{metres * 1000:.4g} mm"
    return f"{round(metres / INCH_M, 3):g} in"


_WRITERS: dict[str, Callable[[float, str], str]] = {
    "_in": lambda value, units: format_size(value),
    "_m": _length,
    "_deg": lambda value, units: f"{value:g}",
    "_degC": format_temperature,
}


def _ending(key: str) -> str:
    """The unit at the end of a key, "" where it has none."""
    return next((ending for ending in _ENDINGS if key.endswith(ending)), "")


def _heading(key: str) -> str:
    """A key as a heading; the units that are not in the cells stay in it."""
    ending = _ending(key)
    words = key.removesuffix(ending).replace("_", " ")
    unit = {"_kg_m": "kg/m", "_per_L": "per litre", "_L": "litre"}.get(ending, "USD" if key == "price" else "")
    return f"{words or 'weight'} {unit}".strip()


def _cell(key: str, value: object, units: str) -> str:
    """One value as people read it; blank where it is not known."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple | list):
        joint = " to " if key in ("span_m", "pitch") else "; " if key == "limits" else ", "
        return joint.join(_cell(key, part, units) for part in value)
    if not isinstance(value, float | int):
        return str(value)
    if key == "pitch":
        return format_pitch(value, "metric") if units == "metric" else f"{round(value * 12, 2):g}/12"
    writer = _WRITERS.get(_ending(key))
    return writer(value, units) if writer else f"{value:.6g}"


def _with_unit(row: dict[str, Any], units: str) -> dict[str, Any]:
    """A row whose unit is a cell of its own, as one value."""
    if "unit" not in row:
        return row
    value = _cell(f"value_{row['unit']}", row["value"], units)
    shown = value if row["unit"] in ("degC", "m") else f"{value} {row['unit']}".strip()
    return {**{key: cell for key, cell in row.items() if key != "unit"}, "value": shown}


def _numbered(rows: list[dict[str, Any]]) -> tuple[list[dict[str, Any]], list[str]]:
    """Rows with a number in place of their page, and the pages by number: many rows share one."""
    pages = [page for page in dict.fromkeys(row.get("page", "") for row in rows) if page]
    numbers = {page: str(number) for number, page in enumerate(pages, start=1)}
    noted = [{("note" if key == "page" else key): cell for key, cell in row.items()} for row in rows]
    for row in noted:
        row["note"] = numbers.get(row.get("note", ""), "")
    return noted, [f"{number}: {page}" for page, number in numbers.items()]


def grid(title: str, rows: list[dict[str, Any]], units: str) -> tuple[Table, list[str]]:
    """A table of rows, without columns where nothing is known, and the notes below it where it is a wide one."""
    from rich.table import Table

    notes: list[str] = []
    rows = [_with_unit(row, units) for row in rows]
    if len(_keys(rows)) > _WIDE:
        rows, notes = _numbered(rows)
    keys = _keys(rows)
    table = Table(title=title, title_justify="left")
    for key in keys:
        table.add_column(_heading(key), overflow="fold", no_wrap=key in ("item", "key", "source"))
    for row in rows:
        table.add_row(*(_cell(key, row.get(key), units) for key in keys))
    return table, notes


def _keys(rows: list[dict[str, Any]]) -> list[str]:
    """Keys that some row fills, in order."""
    keys = dict.fromkeys(key for row in rows for key in row)
    return [key for key in keys if any(row.get(key) not in (None, "", (), []) for row in rows)]
