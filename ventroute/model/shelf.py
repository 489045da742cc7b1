"""What shops sell, what it costs today, and what is already in the box at home."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from ventroute.model.source import Evidence

_SAME_M = 5e-4  # two stick lengths are one: half a millimetre is less than any step between lengths sold


@dataclass(frozen=True, slots=True)
class Goods:
    """One thing that can be asked for by its item id.

    ``sticks_m`` are the lengths sold, for pipe; empty for all else. ``kind`` groups what is not part of a run
    (flashing, hole seal, plug, wall plate, firestop, hanger, insulation, drain tee, trap, tubing, label, CO alarm,
    screen); ``size_in`` and ``material`` None: any. ``pack_m`` is the length one unit covers (tubing, insulation),
    ``span_m`` the range of a hole seal or plug (gap or clear diameter) or the thickness of insulation, ``pitch`` the
    range of a flashing (rise over run).
    """

    item: str
    description: str
    kind: str = ""
    size_in: float | None = None
    material: str | None = None
    sticks_m: tuple[float, ...] = ()
    price: float | None = None
    pack_m: float | None = None
    span_m: tuple[float, float] | None = None
    pitch: tuple[float, float] | None = None
    evidence: Evidence | None = None

    @property
    def pipe(self) -> bool:
        """Whether it is sold by the stick."""
        return bool(self.sticks_m)


@dataclass(frozen=True, slots=True)
class Can:
    """A can of cement or primer. ``pair`` are the two materials it joins, in order of name."""

    item: str
    description: str
    kind: str  # cement | primer
    pair: tuple[str, str]
    volume_L: float
    price: float | None = None
    evidence: Evidence | None = None


@dataclass(frozen=True, slots=True)
class Yield:
    """How many joints (one socket is one joint) a litre of cement or primer makes in one size."""

    kind: str  # cement | primer
    size_in: float
    joints_per_L: float
    evidence: Evidence | None = None


@dataclass(frozen=True, slots=True)
class Spacing:
    """Farthest apart that pipe may be held [m], level and upright; None: nobody says. ``why``: whose figures."""

    level_m: float | None = None
    upright_m: float | None = None
    why: str = "no figure known, ask the pipe's maker"


@dataclass(frozen=True, slots=True)
class Offer:
    """One row of a price list. ``price`` is for the whole pack; ``count`` are packs, None where nobody said."""

    item: str
    price: float | None
    pack: int = 1
    count: int | None = None
    shop: str = ""
    length_m: float | None = None  # of the stick, for pipe

    @property
    def each(self) -> float | None:
        """Price of one, None where unknown."""
        return None if self.price is None else self.price / self.pack

    def fits(self, item: str, length_m: float | None) -> bool:
        """Whether this row is about that item (and stick length, where one is asked for)."""
        same = length_m is None or self.length_m is None or abs(self.length_m - length_m) < _SAME_M
        return self.item == item and same


def cheapest(offers: Iterable[Offer], item: str, length_m: float | None = None, wanted: float = 1) -> Offer | None:
    """The cheapest row with as many as wanted, else the cheapest that is not sold out; ties in their order.

    What counts is the price of all that are wanted, in whole packs; a row without a price comes last.
    """

    def worth(row: Offer) -> tuple[bool, float]:
        enough = row.count is None or row.count * row.pack >= wanted
        packs = -(-max(wanted, 1) // row.pack)
        return not enough, float("inf") if row.price is None else packs * row.price

    rows = [row for row in offers if row.fits(item, length_m) and row.count != 0]
    return min(rows, key=worth, default=None)


@dataclass(frozen=True)
class Shelf:
    """Everything a list can be made from, whatever it costs today."""

    goods: Mapping[str, Goods] = field(default_factory=dict)
    cans: tuple[Can, ...] = ()
    yields: tuple[Yield, ...] = ()

    def describe(self, item: str) -> str:
        """What an item is, in words; its own id where nothing better is known."""
        found = self.goods.get(item)
        return found.description if found else item

    def joints_per_L(self, kind: str, size_in: float) -> float | None:
        """Joints of one size that a litre makes, None where no figure is known."""
        rows = (row.joints_per_L for row in self.yields if row.kind == kind and abs(row.size_in - size_in) < 1e-6)
        return next(rows, None)

    def of_kind(self, kind: str, size_in: float | None = None, material: str | None = None) -> tuple[Goods, ...]:
        """Goods of a kind that fit a size and material, in order of item id."""
        return tuple(
            goods
            for goods in self._by_kind.get(kind, ())
            if (size_in is None or goods.size_in is None or abs(goods.size_in - size_in) < 1e-6)
            and (material is None or goods.material in (None, material))
        )

    @cached_property
    def _by_kind(self) -> Mapping[str, list[Goods]]:
        found: dict[str, list[Goods]] = {}
        for _, goods in sorted(self.goods.items()):
            found.setdefault(goods.kind, []).append(goods)
        return found


@dataclass(frozen=True)
class Stock:
    """What is already there, and what shops ask.

    ``have``: pieces of each item, free. ``pieces``: lengths [m] of pipe at home. ``offers``: price rows, in file order.
    """

    have: Mapping[str, int] = field(default_factory=dict)
    pieces: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    offers: tuple[Offer, ...] = ()

    def offer(self, item: str, length_m: float | None = None, wanted: float = 1) -> Offer | None:
        """The cheapest row for as many as wanted, None where all are sold out or nobody sells it."""
        return cheapest(self._by_item.get(item, ()), item, length_m, wanted)

    def price(self, item: str, length_m: float | None = None) -> float | None:
        """Price of one at the cheapest shop that has it, None where unknown."""
        row = self.offer(item, length_m)
        return row.each if row else None

    def available(self, item: str, length_m: float | None = None) -> int | None:
        """How many can be had: at home and in shops; None where nothing bounds it."""
        rows = [row for row in self._by_item.get(item, ()) if row.fits(item, length_m)]
        if not rows or any(row.count is None for row in rows):
            return None
        return self.have.get(item, 0) + sum((row.count or 0) * row.pack for row in rows)

    @cached_property
    def _by_item(self) -> Mapping[str, list[Offer]]:
        found: dict[str, list[Offer]] = {}
        for row in self.offers:
            found.setdefault(row.item, []).append(row)
        return found


@dataclass(frozen=True, slots=True)
class Asks:
    """What findings ask for beyond the parts: how it is held, crossings to firestop, spaces to insulate.

    ``smaller`` is how pipe is held before a change of size on the way.
    """

    spacing: Spacing = Spacing()
    firestop: frozenset[str] = frozenset()
    insulate: frozenset[str] = frozenset()
    smaller: Spacing = Spacing()
