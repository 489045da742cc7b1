"""Figures of a rule pack as people write them, to SI. A bare number is refused: its unit would be a guess."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from fractions import Fraction

from ventroute.constants import FOOT_M, INCH_M
from ventroute.errors import UnitError
from ventroute.units import (
    parse_fraction,
    parse_length,
    parse_pitch,
    parse_power_W,
    parse_pressure_Pa,
    parse_temperature_degC,
)

_AREAS_M2 = {"in2": INCH_M**2, "ft2": FOOT_M**2, "mm2": 1e-6, "cm2": 1e-4, "m2": 1.0}
_VOLUMES_M3 = {"ft3": FOOT_M**3, "m3": 1.0}
_PLAIN = re.compile(r"\s*([0-9]+(?:\.[0-9]+)?)\s*([a-z0-9]+)\s*")


def _of(units: Mapping[str, float], what: str) -> Callable[[object], float]:
    def read(value: object) -> float:
        match = _PLAIN.fullmatch(value) if isinstance(value, str) else None
        if match is None or match[2] not in units:
            raise UnitError(f"{value!r} is not a {what}; write a number and one of {', '.join(units)}")
        return float(match[1]) * units[match[2]]

    return read


def _share(value: object) -> float:
    match = re.fullmatch(r"([0-9]+)/([1-9][0-9]*) of [a-z ]+", value) if isinstance(value, str) else None
    return float(Fraction(int(match[1]), int(match[2]))) if match else parse_fraction(value)


def _per_power(amount: Callable[[object], float]) -> Callable[[object], float]:
    def read(value: object) -> float:
        first, per, second = value.partition(" per ") if isinstance(value, str) else ("", "", "")
        if not per:
            raise UnitError(f'{value!r} is no amount for a power; write it like "1 in2 per 4000 Btu/h"')
        power_W = parse_power_W(second)
        if power_W <= 0:
            raise UnitError(f"{value!r} is no amount for a power: the power must be more than nothing")
        return amount(first) / power_W

    return read


_AREA = _of(_AREAS_M2, "area")
_VOLUME = _of(_VOLUMES_M3, "volume")
_FROM_ZERO = ("pitch", "temperature")  # a flat roof, water's freezing point

# dimension -> (reader, unit of what it returns)
DIMENSIONS: Mapping[str, tuple[Callable[[object], float], str]] = {
    "length": (lambda value: parse_length(value, None), "m"),
    "pitch": (parse_pitch, ""),
    "power": (parse_power_W, "W"),
    "pressure": (parse_pressure_Pa, "Pa"),
    "temperature": (parse_temperature_degC, "degC"),
    "count": (_of({"sides": 1.0, "of": 1.0, "count": 1.0}, "count"), "count"),
    "share": (_share, ""),
    "area": (_AREA, "m2"),
    "area per power": (_per_power(_AREA), "m2/W"),
    "volume per power": (_per_power(_VOLUME), "m3/W"),
}


def read(value: object, dimension: str) -> float:
    """Figure in SI of text such as ``12 in``, ``149 degF``, ``1/3 of depth``, ``50 ft3 per 1000 Btu/h``.

    Raises
    ------
    UnitError
        No unit, not what ``dimension`` (a key of `DIMENSIONS`) asks for, or a limit that nothing could break.
    """
    figure = DIMENSIONS[dimension][0](value)
    if dimension not in _FROM_ZERO and figure <= 0:
        raise UnitError(f"{value!r} is no limit: it must be more than nothing; a rule that is void is withdrawn")
    if dimension == "share" and figure > 1:
        raise UnitError(f"{value!r} is no share: it is more than the whole")
    return figure
