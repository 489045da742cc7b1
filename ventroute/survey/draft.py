"""A site file in the making: tables in the order they were asked for, lengths as people say them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ventroute.units import format_length

Value = str | float | int | bool | Sequence["Value"] | dict[str, "Value"]


@dataclass(frozen=True, slots=True)
class Table:
    """A table of the file; ``several`` where its kind may stand more than once."""

    name: str
    keys: tuple[tuple[str, Value], ...]
    several: bool = False

    def text(self) -> str:
        """The table as TOML."""
        header = f"[[{self.name}]]" if self.several else f"[{self.name}]"
        return "\n".join(["", header, *(f"{key} = {value_text(value)}" for key, value in self.keys)])


def value_text(value: Value) -> str:
    """A value as TOML."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {value_text(item)}" for key, item in value.items()) + "}"
    return "[" + ", ".join(value_text(item) for item in value) + "]"


def draft_text(name: str, unit: str, tables: Iterable[Table]) -> str:
    """The whole file."""
    head = ["format = 1", f"name = {value_text(name)}", f"units = {value_text(unit)}"]
    return "\n".join([*head, *(table.text() for table in tables)]) + "\n"


@dataclass(frozen=True, slots=True)
class Said:
    """Lengths as text in the units of the survey, to a sixteenth of an inch or a millimetre."""

    unit: str

    def length(self, metres: float) -> str:
        """One length."""
        return format_length(metres, "us" if self.unit in ("ft", "in") else "metric")

    def point(self, point: Sequence[float]) -> list[Value]:
        """A point or a size."""
        return [self.length(part) for part in point]

    def points(self, points: Iterable[Sequence[float]]) -> list[Value]:
        """Corners."""
        return [self.point(point) for point in points]
