"""What a row of a rule pack may be: for each kind its figures, its table, and which of them must be there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of rule. Figures map a name to its dimension; those in ``maybe`` may be left out.

    ``zone``: it bounds a region.
    """

    figures: Mapping[str, str] = field(default_factory=dict)
    maybe: Mapping[str, str] = field(default_factory=dict)
    table: Mapping[str, str] = field(default_factory=dict)
    table_maybe: Mapping[str, str] = field(default_factory=dict)
    zone: bool = False
    features: bool = False  # the row must say which features it is about


def _zone(*names: str, features: bool = False) -> Kind:
    return Kind(dict.fromkeys(names, "length"), zone=True, features=features)


KINDS: Mapping[str, Kind] = {
    # about the terminal's place
    "around": _zone("distance", features=True),
    "any way out": _zone("below", "beside", "above", features=True),
    "rise near": _zone("within", "above", features=True),
    "column": _zone("beside", "above", features=True),
    "beneath": Kind({"gap": "length", "sides": "count"}, zone=True, features=True),
    "on top": _zone("above", features=True),
    "facing": _zone("beside", "above", "below", features=True),
    "over": _zone(features=True),
    "height beside": _zone("beside", "height", features=True),
    "under eaves": _zone("beside", features=True),
    "inside corner": _zone("distance"),
    "outside corner": _zone("distance"),
    "under building": _zone(),
    "grade": _zone("height"),
    "grade, manual": _zone(),
    "roof": _zone("height"),
    "roof, manual": _zone(),
    "roof by pitch": Kind(table={"pitch_to": "pitch", "height": "length"}, zone=True),
    "roof parts": _zone("within", "above"),
    "roof walls": _zone("wall", "within", "above"),
    "keep out": _zone(),
    "rise": _zone("above"),
    # about the vent and the house
    "statement": Kind(),
    "question": Kind(),
    "cold spaces": Kind(),
    "caution": Kind(),
    "classes": Kind(table={"class": "text", "limit": "temperature"}),
    "vent types": Kind(table={"category": "text", "types": "text"}),
    "joints": Kind(table={"from": "text", "to": "text", "cement": "text", "primer": "text"}),
    "hangers": Kind(table={"material": "text", "size_to": "length", "temperature_to": "temperature",
                           "spacing": "length"}, table_maybe={"upright": "length"}),
    "expansion": Kind({"laid_at": "temperature", "every": "length", "socket": "length"}),
    "boring": Kind({"hole": "share", "edge": "length"}, maybe={"doubled": "share"}),
    "notching": Kind({"depth": "share", "length": "share"}),
    "shield": Kind({"edge": "length", "plate": "length"}),
    "spare": Kind({"least": "length"}),
    "in view": Kind({"length": "length"}),
    "lone wall": Kind(),
    "indoor air": Kind({"volume": "volume per power"}),
    "air openings": Kind({"share": "area per power"}, maybe={"least": "area", "vent": "share"}),
}  # fmt: skip
