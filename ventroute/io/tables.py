"""What is at home (`--have`) and what shops ask (`--prices`): forgiving in form, strict in trust.

Columns may come in any order and under the names people use; a quantity, price or length may carry its unit. A row
that is not understood is a fault with its line: nothing is guessed, nothing is skipped.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ventroute.errors import Fault, InputError
from ventroute.io.columns import Row, table
from ventroute.io.names import Names
from ventroute.model.shelf import Offer, Shelf, Stock
from ventroute.units import format_length

HAVE = ("item", "description", "quantity", "length")
PRICES = ("item", "description", "price", "each", "pack", "stock", "shop", "length")
_WHICH = ("item", "description")
_MOST_PIECES = 1000
_SAME_M = 5e-4  # a stick's length is one that is sold within half a millimetre


def read_tables(have: Path | None, prices: Path | None, shelf: Shelf, defaults: tuple[Offer, ...] = ()) -> Stock:
    """The stock of both files.

    Parameters
    ----------
    have, prices : CSV or XLSX files; None: not given
    shelf : the items there are
    defaults : the offers where no price file is given; with one, what it does not name has no price

    Raises
    ------
    InputError
        Every row that is wrong, in either file, with its line.
    """
    faults: list[Fault] = []
    names = Names(shelf)
    counts: dict[str, int] = {}
    pieces: dict[str, list[float]] = {}
    if have is not None:
        _have(table(have, HAVE, [_WHICH], faults), names, counts, pieces)
    offers = defaults
    if prices is not None:
        offers = tuple(_prices(table(prices, PRICES, [_WHICH, ("price", "each")], faults), names))
    if faults:
        raise InputError(faults)
    return Stock(counts, {item: tuple(sorted(lengths, reverse=True)) for item, lengths in pieces.items()}, offers)


def _have(rows: Iterator[Row], names: Names, counts: dict[str, int], pieces: dict[str, list[float]]) -> None:
    """Parts are counted, pipe is kept piece by piece; the same item in two rows is two heaps."""
    for row in rows:
        item, count = row.item(names), row.whole("quantity", otherwise=1)
        if item is None or count is None:
            continue
        goods = names.shelf.goods.get(item)
        if goods is None or not goods.pipe:
            counts[item] = counts.get(item, 0) + count
            if row.cells.get("length"):
                row.wrong("length", f"{item} is no pipe; only pipe has a length")
            if not row.cells.get("quantity"):
                row.wrong("quantity", f"how many {item} are there?")
            continue
        length = row.length()
        if count > _MOST_PIECES:
            row.wrong("quantity", f"more than {_MOST_PIECES} pieces")
        elif length is not None:
            pieces.setdefault(item, []).extend([length] * count)


def _prices(rows: Iterator[Row], names: Names) -> Iterator[Offer]:
    seen: dict[tuple[str, str, float | None], int] = {}
    for row in rows:
        before = len(row.faults)
        pack = row.whole("pack", otherwise=1, least=1)
        item, price, count = row.item(names), row.money(pack or 1), row.stock()
        length = _stick(row, item, names) if item else None
        if item is None or pack is None or len(row.faults) > before:
            continue
        shop = row.cells.get("shop", "")
        key = (item, shop, length)
        if key in seen:
            row.wrong("item", f"{item} stands already in line {seen[key]} for the same shop; which price holds?")
        seen.setdefault(key, row.line)
        yield Offer(item, price, pack, count, shop, length)


def _stick(row: Row, item: str, names: Names) -> float | None:
    """The stick that a pipe's price is for: where several are sold, the row must say which."""
    goods = names.shelf.goods.get(item)
    if goods is None or not goods.pipe:
        if row.cells.get("length"):
            row.wrong("length", f"{item} is no pipe; only pipe has a length")
        return None
    sold = goods.sticks_m
    words = ", ".join(format_length(length) for length in sold)
    if not row.cells.get("length"):
        if len(sold) > 1:
            row.wrong("length", f"which stick of {item} does the price mean? sold are {words}")
        return sold[0]
    length = row.length()
    if length is None:
        return None
    match = next((stick for stick in sold if abs(stick - length) < _SAME_M), None)
    if match is None:
        row.wrong("length", f"{item} is not known in sticks of {format_length(length)}; known are {words}")
    return match
