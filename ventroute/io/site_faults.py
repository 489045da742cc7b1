"""What the shape library found wrong, in words that say what is wanted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from ventroute.io.appliance_shape import SizeShape
from ventroute.io.near import did_you_mean, listed
from ventroute.io.site_lines import KeyPath
from ventroute.io.site_shape import GableShape
from ventroute.units import as_toml, shown

_INNER: Mapping[str, type[BaseModel]] = {"gable": GableShape, "sizes": SizeShape}
_WANTED = {
    "model_type": "wanted a table of keys",
    "string_type": "wanted text in quotes",
    "bool_type": "wanted true or false",
    "string_too_long": "wanted a shorter text",
    "string_pattern_mismatch": "wanted a plain word of letters, digits and hyphens",
}


def _around(shape: type[BaseModel], path: KeyPath) -> type[BaseModel]:
    """The shape of the table that holds the last key of a path."""
    names = [part for part in path[:-1] if isinstance(part, str)]
    return _INNER.get(names[-1], shape) if names else shape


def example(shape: type[BaseModel], key: str) -> str:
    """How a key may be written, from the schema: ``clear = "6 in"``; only the key where there is no example."""
    field = shape.model_fields.get(key)
    if field is None or not field.examples:
        return key
    return f"{key} = {as_toml(field.examples[0])}"


def unknown_key(key: str, known: Mapping[str, Any]) -> str:
    """Words for a key that nothing reads."""
    return f"unknown key {shown(key)}" + (did_you_mean(key, known) or f"; wanted one of {listed(known)}")


def shape_words(shape: type[BaseModel], path: KeyPath, error: ErrorDetails) -> str:
    """What is wrong and what is wanted, for one error of the library at a path below the table."""
    kind = error["type"]
    around = _around(shape, path)
    if kind == "told":
        return str(error["ctx"]["what"])
    if kind == "extra_forbidden":
        return unknown_key(str(path[-1]), around.model_fields)
    if kind == "missing":
        return f"missing; wanted {example(around, str(path[-1]))}"
    return f"{shown(error['input'])}: {_WANTED.get(kind, error['msg'])}"
