"""The state of a route: what it says, where it says it, and what it advises."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.flue.pipework import BTU_H, FOOT, PVC, STAINLESS, WINTER, appliance, degC, kit, level, route, through_holes
from ventroute.errors import CatalogError, VentrouteError
from ventroute.flue.along import air_of, radius_ratio, stretches
from ventroute.flue.losses import bend_k, mitre_k
from ventroute.flue.state import default_air, flue_states
from ventroute.model.appliance import SizeLimit
from ventroute.model.plan import FlueState
from ventroute.model.route import Route
from ventroute.model.site import Place

approx = pytest.approx
TWO = kit(PVC, 2.0, 2.067, 2.375)
COLD = Place(winter_degC=degC(0.0))
CATALOG = Path(__file__).parents[2] / "catalogs" / "flue"


def corner_route() -> object:
    """Up in the cellar, level through the hall, up through the attic and out."""
    return route(
        [(0, 0, 0), (0, 0, 2), (3, 0, 2.0625), (3, 0, 4), (3, 0, 6), (3, 0, 6.6)],
        ["cellar", "hall", "hall", "attic", "outdoors"],
        kit(),
    )


def flue_state(way: Route, *about: Any, **options: Any) -> FlueState:
    """That of one route."""
    return flue_states([way], *about, **options)[0]


AIR = {"cellar": 20.0, "hall": 20.0, "attic": -15.0, "outdoors": -15.0}


def test_level_pipe_in_a_cold_attic_is_the_worked_case() -> None:
    # Chain case: natural gas, 75 000 Btu/h, 40 % excess, 100 degF, 15 ft of 2 in PVC at 0 degF (Cantera, ht, fluids).
    state = flue_state(level(15 * FOOT, TWO), appliance(exhaust_max_degC=degC(100.0)), COLD, {})
    assert state.dew_point_degC == approx(52.50, abs=0.3)
    assert state.flow_kg_s * 3600 / 0.45359237 == approx(79.10, rel=5e-3)
    assert state.outlet_degC == approx(degC(88.9), abs=2.0)
    assert state.outlet_dry_degC == approx(degC(63.9), abs=2.0)
    assert state.condensate_kg_h == approx(0.417, rel=0.05)
    assert state.appliance_condensate_kg_h / 3.78541 == approx(0.4763, rel=5e-3)
    assert state.velocity_m_s / FOOT == approx(12.64, rel=5e-3)
    assert state.heat_lost_W == approx(342, rel=0.03)
    head = 0.5 * 1.1347 * (12.64 * FOOT) ** 2
    # of gas that does not cool; cooling takes a few per cent off
    assert state.drop_Pa == approx(0.97 * (0.5699 * 0.15 * 249.089 + 1.5 * head), rel=0.03)


def test_altitude_and_derating_are_the_worked_case() -> None:
    # Chain case at 6000 ft, the same burner derated 24 %: dew point 48.03 degC, 57.72 lb/h in the vent, 0.411 kg/h shed.
    state = flue_state(
        level(15 * FOOT, TWO),
        appliance(derate="total", exhaust_max_degC=degC(100.0)),
        Place(altitude_m=6000 * FOOT, winter_degC=degC(0.0)),
        {},
    )
    assert state.dew_point_degC == approx(48.03, abs=0.3)
    assert state.flow_kg_s * 3600 / 0.45359237 == approx(60.11, rel=5e-3)
    assert state.outlet_degC == approx(degC(88.8), abs=2.0)
    assert state.condensate_kg_h == approx(0.411, rel=0.05)


def test_stations_run_from_collar_to_terminal_at_most_25_cm_apart() -> None:
    state = flue_state(corner_route(), appliance(), WINTER, AIR)
    along = [station.distance_m for station in state.stations]
    assert along[0] == 0.0
    assert along[-1] == approx(2 + np.hypot(3, 0.0625) + 4.5375)
    assert all(0 <= b - a <= 0.25 + 1e-9 for a, b in pairwise(along))
    assert list(dict.fromkeys(station.space for station in state.stations)) == ["cellar", "hall", "attic", "outdoors"]


def test_a_very_long_run_has_a_bounded_number_of_stations() -> None:
    assert len(flue_state(level(300.0, kit()), appliance(), WINTER, {}).stations) <= 402


def test_the_gas_is_the_same_and_the_wall_colder_where_the_attic_begins() -> None:
    state = flue_state(corner_route(), appliance(), WINTER, AIR)
    borders = [(a, b) for a, b in pairwise(state.stations) if a.space == "hall" and b.space == "attic"]
    ((warm, cold),) = borders
    assert warm.distance_m == cold.distance_m
    assert warm.gas_degC == approx(cold.gas_degC)
    assert cold.wall_degC < warm.wall_degC - 1.0


def test_air_may_be_a_table_or_a_function() -> None:
    table = flue_state(corner_route(), appliance(), WINTER, AIR)
    function = flue_state(corner_route(), appliance(), WINTER, AIR.__getitem__)
    assert function == table


def test_an_unknown_space_counts_as_winter() -> None:
    assert air_of({}, "somewhere", -15.0) == -15.0
    assert flue_state(level(4.0, kit()), appliance(), WINTER, {}) == flue_state(
        level(4.0, kit()), appliance(), WINTER, {"attic": -15.0}
    )


def test_unheated_rooms_are_taken_as_cold_as_outdoors() -> None:
    assert default_air({"hall": True, "attic": False}, WINTER) == {"hall": 20.0, "attic": -15.0, "outdoors": -15.0}


def test_one_pipe_through_two_holes_is_in_three_spaces() -> None:
    way = through_holes([2.0, 5.0, 6.0], ["floor", "roof"], kit())
    pairs = {"floor": ("attic", "cellar"), "roof": ("attic", "outdoors")}
    pieces = stretches(way, AIR, coldest_degC=-15.0, through=pairs)
    assert [(pipe.space, pipe.length_m, pipe.air_degC) for pipe in pieces] == [
        ("cellar", 2.0, 20.0),
        ("attic", 3.0, -15.0),
        ("outdoors", 1.0, -15.0),
    ]


def test_a_space_that_cannot_be_told_counts_as_the_coldest() -> None:
    way = through_holes([2.0, 5.0, 6.0], ["floor", "roof"], kit())
    pieces = stretches(way, {"cellar": 20.0, "outdoors": 0.0}, coldest_degC=-15.0)
    assert [pipe.air_degC for pipe in pieces] == [20.0, -15.0, 0.0]


def test_rise_and_length_of_the_stretches_are_those_of_the_route() -> None:
    way = corner_route()
    pieces = stretches(way, AIR, coldest_degC=-15.0)
    assert sum(float(pipe.length_m) for pipe in pieces) == approx(way.runs_m)
    assert sum(float(pipe.rise_m) for pipe in pieces) == approx(6.6)
    assert [round(bend.angle_deg) for pipe in pieces for bend in pipe.bends] == [89, 89]  # turns of 90 less the pitch


def test_drainage_bends_turn_with_a_radius_and_pressure_bends_as_mitres() -> None:
    assert radius_ratio(kit(), "bend-90-drainage", 90.0) == approx(3.0 / 3.068)
    assert radius_ratio(kit(), "bend-90-pressure", 90.0) == 0.0
    wide, tight = (
        flue_state(route([(0, 0, 0), (0, 0, 2), (2, 0, 2)], ["hall", "hall"], kit(), bend), appliance(), WINTER, AIR)
        for bend in ("drainage", "pressure")
    )
    head = 0.5 * wide.flow_kg_s * wide.velocity_m_s / (np.pi / 4 * (3.068 * 0.0254) ** 2)
    saved = float(mitre_k(90.0) - bend_k(90.0, 3.0 / 3.068, 0.031))
    assert tight.drop_Pa - wide.drop_Pa == approx(saved * head, rel=0.1)


def test_a_straight_run_as_long_as_the_manual_allows_costs_the_reference() -> None:
    limits = (SizeLimit(3.0, 9.0),)
    state = flue_state(level(9.0, kit(), "hall"), appliance(sizes=limits), WINTER, {"hall": 20.0})
    assert state.drop_Pa == approx(state.reference_drop_Pa, rel=2e-3)


def test_a_size_that_the_manual_does_not_have_gets_no_reference() -> None:
    state = flue_state(level(3.0, kit(size_in=4.0)), appliance(), WINTER, {})
    assert state.reference_drop_Pa is None


def test_pressure_falls_to_the_open_end() -> None:
    state = flue_state(level(6.0, TWO), appliance(), WINTER, {})
    pressures = [station.pressure_Pa for station in state.stations]
    assert pressures == sorted(pressures, reverse=True)
    head = 0.5 * state.flow_kg_s * state.velocity_m_s / (np.pi / 4 * (2.067 * 0.0254) ** 2)
    assert pressures[0] == approx(state.drop_Pa - head, rel=0.01)  # a little less gas goes on after condensing


def test_a_hot_upright_vent_draws() -> None:
    hot = appliance(exhaust_max_degC=150.0, exhaust_usual_degC=150.0, category="I")
    way = route([(0, 0, 0), (0, 0, 6)], ["outdoors"], kit(STAINLESS, 4.0, 4.0, 4.04))
    state = flue_state(way, hot, WINTER, {"outdoors": 20.0})
    # 0.03413 B H (1/To - 1/Tm), ASHRAE chimney chapter, with the gas as it leaves and as it enters.
    low, high = (0.03413 * 101_325 * 6 * (1 / 258.15 - 1 / (t + 273.15)) for t in (state.outlet_degC, 150.0))
    assert low < state.draught_Pa < high * 1.05
    assert state.stations[0].pressure_Pa < 0


def test_draught_that_does_not_carry_the_loss_is_said() -> None:
    weak = appliance(category="I", exhaust_max_degC=150.0, exhaust_usual_degC=150.0)
    said = " ".join(flue_state(level(6.0, TWO, "hall"), weak, WINTER, {"hall": 20.0}).notes)
    assert "may spill into the room" in said


def test_usual_exhaust_rules_water_and_hottest_rules_speed() -> None:
    usual = flue_state(level(4.0, kit()), appliance(exhaust_max_degC=40.0, exhaust_usual_degC=40.0), WINTER, {})
    both = flue_state(level(4.0, kit()), appliance(exhaust_max_degC=60.0, exhaust_usual_degC=40.0), WINTER, {})
    assert both.condensate_kg_h == approx(usual.condensate_kg_h, rel=1e-6)
    assert both.outlet_degC == approx(usual.outlet_degC, abs=1e-4)
    assert both.velocity_m_s > usual.velocity_m_s
    assert both.drop_Pa > usual.drop_Pa
    assert 40.0 < both.first_foot_degC < 60.0


def freezing_state(**insulation: float) -> object:
    """100 000 Btu/h through 50 ft of 4 in PVC at -10 degF: the dry bound freezes (chain case), the wet one does not."""
    big = appliance(
        input_W=100_000 * BTU_H, excess_air=0.2, exhaust_max_degC=degC(130.0), exhaust_usual_degC=degC(130.0)
    )
    way = level(50 * FOOT, kit(PVC, 4.0, 4.026, 4.5))
    return flue_state(way, big, Place(winter_degC=degC(-10.0)), {}, insulation_m=insulation)


def test_a_long_cold_run_can_freeze_and_is_to_be_insulated() -> None:
    state = freezing_state()
    assert state.freezes_running == ("attic",)
    assert state.insulate_m is not None
    assert any("Insulate the pipe in the cold" in note for note in state.notes)
    assert any("expected wall stays" in note for note in state.notes)
    wrapped = freezing_state(attic=state.insulate_m)
    assert wrapped.freezes_running == ()
    assert wrapped.wall_min_degC > 0


def test_when_no_insulation_helps_it_says_so() -> None:
    tiny = appliance(input_W=4000.0)
    state = flue_state(level(40.0, kit()), tiny, Place(winter_degC=-30.0), {})
    assert state.insulate_m is None
    assert any("move the run out of the cold" in note for note in state.notes)


def test_cold_spaces_freeze_idle_and_heated_ones_do_not() -> None:
    state = flue_state(corner_route(), appliance(), WINTER, AIR)
    assert state.freezes_idle == ("attic", "outdoors")
    warm = flue_state(level(4.0, kit(), "hall"), appliance(), WINTER, {"hall": 20.0})
    assert warm.freezes_idle == ()
    assert not any("freez" in note for note in warm.notes)


def test_saturated_gas_condenses_from_the_collar_and_is_to_be_drained() -> None:
    state = flue_state(level(4.0, kit()), appliance(), WINTER, {})
    assert state.condenses_from_m == 0.0
    total = (state.condensate_kg_h + state.appliance_condensate_kg_h) / 3.785411784
    assert any(note.startswith(f"Drain {total:.2f} US gal/h") for note in state.notes)
    # 1.119 US gal per therm is all the water in typical natural gas.
    assert state.drain_max_kg_h / 3.78541 == approx(1.119 * 0.75, rel=5e-3)
    assert any("acid" in note for note in state.notes)


def test_the_dew_point_with_room_air_stands_beside_that_with_dry_air() -> None:
    # Hand stoichiometry with saturation from CoolProp 8.0.0, natural gas, 25 % excess, sea level: 54.67 degC with dry
    # air, 132.7 degF with air of 70 degF at 50 %; ours is of 68 degF, which holds a little less.
    state = flue_state(level(4.0, kit()), appliance(excess_air=0.25), WINTER, {})
    note = next(note for note in state.notes if note.startswith("Condenses"))
    dry, humid = (int(said) for said in re.findall(r"(\d+) degF", note))
    assert dry == 130
    assert humid == approx(132.7, abs=1.0)
    assert "with air of a heated room at 50 % humidity" in note


def test_hot_gas_in_a_warm_room_does_not_condense() -> None:
    hot = appliance(exhaust_max_degC=150.0, exhaust_usual_degC=150.0, category="III", excess_air=0.5)
    state = flue_state(level(3.0, kit(STAINLESS, 4.0, 4.0, 4.04), "hall"), hot, WINTER, {"hall": 20.0})
    assert state.condenses_from_m is None
    assert state.condensate_kg_h == 0.0
    assert not any(note.startswith("Drain") for note in state.notes)


def test_hot_gas_condenses_once_the_wall_is_cold_and_a_category_III_is_warned() -> None:
    hot = appliance(exhaust_max_degC=150.0, exhaust_usual_degC=150.0, category="III", input_W=180_000 * BTU_H)
    state = flue_state(level(30.0, kit(STAINLESS, 4.0, 4.0, 4.04)), hot, WINTER, {})
    start = state.condenses_from_m
    assert start is not None
    assert 0.0 < start < 30.0
    before = [s for s in state.stations if s.distance_m < start]
    assert all(s.wall_degC > state.dew_point_degC for s in before)
    assert state.condensate_kg_h > 0
    assert any("not meant to condense" in note for note in state.notes)


def test_the_materials_limit_is_held_against_the_collar() -> None:
    state = flue_state(level(20.0, kit()), appliance(exhaust_max_degC=66.0), WINTER, {})
    assert any(note.startswith("Too hot for PVC") and "does not count" in note for note in state.notes)
    just = flue_state(level(20.0, kit()), appliance(exhaust_max_degC=65.0), WINTER, {})
    assert not any(note.startswith("Too hot") for note in just.notes)  # class II A, 65 degC inclusive


def test_wind_outdoors_cools_only_outdoor_pipe() -> None:
    still, windy = (flue_state(corner_route(), appliance(), WINTER, AIR, wind_m_s=wind) for wind in (0.0, 8.0))
    inside = [s.gas_degC for s in still.stations if s.space != "outdoors"]
    assert [s.gas_degC for s in windy.stations if s.space != "outdoors"] == approx(inside)
    assert windy.outlet_degC < still.outlet_degC


def test_fuels_may_come_from_the_catalog() -> None:
    way = level(4.0, kit())
    built_in = flue_state(way, appliance(), WINTER, {})
    assert flue_state(way, appliance(), WINTER, {}, CATALOG) == built_in
    assert flue_state(way, appliance(fuel="methane"), WINTER, {}, CATALOG).dew_point_degC > built_in.dew_point_degC


def test_unknown_fuel_and_altitude_rule_are_refused() -> None:
    with pytest.raises(CatalogError, match="natural gas, propane"):
        flue_state(level(4.0, kit()), appliance(fuel="town gas"), WINTER, {})
    with pytest.raises(VentrouteError, match="altitude rule"):
        flue_state(level(4.0, kit()), appliance(derate="half"), WINTER, {})
