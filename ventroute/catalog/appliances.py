"""Demonstration appliances: tables of a site file, each of which says that it is invented."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from types import MappingProxyType

from ventroute.catalog.materials import MATERIALS
from ventroute.catalog.sources import line_of, read_toml
from ventroute.errors import Fault
from ventroute.model.appliance import PATTERN_KEYS
from ventroute.model.source import Source

NEEDED = (
    "name",
    "fuel",
    "input",
    "category",
    "vent_style",
    "exhaust_max",
    "materials",
    "collar_size",
    "sizes",
    "source",
)
OPTIONAL = (
    "exhaust_usual",
    "collar_material",
    "pitch",
    "falls_to",
    "count",
    "mixed_sizes",
    "excess_air",
    "derate",
    "above_roof",
    "above_grade",
    "cellular_core",
)
SIZE_NEEDED = ("size", "max_length")
SIZE_OPTIONAL = (
    "min_length",
    "max_elbows",
    "elbow_90",
    "elbow_45",
    "elbow_22",
    *PATTERN_KEYS,
    "terminal",
    "reducer",
    "increaser",
)
CHOICES = {
    "fuel": ("natural gas", "propane"),
    "category": ("I", "II", "III", "IV"),
    "vent_style": ("direct", "non-direct"),
    "falls_to": ("appliance", "terminal"),
    "count": ("centreline", "pipe"),
    "mixed_sizes": ("no", "by share"),
}


def _keys(table: Mapping[str, object], needed: tuple[str, ...], optional: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for key in needed:
        if key not in table:
            yield key, "missing"
    for key in table:
        if key not in needed and key not in optional:
            yield key, "is no key of an appliance"


def appliance_faults(table: Mapping[str, object], sources: Mapping[str, Source]) -> Iterator[tuple[str, str]]:
    """Keys that are wrong, each with what is wrong. Quantities are read where a site file is read, not here."""
    yield from _keys(table, NEEDED, OPTIONAL)
    for key, choices in CHOICES.items():
        if key in table and table[key] not in choices:
            yield key, f"{table[key]!r} is not one of {', '.join(choices)}"
    if "invented" not in str(table.get("name", "")):
        yield "name", "must say that the appliance is invented"
    if table.get("source") not in sources:
        yield "source", f"{table.get('source')!r} is not in sources.toml"
    materials = table.get("materials", [])
    if not isinstance(materials, list) or any(name not in MATERIALS for name in materials):
        yield "materials", f"wants a list from {', '.join(MATERIALS)}"
    sizes = table.get("sizes", [])
    for row in sizes if isinstance(sizes, list) else [{}]:
        for key, what in _keys(row if isinstance(row, dict) else {}, SIZE_NEEDED, SIZE_OPTIONAL):
            yield "sizes", f"{key} {what}"


def read_appliances(
    folder: Path, sources: Mapping[str, Source], faults: list[Fault]
) -> Mapping[str, Mapping[str, object]]:
    """Appliances by file name, as tables of a site file; every one says that it is invented."""
    found: dict[str, Mapping[str, object]] = {}
    for path in sorted((folder / "appliances").glob("*.toml")):
        file = f"{folder.name}/appliances/{path.name}"
        table = read_toml(path, file, faults)
        for key, what in appliance_faults(table, sources) if table else ():
            faults.append(Fault(file, line_of(path, key), key, what))
        found[path.stem] = MappingProxyType(table)
    return MappingProxyType(found)
