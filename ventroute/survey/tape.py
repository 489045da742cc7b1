"""Answers of a survey as people call them out, to numbers."""

from __future__ import annotations

import re

from ventroute.errors import UnitError
from ventroute.model.appliance import PATTERN_KEYS
from ventroute.survey.closure import Diagonal, Wall
from ventroute.units import DIRECTIONS, parse_length, shown

Vec2 = tuple[float, float]

_HALF = 0.5**0.5
WAYS: dict[str, Vec2] = {name: (way[0], way[1]) for name, way in DIRECTIONS.items() if way[2] == 0}
WAYS |= {
    f"{ns}{ew}": (WAYS[ew][0] * _HALF, WAYS[ns][1] * _HALF) for ns in ("north", "south") for ew in ("east", "west")
}
_PATTERN = re.compile(r"\s*(?P<angle>90|45|22)(?: 1/2|\.5|½)?\s+(?P<name>[A-Za-z]+)\s+(?P<length>.+)")
_SHORT = {"n": "north", "s": "south", "e": "east", "w": "west", "ne": "northeast", "nw": "northwest",
          "se": "southeast", "sw": "southwest"}  # fmt: skip


def read_length(text: str, unit: str) -> float:
    """Length [m]; unlike in a file, a number alone is in the survey's unit. Raises `UnitError`."""
    try:
        number = float(text)
    except ValueError:
        return parse_length(text, None)
    return parse_length(number, unit)


def read_lengths(text: str, unit: str, count: int) -> tuple[float, ...]:
    """So many lengths [m], with commas or ``x`` between them. Raises `UnitError`."""
    parts = [part.strip() for part in re.split(r",|\s+x\s+", text.strip())]
    if len(parts) != count:
        raise UnitError(f"{shown(text)}: {len(parts)} lengths; wanted {count}, with commas between them")
    return tuple(read_length(part, unit) for part in parts)


def read_wall(text: str, unit: str) -> Wall:
    """One wall, ``east 12 ft 3 1/2 in``. Raises `UnitError`."""
    word, _, rest = text.strip().partition(" ")
    name = word.lower().replace("-", "")
    way = WAYS.get(_SHORT.get(name, name))
    if way is None or not rest.strip():
        raise UnitError(f'{shown(text)} is not a wall; write the way along it and its length, as "east 12 ft 3 in"')
    length_m = read_length(rest, unit)
    if length_m <= 0:
        raise UnitError(f"{shown(text)} has no length; wanted more than nothing")
    return Wall(way, length_m)


def read_pattern(text: str, unit: str) -> tuple[str, float]:
    """The key of a bend's pattern, and its equivalent length [m]: ``90 short 8 ft``. Raises `UnitError`."""
    match = _PATTERN.fullmatch(text)
    key = next((k for k in PATTERN_KEYS if match and k == f"elbow_{match['angle']}_{match['name'].lower()}"), None)
    if match is None or key is None:
        known = ", ".join(f"{angle:.0f} {name}" for angle, name in PATTERN_KEYS.values())
        raise UnitError(f'{shown(text)} is no pattern with its length; wanted one of {known}, as "90 short 8 ft"')
    return key, read_length(match["length"], unit)


def read_diagonal(text: str, unit: str) -> Diagonal:
    """One diagonal between corners counted from 1, ``1-3 15 ft 2 in``. Raises `UnitError`."""
    match = re.fullmatch(r"\s*([0-9]{1,3})\s*(?:-|to)\s*([0-9]{1,3})\s*[:,]?\s+(.+)", text)
    if match is None:
        raise UnitError(f'{shown(text)} is not a diagonal; write two corners and the reading, as "1-3 15 ft 2 in"')
    length_m = read_length(match[3], unit)
    if length_m <= 0:
        raise UnitError(f"{shown(text)} has no length; wanted more than nothing")
    return Diagonal(int(match[1]) - 1, int(match[2]) - 1, length_m)
