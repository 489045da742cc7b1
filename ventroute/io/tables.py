"""Reading what is at home (`--have`) and what shops ask (`--prices`): CSV or XLSX, forgiving in form, strict in trust.

Columns may come in any order and under the names people use; a quantity, price or length may carry its unit. A row that
is not understood is a fault with its line: nothing is guessed, nothing is skipped.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from pathlib import Path

from ventroute.errors import Fault, InputError, UnitError
from ventroute.model.shelf import Offer, Shelf, Stock
from ventroute.units import parse_length

LARGEST_BYTES = 4_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 60

NAMES: Mapping[str, tuple[str, ...]] = {
    "item": ("item", "item id", "part", "description", "article", "product", "name"),
    "quantity": ("quantity", "qty", "count", "number", "have", "pieces"),
    "price": ("price", "price each", "unit price", "cost", "usd", "$"),
    "pack": ("pack", "pack size", "per pack", "box"),
    "stock": ("stock", "in stock", "available", "stock count"),
    "shop": ("shop", "store", "seller"),
    "length": ("length", "cut length", "stick"),
}
_NONE = ("none", "no", "sold out", "out of stock", "0")

Row = tuple[int, dict[str, str]]


def read_tables(have: Path | None, prices: Path | None, shelf: Shelf, defaults: tuple[Offer, ...] = ()) -> Stock:
    """The stock of both files; `defaults` are the offers where no price file is given.

    Raises
    ------
    InputError
        Every row that is wrong, in either file, with its line.
    """
    faults: list[Fault] = []
    at_home, pieces = _have(have, shelf, faults) if have else ({}, {})
    offers = tuple(_prices(prices, shelf, faults)) if prices else defaults
    if faults:
        raise InputError(faults)
    return Stock(at_home, {item: tuple(sorted(rows, reverse=True)) for item, rows in pieces.items()}, offers)


def _have(path: Path, shelf: Shelf, faults: list[Fault]) -> tuple[dict[str, int], dict[str, list[float]]]:
    counts: dict[str, int] = {}
    pieces: dict[str, list[float]] = {}
    for line, row in _rows(path, ("item",), faults):
        item = _item(path, line, row, shelf, faults)
        count = _whole(path, line, "quantity", row.get("quantity") or "1", faults)
        if item is None or count is None:
            continue
        if item in shelf.goods and shelf.goods[item].pipe:
            length = _length(path, line, row, faults)
            if length is not None:
                pieces.setdefault(item, []).extend([length] * min(count, 1000))
        elif row.get("length"):
            faults.append(Fault(str(path), line, "length", f"{item} is no pipe; a length is wanted for pipe only"))
        else:
            counts[item] = counts.get(item, 0) + count
    return counts, pieces


def _prices(path: Path, shelf: Shelf, faults: list[Fault]) -> Iterator[Offer]:
    seen: dict[tuple[str, str, float | None], int] = {}
    for line, row in _rows(path, ("item", "price"), faults):
        item = _item(path, line, row, shelf, faults)
        price = _money(path, line, row.get("price", ""), faults)
        pack = _whole(path, line, "pack", row.get("pack") or "1", faults)
        stock = _stock(path, line, row.get("stock", ""), faults)
        if item is None or price is False or pack is None or stock is False:
            continue
        if pack == 0:
            faults.append(Fault(str(path), line, "pack", "a pack holds at least one"))
            continue
        length = None
        if item in shelf.goods and shelf.goods[item].pipe:
            length = _length(path, line, row, faults)
            if length is None:
                continue
        key = (item, row.get("shop", ""), length)
        if key in seen:
            what = f"{item} stands already in line {seen[key]} for the same shop"
            faults.append(Fault(str(path), line, "item", what))
        seen[key] = line
        yield Offer(item, price, pack, stock, row.get("shop", ""), length)


def _rows(path: Path, needed: tuple[str, ...], faults: list[Fault]) -> Iterator[Row]:
    grid = _grid(path, faults)
    head = next(grid, None)
    if head is None:
        if not any(f.file == str(path) for f in faults):
            faults.append(Fault(str(path), 1, "", "the file is empty; a row of column names is wanted first"))
        return
    columns = _columns(path, head, needed, faults)
    if columns is None:
        return
    for line, cells in grid:
        row = {name: cells[k].strip() for name, k in columns.items() if k < len(cells)}
        if any(cell.strip() for cell in cells):
            if len(cells) > len(head[1]):
                faults.append(Fault(str(path), line, "", f"{len(cells)} cells under {len(head[1])} column names"))
            else:
                yield line, row


def _columns(
    path: Path, head: tuple[int, list[str]], needed: tuple[str, ...], faults: list[Fault]
) -> dict[str, int] | None:
    line, cells = head
    known = {alias: name for name, aliases in NAMES.items() for alias in aliases}
    columns: dict[str, int] = {}
    wrong = False
    for k, cell in enumerate(cells):
        said = " ".join(cell.lower().replace("_", " ").split())
        name = known.get(said)
        if name is None or name in columns:
            what = f'two columns are "{name}"' if name else f'unknown column "{cell[:60]}"; wanted {", ".join(NAMES)}'
            faults.append(Fault(str(path), line, "", what))
            wrong = True
        else:
            columns[name] = k
    for name in needed:
        if name not in columns and not wrong:
            faults.append(Fault(str(path), line, "", f'no column "{name}"'))
            wrong = True
    return None if wrong else columns


def _grid(path: Path, faults: list[Fault]) -> Iterator[tuple[int, list[str]]]:
    """Rows with their numbers; what cannot be read is a fault."""
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except OSError as error:
        faults.append(Fault(str(path), 1, "", f"cannot be read: {error.strerror or error}"))
        return
    if len(raw) > LARGEST_BYTES:
        faults.append(Fault(str(path), 1, "", f"larger than {LARGEST_BYTES // 1_000_000} MB"))
        return
    source = _xlsx(path, raw, faults) if raw[:2] == b"PK" else _csv(path, raw, faults)
    for count, (line, cells) in enumerate(source):
        if count > MOST_ROWS or len(cells) > MOST_COLUMNS:
            faults.append(Fault(str(path), line, "", f"more than {MOST_ROWS} rows or {MOST_COLUMNS} columns"))
            return
        yield line, cells


def _csv(path: Path, raw: bytes, faults: list[Fault]) -> Iterator[tuple[int, list[str]]]:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        faults.append(Fault(str(path), line, "", "not UTF-8; save the file as UTF-8 CSV"))
        return
    if "\0" in text:
        faults.append(Fault(str(path), text.count("\n", 0, text.index("\0")) + 1, "", "not text"))
        return
    first = text.split("\n", 1)[0]
    mark = ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            faults.append(Fault(str(path), reader.line_num, "", f"not CSV: {error}"))
            return
        yield reader.line_num, cells


def _xlsx(path: Path, raw: bytes, faults: list[Fault]) -> Iterator[tuple[int, list[str]]]:
    import zipfile

    import openpyxl

    try:
        if sum(entry.file_size for entry in zipfile.ZipFile(io.BytesIO(raw)).infolist()) > 20 * LARGEST_BYTES:
            faults.append(Fault(str(path), 1, "", "the workbook unpacks to more than 80 MB"))
            return
        sheet = openpyxl.load_workbook(io.BytesIO(raw), read_only=True).worksheets[0]
        rows = [list(row) for row in sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS + 1, values_only=True)]
    except (zipfile.BadZipFile, KeyError, ValueError, IndexError, TypeError, OSError, SyntaxError) as error:
        faults.append(Fault(str(path), 1, "", f"not a workbook that can be read: {type(error).__name__}"))
        return
    for line, row in enumerate(rows, 1):
        cells = ["" if cell is None else str(cell) for cell in row]
        while cells and not cells[-1]:
            cells.pop()
        if any(cell.startswith("=") for cell in cells):
            faults.append(Fault(str(path), line, "", "a cell is a formula; plain values are wanted"))
        else:
            yield line, cells


def _item(path: Path, line: int, row: dict[str, str], shelf: Shelf, faults: list[Fault]) -> str | None:
    """An item id, or a description that says the same as one; anything else is a question."""
    said = row.get("item", "")
    known = {item: goods.description for item, goods in shelf.goods.items()}
    known |= {can.item: can.description for can in shelf.cans}
    if said in known:
        return said
    words = {_folded(description): item for item, description in known.items()}
    if _folded(said) in words:
        return words[_folded(said)]
    near = get_close_matches(_folded(said), [*words, *known], n=2, cutoff=0.5)
    hint = f"; did you mean {' or '.join(words.get(n, n) for n in near)}?" if near else ""
    faults.append(Fault(str(path), line, "item", f'no item "{said[:80]}"{hint}' if said else "no item is named"))
    return None


def _folded(text: str) -> str:
    return " ".join(text.lower().replace(",", " ").replace('"', " in ").split())


def _whole(path: Path, line: int, key: str, text: str, faults: list[Fault]) -> int | None:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not (0 <= value <= 1e6 and value == int(value)):
        faults.append(Fault(str(path), line, key, f'"{text[:40]}" is not a whole number of at least 0'))
        return None
    return int(value)


def _money(path: Path, line: int, text: str, faults: list[Fault]) -> float | bool | None:
    """A price; None where the cell is blank, False where it is wrong."""
    bare = text.removeprefix("$").removeprefix("USD").removesuffix("USD").strip()
    if not bare:
        return None
    try:
        value = float(bare)
    except ValueError:
        value = math.nan
    if not 0 <= value <= 1e6:
        faults.append(Fault(str(path), line, "price", f'"{text[:40]}" is not a price such as 12.50'))
        return False
    return value


def _stock(path: Path, line: int, text: str, faults: list[Fault]) -> int | bool | None:
    if not text:
        return None
    return 0 if text.lower() in _NONE else _or_false(_whole(path, line, "stock", text, faults))


def _or_false(value: int | None) -> int | bool:
    return False if value is None else value


def _length(path: Path, line: int, row: dict[str, str], faults: list[Fault]) -> float | None:
    text = row.get("length", "")
    try:
        value = parse_length(text, None)
    except UnitError as error:
        faults.append(Fault(str(path), line, "length", str(error)))
        return None
    if not 0.01 <= value <= 30.0:
        faults.append(Fault(str(path), line, "length", f"{text} is no length of a pipe on a shelf"))
        return None
    return value
