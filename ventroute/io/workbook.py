"""The first sheet of an XLSX workbook as text, row by row. Nothing is computed, and nothing in it is run.

A reader of our own, since the file may be anyone's: only the five members that hold cells are opened, each within a
limit, without document types or entities; formulas are refused, and a number shown as a date stays one.
"""

from __future__ import annotations

import io
import lzma
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree as Xml

_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_LARGEST = 20_000_000  # bytes of one member, unpacked
_DATES = {*range(14, 23), *range(27, 37), *range(45, 48), *range(50, 59)}  # ECMA-376 part 1, 18.8.30: built-in formats
_FIGURE = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?", re.ASCII)
_GREATEST = 1e15  # what a sheet keeps to the last digit
_LETTERS = re.compile(r"([A-Z]{1,3})[0-9]+")
_BROKEN = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, NotImplementedError, RuntimeError, EOFError, OSError,
    ValueError, KeyError, IndexError, Xml.ParseError,
)  # fmt: skip


class WorkbookError(ValueError):
    """A workbook that is not read; ``line`` is the row, 1 where the whole file is meant."""

    def __init__(self, what: str, line: int = 1) -> None:
        self.line = line
        super().__init__(what)


@dataclass(frozen=True, slots=True)
class _Book:
    """Shared texts, which cell formats are dates, and the first sheet."""

    texts: tuple[str, ...]
    dates: tuple[bool, ...]
    sheet: Xml.Element


def read_workbook(raw: bytes, most_columns: int) -> Iterator[tuple[int, list[str]]]:
    """Rows of the first sheet with their numbers.

    Raises
    ------
    WorkbookError
        Not a workbook, too large, with a formula, or with a cell beyond `most_columns`.
    """
    try:
        book = _open(raw)
    except WorkbookError:
        raise
    except _BROKEN as problem:
        raise WorkbookError(f"not a workbook that can be read ({type(problem).__name__})") from problem
    number = 0
    for row in book.sheet.iter(f"{_MAIN}row"):
        number = _number(row.get("r"), number + 1)
        yield number, _cells(row, book, number, most_columns)


def _number(text: str | None, otherwise: int) -> int:
    return int(text) if text is not None and re.fullmatch(r"[0-9]{1,7}", text) else otherwise


def _open(raw: bytes) -> _Book:
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        names = set(archive.namelist())
        workbook, links = _member(archive, "xl/workbook.xml"), _member(archive, "xl/_rels/workbook.xml.rels")
        first = next(iter(workbook.iter(f"{_MAIN}sheet")), None)
        if first is None:
            raise WorkbookError("the workbook has no sheet")
        target = next(link.get("Target", "") for link in links if link.get("Id") == first.get(_LINK))
        path = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
        texts = _member(archive, "xl/sharedStrings.xml") if "xl/sharedStrings.xml" in names else None
        styles = _member(archive, "xl/styles.xml") if "xl/styles.xml" in names else None
        return _Book(_texts(texts), _dates(styles), _member(archive, path))


def _member(archive: zipfile.ZipFile, name: str) -> Xml.Element:
    if archive.getinfo(name).file_size > _LARGEST:
        raise WorkbookError(f"the workbook unpacks to more than {_LARGEST // 1_000_000} MB")
    text = archive.read(name).decode("utf-8")
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        raise WorkbookError("the workbook defines entities; plain cells are wanted")
    return Xml.fromstring(text)


def _texts(shared: Xml.Element | None) -> tuple[str, ...]:
    return () if shared is None else tuple(_joined(entry) for entry in shared.iter(f"{_MAIN}si"))


def _joined(entry: Xml.Element) -> str:
    """The text of an entry, without the reading aids that some languages put beside it."""
    aids = {id(text) for aid in entry.iter(f"{_MAIN}rPh") for text in aid.iter(f"{_MAIN}t")}
    return "".join(text.text or "" for text in entry.iter(f"{_MAIN}t") if id(text) not in aids)


def _dates(styles: Xml.Element | None) -> tuple[bool, ...]:
    """For each cell format, whether it shows a date or time."""
    if styles is None:
        return ()
    own = {fmt.get("numFmtId"): fmt.get("formatCode", "") for fmt in styles.iter(f"{_MAIN}numFmt")}
    formats = styles.find(f"{_MAIN}cellXfs")
    ids = [] if formats is None else [fmt.get("numFmtId", "0") for fmt in formats]
    return tuple(_number(i, 0) in _DATES or _dated(own.get(i, "")) for i in ids)


def _dated(code: str) -> bool:
    """Whether a format code has a day, month, year, hour or second outside quotes and brackets."""
    bare = re.sub(r'"[^"]*"|\\.|\[[^\]]*\]|_.|\*.', "", code)
    return bool(re.search(r"[dmyhs]", bare, re.IGNORECASE)) and bare.lower() != "general"


def _cells(row: Xml.Element, book: _Book, number: int, most: int) -> list[str]:
    cells: list[str] = []
    for cell in row.iter(f"{_MAIN}c"):
        column = _column(cell.get("r"), len(cells))
        if column >= most:
            raise WorkbookError(f"more than {most} columns", number)
        cells += [""] * (column + 1 - len(cells))
        try:
            cells[column] = _text(cell, book, number)
        except (ValueError, IndexError) as problem:
            raise problem if isinstance(problem, WorkbookError) else WorkbookError("a cell is broken", number) from None
    return cells


def _column(reference: str | None, otherwise: int) -> int:
    match = _LETTERS.fullmatch(reference or "")
    if match is None:
        return otherwise
    at = 0
    for letter in match[1]:
        at = at * 26 + ord(letter) - ord("A") + 1
    return at - 1


def _text(cell: Xml.Element, book: _Book, number: int) -> str:
    """A cell as it would be typed."""
    if cell.find(f"{_MAIN}f") is not None:
        raise WorkbookError("a cell is a formula; plain values are wanted", number)
    kind = cell.get("t", "n")
    if kind == "inlineStr":
        inside = cell.find(f"{_MAIN}is")
        return "" if inside is None else _joined(inside)
    value = cell.findtext(f"{_MAIN}v")
    if value is None:
        return ""
    if kind == "s":
        return book.texts[int(value)] if int(value) >= 0 else ""
    if kind == "b":
        return {"1": "TRUE", "0": "FALSE"}.get(value, value)
    return _plain(value, cell, book, number) if kind == "n" else value


def _plain(value: str, cell: Xml.Element, book: _Book, number: int) -> str:
    style = _number(cell.get("s"), 0)
    if style < len(book.dates) and book.dates[style]:
        raise WorkbookError("a cell is a date; write it as text or as a plain number", number)
    if not _FIGURE.fullmatch(value) or abs(float(value)) > _GREATEST:
        raise WorkbookError("a cell holds no number", number)
    figure = float(value)
    return f"{figure:.0f}" if figure == int(figure) else f"{figure:.15g}"
