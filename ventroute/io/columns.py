"""Columns by the names people give them, and cells as quantities, prices and lengths."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from ventroute.errors import Fault, InputError, UnitError
from ventroute.io.grid import Line, read_grid
from ventroute.io.names import Names
from ventroute.units import METRES, parse_length, shown

ALIASES: Mapping[str, tuple[str, ...]] = {
    "item": ("item", "item id", "id", "part", "part number", "sku", "article"),
    "description": ("description", "product", "name", "what"),
    "quantity": ("quantity", "qty", "count", "number", "have", "pieces", "pcs", "how many"),
    "price": ("price", "price per pack", "pack price", "cost", "usd", "$"),
    "each": ("price each", "unit price", "each"),
    "pack": ("pack", "pack size", "per pack", "pack of", "box", "box of"),
    "stock": ("stock", "in stock", "available", "stock count", "on the shelf"),
    "shop": ("shop", "store", "seller", "where", "from"),
    "length": ("length", "cut length", "stick", "stick length", "long"),
}
_KNOWN = {alias: name for name, aliases in ALIASES.items() for alias in aliases}
_SOLD_OUT = ("none", "no", "sold out", "out of stock")
_WHOLE = re.compile(r"([0-9]{1,7})(?:\.0+)?(?:\s*(?:each|ea|pcs?|pieces?|x))?", re.IGNORECASE | re.ASCII)
_MONEY = re.compile(r"(?:\$|usd)?\s*([0-9]{1,6}(?:\.[0-9]+)?|\.[0-9]+)\s*(?:\$|usd)?", re.IGNORECASE | re.ASCII)
_LONGEST_M = 30.0
_SHORTEST_M = 0.01


@dataclass(frozen=True, slots=True)
class Row:
    """The cells of one line by column; what is wrong with them goes to `faults`."""

    file: str
    line: int
    cells: Mapping[str, str]
    unit: str | None  # of bare lengths, where the column's name says it
    faults: list[Fault]

    def wrong(self, column: str, what: str) -> None:
        """Add a fault."""
        self.faults.append(Fault(self.file, self.line, column, what))

    def item(self, names: Names) -> str | None:
        """The item, None where the row does not say which."""
        try:
            return names.find(self.cells.get("item", "") or self.cells.get("description", ""))
        except KeyError as problem:
            self.wrong("item", str(problem.args[0]))
            return None

    def whole(self, column: str, *, otherwise: int, least: int = 0) -> int | None:
        """A count; `otherwise` where the cell is blank, None where it is wrong."""
        text = self.cells.get(column, "")
        if not text:
            return otherwise
        match = _WHOLE.fullmatch(text)
        if match is None or not least <= int(match[1]) <= 1_000_000:
            self.wrong(column, f"{shown(text)} is not a whole number from {least} to 1000000")
            return None
        return int(match[1])

    def money(self, pack: int) -> float | None:
        """Price of a pack; None where the cell is blank, which is a price that nobody knows, or wrong."""
        each = "each" in self.cells
        text = self.cells.get("each" if each else "price", "")
        match = _MONEY.fullmatch(text)
        if not text:
            return None
        if match is None or float(match[1]) <= 0:
            self.wrong("price", f"{shown(text)} is not a price; write 12.50, and leave a price blank that is not known")
            return None
        return float(match[1]) * (pack if each else 1)

    def stock(self) -> int | None:
        """Packs on the shelf: 0 where sold out, None where nobody says."""
        text = self.cells.get("stock", "")
        if not text:
            return None
        return 0 if text.lower() in _SOLD_OUT else self.whole("stock", otherwise=0)

    def length(self) -> float | None:
        """A length of pipe [m]; None where it is wrong."""
        text = self.cells.get("length", "")
        try:
            metres = parse_length(_bare(text) if self.unit else text, self.unit)
        except UnitError as problem:
            self.wrong("length", str(problem))
            return None
        if not _SHORTEST_M <= metres <= _LONGEST_M:
            self.wrong("length", f"{shown(text)} is no length of pipe on a shelf")
            return None
        return metres


def _bare(text: str) -> float | str:
    """A number where the text is only that: the column's name has the unit."""
    return float(text) if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", text, re.ASCII) else text


def table(path: Path, wanted: Sequence[str], needed: Sequence[Sequence[str]], faults: list[Fault]) -> Iterator[Row]:
    """Rows under the columns that are wanted; a file that cannot be read is a fault and has none.

    Columns with other names are passed over, unless they look like a slip of the pen. Of each group in `needed` one
    column must be there.
    """
    try:
        lines = read_grid(path)
    except InputError as problem:
        faults.extend(problem.faults)
        return
    if not lines:
        faults.append(Fault(str(path), 1, "", f"the file is empty; wanted the columns {', '.join(wanted)}"))
        return
    columns, unit = _columns(path, lines[0], wanted, needed, faults)
    if columns is None:
        return
    for number, cells in lines[1:]:
        if len(cells) > len(lines[0][1]):
            what = f"{len(cells)} cells under {len(lines[0][1])} column names; is a comma in a text without quotes?"
            faults.append(Fault(str(path), number, "row", what))
        else:
            said = {name: cells[k] for name, k in columns.items() if k < len(cells)}
            yield Row(str(path), number, said, unit, faults)


def _columns(
    path: Path, head: Line, wanted: Sequence[str], needed: Sequence[Sequence[str]], faults: list[Fault]
) -> tuple[dict[str, int] | None, str | None]:
    """Where each column is, and the unit that the length's name carries; None where the names are wrong."""
    number, cells = head
    columns: dict[str, int] = {}
    unit: str | None = None
    wrong: list[str] = []
    for k, cell in enumerate(cells):
        name, own = _named(cell)
        if name is None or name not in wanted:
            wrong += _slip(cell, wanted)
        elif name in columns:
            wrong.append(f'two columns are "{name}": {shown(cells[columns[name]])} and {shown(cell)}')
        else:
            columns[name] = k
            unit = own if name == "length" else unit
    if not wrong:
        wrong = [
            f'no column "{any_of[0]}"; the first row names the columns'
            for any_of in needed
            if not set(any_of) & set(columns)
        ]
    if {"price", "each"} <= set(columns):
        wrong.append("one column is the price of a pack, another that of one; which holds?")
    faults.extend(Fault(str(path), number, "columns", what) for what in wrong)
    return (None if wrong else columns), unit


def _named(cell: str) -> tuple[str | None, str | None]:
    """A column's own name, and the unit in it: ``Length (in)``, ``length_m``, ``Price (USD)``."""
    said = " ".join(cell.lower().replace("_", " ").split())
    if said in _KNOWN:
        return _KNOWN[said], None
    match = re.fullmatch(r"(.+?)\s*[\s(\[,]\s*(?:in\s+)?([a-z$]+)[)\]]?", said)
    name = _KNOWN.get(match[1].strip()) if match else None
    if match is None or name is None:
        return None, None
    unit = {"inches": "in", "inch": "in", "feet": "ft", "foot": "ft", "metres": "m", "meters": "m"}.get(
        match[2], match[2]
    )
    if name == "length" and unit in METRES:
        return name, unit
    return (name, None) if name in ("price", "each") and unit in ("usd", "$") else (None, None)


def _slip(cell: str, wanted: Sequence[str]) -> list[str]:
    """What to say about a name that is not known: nothing, unless one that is known is near."""
    said = " ".join(cell.lower().replace("_", " ").split())
    names = [alias for alias, name in _KNOWN.items() if name in wanted]
    near = get_close_matches(re.split(r"[(\[]", said)[0].strip(), names, n=1, cutoff=0.75)
    if said in _KNOWN or not near:
        return []
    return [f"unknown column {shown(cell)}; did you mean {shown(near[0])}?"]
