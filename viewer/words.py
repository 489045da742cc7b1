"""Figures as people read them."""

from __future__ import annotations

from ventroute.units import format_length, format_pressure, format_temperature

length = format_length


def quantity(value: float | None, unit: str, units: str = "us") -> str:
    """A measure or a limit of a finding, in its own unit; blank where there is none."""
    if value is None:
        return ""
    if unit == "m":
        return format_length(value, units)
    if unit == "degC":
        return format_temperature(value, units)
    if unit == "Pa":
        return format_pressure(value, units)
    if unit == "deg":
        return f"{value:.1f}°"
    return f"{value:g}" if unit in ("count", "") else f"{value:.3g} {unit}"


def margin(value: float | None, unit: str, units: str = "us") -> str:
    """How far inside a limit, in its own unit: a difference of temperatures has no zero point."""
    if value is not None and unit == "degC":
        return f"{value:.0f} °C" if units == "metric" else f"{value * 9 / 5:.0f} °F"
    return quantity(value, unit, units)


def money(value: float | None) -> str:
    """An amount, blank where the price is not known."""
    return "" if value is None else f"{value:,.2f}"
