"""The steady state of a route: one march of the wet and the dry bound, read at stations."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from ventroute.constants import FOOT_M
from ventroute.errors import CatalogError, Fault, VentrouteError
from ventroute.flue.along import Air, stretches
from ventroute.flue.cooling import Place as Mark
from ventroute.flue.cooling import marches
from ventroute.flue.derate import derating
from ventroute.flue.findings import Found, notes
from ventroute.flue.fuel import FUELS, Fuel, read_fuels
from ventroute.flue.gas import FlueGas, burn, excess_air
from ventroute.flue.losses import EXIT_K, SCREEN_K, friction_Pa, velocity_head_Pa
from ventroute.flue.properties import humidity_ratio, standard_pressure_Pa
from ventroute.flue.species import WATER, FloatArray
from ventroute.flue.stretch import Stretch
from ventroute.model.appliance import Appliance
from ventroute.model.plan import FlueState, Station
from ventroute.model.route import Route
from ventroute.model.site import Place

STATION_M = 0.25
MOST_STATIONS = 400
STEP_M = 2.0  # moves the outlet by less than 0.1 K against steps of 0.1 m in the check cases
INSULATIONS_M = (0.0127, 0.0191, 0.0254, 0.0381, 0.0508)  # 1/2 to 2 in, sold as pipe insulation; common practice
HEATED_DEGC = 20.0  # room air in winter; common practice
HUMID = 0.5  # relative humidity of a room that is not dry: common practice
FREEZING_DEGC = 0.0  # dilute condensate
WET, DRY, HOT = 0, 1, 2  # columns of the march: usual exhaust wet and dry, hottest exhaust wet


@dataclass(frozen=True, slots=True, eq=False)
class _Curve:
    """The marks of a march as columns over distance, (k,) and (k, 3)."""

    distance_m: FloatArray
    gas: FloatArray
    wall: FloatArray
    surface: FloatArray
    static_Pa: FloatArray
    stretch: tuple[int, ...]


def default_air(heated: Mapping[str, bool], place: Place) -> dict[str, float]:
    """Air of every room where nothing better is known: 20 degC heated, outdoor winter air unheated (the cold side).

    Parameters
    ----------
    heated : whether each room is heated, by name

    Returns
    -------
    temperatures [degC] by name, outdoors included
    """
    rooms = {name: HEATED_DEGC if warm else place.winter_degC for name, warm in heated.items()}
    return {**rooms, "outdoors": place.winter_degC}


def gas_faults(appliance: Appliance, fuels: Mapping[str, Fuel]) -> Iterator[Fault]:
    """What its flue gas cannot be, at the key of a site file."""
    try:
        excess_air(fuels[appliance.fuel], appliance.excess_air)
    except VentrouteError as error:
        yield Fault("", 0, "appliance.excess_air", str(error))


def appliance_gas(
    appliance: Appliance, place: Place, fuels: Path | Mapping[str, Fuel] = FUELS, relative_humidity: float = 0.0
) -> FlueGas:
    """What the appliance burns at full input, derated as its manual reads the altitude. Shape ().

    Parameters
    ----------
    relative_humidity : of the burner's air at the temperature of a heated room, 0 to 1

    Raises
    ------
    CatalogError
        The fuel is not among ``fuels``.
    VentrouteError
        The altitude rule is not known, or dry flue gas cannot hold what is said of it.
    """
    known = read_fuels(fuels) if isinstance(fuels, Path) else fuels
    if appliance.fuel not in known:
        raise CatalogError(f"no fuel {appliance.fuel!r}; there are: {', '.join(known)}")
    fuel, pressure_Pa = known[appliance.fuel], float(standard_pressure_Pa(place.altitude_m))
    return burn(
        fuel,
        appliance.input_W * float(derating(appliance.derate, place.altitude_m)),
        excess_air(fuel, appliance.excess_air),
        pressure_Pa=pressure_Pa,
        humidity=float(humidity_ratio(HEATED_DEGC, relative_humidity, pressure_Pa)),
    )


def _columns(gas: FlueGas, n: int) -> FlueGas:
    """The same gas n times."""

    def widen(x: FloatArray) -> FloatArray:
        return np.repeat(np.asarray(x)[..., None], n, axis=-1)

    return FlueGas(
        dry_mol_s=widen(gas.dry_mol_s),
        water_mol_s=widen(gas.water_mol_s),
        air_water_mol_s=widen(gas.air_water_mol_s),
        pressure_Pa=widen(gas.pressure_Pa),
        input_W=widen(gas.input_W),
        fuel_kg_s=widen(gas.fuel_kg_s),
        air_kg_s=widen(gas.air_kg_s),
    )


def _curve(marks: Sequence[Mark]) -> tuple[_Curve, FloatArray]:
    """Columns of the marks, and the total loss (3,) with what the open end takes."""
    heads = np.array([velocity_head_Pa(m.node.density_kg_m3, m.node.speed_m_s) for m in marks])
    total = marks[-1].loss_Pa + (EXIT_K + SCREEN_K) * heads[-1]
    loss, lift = np.array([m.loss_Pa for m in marks]), np.array([m.lift_Pa for m in marks])
    static = (total - loss) - (lift[-1] - lift) - heads
    return _Curve(
        distance_m=np.array([m.distance_m.flat[0] for m in marks]),
        gas=np.array([m.node.gas_degC for m in marks]),
        wall=np.array([m.node.wall_degC for m in marks]),
        surface=np.array([m.node.surface_degC for m in marks]),
        static_Pa=static,
        stretch=tuple(m.stretch for m in marks),
    ), total


def _stations(curve: _Curve, pipes: Sequence[Stretch]) -> tuple[Station, ...]:
    """Stations at most `STATION_M` apart, at both sides of every border between stretches."""
    whole = float(curve.distance_m[-1])
    apart = max(STATION_M, whole / MOST_STATIONS)
    found: list[Station] = []
    index = np.array(curve.stretch)
    for number, pipe in enumerate(pipes):
        rows = index == number
        at = curve.distance_m[rows]
        places = np.linspace(at[0], at[-1], max(2, int(np.ceil((at[-1] - at[0]) / apart - 1e-9)) + 1))

        def read(
            column: FloatArray, rows: FloatArray = rows, at: FloatArray = at, x: FloatArray = places
        ) -> list[float]:
            return [float(value) for value in np.interp(x, at, column[rows])]

        columns = (
            places.tolist(),
            read(curve.gas[:, WET]),
            read(curve.gas[:, DRY]),
            read(curve.wall[:, WET]),
            read(curve.surface[:, WET]),
            read(curve.static_Pa[:, HOT]),
            read(curve.wall[:, DRY]),
        )
        for x, gas, dry, wall, surface, pressure, wall_dry in zip(*columns, strict=True):
            found.append(Station(x, gas, dry, wall, surface, pressure, pipe.space, wall_dry))
    return tuple(found)


def _condenses_from(stations: Sequence[Station], dew_degC: float) -> float | None:
    """Distance of the first station whose wall is at or below the dew point, None where there is none."""
    return next((station.distance_m for station in stations if station.wall_degC <= dew_degC), None)


def _freezing(marks: Sequence[Mark], pipes: Sequence[Stretch]) -> tuple[str, ...]:
    """Spaces where the inner wall of the dry bound falls below freezing."""
    names = [pipes[m.stretch].space for m in marks if m.node.wall_degC[DRY] < FREEZING_DEGC]
    return tuple(dict.fromkeys(names))


def _insulations_m(
    gas: FlueGas, usual_degC: float, runs: Sequence[Sequence[Stretch]], place: Place
) -> list[float | None]:
    """Least thickness sold, on all pipe in air below freezing, that keeps the dry bound's wall of each run above it."""
    thickness = np.array(INSULATIONS_M)

    def wrapped(pipe: Stretch) -> Stretch:
        cold = pipe.air_degC < FREEZING_DEGC
        return replace(pipe, insulation_m=np.maximum(thickness, pipe.insulation_m)) if cold else pipe

    many = _columns(gas, len(thickness))
    found: list[float | None] = []
    insulated = [[wrapped(pipe) for pipe in run] for run in runs]
    for marks in marches(many, usual_degC, insulated, outside_degC=place.winter_degC, wet=0.0, step_m=STEP_M):
        coldest = np.min([m.node.wall_degC for m in marks], axis=0)
        good = np.flatnonzero(coldest > FREEZING_DEGC)
        found.append(float(thickness[good[0]]) if good.size else None)
    return found


def reference_drop_Pa(marks: Sequence[Mark], pipes: Sequence[Stretch], length_m: float) -> float:
    """What the manual's greatest equivalent length costs in this bore, the gas in its mean state along the route.

    Straight pipe of that length, by the same friction and the same open end, so that it compares with the route's drop.
    """
    at = np.array([m.distance_m.flat[0] for m in marks])
    per_m = np.array([friction_Pa(m.node.factor[HOT], 1.0, pipes[m.stretch].bore_m, _head(m)) for m in marks])
    span = float(at[-1] - at[0])
    mean = float(np.trapezoid(per_m, at) / span) if span > 0 else float(per_m[0])
    return mean * length_m + (EXIT_K + SCREEN_K) * _head(marks[-1])


def _reference_Pa(route: Route, appliance: Appliance, marks: Sequence[Mark], pipes: Sequence[Stretch]) -> float | None:
    """What the manual's greatest length costs in this size; of two sizes the one that costs less. None: no such row."""
    found = []
    for kit in route.kits:
        limit, own = appliance.limit(kit.size_in), [m for m in marks if pipes[m.stretch].bore_m == kit.pipe.bore_m]
        if limit is None or not own:
            return None
        found.append(reference_drop_Pa(own, pipes, limit.max_length_m))
    return min(found)


def _head(mark: Mark) -> float:
    return float(velocity_head_Pa(mark.node.density_kg_m3, mark.node.speed_m_s)[HOT])


def flue_states(
    routes: Sequence[Route],
    appliance: Appliance,
    place: Place,
    air_degC: Air,
    fuels: Path | Mapping[str, Fuel] = FUELS,
    *,
    through: Mapping[str, tuple[str, str]] | None = None,
    insulation_m: Mapping[str, float] | None = None,
    wind_m_s: float = 0.0,
) -> list[FlueState]:
    """Flow, pressure, temperature and water along routes of one appliance at full input and outdoor winter air.

    Temperatures, heat and condensate are those of the appliance's usual exhaust; drop, pressures, velocity, the hottest
    surface and the first foot those of its hottest. The dew point is that of dry combustion air.

    Parameters
    ----------
    routes : what is placed
    appliance, place : full input, excess air, exhaust; altitude, winter
    air_degC : air temperature by the name of a space; unknown names count as outdoor winter air
    fuels : by name, or the folder they are read from
    through : the two spaces of each hole or cut, needed only where one pipe passes several
    insulation_m : thickness by the name of a space
    wind_m_s : across pipe outdoors; 0 is still air

    Returns
    -------
    a FlueState for each, its stations at most 0.25 m apart (more on runs over 100 m)

    Raises
    ------
    VentrouteError
        The altitude rule is not known, or dry flue gas cannot hold what is said of it.
    """
    if not routes:
        return []
    gas, humid = appliance_gas(appliance, place, fuels), appliance_gas(appliance, place, fuels, HUMID)
    runs = [
        stretches(
            route,
            air_degC,
            coldest_degC=place.winter_degC,
            through=through,
            insulation_m=insulation_m,
            wind_m_s=wind_m_s,
        )
        for route in routes
    ]
    usual, hottest = appliance.exhaust_usual_degC, appliance.exhaust_max_degC
    enters, wet = np.array([usual, usual, hottest]), np.array([1.0, 0.0, 1.0])
    followed = marches(_columns(gas, 3), enters, runs, outside_degC=place.winter_degC, wet=wet, step_m=STEP_M)
    freezing = [_freezing(marks, pipes) for marks, pipes in zip(followed, runs, strict=True)]
    cold = [pipes for pipes, spaces in zip(runs, freezing, strict=True) if spaces]
    thickness = iter(_insulations_m(gas, usual, cold, place) if cold else [])
    states = []
    for route, pipes, marks, spaces in zip(routes, runs, followed, freezing, strict=True):
        state = replace(
            _state(route, appliance, gas, pipes, marks),
            freezes_running=spaces,
            insulate_m=next(thickness) if spaces else None,
        )
        states.append(_with_notes(state, Found(route, appliance, place, state, pipes, float(humid.dew_point_degC))))
    return states


def _state(
    route: Route, appliance: Appliance, gas: FlueGas, pipes: Sequence[Stretch], marks: Sequence[Mark]
) -> FlueState:
    """What the marks of a run say; not yet what freezes while it runs."""
    curve, total = _curve(marks)
    last, dew, usual = marks[-1].node, float(gas.dew_point_degC), appliance.exhaust_usual_degC
    stations = _stations(curve, pipes)
    shed = marks[0].node.vapour_mol_s - last.vapour_mol_s
    return FlueState(
        dew_point_degC=dew,
        flow_kg_s=float(gas.kg_s),
        drop_Pa=float(total[HOT]),
        outlet_degC=float(last.gas_degC[WET]),
        condensate_kg_h=float(shed[WET]) * WATER.kg_mol * 3600.0,
        velocity_m_s=float(max(m.node.speed_m_s[HOT] for m in marks)),
        appliance_condensate_kg_h=float(gas.condensate_kg_s(usual)) * 3600.0,
        reference_drop_Pa=_reference_Pa(route, appliance, marks, pipes),
        stations=stations,
        draught_Pa=float(marks[-1].lift_Pa[WET]),
        outlet_dry_degC=float(last.gas_degC[DRY]),
        wall_min_degC=float(min(m.node.wall_degC[DRY] for m in marks)),
        surface_max_degC=float(max(m.node.surface_degC[HOT] for m in marks)),
        first_foot_degC=float(np.interp(FOOT_M, curve.distance_m, curve.gas[:, HOT])),
        heat_lost_W=float(marks[-1].heat_W[WET]),
        efficiency=float(gas.efficiency(usual, 20.0)),
        drain_max_kg_h=float(gas.water_mol_s) * WATER.kg_mol * 3600.0,
        condenses_from_m=_condenses_from(stations, dew),
        freezes_idle=tuple(dict.fromkeys(p.space for p in pipes if p.air_degC < FREEZING_DEGC)),
    )


def _with_notes(state: FlueState, found: Found) -> FlueState:
    return replace(state, notes=notes(found))
