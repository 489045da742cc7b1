"""Catalog files to nouns, every row checked. All faults are reported together, each with file and line."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import TypedDict, TypeVar

from ventroute.catalog import tables
from ventroute.catalog.appliances import read_appliances
from ventroute.catalog.materials import COLUMNS as MATERIAL_COLUMNS
from ventroute.catalog.materials import materials
from ventroute.catalog.schema import Column, Row, Value, read_table
from ventroute.catalog.sources import read_sources
from ventroute.errors import CatalogError, Fault
from ventroute.model.parts import Adjustable, Bend, Change, Coupling, Material, PipeStock, TerminalFitting
from ventroute.model.shelf import Can, Goods, Offer, Yield
from ventroute.model.source import Evidence, Source

T = TypeVar("T")


def price_key(item: str, length_m: float | None = None) -> str:
    """Key of a price: the item, with the stick's length [m] in whole millimetres where it is sold by the stick."""
    return item if length_m is None else f"{item}@{round(length_m * 1000)}"


@dataclass(frozen=True, slots=True)
class Catalog:
    """Everything the catalogs hold. ``incomplete`` are items with a figure that a route needs and nobody knows."""

    folder: Path
    sources: Mapping[str, Source]
    materials: Mapping[str, Material]
    pipes: tuple[PipeStock, ...]
    adjustables: tuple[Adjustable, ...]
    bends: tuple[Bend, ...]
    gives: Mapping[str, Evidence]  # of the give of each material's joints
    couplings: tuple[Coupling, ...]
    changes: tuple[Change, ...]
    terminals: tuple[TerminalFitting, ...]
    flashings: tuple[Goods, ...]
    hangers: tuple[Goods, ...]
    cements: tuple[Can, ...]
    joints: tuple[Yield, ...]
    sundries: tuple[Goods, ...]
    offers: tuple[Offer, ...]
    price_evidence: tuple[Evidence, ...]  # of each offer
    prices: Mapping[str, float]
    appliances: Mapping[str, Mapping[str, object]]
    incomplete: tuple[str, ...]

    def cite(self, evidence: Evidence) -> str:
        """Title and page of a citation, for people."""
        source = self.sources.get(evidence.source)
        title = source.title if source else evidence.source
        return f"{title}, {evidence.page}" if evidence.page else title


@dataclass(slots=True)
class _Reader:
    """Reads the tables of one folder and gathers what is wrong with them."""

    folder: Path
    sources: Mapping[str, Source]
    faults: list[Fault]
    items: dict[str, Row] = field(default_factory=dict)
    seen: dict[tuple[tuple[str, ...], tuple[Value, ...]], Row] = field(default_factory=dict)

    def rows(self, name: str, columns: tuple[Column, ...]) -> tuple[Row, ...]:
        """Checked rows of a table, each with a source that exists."""
        file = f"{self.folder.name}/{name}"
        rows = read_table(self.folder / name, file, columns, self.faults)
        for row in rows:
            if row.text("source") not in self.sources:
                self.faults.append(row.fault("source", f"{row.text('source')!r} is not in sources.toml"))
        return rows

    def fittings(self, name: str) -> tuple[Row, ...]:
        """Rows of a table in ``fittings/``; an item stands once in all of them."""
        rows = self.rows(f"fittings/{name}.csv", tables.COLUMNS[name])
        for row in rows:
            self.once(row, tables.IDENTITY.get(name, ("item",)))
            if "item" in row.values:
                self.items.setdefault(row.text("item"), row)
        return rows

    def once(self, row: Row, columns: tuple[str, ...]) -> None:
        """Two rows known by the same are a fault: nobody could say which holds."""
        key = tuple(row.values[column] for column in columns)
        first = self.seen.setdefault((columns, key), row)
        if columns and first is not row:
            words = " ".join(f"{part:g}" if isinstance(part, float) else str(part) for part in key)
            self.faults.append(row.fault(columns[0], f"{words!r} stands already at {first.file}:{first.line}"))

    def made(self, name: str, make: Callable[[Row], T]) -> tuple[T, ...]:
        """What the rows of a table in ``fittings/`` become."""
        return tuple(make(row) for row in self.fittings(name))


def _bends(reader: _Reader, rows: tuple[Row, ...], gives: Mapping[str, Row]) -> tuple[Bend, ...]:
    """Bends whose measures are all known."""
    found = []
    for row in rows:
        if row.text("material") not in gives:
            reader.faults.append(row.fault("material", f"{row.text('material')} has no row in give.csv"))
        elif (row.text("ends") == "street") != (row.maybe("spigot") is not None):
            reader.faults.append(row.fault("spigot", "a street bend has one, a hub x hub bend has none"))
        elif bend := tables.bend(row, gives[row.text("material")].figure("give")):
            found.append(bend)
            reader.once(row, tables.BEND_KEY)
    return tuple(found)


def _check_geometry(
    reader: _Reader, pipes: Iterable[PipeStock], hubs: Iterable[Bend | Coupling], changes: Iterable[Change]
) -> None:
    """Bores inside walls, hubs outside pipes, changes that change what they say."""
    od_m: dict[tuple[str, float], float] = {}
    for pipe in pipes:
        od_m[pipe.material, pipe.size_in] = pipe.od_m
        if pipe.bore_m >= pipe.od_m:
            reader.faults.append(reader.items[pipe.item].fault("bore", "must be less than od"))
    for hub in hubs:
        if hub.hub_od_m <= od_m.get((hub.material, hub.size_in), float("inf")):
            what = "must exceed the outside diameter of a pipe of this material and size in pipes.csv"
            reader.faults.append(reader.items[hub.item].fault("hub_od", what))
    for change in changes:
        steps = {
            "increaser": change.to_size_in > change.from_size_in,
            "reducer": change.to_size_in < change.from_size_in,
        }
        same = change.from_material == change.to_material
        if not (steps[change.kind] and same if change.kind in steps else not same):
            reader.faults.append(
                reader.items[change.item].fault("kind", f"sizes and materials are not those of a {change.kind}")
            )


def _adjustables(reader: _Reader, pipes: Iterable[PipeStock]) -> tuple[Adjustable, ...]:
    """Adjustable lengths, each of pipe that is not sawn."""
    found = reader.made("adjustables", tables.adjustable)
    uncut = {(pipe.material, pipe.size_in) for pipe in pipes if not pipe.can_be_cut}
    for row in found:
        if row.most_m <= row.least_m:
            reader.faults.append(reader.items[row.item].fault("most", "must exceed the least"))
        if (row.material, row.size_in) not in uncut:
            what = "no pipe of this material and size in pipes.csv that is not cut"
            reader.faults.append(reader.items[row.item].fault("size", what))
    return found


def _offers(reader: _Reader, pipes: Iterable[PipeStock]) -> tuple[tuple[Offer, Evidence], ...]:
    """Prices, each of an item that exists, and of a length that is sold."""
    rows = reader.rows("prices.csv", tables.PRICE_COLUMNS)
    if reader.faults:
        return ()  # a row that is wrong elsewhere has no item here: one fault is enough
    lengths = {pipe.item: {price_key(pipe.item, length) for length in pipe.stick_m} for pipe in pipes}
    found = []
    for row in rows:
        offer = tables.offer(row)
        reader.once(row, ("item", "length"))
        if offer.item not in reader.items:
            reader.faults.append(row.fault("item", f"no item {offer.item!r} in the catalogs"))
        elif offer.item in lengths and price_key(offer.item, offer.length_m) not in lengths[offer.item]:
            reader.faults.append(row.fault("length", f"{offer.item} is not sold in this length"))
        else:
            found.append((offer, row.evidence()))
    return tuple(found)


class _Bought(TypedDict):
    terminals: tuple[TerminalFitting, ...]
    flashings: tuple[Goods, ...]
    hangers: tuple[Goods, ...]
    cements: tuple[Can, ...]
    joints: tuple[Yield, ...]
    sundries: tuple[Goods, ...]


def _bought(reader: _Reader) -> _Bought:
    """What a route needs besides pipe and fittings."""
    return {
        "terminals": reader.made("terminals", tables.terminal),
        "flashings": reader.made("flashings", tables.goods),
        "hangers": reader.made("hangers", lambda row: tables.goods(row, "hanger")),
        "cements": reader.made("cements", tables.can),
        "joints": reader.made("joints", tables.joint_yield),
        "sundries": reader.made("sundries", tables.goods),
    }


def load(folder: Path) -> Catalog:
    """Everything in a catalogs folder.

    Raises
    ------
    CatalogError
        Something is wrong; every fault is named as ``file:line: column: what``.
    """
    faults: list[Fault] = []
    reader = _Reader(folder, read_sources(folder, faults), faults)
    pipes = reader.made("pipes", tables.pipe)
    bend_rows = reader.fittings("bends")
    gives = {row.text("material"): row for row in reader.fittings("give")}
    bends = _bends(reader, bend_rows, gives)
    adjustables = _adjustables(reader, pipes)
    couplings = reader.made("couplings", tables.coupling)
    changes = reader.made("changes", tables.change)
    _check_geometry(reader, pipes, (*bends, *couplings), changes)
    bought = _bought(reader)
    offers = _offers(reader, pipes)
    known = {bend.item for bend in bends}
    catalog = Catalog(
        folder=folder,
        sources=reader.sources,
        materials=MappingProxyType(materials(reader.rows("materials.csv", MATERIAL_COLUMNS), faults)),
        pipes=pipes,
        adjustables=adjustables,
        bends=bends,
        gives=MappingProxyType({name: row.evidence() for name, row in gives.items()}),
        couplings=couplings,
        changes=changes,
        **bought,
        offers=tuple(offer for offer, _ in offers),
        price_evidence=tuple(evidence for _, evidence in offers),
        prices=MappingProxyType({price_key(offer.item, offer.length_m): offer.price or 0.0 for offer, _ in offers}),
        appliances=read_appliances(folder, reader.sources, faults),
        incomplete=tuple(row.text("item") for row in bend_rows if row.text("item") not in known),
    )
    if faults:
        raise CatalogError("\n".join(str(fault) for fault in sorted(faults)))
    return catalog
