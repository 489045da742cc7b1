"""What each catalog table holds: its file, its columns, and the noun a row becomes."""

from __future__ import annotations

from ventroute.catalog.materials import MATERIALS
from ventroute.catalog.schema import SOURCED, Column, Row
from ventroute.model.parts import Adjustable, Bend, Change, Coupling, PipeStock, TerminalFitting
from ventroute.model.shelf import Can, Goods, Offer, Yield

SUNDRIES = ("hole seal", "plug", "firestop", "insulation", "drain tee", "trap", "tubing", "label", "CO alarm", "shield")

_ITEM = Column("item", "item")
_MATERIAL = Column("material", choices=MATERIALS)
_SIZE = Column("size", "size")

COLUMNS: dict[str, tuple[Column, ...]] = {
    "pipes": (
        _ITEM,
        _MATERIAL,
        Column("schedule"),
        _SIZE,
        Column("od", "length"),
        Column("bore", "length"),
        Column("lengths", "length", many=True),
        Column("weight", "mass per length", blank=True),
        Column("cut", choices=("yes", "no")),
        *SOURCED,
    ),
    "adjustables": (_ITEM, _MATERIAL, _SIZE, Column("least", "length"), Column("most", "length"), *SOURCED),
    "bends": (
        _ITEM,
        _MATERIAL,
        _SIZE,
        Column("pattern", choices=("drainage", "pressure", "short", "long", "system")),
        Column("angle", "angle"),
        Column("ends", choices=("hub x hub", "street")),
        Column("laying", "length", blank=True),
        Column("socket", "length", blank=True),
        Column("hub_od", "length", blank=True),
        Column("spigot", "length", blank=True),
        *SOURCED,
    ),
    "give": (_MATERIAL, Column("give", "angle"), *SOURCED),
    "couplings": (
        _ITEM,
        _MATERIAL,
        _SIZE,
        Column("gap", "length", zero=True),
        Column("socket", "length"),
        Column("hub_od", "length"),
        *SOURCED,
    ),
    "changes": (
        _ITEM,
        Column("kind", choices=("increaser", "reducer", "adapter")),
        Column("from_material", choices=MATERIALS),
        Column("from_size", "size"),
        Column("to_material", choices=MATERIALS),
        Column("to_size", "size"),
        Column("length", "length"),
        Column("socket", "length"),
        Column("hub_od", "length"),
        *SOURCED,
    ),
    "terminals": (
        _ITEM,
        _MATERIAL,
        _SIZE,
        Column("kind", choices=("roof", "wall")),
        Column("description"),
        *SOURCED,
    ),
    "flashings": (
        _ITEM,
        Column("kind", choices=("flashing", "wall plate")),
        Column("material", blank=True, choices=MATERIALS),
        Column("size", "size", blank=True),
        Column("pitch_from", "pitch", blank=True, zero=True),
        Column("pitch_to", "pitch", blank=True),
        Column("description"),
        *SOURCED,
    ),
    "hangers": (
        _ITEM,
        Column("material", blank=True, choices=MATERIALS),
        Column("size", "size", blank=True),
        Column("description"),
        *SOURCED,
    ),
    "sundries": (
        _ITEM,
        Column("kind", choices=SUNDRIES),
        Column("material", blank=True, choices=MATERIALS),
        Column("size", "size", blank=True),
        Column("from", "length", blank=True, zero=True),
        Column("to", "length", blank=True),
        Column("pack", "length", blank=True),
        Column("description"),
        *SOURCED,
    ),
    "cements": (
        _ITEM,
        Column("kind", choices=("cement", "primer")),
        Column("joins", choices=MATERIALS),
        Column("to", choices=MATERIALS),
        Column("standard"),
        Column("can", "volume"),
        *SOURCED,
    ),
    "joints": (Column("kind", choices=("cement", "primer")), _SIZE, Column("yield", "per volume"), *SOURCED),
}
# What a row is known by, where that is not its item.
IDENTITY: dict[str, tuple[str, ...]] = {"give": ("material",), "joints": ("kind", "size")}
BEND_KEY = ("pattern", "material", "size", "angle", "ends")
PRICE_COLUMNS = (_ITEM, Column("length", "length", blank=True), Column("price", "money"), *SOURCED)


def pipe(row: Row) -> PipeStock:
    """A row of pipes.csv."""
    return PipeStock(
        row.text("item"),
        row.text("material"),
        row.text("schedule"),
        row.figure("size"),
        od_m=row.figure("od"),
        bore_m=row.figure("bore"),
        stick_m=tuple(sorted(row.figures("lengths"), reverse=True)),
        kg_m=row.maybe("weight"),
        can_be_cut=row.text("cut") == "yes",
        evidence=row.evidence(),
    )


def adjustable(row: Row) -> Adjustable:
    """A row of adjustables.csv."""
    least, most = row.figure("least"), row.figure("most")
    return Adjustable(row.text("item"), row.text("material"), row.figure("size"), least, most, row.evidence())


def bend(row: Row, give_deg: float) -> Bend | None:
    """A row of bends.csv, None where a figure that a route needs is not known."""
    measures = [row.maybe(name) for name in ("laying", "socket", "hub_od")]
    if any(measure is None for measure in measures):
        return None
    return Bend(
        row.text("item"),
        row.text("material"),
        row.figure("size"),
        row.text("pattern"),
        angle_deg=row.figure("angle"),
        laying_m=row.figure("laying"),
        socket_m=row.figure("socket"),
        hub_od_m=row.figure("hub_od"),
        give_deg=give_deg,
        spigot_m=row.maybe("spigot"),
        evidence=row.evidence(),
    )


def coupling(row: Row) -> Coupling:
    """A row of couplings.csv."""
    size, gap, socket, hub = (row.figure(name) for name in ("size", "gap", "socket", "hub_od"))
    return Coupling(row.text("item"), row.text("material"), size, gap, socket, hub, row.evidence())


def change(row: Row) -> Change:
    """A row of changes.csv."""
    return Change(
        row.text("item"),
        row.text("kind"),
        row.text("from_material"),
        row.figure("from_size"),
        row.text("to_material"),
        row.figure("to_size"),
        row.figure("length"),
        row.figure("socket"),
        row.figure("hub_od"),
        row.evidence(),
    )


def terminal(row: Row) -> TerminalFitting:
    """A row of terminals.csv."""
    texts = row.text("kind"), row.text("description")
    return TerminalFitting(row.text("item"), row.text("material"), row.figure("size"), *texts, row.evidence())


def goods(row: Row, kind: str = "") -> Goods:
    """A row of flashings.csv, hangers.csv or sundries.csv."""
    has = row.values.keys()
    return Goods(
        row.text("item"),
        row.text("description"),
        kind or row.text("kind"),
        size_in=row.maybe("size"),
        material=row.text("material") or None,
        pack_m=row.maybe("pack") if "pack" in has else None,
        span_m=row.span("from", "to") if "from" in has else None,
        pitch=row.span("pitch_from", "pitch_to") if "pitch_from" in has else None,
        evidence=row.evidence(),
    )


def can(row: Row) -> Can:
    """A row of cements.csv."""
    pair = sorted((row.text("joins"), row.text("to")))
    joint = pair[0] if pair[0] == pair[1] else f"{pair[0]} to {pair[1]}"
    words = f"{joint} {row.text('kind')}, {row.text('standard')}"
    return Can(row.text("item"), words, row.text("kind"), (pair[0], pair[1]), row.figure("can"), None, row.evidence())


def joint_yield(row: Row) -> Yield:
    """A row of joints.csv."""
    return Yield(row.text("kind"), row.figure("size"), row.figure("yield"), row.evidence())


def offer(row: Row) -> Offer:
    """A row of prices.csv."""
    return Offer(row.text("item"), row.figure("price"), shop="invented", length_m=row.maybe("length"))
