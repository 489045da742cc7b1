"""Pieces of pipe from sticks and offcuts, with the saw marks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ventroute.constants import INCH_M
from ventroute.errors import VentrouteError
from ventroute.model.plan import CutStick
from ventroute.shop.packing import Bin, Packing, pack

KERF_M = INCH_M / 8  # what a saw takes at each cut; common practice, no standard behind it
_MARK_M = INCH_M / 16
_STEP = 10_000_000
_MONEY = 1000


class CutError(VentrouteError):
    """The pieces cannot be had from the sticks."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of pipe that a route needs; ``label`` is its number on the drawing."""

    item: str
    length_m: float
    label: str


@dataclass(frozen=True, slots=True)
class StickOffer:
    """A length of pipe on sale. ``price`` None: unknown; ``count`` None: as many as asked."""

    length_m: float
    price: float | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Sticks with their pieces, item by item; what is left over; whether nothing cheaper exists.

    ``gap`` is how far the money spent (or length bought, where a price is unknown) may lie above the least possible,
    as a fraction; 0 where proved.
    """

    sticks: tuple[CutStick, ...]
    leftovers: tuple[tuple[str, float], ...]
    proved: bool
    gap: float = 0.0


def cut_plan(
    pieces: Sequence[Piece],
    sticks: Mapping[str, Sequence[StickOffer | float]],
    offcuts: Mapping[str, Sequence[float]] | None = None,
    kerf_m: float = KERF_M,
) -> CutPlan:
    """Saw the pieces from offcuts first, then from the sticks that cost least (bought length where a price is unknown).

    A saw cut takes `kerf_m` between pieces and before what is left over; the last cut may run out of the stick's end.

    Parameters
    ----------
    pieces : what is needed, any items
    sticks : lengths sold [m] of each item
    offcuts : lengths at home [m] of each item
    kerf_m : width of the saw cut

    Returns
    -------
    CutPlan
        Items in order of name; offcuts before sticks, then the longest pieces first; the same input, the same plan.

    Raises
    ------
    CutError
        A piece is longer than every stick and offcut, or the sticks on sale are too few.
    """
    wanted: dict[str, list[Piece]] = defaultdict(list)
    for piece in pieces:
        wanted[piece.item].append(piece)
    done: list[CutStick] = []
    gaps = [0.0]
    for item in sorted(wanted):
        sold = [stick if isinstance(stick, StickOffer) else StickOffer(stick) for stick in sticks.get(item, ())]
        job = _Job(item, wanted[item], sold, sorted((offcuts or {}).get(item, ()), reverse=True), kerf_m)
        packing = job.pack()
        done += job.sticks(packing, len(done))
        gaps.append((packing.cost - packing.bound) / packing.cost if packing.cost else 0.0)
    leftovers = tuple((stick.item, stick.waste_m) for stick in done if stick.waste_m > 0)
    return CutPlan(tuple(done), leftovers, max(gaps) == 0.0, max(gaps))


def marks_m(pieces_m: Sequence[float], stick_m: float, kerf_m: float = KERF_M) -> tuple[float, ...]:
    """What the tape reads at each saw mark, from the stick's end, to 1/16 in; the saw cuts on the far side of the mark.

    Each piece is rounded by itself, so that errors do not add up along the stick; where that would run out of the
    stick, the exact places are rounded instead. A piece that ends where the stick ends has no mark.
    """
    for lengths in ([round(piece / _MARK_M) * _MARK_M for piece in pieces_m], list(pieces_m)):
        marks, at = [], 0.0
        for length in lengths:
            marks.append(at + length)
            at += length + kerf_m
        if marks and marks[-1] <= stick_m + 1e-9:
            break
    kept = marks[:-1] if pieces_m and stick_m - _end(pieces_m, kerf_m) < 1e-6 else marks
    return tuple(round(mark / _MARK_M) * _MARK_M for mark in kept)


def _end(pieces_m: Sequence[float], kerf_m: float) -> float:
    """Where the last piece ends."""
    return sum(pieces_m) + kerf_m * (len(pieces_m) - 1)


@dataclass(frozen=True, slots=True)
class _Job:
    """One item's pieces, and what they may be cut from."""

    item: str
    pieces: list[Piece]
    sold: list[StickOffer]
    offcuts: list[float]
    kerf_m: float

    def lengths(self) -> list[float]:
        """Length of each kind of bin: every offcut by itself, then the sticks."""
        return [*self.offcuts, *(stick.length_m for stick in self.sold)]

    def bins(self) -> list[Bin]:
        """The kinds of bin, in the order of `lengths`."""
        priced = all(stick.price for stick in self.sold)
        bins = [Bin(_whole(length + self.kerf_m), 0, 1) for length in self.offcuts]
        for stick in self.sold:
            cost = round((stick.price or 0) * _MONEY) if priced else _whole(stick.length_m)
            bins.append(Bin(_whole(stick.length_m + self.kerf_m), max(cost, 1), stick.count))
        return bins

    def weight(self, piece: Piece) -> int:
        """A piece and the cut that frees it."""
        return _whole(piece.length_m + self.kerf_m)

    def pack(self) -> Packing:
        """Find the cheapest way, or say what is in it."""
        longest = max(self.pieces, key=lambda piece: piece.length_m)
        if longest.length_m > max(self.lengths(), default=0.0) + 1e-6:
            have = f"the longest to be had is {max(self.lengths(), default=0.0):.4f} m"
            raise CutError(f"{self.item}: piece {longest.label} is {longest.length_m:.4f} m, {have}")
        weights = [self.weight(piece) for piece in self.pieces]
        packing = pack(weights, self.bins())
        if packing is not None and not packing.proved:
            from ventroute.shop.buying import improve  # brings SciPy: only for long lists

            packing = improve(packing, weights, self.bins())
        if packing is None:
            raise CutError(f"{self.item}: too few sticks on sale for {len(self.pieces)} pieces")
        return packing

    def sticks(self, packing: Packing, before: int) -> list[CutStick]:
        """Put the pieces back in place of their weights."""
        waiting: dict[int, list[Piece]] = defaultdict(list)
        for piece in reversed(self.pieces):
            waiting[self.weight(piece)].append(piece)
        lengths = self.lengths()
        filled = sorted(packing.bins, key=lambda b: (b[0] >= len(self.offcuts), tuple(-w for w in b[1]), b[0]))
        return [
            self._stick(before + n, kind, lengths[kind], [waiting[weight].pop() for weight in weights])
            for n, (kind, weights) in enumerate(filled, start=1)
        ]

    def _stick(self, n: int, kind: int, stick_m: float, pieces: list[Piece]) -> CutStick:
        lengths = tuple(piece.length_m for piece in pieces)
        waste = stick_m - sum(lengths) - self.kerf_m * len(lengths)
        return CutStick(
            stick=n,
            item=self.item,
            stick_m=stick_m,
            pieces_m=lengths,
            labels=tuple(piece.label for piece in pieces),
            waste_m=max(0.0, waste) if waste > 1e-6 else 0.0,
            marks_m=marks_m(lengths, stick_m, self.kerf_m),
            offcut=kind < len(self.offcuts),
        )


def _whole(length_m: float) -> int:
    return round(length_m * _STEP)
