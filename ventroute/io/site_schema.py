"""The JSON Schema of a site file, so that an editor completes and checks one.

The shapes give it, but for one thing: how large a bare length may be depends on the file's unit. So below the tables
stand the same limits once for each unit, in force where the file names it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ventroute.io.site_fields import RANGE
from ventroute.io.site_shape import SiteShape
from ventroute.io.site_words import UNITS
from ventroute.units import METRES

Schema = dict[str, Any]


def json_schema() -> Schema:
    """The schema, draft 2020-12."""
    shapes = SiteShape.model_json_schema()
    limits = [{"if": _file_in(unit), "then": _limits(shapes, unit, shapes["$defs"])} for unit in UNITS]
    dialect = "https://json-schema.org/draft/2020-12/schema"
    return {"$schema": dialect, **_without_ranges(shapes), "allOf": limits}


def _file_in(unit: str) -> Schema:
    """A file whose bare numbers are in a unit; the first of all is meant where none is named."""
    named: Schema = {"properties": {"units": {"const": unit}}}
    return named if unit == UNITS[0] else {**named, "required": ["units"]}


def _without_ranges(node: Any) -> Any:
    if isinstance(node, Mapping):
        return {key: _without_ranges(value) for key, value in node.items() if key != RANGE}
    return [_without_ranges(part) for part in node] if isinstance(node, list) else node


def _limits(node: Mapping[str, Any], unit: str, tables: Mapping[str, Any]) -> Schema:
    """What a shape says of bare lengths in a unit, and nothing else; empty where it has none."""
    if RANGE in node:
        least_m, most_m, above = node[RANGE]
        return _bounds(least_m, most_m, above, unit)
    if "$ref" in node:
        return _limits(tables[node["$ref"].rsplit("/", 1)[1]], unit, tables)
    found: Schema = {}
    for part in node.get("anyOf", ()):  # a shape or nothing
        found |= _limits(part, unit, tables)
    below = {key: _limits(part, unit, tables) for key, part in node.get("properties", {}).items()}
    if below := {key: limits for key, limits in below.items() if limits}:
        found["properties"] = below
    items = [node["items"]] if "items" in node else node.get("prefixItems", [])[:1]  # items of a list are alike
    if items and (limits := _limits(items[0], unit, tables)):
        found["items"] = limits
    return found


def _bounds(least_m: float, most_m: float, above: bool, unit: str) -> Schema:
    """Bounds in a unit; they hold for numbers, and pass over text."""
    least, most = (metres / float(METRES[unit]) for metres in (least_m, most_m))
    return {"exclusiveMinimum" if above else "minimum": least, "maximum": most}
