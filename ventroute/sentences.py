"""Quantities inside sentences, told in the units that a person reads.

Findings, reasons and messages are kept as sentences, whoever reads them: what is computed stands in them in SI, as
`note_length` and its kin write it, and what comes from a code or a catalog in the feet and inches of its source. Text
in quotes is a name, or what a person wrote, and stays as it is. So does a nominal size, which is a name too; only pipe
that is made in metric sizes goes by those.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction

from ventroute.constants import FOOT_M, INCH_M
from ventroute.units import (
    METRIC_SYSTEMS,
    decimal,
    format_length,
    format_pitch,
    format_power,
    format_pressure,
    format_size,
    format_temperature,
    parse_power_W,
    parse_pressure_Pa,
    parse_temperature_degC,
)

_PLAIN = r"[0-9]+(?:\.[0-9]+)?"
_AMOUNT = rf"(?:[0-9]+ [0-9]+/[0-9]+|[0-9]+/[0-9]+|{_PLAIN})"
_US = r"(?:US gal/h|degF|°F|in|ft)"
_OURS = r"-?[0-9.]+ (?:kg/h|degC|°C|mm|m)|DN [0-9]+"
_MADE = "|".join(METRIC_SYSTEMS)
_SOLD = rf"PVC|CPVC|ABS|{_MADE}|stainless|pipe|reducer|increaser|adapter"
_PHRASE = re.compile(
    r"(?P<quoted>\"[^\"]*\"|(?<![\w])'[^']*'(?!\w))"
    rf"|(?<![\w./-])-?(?:{_AMOUNT} {_US} \((?P<both>{_OURS})\)"
    rf"|(?P<slope>{_AMOUNT}) in per ft"
    rf"|(?P<roof>{_PLAIN})/12\b(?! (?:in|ft)\b)"
    rf"|(?P<column>{_PLAIN}) in w\.c\."
    rf"|(?P<made>{_AMOUNT}) in (?P<material>{_MADE})\b"
    rf"|(?P<nominal>{_AMOUNT} in (?:to {_AMOUNT} in )?(?:{_SOLD}|in the catalog)\b|(?<=[0-9] of ){_AMOUNT} in\b)"
    rf"|(?P<least>{_AMOUNT}) to (?P<most>{_AMOUNT}) (?P<span>in|ft)\b(?! per )"
    rf"|(?P<length>{_PLAIN} ft(?: {_AMOUNT} in)?|{_AMOUNT} in)\b(?! (?:the|an?|one|this)\b| \")"
    rf"|(?P<area>{_PLAIN}) (?P<square>in2|ft2)\b"
    rf"|(?P<quantity>{_PLAIN} (?:psi|Btu/h|degF|°F))(?!\w))"
)
_NOTED = re.compile(r"(?<![\w.])(\d+\.\d{4}) m\b|(?<![\w.])(\d+\.\d{2}) mm\b|\bpitch (\d+\.\d{3})\b")


def note_length(metres: float, *, short: bool = False) -> str:
    """Length [m] inside a text that is kept: ``2.3114 m``, or ``19.05 mm`` where one small unit is wanted."""
    return f"{metres * 1e3:.2f} mm" if short else f"{metres:.4f} m"


def note_temperature(degC: float) -> str:
    """Temperature inside a text that is kept: ``149 degF (65 degC)``."""
    return f"{degC * 1.8 + 32:.0f} degF ({degC:.0f} degC)"


def counted(number: int, thing: str) -> str:
    """How many, with the plural that belongs to it: ``1 guide``, ``2 guides``."""
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def note_roof(slope: float) -> str:
    """A roof's slope [-] inside a text that is kept: ``pitch 0.500``."""
    return f"pitch {slope:.3f}"


def _spelt(text: str, units: str) -> str:
    """A text with what `note_length` and its kin wrote as people read it: ``7 ft 7 in``, ``pitch 6/12``."""

    def said(found: re.Match[str]) -> str:
        long, short, slope = found.groups()
        if long or short:
            return format_length(float(long) if long else float(short) / 1e3, units, short=bool(short))
        rise = float(slope)
        return f"pitch {math.degrees(math.atan(rise)):.0f}°" if units == "metric" else f"pitch {rise * 12:.3g}/12"

    return _NOTED.sub(said, text)


def told_in(text: str, units: str = "us") -> str:
    """A sentence in the person's units, "us" or "metric"."""
    said = _spelt(text, units)
    return _PHRASE.sub(_metric, said) if units == "metric" else said


def size_in_words(text: str, size_in: float, material: str, units: str) -> str:
    """A short text that names a route by its nominal size, with that size as the person's trade calls it."""
    bare = rf"(?<![\w./]){re.escape(f'{size_in:g} in')}\b"
    return re.sub(bare, format_size(size_in, material, units), text)


def _metric(match: re.Match[str]) -> str:
    sign = "-" if match[0].startswith("-") else ""
    return next(write(match, sign) for name, write in _WRITERS.items() if match[name] is not None)


def _inches(amount: str) -> float:
    return float(sum(Fraction(part) for part in amount.split()))


def _small(metres: float, sign: str = "") -> str:
    """Millimetres: whole ones, but for what is thinner than ten."""
    return f"{sign}{decimal(round(metres * 1000, 0 if metres >= 0.01 else 1))} mm"


def _length(match: re.Match[str], sign: str) -> str:
    text = match["length"]
    if " ft" not in text:
        return _small(_inches(text.removesuffix(" in")) * INCH_M, sign)
    feet, inches = text.split(" ft")
    metres = float(feet) * FOOT_M + (_inches(inches.strip().removesuffix(" in")) * INCH_M if inches else 0.0)
    return sign + format_length(metres, "metric")


def _span(match: re.Match[str], sign: str) -> str:
    unit = INCH_M if match["span"] == "in" else FOOT_M
    least, most = (_inches(match[name]) * unit for name in ("least", "most"))
    return f"{sign}{_small(least).removesuffix(' mm')} to {_small(most)}"


def _made(match: re.Match[str], sign: str) -> str:
    return f"{format_size(_inches(match['made']), match['material'], 'metric')} {match['material']}"


def _area(match: re.Match[str], sign: str) -> str:
    if match["square"] == "in2":
        return f"{float(match['area']) * INCH_M**2 * 1e4:.4g} cm2"
    return f"{float(match['area']) * FOOT_M**2:.3g} m2"


def _quantity(match: re.Match[str], sign: str) -> str:
    text = sign + match["quantity"]
    if text.endswith("psi"):
        return f"{parse_pressure_Pa(text) / 1000:.3g} kPa"
    if text.endswith("Btu/h"):
        return format_power(parse_power_W(text), "metric")
    return format_temperature(parse_temperature_degC(text), "metric")


_WRITERS: dict[str, Callable[[re.Match[str], str], str]] = {
    "quoted": lambda match, sign: match[0],
    "both": lambda match, sign: match["both"],
    "slope": lambda match, sign: format_pitch(_inches(match["slope"]) / 12, "metric"),
    "roof": lambda match, sign: f"{math.degrees(math.atan(float(match['roof']) / 12)):.0f}°",
    "column": lambda match, sign: sign + format_pressure(parse_pressure_Pa(f"{match['column']} in w.c."), "metric"),
    "made": _made,
    "nominal": lambda match, sign: match[0],
    "least": _span,
    "length": _length,
    "area": _area,
    "quantity": _quantity,
}
