"""Changes to a site file's text that leave the person's comments, order and spelling alone. Text in, text out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from ventroute.errors import VentrouteError
from ventroute.units import METRES, format_length

LISTS = ("room", "roof", "hole", "cut", "obstacle", "feature", "keep_out", "framing")
TABLES = (*LISTS, "place", "building", "appliance", "want")
PLAIN = ("name", "units")
MOST_OPS, LONGEST_TEXT, MOST_ITEMS = 200, 400, 200


class EditError(VentrouteError):
    """A change that cannot be made: no such thing, or not a value that a site file holds."""


def changed(text: str, changes: Sequence[Mapping[str, Any]]) -> str:
    """The text after a list of changes, made in order.

    A change is ``{"op": "set", "path": ["hole", 0, "clear"], "value": "3 in"}`` (None takes the key away),
    ``{"op": "add", "table": "room", "value": {...}}`` or ``{"op": "remove", "table": "room", "index": 0}``. A value
    ``{"m": 1.5}`` is a length in metres, written the way the file writes lengths. A room that is renamed is renamed
    in the holes and cuts that lead to it.

    Raises
    ------
    EditError
        Not TOML, or a change that cannot be made. Nothing is half done.
    """
    if len(changes) > MOST_OPS:
        raise EditError(f"more than {MOST_OPS} changes at once")
    document = parsed(text)
    unit = document.get("units", "ft")
    unit = unit if unit in METRES else "ft"
    for change in changes:
        if not isinstance(change, Mapping):
            raise EditError("a change is a table")
        try:
            _WAYS[str(change.get("op"))](document, change, unit)
        except (KeyError, IndexError, TypeError, TOMLKitError) as error:
            raise EditError(f"cannot be changed: {error}") from None
    return tomlkit.dumps(document)


def parsed(text: str) -> Any:
    """The document of a text. Raises `EditError` where it is not TOML."""
    try:
        return tomlkit.parse(text)
    except (TOMLKitError, ValueError, RecursionError) as error:
        raise EditError(f"the file is not TOML: {error}") from None


def tables(text: str) -> dict[str, Any]:
    """What the text says, as plain values as they were written. Raises `EditError`."""
    return dict(parsed(text).unwrap())


def _set(document: Any, change: Mapping[str, Any], unit: str) -> None:
    path = change["path"]
    if not isinstance(path, list) or not path or len(path) > 6:
        raise EditError("a path names what is to be changed")
    if path[0] not in (TABLES if len(path) > 1 else PLAIN):
        raise EditError(f"{path[0]!r} is not part of a site file")
    at = document
    for step in path[:-1]:
        if isinstance(step, str) and step in ("place", "want", "building", "appliance") and step not in at:
            at[step] = tomlkit.table()
        at = at[_step(step)]
    last = _step(path[-1])
    if change.get("value") is None:
        del at[last]
        return
    value = _value(change["value"], unit)
    if path[0] == "room" and len(path) == 3 and last == "name":
        _rename(document, at.get("name"), value)
    at[last] = value


def _rename(document: Any, old: object, new: object) -> None:
    for name in ("hole", "cut"):
        for row in document.get(name, []):
            through = row.get("through", [])
            for k, space in enumerate(through):
                if space == old:
                    through[k] = new


def _add(document: Any, change: Mapping[str, Any], unit: str) -> None:
    name, value = change["table"], change["value"]
    if name not in LISTS or not isinstance(value, Mapping):
        raise EditError(f"nothing called {name!r} can be added")
    row = tomlkit.table()
    for key, part in value.items():
        row[str(key)] = _value(part, unit)
    if name in document:
        document[name].append(row)
        return
    rows = tomlkit.aot()
    rows.append(row)
    document.append(name, rows)


def _remove(document: Any, change: Mapping[str, Any], unit: str) -> None:
    name, index = change["table"], change["index"]
    if name not in LISTS or type(index) is not int or not 0 <= index < len(document[name]):
        raise EditError(f"there is no {name} {index}")
    del document[name][index]
    if not document[name]:
        del document[name]


def _step(step: object) -> str | int:
    if type(step) is int and step >= 0:
        return step
    if isinstance(step, str) and 0 < len(step) <= 40:
        return step
    raise EditError("a path holds names and counts from 0")


def _value(value: object, unit: str, depth: int = 0) -> Any:
    if isinstance(value, bool):
        return value
    if isinstance(value, int | float):
        if not math.isfinite(value):
            raise EditError("not a number one can measure")
        return value
    if isinstance(value, str):
        if len(value) > LONGEST_TEXT or any(not c.isprintable() for c in value):
            raise EditError("a text is one line, and not longer than a person writes")
        return value
    if isinstance(value, Mapping) and set(value) == {"m"} and isinstance(value["m"], int | float):
        return written(float(value["m"]), unit)
    if isinstance(value, Mapping) and 0 < len(value) <= MOST_ITEMS and depth < 1:
        inside = tomlkit.inline_table()
        for key, part in value.items():
            inside[str(key)] = _value(part, unit, depth + 1)
        return inside
    if isinstance(value, list) and len(value) <= MOST_ITEMS and depth < 3:
        return [_value(part, unit, depth + 1) for part in value]
    raise EditError("not a value that a site file holds")


def written(metres: float, unit: str) -> float | str:
    """A length as the file would write it: a short bare number in its units, else feet, inches and sixteenths."""
    if not math.isfinite(metres):
        raise EditError("not a length")
    bare = metres / float(METRES[unit])
    if unit in ("m", "cm", "mm"):
        return round(bare, {"m": 3, "cm": 1, "mm": 0}[unit]) + 0.0
    near = round(bare, 3)
    return near + 0.0 if abs(near - bare) < 1e-7 else format_length(metres)


_WAYS = {"set": _set, "add": _add, "remove": _remove}
