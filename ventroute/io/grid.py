"""Rows of a CSV or XLSX file with their numbers, whatever program wrote it; what cannot be read is a fault."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path

from ventroute.errors import Fault, InputError
from ventroute.io.workbook import WorkbookError, read_workbook

LARGEST_BYTES = 4_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 60
LONGEST_CELL = 400
_ZIP, _OLD = b"PK", b"\xd0\xcf\x11\xe0"

Line = tuple[int, list[str]]


def read_grid(path: Path) -> list[Line]:
    """Rows that hold anything, their cells stripped, with the number of the line or sheet row.

    Raises
    ------
    InputError
        The file cannot be read, is too large, or is neither CSV in UTF-8 nor a plain XLSX workbook.
    """
    raw = _bytes(path)
    rows: list[Line] = []
    for number, cells in _lines(path, raw):
        bare = [cell.strip() for cell in cells]
        while bare and not bare[-1]:
            bare.pop()
        if len(rows) >= MOST_ROWS:
            raise _fault(path, number, f"more than {MOST_ROWS} rows")
        if len(bare) > MOST_COLUMNS:
            raise _fault(path, number, f"more than {MOST_COLUMNS} columns")
        if any(len(cell) > LONGEST_CELL for cell in bare):
            raise _fault(path, number, f"a cell of more than {LONGEST_CELL} characters")
        if bare:
            rows.append((number, bare))
    return rows


def _fault(path: Path, line: int, what: str) -> InputError:
    return InputError([Fault(str(path), line, "", what)])


def _bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as problem:
        what = getattr(problem, "strerror", None) or "no file name"
        raise _fault(path, 1, f"cannot be read: {what}") from problem
    if len(raw) > LARGEST_BYTES:
        raise _fault(path, 1, f"more than {LARGEST_BYTES // 1_000_000} MB")
    return raw


def _lines(path: Path, raw: bytes) -> Iterator[Line]:
    if raw.startswith(_OLD):
        raise _fault(path, 1, "an old or locked workbook; save it as XLSX without a password, or as CSV")
    if not raw.startswith(_ZIP):
        yield from _csv(path, _text(path, raw))
        return
    try:
        yield from read_workbook(raw, MOST_COLUMNS)
    except WorkbookError as problem:
        raise _fault(path, problem.line, str(problem)) from problem


def _text(path: Path, raw: bytes) -> str:
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw.count(b"\n", 0, problem.start) + 1
        raise _fault(path, line, "not UTF-8 text; save the file as CSV UTF-8, or as XLSX") from problem
    odd = next((at for at, sign in enumerate(text) if sign < " " and sign not in "\t\r\n"), None)
    if odd is not None:
        raise _fault(path, text.count("\n", 0, odd) + 1, "holds a sign that no text has; save the file as CSV UTF-8")
    return text


def _csv(path: Path, text: str) -> Iterator[Line]:
    first = text.lstrip().split("\n", 1)[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    line = 1
    try:
        for cells in reader:
            yield line, cells
            line = reader.line_num + 1
    except csv.Error as problem:
        raise _fault(path, line, f"not CSV: {problem}") from problem
