"""What the numbers tell a person, in plain words.

References
----------
.. [1] Acidity of condensate from natural gas: pH 2.9 to 5.5 over several publications. Grade: second-hand.
.. [2] Drain at least as large as the appliance's connection, corrosion resistant, falling 1/8 in per ft: IFGC 2024
   s. 307.2. Grade: standard read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ventroute.constants import FOOT_M, INCH_M
from ventroute.flue.stretch import Stretch
from ventroute.model.appliance import Appliance
from ventroute.model.plan import FlueState
from ventroute.model.route import Route
from ventroute.model.site import Place
from ventroute.sentences import note_temperature as _t

GALLON_KG = 3.785411784  # exact US gallon in litres, NIST SP 811; water at 1 kg/L


@dataclass(frozen=True, slots=True)
class Found:
    """Everything the notes are about."""

    route: Route
    appliance: Appliance
    place: Place
    state: FlueState
    pipes: Sequence[Stretch]
    humid_dew_degC: float  # with room air at half saturation, where state.dew_point_degC is that of dry air


def _length(m: float) -> str:
    return f"{m / FOOT_M:.1f} ft ({m:.2f} m)"


def _rate(kg_h: float) -> str:
    return f"{kg_h / GALLON_KG:.2f} US gal/h ({kg_h:.2f} kg/h)"


def _names(spaces: Sequence[str]) -> str:
    return ", ".join(f'"{space}"' if space else "a space between" for space in spaces)


def _limit(found: Found) -> Iterator[str]:
    """The material's limit is held against the gas at the collar: no cooling counts."""
    material, hottest = found.route.kit.material, found.appliance.exhaust_max_degC
    limit = material.class_max_degC if material.class_max_degC is not None else material.service_max_degC
    if limit is None:
        yield f"No temperature limit is known for {material.name}; the exhaust reaches {_t(hottest)}: ask its maker."
    elif material.service_max_degC is not None and material.service_max_degC < hottest <= limit:
        yield (
            f"Plain {material.name} pipe is sold for {_t(material.service_max_degC)} at most and the exhaust reaches"
            f" {_t(hottest)}: only a vent listed for its class, {_t(limit)}, will do."
        )
    elif hottest > limit:
        yield (
            f"Too hot for {material.name}: {_t(hottest)} at the collar, {_t(limit)} allowed;"
            " cooling on the way does not count."
        )
    first = found.state.first_foot_degC
    if first is not None:
        foot = _length(FOOT_M)
        yield f"The gas is {_t(first)} at {foot} from the collar when the exhaust is at its hottest, {_t(hottest)}."


def _condensing(found: Found) -> Iterator[str]:
    start, dew = found.state.condenses_from_m, found.state.dew_point_degC
    if start is None:
        yield f"The wall stays above the dew point, {_t(dew)}, in steady running; every cold start still wets it."
        return
    where = "from the collar on" if start < 0.05 else f"from {_length(start)} after the collar"
    yield (
        f"Condenses {where}: the wall is below the dew point, {_t(dew)} with dry combustion air,"
        f" {_t(found.humid_dew_degC)} with air of a heated room at 50 % humidity."
    )
    if not found.appliance.condensing:
        yield (
            f"A category {found.appliance.category} vent is not meant to condense: shorten the run, keep it out of"
            " the cold or insulate it, or ask the maker."
        )


def _freezing(found: Found) -> Iterator[str]:
    state = found.state
    if state.freezes_running:
        where = _names(state.freezes_running)
        wet = min(station.wall_degC for station in state.stations)
        says = "the expected wall stays at" if wet > 0 else "even the expected wall falls to"
        worst = _t(state.wall_min_degC or 0.0)
        yield f"Can freeze while running in {where}: at worst the wall is {worst}; {says} {_t(wet)}."
        if state.insulate_m is None:
            yield "Two inches of insulation do not keep the worst case above freezing: move the run out of the cold."
        else:
            yield (
                f"Insulate the pipe in the cold with at least {state.insulate_m / INCH_M:.2g} in"
                f" ({state.insulate_m * 1000:.0f} mm): that keeps even the worst case above freezing."
            )
    if state.freezes_idle:
        level = [pipe.space for pipe in found.pipes if pipe.air_degC < 0 and not pipe.height_m.all()]
        yield (
            f"With the burner off the pipe in {_names(state.freezes_idle)} stands below freezing:"
            " water left in a sag or trap there freezes"
            + (
                f"; hold the level run in {_names(tuple(dict.fromkeys(level)))} to its pitch without a sag."
                if level
                else "."
            )
        )


def _water(found: Found) -> Iterator[str]:
    state = found.state
    total = state.condensate_kg_h + state.appliance_condensate_kg_h
    if total < 1e-3:
        return
    most = state.drain_max_kg_h or total
    yield (
        f"Drain {_rate(total)} at full input, {_rate(state.condensate_kg_h)} of it from the vent; size the drain for"
        f" {_rate(most)}, at least the appliance's own connection, falling 1/8 in per ft or more."
    )
    yield (
        "The water is acid, about pH 3 to 5.5 (unverified): plastic drains only, neutralised where the code or the"
        " sewer asks."
    )
    if found.appliance.falls_to == "appliance" and state.condensate_kg_h > 0:
        yield "The vent's water runs back to the appliance, whose trap must take it."


def _pressure(found: Found) -> Iterator[str]:
    state = found.state
    natural = found.appliance.category in ("I", "II")
    if natural and state.draught_Pa < state.drop_Pa:
        yield (
            f"The draught, {state.draught_Pa:.1f} Pa, does not carry {state.drop_Pa:.1f} Pa: a category"
            f" {found.appliance.category} appliance may spill into the room."
        )


def notes(found: Found) -> tuple[str, ...]:
    """Plain findings in order of weight: limit, spilling, freezing, condensing, water."""
    return (*_limit(found), *_pressure(found), *_freezing(found), *_condensing(found), *_water(found))
