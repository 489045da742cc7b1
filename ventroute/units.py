"""Lengths and other quantities as people write them, to SI and back.

A person's text is read by a small grammar of our own and never reaches a general unit parser: such parsers take
``6 1/2 in`` for 3 in and ``2,3 m`` for 23 m. What cannot be read in exactly one way is refused with an example of
what can.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from decimal import Context, Decimal
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from ventroute.constants import FOOT_M, INCH_M
from ventroute.errors import UnitError

Vec3 = tuple[float, float, float]

LONGEST_TEXT = 60  # characters of anything that a message repeats
LONGEST_READ = 400  # characters: nobody writes a longer quantity, and a decimal of any float is shorter
LARGEST = 1e12  # plain numbers beyond this are mistakes in any unit here

# Metres in a unit, exact: NIST SP 811 (2008), appendix B.8 (inch, foot).
METRES: Mapping[str, Fraction] = {
    "ft": Fraction(str(FOOT_M)),
    "in": Fraction(str(INCH_M)),
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
}
_EXACT = Context(prec=40)  # a float has at most 17 digits, a unit 4
_DECIMAL_METRES = {unit: Decimal(metres.numerator) / metres.denominator for unit, metres in METRES.items()}
_SPELT = {"'": "ft", '"': "in", "foot": "ft", "feet": "ft", "inch": "in", "inches": "in"}
_SPELT |= {f"{big}{end}": f"{letter}m" for big, letter in (("", ""), ("centi", "c"), ("milli", "m"))
           for end in ("metre", "metres", "meter", "meters")}  # fmt: skip
_MARKS = str.maketrans(
    dict.fromkeys("′’‘ʹ", "'") | dict.fromkeys("″”“ʺ", '"') | dict.fromkeys("−‐‑–", "-")
    | dict.fromkeys("\u00a0\u202f\u2009", " ") | {"⁄": "/"}
)  # fmt: skip
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_PART = re.compile(
    rf"(?:(?P<num>[0-9]+)\s*/\s*(?P<den>[0-9]+)"
    rf"|(?P<whole>{_NUMBER})(?:(?:\s*-\s*|\s+)(?P<num2>[0-9]+)\s*/\s*(?P<den2>[0-9]+))?)"
    r"\s*(?P<unit>[a-z]+\.?|'|\")"
)
_AS_LENGTH = 'write a length as "7 ft 6 1/2 in", "90 1/2 in", "2.31 m" or "231 cm"'

# Pipe sold by its outside diameter, and the nominal inch size of the same opening; common practice.
METRIC_SIZES_IN: Mapping[int, float] = {60: 2.0, 80: 3.0, 100: 3.937, 110: 4.0, 125: 5.0, 160: 6.0}
METRIC_SYSTEMS = ("PP",)  # materials made in those sizes

DIRECTIONS: Mapping[str, Vec3] = {
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
    "north": (0.0, 1.0, 0.0),
    "south": (0.0, -1.0, 0.0),
    "east": (1.0, 0.0, 0.0),
    "west": (-1.0, 0.0, 0.0),
}
UNIT_NORM = 1e-9  # a vector this close to unit length is kept as it stands, so that what is written reads back the same


def shown(value: object) -> str:
    """A value from outside as it may appear in a message: short, on one line, nothing a terminal obeys."""
    try:
        text = value if isinstance(value, str) else as_toml(value)
    except ValueError:  # a whole number of thousands of digits, which Python refuses to spell out
        return "a very large number"
    short = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text[:LONGEST_TEXT])
    short += "..." if len(text) > LONGEST_TEXT else ""
    return f'"{short}"' if isinstance(value, str) else short


def as_toml(value: object) -> str:
    """A value as it stands in a TOML file, text without its escapes."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {as_toml(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _finite(value: object, wanted: str) -> int | float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnitError(f"{shown(value)} is not a number; {wanted}")
    if isinstance(value, float) and not math.isfinite(value):
        raise UnitError(f"{value} is not a number one can measure; {wanted}")
    if abs(value) > LARGEST:
        raise UnitError(f"the number is too large; {wanted}")
    return value


def _plain(text: str, wanted: str) -> str:
    """Lower case, one spelling for each mark and fraction."""
    if len(text) > LONGEST_READ:
        raise UnitError(f"{shown(text)} is too long to be a quantity; {wanted}")
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    plain = text.translate(_MARKS).replace("''", '"').strip().lower()
    if "," in plain:
        raise UnitError(f'{shown(text)} has a comma; write a decimal point, as in "2.3 m", and no thousands mark')
    return plain


def _amount(match: re.Match[str], text: str) -> Fraction:
    num, den = match["num"] or match["num2"], match["den"] or match["den2"]
    whole = Fraction(match["whole"] or 0)
    if num is None:
        return whole
    if int(num) >= int(den):
        raise UnitError(f'{shown(text)}: {num}/{den} is not a proper fraction; write "6 1/2 in", with a space')
    if whole.denominator != 1 or "." in (match["whole"] or ""):
        raise UnitError(f"{shown(text)} has a decimal and a fraction; write one or the other")
    return whole + Fraction(int(num), int(den))


def _parts(text: str, plain: str) -> list[tuple[Fraction, str]]:
    """Split into (amount, unit), in order."""
    parts: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(plain):
        match = _PART.match(plain, at)
        written = match["unit"].rstrip(".") if match else ""
        unit = _SPELT.get(written, written)
        if match is None or unit not in METRES:
            raise UnitError(f"{shown(text)} is not a length; {_AS_LENGTH}")
        parts.append((_amount(match, text), unit))
        at = match.end()
        gap = re.compile(r"-(?=[0-9.])|\s*").match(plain, at)
        at = gap.end() if gap else at
    return parts


def _sum_m(text: str, parts: list[tuple[Fraction, str]]) -> Fraction:
    for (amount, unit), (lesser, below) in pairwise(parts):
        if (unit, below) not in (("ft", "in"), ("m", "cm"), ("m", "mm"), ("cm", "mm")):
            raise UnitError(f"{shown(text)} mixes units; {_AS_LENGTH}")
        if amount.denominator != 1 or lesser * METRES[below] >= METRES[unit]:
            raise UnitError(f"{shown(text)} can be read in two ways; write whole {unit}, then less than one in {below}")
    return sum((amount * METRES[unit] for amount, unit in parts), Fraction(0))


def parse_length(value: object, unit: str | None) -> float:
    """Length [m] of a bare number in `unit`, or of text such as ``7 ft 6 1/2 in``, ``7' 6-1/2"``, ``2.31 m``.

    Parameters
    ----------
    value : number or text as written
    unit : ft, in, m, cm or mm for a bare number; None where a bare number means nothing

    Raises
    ------
    UnitError
        Not a length, or one that can be read in more than one way. Text without a unit is refused.
    """
    if not isinstance(value, str):
        number = _finite(value, _AS_LENGTH)
        if unit is None:
            raise UnitError(f"{shown(value)} has no unit; {_AS_LENGTH}")
        written = Decimal(repr(number))  # so that 0.1 ft and "0.1 ft" are one length
        return float(_EXACT.multiply(written, _DECIMAL_METRES[unit])) + 0.0  # a zero has no sign
    plain = _plain(value, _AS_LENGTH)
    sign = -1 if plain.startswith("-") else 1
    plain = plain.removeprefix("-").removeprefix("+").lstrip()
    if re.fullmatch(rf"{_NUMBER}|[0-9]*[\s-]*[0-9]+\s*/\s*[0-9]+", plain):
        raise UnitError(f'{shown(value)} has no unit; write "{plain} in", "{plain} ft" or "{plain} m"')
    if not plain:
        raise UnitError(f"a length is wanted, and the text is empty; {_AS_LENGTH}")
    return float(sign * _sum_m(value, _parts(value, plain)))


def parse_size(value: object) -> float:
    """Nominal size [in] of ``"3 in"``, ``"1 1/2 in"``, or of a metric pipe size such as ``"80 mm"`` (3).

    Raises
    ------
    UnitError
        No unit, not a size, or a metric size that is not sold.
    """
    wanted = 'write a nominal size as "3 in", "1 1/2 in" or "80 mm"'
    if not isinstance(value, str):
        raise UnitError(f"{shown(value)} is not a size; {wanted}")
    text = re.sub(r"^\s*dn\s*([0-9]+)\s*$", r"\1 mm", value, flags=re.IGNORECASE)
    metres = parse_length(text, None)
    parts = _parts(text, _plain(text, wanted).lstrip("+-"))
    if all(unit in ("in", "ft") for _, unit in parts):
        inches = float(sum((amount * METRES[unit] / METRES["in"] for amount, unit in parts), Fraction(0)))
        if metres > 0 and 0.5 <= inches <= 36:
            return inches
    elif (size := METRIC_SIZES_IN.get(round(metres * 1000))) and abs(metres * 1000 - round(metres * 1000)) < 1e-6:
        return size
    metric = ", ".join(f"{mm} mm" for mm in METRIC_SIZES_IN)
    raise UnitError(f'{shown(value)} is not a pipe size; write "3 in", or one of {metric}')


def parse_pitch(value: object) -> float:
    """Slope as rise over run [-] of ``"6/12"``, ``"26.6 deg"``, ``"1/4 in per ft"``, ``"2 %"``.

    Raises
    ------
    UnitError
        Not a pitch, or not from level up to (not including) upright.
    """
    wanted = 'write a pitch as "6/12", "26.6 deg", "1/4 in per ft" or "2 %"'
    if not isinstance(value, str):
        raise UnitError(f"{shown(value)} is not a pitch; {wanted}")
    plain = _plain(value, wanted)
    if match := re.fullmatch(rf"({_NUMBER})\s*(deg|degrees?|°)", plain):
        slope = math.tan(math.radians(float(match[1]))) if float(match[1]) < 89 else math.inf
    elif match := re.fullmatch(rf"({_NUMBER})\s*%", plain):
        slope = float(Fraction(match[1]) / 100)
    elif match := re.fullmatch(rf"({_NUMBER})\s*(?:/|:|in)\s*({_NUMBER})", plain):
        slope = float(Fraction(match[1]) / Fraction(match[2])) if Fraction(match[2]) else math.inf
    elif match := re.fullmatch(r"(.+?)\s*(?:per|/|:)\s*(?:1\s*)?([a-z]+\.?)", plain):
        slope = parse_length(match[1], None) / parse_length(f"1 {match[2]}", None)
    else:
        raise UnitError(f"{shown(value)} is not a pitch; {wanted}")
    if not 0 <= slope < 50:
        raise UnitError(f"{shown(value)} is not a slope between level and upright; {wanted}")
    return slope


def parse_direction(value: object) -> Vec3:
    """Unit vector [-] of up, down, north, south, east, west, or of ``[dx, dy, dz]``.

    Raises
    ------
    UnitError
        No such name, not three numbers, or no length.
    """
    wanted = "write up, down, north, south, east, west, or [dx, dy, dz]"
    if isinstance(value, str):
        if (known := DIRECTIONS.get(value.strip().lower())) is None:
            raise UnitError(f"{shown(value)} is not a direction; {wanted}")
        return known
    if not isinstance(value, Sequence) or len(value) != 3:
        raise UnitError(f"{shown(value)} is not a direction; {wanted}")
    x, y, z = (_finite(part, wanted) + 0.0 for part in value)
    norm = math.hypot(x, y, z)
    if norm < UNIT_NORM:
        raise UnitError(f"{shown(value)} has no length, so it points nowhere; {wanted}")
    if abs(norm - 1) <= UNIT_NORM:
        return (x, y, z)
    return (x / norm, y / norm, z / norm)


# Spellings (lower case, no spaces) -> (factor to SI or None, what pint calls it). The factors of everyday units are
# NIST SP 811 (2008), appendix B.8, exact where it says so; pint, which is slow to start, converts only the others.
_BTU_J = 1055.05585262  # International Table
_UNITS: Mapping[str, Mapping[str, tuple[float | None, str]]] = {
    "W": {"w": (1.0, "W"), "kw": (1e3, "kW"), "btu/h": (_BTU_J / 3600, ""), "btu/hr": (_BTU_J / 3600, ""),
          "btuh": (_BTU_J / 3600, ""), "kbtu/h": (_BTU_J / 3.6, ""), "kbtu/hr": (_BTU_J / 3.6, ""),
          "mbh": (_BTU_J / 3.6, ""), "mj/h": (None, "MJ/hour"), "kcal/h": (None, "kilocalorie/hour"),
          "therm/h": (None, "therm/hour"), "hp": (None, "horsepower")},
    "Pa": {"pa": (1.0, "Pa"), "hpa": (1e2, ""), "kpa": (1e3, ""), "mbar": (1e2, ""), "bar": (1e5, ""),
           "psi": (6894.757293168361, ""), "inw.c.": (249.08891, ""), "inwc": (249.08891, ""),
           "inh2o": (249.08891, ""), "mmh2o": (9.80665, ""), "mmhg": (None, "mmHg"), "inhg": (None, "inHg"),
           "atm": (None, "atm")},
}  # fmt: skip
_EXAMPLES = {"W": '"120000 Btu/h" or "35 kW"', "Pa": '"2 psi", "7 in w.c." or "1.7 kPa"'}


@lru_cache(maxsize=64)
def _factor(base: str, unit: str) -> float:
    factor, name = _UNITS[base][unit]
    if factor is not None:
        return factor
    import pint  # a quarter of a second, and few files need it

    return float(pint.UnitRegistry().Quantity(1.0, name).to(base).magnitude)


def _number_unit(value: object, wanted: str) -> tuple[Decimal, str]:
    if not isinstance(value, str):
        raise UnitError(f"{shown(value)} has no unit; {wanted}")
    match = re.fullmatch(rf"([+-]?{_NUMBER})\s*([^\s0-9.].*)?", _plain(value, wanted))
    if match is None:
        raise UnitError(f"{shown(value)} cannot be read; {wanted}")
    if not match[2]:
        raise UnitError(f"{shown(value)} has no unit; {wanted}")
    return Decimal(match[1]), match[2].replace(" ", "")


def _quantity(value: object, base: str, what: str) -> float:
    wanted = f"write a {what} as {_EXAMPLES[base]}"
    number, unit = _number_unit(value, wanted)
    if unit not in _UNITS[base]:
        raise UnitError(f"{shown(value)} is not a {what}; {wanted}")
    return float(number) * _factor(base, unit)


def parse_power_W(value: object) -> float:
    """Power [W] of ``"120000 Btu/h"``, ``"35 kW"``. Raises `UnitError`."""
    return _quantity(value, "W", "power")


def parse_pressure_Pa(value: object) -> float:
    """Pressure [Pa] of ``"2 psi"``, ``"7 in w.c."``, ``"1.7 kPa"``. Raises `UnitError`."""
    return _quantity(value, "Pa", "pressure")


def parse_temperature_degC(value: object) -> float:
    """Temperature [degC] of ``"149 degF"``, ``"65 °C"``, ``"338 K"``.

    Raises
    ------
    UnitError
        No unit, not a temperature, or below absolute zero.
    """
    wanted = 'write a temperature as "149 degF" or "65 degC"'
    number, unit = _number_unit(value, wanted)
    unit = unit.removeprefix("deg").removeprefix("°")
    if unit not in ("f", "c", "k"):
        raise UnitError(f"{shown(value)} is not a temperature; {wanted}")
    celsius = {"c": Fraction(number), "f": (Fraction(number) - 32) * 5 / 9, "k": Fraction(number) - Fraction("273.15")}
    if celsius[unit] < Fraction("-273.15"):
        raise UnitError(f"{shown(value)} is below absolute zero; {wanted}")
    return float(celsius[unit])


def parse_fraction(value: object) -> float:
    """Fraction [-] of ``"40 %"``: 0.4. Raises `UnitError`, also for a bare number: 40 and 0.4 would both be meant."""
    wanted = 'write a share as "40 %"'
    number, unit = _number_unit(value, wanted)
    if unit not in ("%", "percent"):
        raise UnitError(f"{shown(value)} is not a share; {wanted}")
    return float(Fraction(number) / 100)


def decimal(value: float) -> str:
    """Shortest decimal, without an exponent, that reads back as the same number."""
    text = format(Decimal(repr(float(value))), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _sixteenths(count: int) -> str:
    """Inches as people say them, from a count of sixteenths."""
    whole, rest = divmod(count, 16)
    part = str(Fraction(rest, 16)) if rest else ""
    return f"{whole} {part}".strip() if whole or not rest else part


def format_length(metres: float, units: str = "us", *, short: bool = False) -> str:
    """Length [m] as people read it: ``7 ft 6 1/2 in`` to the nearest sixteenth, or ``2.311 m``.

    `short` gives one small unit, ``90 1/2 in`` or ``2311 mm``. `parse_length` reads all of them back.
    """
    if units == "metric":
        return f"{round(metres * 1000)} mm" if short else f"{decimal(round(metres, 3) + 0.0)} m"
    count = round(abs(metres) / INCH_M * 16)
    sign = "-" if metres < 0 and count else ""
    feet, rest = (0, count) if short else divmod(count, 12 * 16)
    inches = f"{_sixteenths(rest)} in" if rest or not feet else ""
    return sign + " ".join(part for part in (f"{feet} ft" if feet else "", inches) if part)


def format_size(size_in: float, material: str = "", units: str = "us") -> str:
    """Nominal size as it is asked for in a shop: ``3 in``, ``1 1/2 in``, ``100 mm``.

    With "metric", pipe of a material that is made in metric sizes goes by those: ``DN 80``.
    """
    metric = next((mm for mm, size in METRIC_SIZES_IN.items() if abs(size - size_in) < 1e-9), None)
    if metric and material in METRIC_SYSTEMS and units == "metric":
        return f"DN {metric}"
    if abs(size_in * 16 - round(size_in * 16)) < 1e-9:
        return f"{_sixteenths(round(size_in * 16))} in"
    return f"{metric} mm" if metric else f"{decimal(size_in)} in"


def format_temperature(degC: float, units: str = "us") -> str:
    """Temperature [degC] to the nearest degree: ``149 °F`` or ``65 °C``."""
    return f"{round(degC)} °C" if units == "metric" else f"{round(degC * 9 / 5 + 32)} °F"


def format_power(watts: float, units: str = "us") -> str:
    """Power [W]: ``120000 Btu/h`` or ``35.2 kW``."""
    return f"{decimal(round(watts / 1e3, 1))} kW" if units == "metric" else f"{round(watts * 3600 / _BTU_J)} Btu/h"


def format_pressure(pascals: float, units: str = "us") -> str:
    """Pressure [Pa]: ``0.12 in w.c.`` or ``30 Pa``."""
    return (
        f"{decimal(round(pascals, 1))} Pa" if units == "metric" else f"{decimal(round(pascals / 249.08891, 3))} in w.c."
    )


def format_pitch(slope: float, units: str = "us") -> str:
    """Slope [-]: ``1/4 in per ft`` to the nearest sixteenth, or ``2.1 %``."""
    return (
        f"{decimal(round(slope * 100, 1))} %"
        if units == "metric"
        else f"{_sixteenths(round(slope * 12 * 16))} in per ft"
    )
