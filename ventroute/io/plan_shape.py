"""Nouns to JSON and back by their own fields: every value checked, every fault named by its key path."""

from __future__ import annotations

import dataclasses
import math
import types
from collections.abc import Callable
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from ventroute.units import shown

T = TypeVar("T")

DECIMALS = 9  # a nanometre: parts still meet within 1e-6 m, and the text does not change with the last bits
_FARTHEST = 1e9  # larger numbers in a plan are damage, not measures


class ShapeError(ValueError):
    """Values that are not what their keys want: the dotted path of each, and what is wrong."""

    def __init__(self, *faults: tuple[str, str]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{key}: {what}" for key, what in faults))


@dataclasses.dataclass(slots=True)
class Faults:
    """What is wrong with values that are read one after another, so that all of it is told at once."""

    found: list[tuple[str, str]] = dataclasses.field(default_factory=list)

    def note(self, key: str, what: str) -> None:
        """One fault."""
        self.found.append((key, what))

    def read(self, make: Callable[..., Any], *arguments: Any) -> Any:
        """What `make` gives; None where it does not read, with its faults noted."""
        try:
            return make(*arguments)
        except ShapeError as error:
            self.found.extend(error.faults)
            return None

    def settle(self) -> None:
        """Raise `ShapeError` where anything was found."""
        if self.found:
            raise ShapeError(*self.found)


def rounded(value: float) -> float:
    """A number as it stands in a file: fixed decimals, no minus zero."""
    return round(value, DECIMALS) + 0.0


def to_plain(value: Any) -> Any:
    """A noun as dicts, lists and plain values, keys in the order of its fields."""
    if isinstance(value, float):
        return rounded(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple | list):
        return [to_plain(part) for part in value]
    names = _names(type(value))  # type: ignore[arg-type]
    return {name: to_plain(getattr(value, name)) for name in names} if names is not None else value


@cache
def _names(kind: Any) -> tuple[str, ...] | None:
    """The fields of a noun, None for what is none."""
    return tuple(field.name for field in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else None


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def from_plain(kind: type[T], value: object, key: str) -> T:
    """Make a noun of what `to_plain` gave; keys it does not know are passed over.

    Raises
    ------
    ShapeError
        A key is missing, or a value is of another kind.
    """
    if not isinstance(value, dict):
        raise ShapeError((key, f"wanted an object, not {named(value)}"))
    made: dict[str, Any] = {}
    faults = Faults()
    hints = _hints(kind)  # type: ignore[arg-type]
    for field in dataclasses.fields(kind):  # type: ignore[arg-type]
        path = f"{key}.{field.name}" if key else field.name
        if field.name in value:
            made[field.name] = faults.read(as_type, hints[field.name], value[field.name], path)
        elif field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING:
            faults.note(path, f"missing; wanted {wanted(hints[field.name])}")
    faults.settle()
    return kind(**made)


def as_type(hint: Any, value: object, key: str) -> Any:
    """A value checked against a type hint, tuples made of lists.

    Raises
    ------
    ShapeError
        It is something else.
    """
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        return _one_of(get_args(hint), value, key)
    if origin is tuple:
        return _tuple(get_args(hint), value, key)
    if dataclasses.is_dataclass(hint):
        return from_plain(hint, value, key)  # type: ignore[arg-type]
    if isinstance(hint, type) and issubclass(hint, Enum):
        return _choice(hint, value, key)
    return _leaf(hint, value, key)


def _one_of(hints: tuple[Any, ...], value: object, key: str) -> Any:
    if value is None and type(None) in hints:
        return None
    return as_type(next(hint for hint in hints if hint is not type(None)), value, key)


def _tuple(hints: tuple[Any, ...], value: object, key: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise ShapeError((key, f"wanted a list, not {named(value)}"))
    if len(hints) == 2 and hints[1] is Ellipsis:
        hints = hints[:1] * len(value)
    if len(value) != len(hints):
        raise ShapeError((key, f"wanted {len(hints)} values, not {len(value)}"))
    faults = Faults()
    pairs = enumerate(zip(hints, value, strict=True), start=1)
    made = [faults.read(as_type, hint, part, f"{key}[{n}]") for n, (hint, part) in pairs]
    faults.settle()
    return tuple(made)


def _choice(kind: type[Enum], value: object, key: str) -> Enum:
    for member in kind:
        if member.value == value:
            return member
    known = ", ".join(str(member.value) for member in kind)
    raise ShapeError((key, f"{named(value)} is not known; wanted one of {known}"))


def _leaf(hint: Any, value: object, key: str) -> Any:
    if hint is float:
        return _number(value, key)
    if type(value) is not hint:  # True is an int to Python, and no count to us
        raise ShapeError((key, f"wanted {wanted(hint)}, not {named(value)}"))
    if hint is int:
        _number(value, key)
    return value


def _number(value: object, key: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ShapeError((key, f"wanted a number, not {named(value)}"))
    if not -_FARTHEST <= value <= _FARTHEST or math.isnan(value):
        raise ShapeError((key, f"not a number that a plan can hold; wanted one within {_FARTHEST:.0e}"))
    return value  # a whole number stays one, so that what was read is written the same


_KINDS = {str: "text", int: "a whole number", float: "a number", bool: "true or false"}


def wanted(hint: Any) -> str:
    """What a type hint asks for, in a message."""
    if get_origin(hint) in (Union, types.UnionType):
        return " or ".join(wanted(each) for each in get_args(hint))
    if get_origin(hint) is tuple:
        return "a list"
    return "null" if hint is type(None) else _KINDS.get(hint, "an object" if dataclasses.is_dataclass(hint) else "text")


def named(value: object) -> str:
    """A value in a message."""
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "a list"
    return "null" if value is None else shown(value)
