"""Catalog files to nouns, every row checked. All faults are reported together, each with file and line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from ventroute.catalog import tables
from ventroute.catalog.appliances import appliance_faults
from ventroute.catalog.materials import COLUMNS as MATERIAL_COLUMNS
from ventroute.catalog.materials import materials
from ventroute.catalog.schema import Column, Row, read_table
from ventroute.errors import CatalogError, Fault
from ventroute.model.parts import Bend, Change, Coupling, Material, PipeStock, TerminalFitting
from ventroute.model.shelf import Can, Goods, Offer, Spacing, Yield
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
    bends: tuple[Bend, ...]
    gives: Mapping[str, Evidence]  # of the give of each material's joints
    couplings: tuple[Coupling, ...]
    changes: tuple[Change, ...]
    terminals: tuple[TerminalFitting, ...]
    flashings: tuple[Goods, ...]
    hangers: tuple[Goods, ...]
    cements: tuple[Can, ...]
    joints: tuple[Yield, ...]
    spacings: tuple[Spacing, ...]
    sundries: tuple[Goods, ...]
    offers: tuple[Offer, ...]
    prices: Mapping[str, float]
    appliances: Mapping[str, Mapping[str, object]]
    incomplete: tuple[str, ...]


@dataclass(slots=True)
class _Reader:
    """Reads the tables of one folder and gathers what is wrong with them."""

    folder: Path
    faults: list[Fault]
    items: dict[str, Row]

    def rows(self, name: str, columns: tuple[Column, ...], sources: Mapping[str, Source]) -> tuple[Row, ...]:
        file = f"{self.folder.name}/{name}"
        rows = read_table(self.folder / name, file, columns, self.faults)
        for row in rows:
            if row.text("source") not in sources:
                self.faults.append(row.fault("source", f"{row.text('source')!r} is not in sources.toml"))
        return rows

    def fittings(self, name: str, sources: Mapping[str, Source]) -> tuple[Row, ...]:
        rows = self.rows(f"fittings/{name}.csv", tables.COLUMNS[name], sources)
        for row in rows:
            item = row.text("item") if "item" in row.values else ""
            if item and item in self.items:
                first = self.items[item]
                self.faults.append(row.fault("item", f"{item!r} stands already at {first.file}:{first.line}"))
            elif item:
                self.items[item] = row
        return rows

    def made(self, name: str, sources: Mapping[str, Source], make: Callable[[Row], T]) -> tuple[T, ...]:
        return tuple(make(row) for row in self.fittings(name, sources))


def _toml(path: Path, file: str, faults: list[Fault]) -> dict[str, object]:
    """A TOML file, empty where it cannot be read."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        line = re.search(r"line (\d+)", str(problem))
        faults.append(Fault(file, int(line[1]) if line else 1, "", f"cannot be read: {problem}"))
        return {}


def _line_of(path: Path, key: str) -> int:
    """Line of a TOML file where a key or a table header first stands, 1 where it does not."""
    pattern = re.compile(rf"\s*\[?\[?{re.escape(key)}\b")
    lines = path.read_text(encoding="utf-8").splitlines()
    return next((number for number, line in enumerate(lines, start=1) if pattern.match(line)), 1)


def _sources(folder: Path, faults: list[Fault]) -> Mapping[str, Source]:
    file = f"{folder.name}/sources.toml"
    wanted = ("title", "edition", "date", "licence", "reader")
    found: dict[str, Source] = {}
    for key, table in _toml(folder / "sources.toml", file, faults).items():
        texts = table if isinstance(table, dict) else {}
        if set(texts) != set(wanted) or not all(isinstance(text, str) for text in texts.values()) or not texts["title"]:
            line = _line_of(folder / "sources.toml", key)
            faults.append(Fault(file, line, key, f"wants the texts {', '.join(wanted)}, and a title that is not blank"))
        else:
            found[key] = Source(key, *(str(texts[name]) for name in wanted))
    return MappingProxyType(found)


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


def _offers(reader: _Reader, sources: Mapping[str, Source], pipes: Iterable[PipeStock]) -> tuple[Offer, ...]:
    """Prices, each of an item that exists, and of a length that is sold."""
    lengths = {pipe.item: {price_key(pipe.item, length) for length in pipe.stick_m} for pipe in pipes}
    found = []
    for row in reader.rows("prices.csv", tables.PRICE_COLUMNS, sources):
        offer = tables.offer(row)
        if offer.item not in reader.items:
            reader.faults.append(row.fault("item", f"no item {offer.item!r} in the catalogs"))
        elif offer.item in lengths and price_key(offer.item, offer.length_m) not in lengths[offer.item]:
            reader.faults.append(row.fault("length", f"{offer.item} is not sold in this length"))
        else:
            found.append(offer)
    return tuple(found)


def _appliances(folder: Path, sources: Mapping[str, Source], faults: list[Fault]) -> Mapping[str, Mapping[str, object]]:
    """Appliances by file name, as tables of a site file; every one says that it is invented."""
    found: dict[str, Mapping[str, object]] = {}
    for path in sorted((folder / "appliances").glob("*.toml")):
        file = f"{folder.name}/appliances/{path.name}"
        table = _toml(path, file, faults)
        for key, what in appliance_faults(table, sources) if table else ():
            faults.append(Fault(file, _line_of(path, key), key, what))
        found[path.stem] = MappingProxyType(table)
    return MappingProxyType(found)


def load(folder: Path) -> Catalog:
    """Everything in a catalogs folder.

    Raises
    ------
    CatalogError
        Something is wrong; every fault is named as ``file:line: column: what``.
    """
    faults: list[Fault] = []
    sources = _sources(folder, faults)
    reader = _Reader(folder, faults, {})
    pipes = reader.made("pipes", sources, tables.pipe)
    bend_rows = reader.fittings("bends", sources)
    gives = {row.text("material"): row for row in reader.fittings("give", sources)}
    bends = _bends(reader, bend_rows, gives)
    couplings = reader.made("couplings", sources, tables.coupling)
    changes = reader.made("changes", sources, tables.change)
    _check_geometry(reader, pipes, (*bends, *couplings), changes)
    known = {bend.item for bend in bends}
    catalog = Catalog(
        folder=folder,
        sources=sources,
        materials=MappingProxyType(materials(reader.rows("materials.csv", MATERIAL_COLUMNS, sources), faults)),
        pipes=pipes,
        bends=bends,
        gives=MappingProxyType({name: row.evidence() for name, row in gives.items()}),
        couplings=couplings,
        changes=changes,
        terminals=reader.made("terminals", sources, tables.terminal),
        flashings=reader.made("flashings", sources, tables.goods),
        hangers=reader.made("hangers", sources, lambda row: tables.goods(row, "hanger")),
        cements=reader.made("cements", sources, tables.can),
        joints=reader.made("joints", sources, tables.joint_yield),
        spacings=reader.made("spacing", sources, tables.spacing),
        sundries=reader.made("sundries", sources, tables.goods),
        offers=(offers := _offers(reader, sources, pipes)),
        prices=MappingProxyType({price_key(offer.item, offer.length_m): offer.price or 0.0 for offer in offers}),
        appliances=_appliances(folder, sources, faults),
        incomplete=tuple(row.text("item") for row in bend_rows if row.text("item") not in known),
    )
    if faults:
        raise CatalogError("\n".join(str(fault) for fault in sorted(faults)))
    return catalog
