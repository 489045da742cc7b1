"""The catalog as others ask it: the kit of a material and size, an item by name, its description, the shelf."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from difflib import get_close_matches
from functools import lru_cache
from pathlib import Path

from ventroute.catalog.load import Catalog, load, price_key
from ventroute.catalog.paths import catalogs_folder
from ventroute.errors import CatalogError
from ventroute.model.parts import Adjustable, Bend, Change, Coupling, Kit, PipeStock, TerminalFitting
from ventroute.model.shelf import Can, Goods, Shelf
from ventroute.units import format_length, format_size

__all__ = ["Catalog", "description", "find_item", "kits", "load_catalog", "price_key", "shelf"]

Item = PipeStock | Adjustable | Bend | Coupling | Change | TerminalFitting | Goods | Can
_PATTERNS = ("drainage", "system", "pressure", "short", "long")  # the first that is made comes first
_SAME_IN = 1e-6


@lru_cache(maxsize=8)
def _cached(folder: Path) -> Catalog:
    return load(folder)


def load_catalog(folder: Path | None = None) -> Catalog:
    """The catalog of a folder, read once; by default the one that comes with the package.

    Raises
    ------
    CatalogError
        A row is wrong or has no source; the message names every such row as ``file:line: column: what``.
    """
    return _cached((folder or catalogs_folder()).resolve())


def _same(a_in: float, b_in: float) -> bool:
    return abs(a_in - b_in) < _SAME_IN


def _preference(bend: Bend) -> tuple[bool, int, float]:
    """Hub x hub of the first pattern, then its street bends, then the other patterns; wide turns first."""
    pattern = _PATTERNS.index(bend.pattern)
    return bend.street, pattern, -bend.angle_deg


def _ordered(bends: list[Bend]) -> tuple[Bend, ...]:
    """Bends in order of preference."""
    first = min((_PATTERNS.index(bend.pattern) for bend in bends if not bend.street), default=0)
    groups = {(False, first): 0, (True, first): 1}
    return tuple(sorted(bends, key=lambda bend: (groups.get(_preference(bend)[:2], 2), _preference(bend), bend.item)))


def _steps(catalog: Catalog, material: str, start_in: float, end_in: float) -> tuple[Change, ...] | None:
    """The fewest increasers, or reducers, that lead from one size to the other, all one way; None: no way."""
    if _same(start_in, end_in):
        return ()
    ways = []
    for change in catalog.changes:
        onward = _joins(change, (material, start_in), (material, change.to_size_in))
        if (
            onward
            and abs(end_in - change.to_size_in) < abs(end_in - start_in)
            and ((end_in - change.to_size_in) * (end_in - start_in) >= 0)
        ):
            rest = _steps(catalog, material, change.to_size_in, end_in)
            ways += [] if rest is None else [(change, *rest)]
    return min(ways, key=len, default=None)


def _start(catalog: Catalog, run: tuple[str, float], collar: tuple[str, float]) -> tuple[Change, ...] | str:
    """What stands between collar and run: first the material, then the size; or why nothing can."""
    (material, size_in), (own, own_in) = run, collar
    adapter: tuple[Change, ...] = ()
    if own != material:
        adapter = tuple(c for c in catalog.changes if _joins(c, (own, own_in), (material, own_in)))[:1]
        if not adapter:
            return (
                f"no fitting with a standard behind it joins a {format_size(own_in)} {own} collar to {material}; "
                f"start in {own}, or use the adapter that the appliance's manual names"
            )
    steps = _steps(catalog, material, own_in, size_in)
    if steps is None:
        kind = "increaser" if size_in > own_in else "reducer"
        return f"no {material} {kind} from {format_size(own_in)} to {format_size(size_in)} in the catalog"
    return adapter + steps


def _joins(change: Change, start: tuple[str, float], end: tuple[str, float]) -> bool:
    """Whether a change leads from one (material, size) to the other."""
    materials = (change.from_material, change.to_material) == (start[0], end[0])
    return materials and _same(change.from_size_in, start[1]) and _same(change.to_size_in, end[1])


def kits(
    catalog: Catalog, material: str, size_in: float, collar_material: str | None, collar_size_in: float
) -> Kit | str:
    """Everything a run of this material and size may be made from, or in plain words why there is nothing.

    Parameters
    ----------
    material, size_in : of the run; trade size in inches
    collar_material, collar_size_in : of the appliance; None: the collar takes the run's own material
    """
    label = f"{format_size(size_in)} {material}"
    if material not in catalog.materials:
        return f"no material {material!r} in the catalog; it holds {', '.join(catalog.materials)}"
    pipe = next((p for p in catalog.pipes if p.material == material and _same(p.size_in, size_in)), None)
    if pipe is None:
        made = ", ".join(format_size(p.size_in) for p in catalog.pipes if p.material == material)
        return f"no {label} pipe in the catalog; {material} is there in {made}"
    bends = [bend for bend in catalog.bends if bend.material == material and _same(bend.size_in, size_in)]
    coupling = next((c for c in catalog.couplings if c.material == material and _same(c.size_in, size_in)), None)
    adjustables = tuple(a for a in catalog.adjustables if a.material == material and _same(a.size_in, size_in))
    terminals = tuple(t for t in catalog.terminals if t.material == material and _same(t.size_in, size_in))
    if not any(bend.angle_deg == 90 for bend in bends):
        return f"no {label} bend in the catalog with every measure known"
    if coupling is None:
        return f"no {label} coupling in the catalog"
    if not terminals:
        return f"no {label} terminal in the catalog"
    start = _start(catalog, (material, size_in), (collar_material or material, collar_size_in))
    if isinstance(start, str):
        return start
    ordered = _ordered(bends)
    regular = tuple((b.angle_deg, b.laying_m) for b in ordered if not b.street and b.pattern == ordered[0].pattern)
    stuff = catalog.materials[material]
    return Kit(stuff, pipe.schedule, size_in, pipe, ordered, coupling, start, terminals, regular, adjustables)


def _all(catalog: Catalog) -> Iterator[Item]:
    for group in (
        catalog.pipes,
        catalog.adjustables,
        catalog.bends,
        catalog.couplings,
        catalog.changes,
        catalog.terminals,
    ):
        yield from group
    for bought in (catalog.flashings, catalog.hangers, catalog.cements, catalog.sundries):
        yield from bought


@lru_cache(maxsize=8)
def _index(folder: Path) -> Mapping[str, Item]:
    return {item.item: item for item in _all(_cached(folder))}


def find_item(catalog: Catalog, item: str) -> Item:
    """The row of an item.

    Raises
    ------
    CatalogError
        There is none; the message names the nearest items.
    """
    index = _index(catalog.folder)
    if item in index:
        return index[item]
    near = get_close_matches(item, index, n=3, cutoff=0.6)
    hint = f"; did you mean {' or '.join(near)}?" if near else ""
    raise CatalogError(f"no item {item!r} in the catalog{hint}")


def _angle(bend: Bend) -> str:
    return {90.0: "90 degree", 45.0: "45 degree", 22.5: "22 1/2 degree"}.get(
        bend.angle_deg, f"{bend.angle_deg:g} degree"
    )


def _words(item: Item) -> str:
    match item:
        case PipeStock():
            schedule = f"schedule {item.schedule}" if item.schedule.isdigit() else item.schedule
            metric = f" (DN {round(item.od_m * 1000)})" if item.material == "PP" else ""
            return f"{format_size(item.size_in)}{metric} {item.material} pipe, {schedule}"
        case Adjustable():
            span = f"{format_length(item.least_m, short=True)} to {format_length(item.most_m, short=True)}"
            return f"{format_size(item.size_in)} {item.material} adjustable length, {span}"
        case Bend():
            pattern = {"short": "short-turn", "long": "long-turn"}.get(item.pattern, item.pattern)
            kind = f"{pattern} pattern, street" if item.street else f"{pattern} pattern"
            return f"{format_size(item.size_in)} {item.material} {_angle(item)} elbow, {kind}"
        case Coupling():
            return f"{format_size(item.size_in)} {item.material} coupling"
        case Change():
            before, after = f"{format_size(item.from_size_in)} {item.from_material}", format_size(item.to_size_in)
            material = item.to_material + " " if item.to_material != item.from_material else ""
            return f"{before} to {after} {material}{item.kind}".replace("  ", " ")
        case TerminalFitting():
            return f"{format_size(item.size_in)} {item.material} {item.description}"
        case Goods() | Can():
            return item.description


def description(catalog: Catalog, item: str) -> str:
    """An item in words, as on a shopping list. CatalogError as `find_item`."""
    return _words(find_item(catalog, item))


def _goods(catalog: Catalog, item: Item) -> Goods | None:
    """A row as it stands on a shelf, at its demonstration price; cans stand apart."""
    if isinstance(item, Can):
        return None
    if isinstance(item, Goods):
        return replace(item, price=catalog.prices.get(item.item))
    sticks_m = item.stick_m if isinstance(item, PipeStock) else ()
    price = catalog.prices.get(price_key(item.item, sticks_m[0] if sticks_m else None))
    size_in, material = (None, None) if isinstance(item, Change) else (item.size_in, item.material)
    return Goods(item.item, _words(item), "", size_in, material, sticks_m, price, evidence=item.evidence)


def shelf(catalog: Catalog) -> Shelf:
    """The catalog as a shop's shelf, at its demonstration prices (a pipe's is that of its longest stick)."""
    goods = {row.item: row for item in _all(catalog) if (row := _goods(catalog, item))}
    cans = tuple(replace(can, price=catalog.prices.get(can.item)) for can in catalog.cements)
    return Shelf(goods, cans, catalog.joints)
