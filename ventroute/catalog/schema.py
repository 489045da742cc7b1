"""Columns of the catalog tables: names, kinds, units, checks.

A table is a CSV file: a line of column names, a line with the unit of each column (``-`` where there is none), then the
rows. A line that starts with ``#`` is a note. A cell may carry a unit of its own (``60 mm``), a length may be a
fraction (``1 27/32``), and a blank cell means that the figure is not known.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ventroute.constants import FOOT_M, INCH_M
from ventroute.errors import Fault, UnitError
from ventroute.model.source import Evidence, Grade
from ventroute.units import parse_length, parse_pitch, parse_size, parse_temperature_degC

_POUND_PER_FOOT = 0.45359237 / FOOT_M  # exact pound: NIST SP 811 (2008), appendix B.8
_QUART_L = 0.946352946  # exact US liquid quart: NIST SP 811 (2008), appendix B.8

READERS: Mapping[str, Callable[[object], float]] = {
    "length": lru_cache(maxsize=None)(lambda text: parse_length(text, None)),
    "size": lru_cache(maxsize=None)(parse_size),
    "temperature": lru_cache(maxsize=None)(parse_temperature_degC),
    "pitch": lru_cache(maxsize=None)(parse_pitch),
}
# Units of each kind of column; the figure is multiplied where `READERS` does not know the kind.
UNITS: Mapping[str, Mapping[str, float]] = {
    "length": {"in": INCH_M, "ft": FOOT_M, "mm": 1e-3, "m": 1.0},
    "size": {"in": 1.0},
    "temperature": {"degC": 1.0, "degF": 1.0},
    "pitch": {"in 12": 1.0},
    "angle": {"deg": 1.0},
    "mass per length": {"lb/ft": _POUND_PER_FOOT, "kg/m": 1.0},
    "volume": {"qt": _QUART_L, "L": 1.0},
    "per volume": {"1/qt": 1 / _QUART_L, "1/L": 1.0},
    "expansion": {"1/K": 1.0, "1/degF": 1.8},
    "conductivity": {"W/(m K)": 1.0},
    "number": {"-": 1.0},
    "money": {"USD": 1.0},
}
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:e-?\d+)?")
_ITEM = re.compile(r"[a-z0-9]+(?:[.-][a-z0-9]+)*")

Value = str | float | tuple[float, ...] | None


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``kind`` is ``text``, ``item`` or a key of `UNITS`; figures must exceed zero unless ``zero``."""

    name: str
    kind: str = "text"
    blank: bool = False
    choices: tuple[str, ...] = ()
    many: bool = False  # several figures, divided by semicolons
    zero: bool = False


SOURCED = (
    Column("source"),
    Column("page", blank=True),
    Column("grade", choices=tuple(grade for grade in Grade if grade is not Grade.SITE)),
)


@dataclass(frozen=True, slots=True)
class Row:
    """A checked row: figures in SI, sizes in inches."""

    file: str
    line: int
    values: Mapping[str, Value]

    def text(self, name: str) -> str:
        """The text of a cell, "" where blank."""
        value = self.values[name]
        return value if isinstance(value, str) else ""

    def figure(self, name: str) -> float:
        """A figure that must be there."""
        value = self.values[name]
        if not isinstance(value, float):
            raise KeyError(name)
        return value

    def maybe(self, name: str) -> float | None:
        """A figure, None where it is not known."""
        value = self.values[name]
        return value if isinstance(value, float) else None

    def figures(self, name: str) -> tuple[float, ...]:
        """Several figures, as written."""
        value = self.values[name]
        return value if isinstance(value, tuple) else ()

    def span(self, low: str, high: str) -> tuple[float, float] | None:
        """A range from two columns, None where both are blank."""
        ends = self.maybe(low), self.maybe(high)
        return None if ends[0] is None or ends[1] is None else (ends[0], ends[1])

    def evidence(self) -> Evidence:
        """Source, page and grade of the row."""
        return Evidence(self.text("source"), Grade(self.text("grade")), self.text("page"))

    def fault(self, key: str, what: str) -> Fault:
        """A fault of this row."""
        return Fault(self.file, self.line, key, what)


def figure(text: str, kind: str, unit: str) -> float:
    """A figure as written in a cell, in SI; its own unit, where it has one, goes before the column's.

    Raises
    ------
    ValueError
        It is no figure, or its unit is not one of `UNITS` for this kind; the message says which are.
    """
    if unit not in UNITS[kind]:
        raise ValueError(f"{unit!r} is not a unit of {kind}; wanted {' or '.join(UNITS[kind])}")
    text = text.strip()
    if kind in READERS:
        try:
            return READERS[kind](text if text[-1:].isalpha() or kind == "pitch" else f"{text} {unit}")
        except UnitError as problem:
            raise ValueError(str(problem)) from problem
    value = float(text) * UNITS[kind][unit] if _NUMBER.fullmatch(text) else math.inf
    if not math.isfinite(value):
        raise ValueError(f"{text!r} is not a figure")
    return value


def _cell(text: str, column: Column, unit: str) -> Value:
    """A cell's value; ValueError says what is wrong with it."""
    if not text:
        if column.blank:
            return None
        raise ValueError("may not be blank")
    if column.choices and text not in column.choices:
        raise ValueError(f"{text!r} is not one of {', '.join(column.choices)}")
    if column.kind == "item" and not _ITEM.fullmatch(text):
        raise ValueError(f"{text!r} is no item name; wanted lower-case words joined by dashes")
    if column.kind in ("text", "item"):
        return text
    values = tuple(figure(part, column.kind, unit) for part in (text.split(";") if column.many else [text]))
    if column.kind != "temperature" and any(value < 0 or (value == 0 and not column.zero) for value in values):
        raise ValueError("must be more than 0; a figure that is not known is left blank")
    return values if column.many else values[0]


_Line = tuple[int, list[str]]  # number, cells


def _header(names: _Line, units: _Line, columns: tuple[Column, ...], file: str) -> Iterator[Fault]:
    """What is wrong with the line of names and the line of units."""
    wanted = [column.name for column in columns]
    if names[1] != wanted:
        yield Fault(file, names[0], "", f"columns are {', '.join(names[1])}; wanted {', '.join(wanted)}")
        return
    if len(units[1]) != len(columns):
        yield Fault(file, units[0], "", f"{len(units[1])} units for {len(columns)} columns")
        return
    for column, unit in zip(columns, units[1], strict=True):
        known = UNITS.get(column.kind, {"-": 1.0})
        if unit not in known:
            yield Fault(file, units[0], column.name, f"unit {unit!r}; wanted {' or '.join(known)}")


def _lines(text: str) -> Iterator[_Line]:
    """Lines with their numbers, without notes and empty lines."""
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip() and not line.startswith("#"):
            yield number, [cell.strip() for cell in next(csv.reader([line]))]


def read_table(path: Path, file: str, columns: tuple[Column, ...], faults: list[Fault]) -> tuple[Row, ...]:
    """Rows of a table, each cell checked; what is wrong is added to `faults`, and such rows are left out."""
    try:
        lines = list(_lines(path.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, csv.Error) as problem:
        faults.append(Fault(file, 1, "", f"cannot be read: {problem}"))
        return ()
    if len(lines) < 2:
        faults.append(Fault(file, 1, "", "wants a line of column names and a line of units"))
        return ()
    units = lines[1][1]
    wrong = list(_header(lines[0], lines[1], columns, file))
    faults.extend(wrong)
    return () if wrong else tuple(_rows(lines[2:], file, columns, units, faults))


def _rows(
    lines: Iterable[_Line],
    file: str,
    columns: tuple[Column, ...],
    units: list[str],
    faults: list[Fault],
) -> Iterator[Row]:
    for line, cells in lines:
        if len(cells) != len(columns):
            faults.append(Fault(file, line, "", f"{len(cells)} cells; wanted {len(columns)}"))
            continue
        values: dict[str, Value] = {}
        for column, unit, text in zip(columns, units, cells, strict=True):
            try:
                values[column.name] = _cell(text, column, unit)
            except ValueError as problem:
                faults.append(Fault(file, line, column.name, str(problem)))
        if len(values) == len(columns):
            yield Row(file, line, values)
