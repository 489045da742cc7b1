"""How much air burning is given beyond what it needs, as manuals print it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ventroute.errors import UnitError
from ventroute.units import parse_fraction, shown

MOST_EXCESS = 4.0  # more is a mistake: our own limit
_WANTED = 'write excess air as "40 %", or what the manual measures in dry flue gas, as "9 % CO2" or "5 % O2"'
_DRY = re.compile(r"(?P<share>.*%)\s*(?P<gas>CO2|CO₂|O2|O₂)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class DryGas:
    """What an analyser reads in dry flue gas: how much excess air that is, the fuel decides."""

    gas: str  # CO2 | O2
    share: float  # mole fraction, 0 to 1


def parse_excess_air(value: object) -> float | DryGas:
    """Excess air of ``"40 %"``, 0.4, or the reading of ``"9 % CO2"``, ``"5 % O2"``.

    Raises
    ------
    UnitError
        It is neither, or dry gas holds no such share of anything.
    """
    dry = _DRY.fullmatch(value.strip()) if isinstance(value, str) else None
    try:
        share = parse_fraction(dry["share"] if dry else value)
    except UnitError:
        raise UnitError(f"{shown(value)} cannot be read; {_WANTED}") from None
    if dry is None:
        return share
    if not 0.0 <= share <= 1.0:
        raise UnitError(f"{shown(value)} is no share of a gas; {_WANTED}")
    return DryGas(dry["gas"].upper().replace("₂", "2"), share)
