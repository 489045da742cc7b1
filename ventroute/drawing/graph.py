"""The flue along the run: temperatures over the dew point and the limit, and the pressure that is left."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ventroute.constants import FOOT_M
from ventroute.drawing.board import knocked_out
from ventroute.drawing.flat import spread
from ventroute.drawing.metrics import text_width
from ventroute.drawing.primitives import Drawing, Item, Line, Polyline, Text, on_paper
from ventroute.model.plan import FlueState, PlannedRoute, Station
from ventroute.units import format_pressure, format_temperature

WIDTH, TALL, LOW, BETWEEN = 118.0, 56.0, 24.0, 14.0  # of the two panels [mm]
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
LETTER = 2.6


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps a quantity to paper, linear between ``low`` and ``high``."""

    low: float
    high: float
    start: float
    length: float

    def at(self, value: float) -> float:
        """Place on paper."""
        return self.start + (value - self.low) / (self.high - self.low) * self.length


@dataclass(frozen=True, slots=True)
class Curve:
    """One line of the graph; its name stands at its right end."""

    name: str
    values: tuple[float, ...]
    layer: str


def flue_graph(planned: PlannedRoute, units: str) -> Drawing | None:
    """The graph of a route's flue state; None where nothing was calculated along the run."""
    flue = planned.flue
    if flue is None or len(flue.stations) < 2:
        return None
    along = [station.distance_m for station in flue.stations]
    x = Scale(0.0, along[-1] or 1.0, 0.0, WIDTH)
    top = _panel(x, along, _temperatures(planned, flue, units), TALL, LOW + BETWEEN, units, "temperature")
    unit = _pressure_unit(units)
    pressure = [Curve("pressure", tuple(unit(s.pressure_Pa) for s in flue.stations), "first")]
    base = _panel(x, along, pressure, LOW, 0.0, units, "pressure")
    items = [*top, *base, *_distance_axis(x, units), *_spaces(x, flue.stations, LOW + BETWEEN + TALL)]
    title = f"Route {planned.id}: the exhaust on its way"
    return on_paper(knocked_out(items), title, _description(flue, units))


def _temperatures(planned: PlannedRoute, flue: FlueState, units: str) -> list[Curve]:
    """Gas, wall, dew point and the material's limit, in the units shown."""

    def shown(degC: float) -> float:
        return degC if units == "metric" else degC * 9 / 5 + 32

    def curve(name: str, of: Callable[[Station], float], layer: str) -> Curve:
        return Curve(name, tuple(shown(of(station)) for station in flue.stations), layer)

    n = len(flue.stations)
    curves = [
        curve("gas, condensing", lambda s: s.gas_degC, "first"),
        curve("gas, dry", lambda s: s.gas_dry_degC, "hidden"),
        curve("pipe wall, inside", lambda s: s.wall_degC, "second"),
        Curve(
            f"dew point {format_temperature(flue.dew_point_degC, units)}", (shown(flue.dew_point_degC),) * n, "third"
        ),
    ]
    material = planned.route.kit.material
    limits = [limit for limit in (material.service_max_degC, material.class_max_degC) if limit is not None]
    if limits:
        name = f"{material.name} limit {format_temperature(min(limits), units)}"
        curves.append(Curve(name, (shown(min(limits)),) * n, "limit"))
    return curves


def _pressure_unit(units: str) -> Callable[[float], float]:
    return (lambda Pa: Pa) if units == "metric" else (lambda Pa: Pa / 249.08891)


def _panel(x: Scale, along: Sequence[float], curves: Sequence[Curve], height: float, foot: float, units: str,
           what: str) -> list[Item]:  # fmt: skip
    values = [value for curve in curves for value in curve.values]
    ticks = nice_ticks(min(values), max(values), 6 if what == "temperature" else 3)
    y = Scale(ticks[0], ticks[-1], foot, height)
    items: list[Item] = [Line((0.0, y.at(t)), (WIDTH, y.at(t)), "grid") for t in ticks]
    items += [_right(f"{t:g}", -1.5, y.at(t)) for t in ticks]
    items += [Line((0.0, foot), (0.0, foot + height), "thing"), Line((0.0, foot), (WIDTH, foot), "thing")]
    unit = {"temperature": ("°F", "°C"), "pressure": ("in w.c.", "Pa")}[what][units == "metric"]
    items.append(_from(f"{what} [{unit}]", 0.0, foot + height + 3.4))
    for curve in curves:
        points = tuple((x.at(d), y.at(v)) for d, v in zip(along, curve.values, strict=True))
        items.append(Polyline(points, curve.layer))
    return items + _names(curves, y)


def _names(curves: Sequence[Curve], y: Scale) -> list[Item]:
    """Names at the right ends, kept apart, each tied to its curve."""
    order = sorted(curves, key=lambda curve: (curve.values[-1], curve.name))
    wanted = [y.at(curve.values[-1]) for curve in order]
    places = spread(wanted, [LETTER * 1.02] * len(order), 0.6)
    items: list[Item] = []
    for curve, end, place in zip(order, wanted, places, strict=True):
        items.append(_from(curve.name, WIDTH + 6.0, place))
        items.append(Line((WIDTH, end), (WIDTH + 5.4, place), curve.layer))
    return items


def nice_ticks(low: float, high: float, count: int) -> list[float]:
    """Round numbers from at or below `low` to at or above `high`, about `count` of them."""
    span = max(high - low, 1e-9, abs(high) * 1e-6)
    power = 10.0 ** math.floor(math.log10(span / count))
    step = next((s * power for s in STEPS if s * power >= span / count - 1e-12), 10 * power)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [round(k * step, 9) for k in range(first, max(last, first + 1) + 1)]


def _distance_axis(x: Scale, units: str) -> list[Item]:
    unit, word = (1.0, "m") if units == "metric" else (FOOT_M, "ft")
    ticks = [t for t in nice_ticks(0.0, x.high / unit, 8) if t * unit <= x.high + 1e-9]
    items: list[Item] = [Line((x.at(t * unit), 0.0), (x.at(t * unit), -1.2), "thing") for t in ticks]
    items += [Text((x.at(t * unit), -3.6), f"{t:g}", LETTER, "note") for t in ticks]
    return [*items, Text((WIDTH / 2, -7.6), f"distance from the collar [{word}]", LETTER, "note")]


def _spaces(x: Scale, stations: Sequence[Station], top: float) -> list[Item]:
    """Which room the pipe is in, above the graph; a name that does not fit is left out."""
    items: list[Item] = []
    starts = [0, *(k for k, (a, b) in enumerate(pairwise(stations), 1) if a.space != b.space), len(stations)]
    for first, after in pairwise(starts):
        low = x.at(stations[first].distance_m)
        high = x.at(stations[min(after, len(stations) - 1)].distance_m)
        name = stations[first].space
        if text_width(name, LETTER) + 1.0 < high - low:
            items.append(Text(((low + high) / 2, top + 7.4), name, LETTER, "note"))
        if first:
            items.append(Line((low, 0.0), (low, top + 5.6), "hidden"))
    return items


def _from(text: str, left: float, y: float) -> Text:
    return Text((left + text_width(text, LETTER) / 2, y), text, LETTER, "note")


def _right(text: str, right: float, y: float) -> Text:
    return Text((right - text_width(text, LETTER) / 2, y), text, LETTER, "note")


def _description(flue: FlueState, units: str) -> str:
    first, last = flue.stations[0], flue.stations[-1]
    start, end = (format_temperature(station.gas_degC, units) for station in (first, last))
    dew, drop = format_temperature(flue.dew_point_degC, units), format_pressure(flue.drop_Pa, units)
    return f"Gas {start} at the collar, {end} at the end; dew point {dew}; drop {drop}."


def flue_lines(flue: FlueState, units: str) -> tuple[str, ...]:
    """The flue state in words, each line with its figures."""
    dew, outlet = format_temperature(flue.dew_point_degC, units), format_temperature(flue.outlet_degC, units)
    spent = f"{format_pressure(flue.drop_Pa, units)}{_reference(flue, units)}"
    vent, inside = water_words(flue.condensate_kg_h, units), water_words(flue.appliance_condensate_kg_h, units)
    return (
        f"Dew point {dew}; the gas leaves the terminal at {outlet}.",
        f"Pressure spent on the way: {spent}. Velocity {speed_words(flue.velocity_m_s, units)}.",
        f"Condensate in the vent: {vent}; in the appliance: {inside}.",
        *flue.notes,
    )


def _reference(flue: FlueState, units: str) -> str:
    if flue.reference_drop_Pa is None:
        return ""
    return f" (the manual's greatest length in this size would cost {format_pressure(flue.reference_drop_Pa, units)})"


def speed_words(m_s: float, units: str) -> str:
    """Speed of the gas."""
    return f"{m_s:.1f} m/s" if units == "metric" else f"{m_s / FOOT_M:.1f} ft/s"


def water_words(kg_h: float, units: str) -> str:
    """Condensate as a person drains it: a US gallon is 3.785411784 L exactly (NIST SP 811), a litre of water 1 kg."""
    return f"{kg_h:.2f} L/h" if units == "metric" else f"{kg_h / 3.785411784:.2f} gal/h"
