"""The error tree. Everything the package raises on purpose descends from `VentrouteError`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class VentrouteError(Exception):
    """Something the caller can mend."""


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One thing wrong with an input file.

    ``file`` is shown as the user typed it, ``line`` counts from 1, ``key`` is the dotted path of the value
    (``hole[1].clear``; "" where it is the file as a whole, which is shown as ``file``), ``what`` says what is wrong
    and what is wanted.
    """

    file: str
    line: int
    key: str
    what: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.key or 'file'}: {self.what}"


class InputError(VentrouteError):
    """An input file that cannot be used: every fault found in it, in order of line."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(sorted(set(faults), key=lambda f: (f.file, f.line, f.key, f.what)))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class GeometryError(VentrouteError):
    """A shape that cannot exist: no volume, not planar, crossing itself."""


class CatalogError(VentrouteError):
    """A catalog row that is wrong, has no source, or is missing."""


class UnitError(VentrouteError):
    """A quantity that cannot be read as what is wanted."""


class ExtraMissingError(VentrouteError):
    """An optional library is not installed; the message names the extra."""
