"""The materials table: one row per figure, so that each figure keeps its own source and grade."""

from __future__ import annotations

from collections.abc import Mapping

from ventroute.catalog.schema import SOURCED, Column, Row, figure
from ventroute.errors import Fault
from ventroute.model.parts import Material

MATERIALS = ("PVC", "CPVC", "ABS", "PP", "stainless")

# figure -> (its field in Material, its kind); both texts have no unit
FIGURES: Mapping[str, tuple[str, str]] = {
    "listing class": ("listing_class", "text"),
    "joint": ("joint", "text"),
    "class limit": ("class_max_degC", "temperature"),
    "service limit": ("service_max_degC", "temperature"),
    "expansion": ("expansion_per_K", "expansion"),
    "conductivity": ("conductivity_W_mK", "conductivity"),
    "emissivity": ("emissivity", "number"),
    "roughness": ("roughness_m", "length"),
}
_MAY_BE_UNKNOWN = {"listing class": "", "class limit": None, "service limit": None}
JOINTS = ("cemented", "gasketed")

COLUMNS = (
    Column("material", choices=MATERIALS),
    Column("figure", choices=tuple(FIGURES)),
    Column("value"),
    Column("unit"),
    *SOURCED,
)


def _value(row: Row) -> str | float:
    """The figure of a row in SI, or its text; ValueError says what is wrong."""
    text, kind = row.text("value"), FIGURES[row.text("figure")][1]
    if kind != "text":
        return figure(text, kind, row.text("unit"))
    if row.text("figure") == "joint" and text not in JOINTS:
        raise ValueError(f"{text!r} is not one of {', '.join(JOINTS)}")
    return text


def _material(name: str, rows: Mapping[str, Row]) -> Material:
    values = {FIGURES[key][0]: (_value(rows[key]) if key in rows else _MAY_BE_UNKNOWN[key]) for key in FIGURES}
    by_figure = tuple((FIGURES[key][0], row.evidence()) for key, row in rows.items())
    limits = [rows[key] for key in ("class limit", "service limit") if key in rows]
    return Material(name=name, evidence=limits[0].evidence(), by_figure=by_figure, **values)  # type: ignore[arg-type]


def materials(rows: tuple[Row, ...], faults: list[Fault]) -> dict[str, Material]:
    """Materials by name; what is wrong is added to `faults`."""
    own: dict[str, dict[str, Row]] = {}
    for row in rows:
        try:
            _value(row)
        except ValueError as problem:
            faults.append(row.fault("value", str(problem)))
            continue
        if row.text("figure") in own.setdefault(row.text("material"), {}):
            faults.append(row.fault("figure", f"{row.text('figure')} stands twice for {row.text('material')}"))
        own[row.text("material")].setdefault(row.text("figure"), row)
    found = {}
    for name, known in own.items():
        missing = [key for key in FIGURES if key not in known and key not in _MAY_BE_UNKNOWN]
        first = next(iter(known.values()), None)
        if first and not {"class limit", "service limit"} & known.keys():
            missing.append("class limit or service limit")
        if first and missing:
            faults.append(first.fault("material", f"{name} has no {', no '.join(missing)}"))
        elif first:
            found[name] = _material(name, known)
    return found
