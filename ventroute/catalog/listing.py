"""The catalogs as plain rows, each with its source and grade, for people and for programs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from ventroute.catalog.load import Catalog
from ventroute.catalog.materials import FIGURES
from ventroute.model.source import Evidence

Record = dict[str, Any]
"""A row: SI, with the unit in the key, then ``source``, ``page`` and ``grade``."""

UNIT_SI = {
    "text": "",
    "number": "",
    "temperature": "degC",
    "expansion": "1/K",
    "conductivity": "W/(m K)",
    "length": "m",
}
_UNUSED = ("price",)  # of goods: prices are a table of their own


def evidence_record(evidence: Evidence | None) -> Record:
    """Source, page and grade as the last cells of a row."""
    if evidence is None:
        return {"source": "", "page": "", "grade": ""}
    return {"source": evidence.source, "page": evidence.page, "grade": evidence.grade.value}


def record(noun: object) -> Record:
    """A frozen noun as a row."""
    assert is_dataclass(noun)
    cells = {f.name: getattr(noun, f.name) for f in fields(noun) if f.name not in ("evidence", *_UNUSED)}
    evidence = getattr(noun, "evidence", None)
    return {**cells, **(evidence_record(evidence) if hasattr(noun, "evidence") else {})}


def _materials(catalog: Catalog) -> list[Record]:
    """One row to a figure, as in the file: each has its own evidence."""
    named = {field: (figure, UNIT_SI[kind]) for figure, (field, kind) in FIGURES.items()}
    return [
        {
            "material": name,
            "figure": named[field][0],
            "value": getattr(material, field),
            "unit": named[field][1],
            **evidence_record(evidence),
        }
        for name, material in catalog.materials.items()
        for field, evidence in material.by_figure
    ]


def _gives(catalog: Catalog) -> list[Record]:
    give_deg = {bend.material: bend.give_deg for bend in catalog.bends}
    return [
        {"material": name, "give_deg": give_deg.get(name), **evidence_record(evidence)}
        for name, evidence in catalog.gives.items()
    ]


def _prices(catalog: Catalog) -> list[Record]:
    return [
        {"item": offer.item, "length_m": offer.length_m, "price": offer.price, **evidence_record(evidence)}
        for offer, evidence in zip(catalog.offers, catalog.price_evidence, strict=True)
    ]


def _appliances(catalog: Catalog) -> list[Record]:
    shown = ("name", "category", "input", "exhaust_max", "materials")
    return [
        {"model": model, **{key: table[key] for key in shown}, "sizes": [row["size"] for row in _size_rows(table)],
         "source": table["source"], "page": "", "grade": "invented"}
        for model, table in catalog.appliances.items()
    ]  # fmt: skip


def _size_rows(table: Mapping[str, object]) -> list[Mapping[str, object]]:
    rows = table["sizes"]
    assert isinstance(rows, list)
    return rows


def _plain(name: str) -> Callable[[Catalog], list[Record]]:
    """A table whose nouns are rows as they stand."""
    return lambda catalog: [record(noun) for noun in getattr(catalog, name)]


_TABLES: Mapping[str, Callable[[Catalog], list[Record]]] = {
    "sources": lambda catalog: [record(source) for source in catalog.sources.values()],
    "materials": _materials,
    **{name: _plain(name) for name in ("pipes", "adjustables", "bends", "couplings", "changes", "terminals")},
    "gives": _gives,
    **{name: _plain(name) for name in ("flashings", "hangers", "cements", "joints", "sundries")},
    "prices": _prices,
    "appliances": _appliances,
}
KINDS = tuple(_TABLES)


def listing(catalog: Catalog, kind: str) -> list[Record]:
    """Every row of one of `KINDS`, in the order of its file."""
    return _TABLES[kind](catalog)
