"""What must hold along any vent: balances, bounds, and which way things go."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ventroute.flue.cooling import NODE, Place, marches
from ventroute.flue.films import convection_W_m2K, radiation_W_m2K
from ventroute.flue.fuel import NATURAL_GAS, PROPANE
from ventroute.flue.gas import FlueGas, burn
from ventroute.flue.stream import Stream
from ventroute.flue.stretch import Bend, Stretch

approx = pytest.approx
both = np.array([1.0, 0.0])  # wet, dry
few = settings(max_examples=40, deadline=None)


@st.composite
def stretches(draw: st.DrawFn, air: tuple[float, float] = (-35.0, 25.0), most: int = 4) -> list[Stretch]:
    """One run of one pipe through several airs, some of it upright, some wrapped; bore 38 to 150 mm, wall 0.4 to 7 mm."""
    bore = draw(st.floats(0.038, 0.15))
    wall = draw(st.floats(0.0004, 0.007))
    conductivity = draw(st.sampled_from([0.12, 0.2, 15.0]))
    run = []
    for _ in range(draw(st.integers(1, most))):
        length = draw(st.floats(0.2, 8.0))
        run.append(
            Stretch(
                length_m=length,
                rise_m=draw(st.sampled_from([0.0, 0.02, 1.0])) * length,
                bore_m=bore,
                od_m=bore + 2 * wall,
                conductivity_W_mK=conductivity,
                emissivity=draw(st.sampled_from([0.3, 0.9])),
                roughness_m=1.5e-6,
                air_degC=draw(st.floats(*air)),
                insulation_m=draw(st.sampled_from([0.0, 0.025])),
                wind_m_s=draw(st.sampled_from([0.0, 6.0])),
                bends=(Bend(90.0, 0.0, 0.5),),
            )
        )
    return run


@st.composite
def gases(draw: st.DrawFn) -> FlueGas:
    """Wet and dry columns of one gas: 6 to 70 kW, 5 to 150 % excess, sea level to 3000 m, damp or dry air."""
    return burn(
        draw(st.sampled_from([NATURAL_GAS, PROPANE])),
        np.full(2, draw(st.floats(6e3, 70e3))),
        draw(st.floats(0.05, 1.5)),
        pressure_Pa=draw(st.floats(70e3, 101e3)),
        humidity=draw(st.sampled_from([0.0, 0.008])),
    )


enters = st.floats(30.0, 220.0)


def along(gas: FlueGas, t: float, run: list[Stretch]) -> tuple[Place, ...]:
    return marches(gas, t, [run], outside_degC=-10.0, wet=both)[0]


@few
@given(gases(), enters, stretches())
def test_heat_and_water_balance_to_1e_6(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    places = along(gas, t, run)
    first, last = places[0].node, places[-1].node
    stream = Stream.of(gas, first.gas_degC, both)
    lost = stream.heat_W(first.gas_degC, first.vapour_mol_s) - stream.heat_W(last.gas_degC, last.vapour_mol_s)
    assert lost == approx(places[-1].heat_W, rel=1e-6, abs=1e-6 * float(gas.input_W[0]) * 1e-3)
    for place in places:
        assert np.all(place.node.vapour_mol_s <= first.vapour_mol_s * (1 + 1e-12))
    left_in_appliance = gas.condensate_kg_s(t)
    shed = (first.vapour_mol_s - last.vapour_mol_s) * 0.018015
    assert stream.kg_s(last.vapour_mol_s) + shed + left_in_appliance == approx(gas.kg_s, rel=1e-6)


@few
@given(gases(), enters, stretches())
def test_what_the_wall_takes_leaves_outside(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    for place in along(gas, t, run):
        node, pipe = place.node, run[place.stretch]
        air, one = np.asarray(pipe.air_degC) * np.ones(2), np.ones(2)
        convection = convection_W_m2K(
            node.surface_degC, air, pipe.outer_m * one, pipe.height_m * one, gas.pressure_Pa, pipe.wind_m_s
        )
        outside = convection + radiation_W_m2K(node.surface_degC, air, pipe.outer_emissivity)
        given_off = outside * (node.surface_degC - air) * pipe.outer_m / pipe.bore_m
        through = (node.wall_degC - node.surface_degC) / pipe.wall_m2K_W
        scale = 1e-6 * (1.0 + float(np.abs(node.heat_W_m2).max()))
        assert given_off == approx(node.heat_W_m2, rel=1e-6, abs=scale)
        if float(pipe.wall_m2K_W) > 1e-4:  # a thin metal wall has no difference to measure
            assert through == approx(node.heat_W_m2, rel=1e-6, abs=scale)
        dry = node.inside_W_m2K[1] * (node.gas_degC[1] - node.wall_degC[1])
        assert float(dry) == approx(float(node.heat_W_m2[1]), rel=2e-5, abs=1e-3)


@few
@given(gases(), enters, st.lists(stretches(), min_size=2, max_size=4))
def test_a_run_is_the_same_alone_as_beside_others(gas: FlueGas, t: float, runs: list[list[Stretch]]) -> None:
    beside = marches(gas, t, runs, outside_degC=-10.0, wet=both)
    for run, places in zip(runs, beside, strict=True):
        alone = along(gas, t, run)
        assert [place.stretch for place in places] == [place.stretch for place in alone]
        for one, other in zip(places, alone, strict=True):
            assert one.distance_m == approx(other.distance_m, rel=1e-12)
            for name in NODE:
                assert getattr(one.node, name) == approx(getattr(other.node, name), rel=1e-9, abs=1e-12), name
            assert (one.heat_W, one.loss_Pa, one.lift_Pa) == (
                approx(other.heat_W, rel=1e-9, abs=1e-9),
                approx(other.loss_Pa, rel=1e-9, abs=1e-9),
                approx(other.lift_Pa, rel=1e-9, abs=1e-9),
            )


@few
@given(gases(), enters, stretches())
def test_the_dry_bound_is_never_warmer(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    for place in along(gas, t, run):
        wet, dry = place.node.gas_degC
        assert dry <= wet + 0.02


@few
@given(gases(), enters, stretches())
def test_gas_and_wall_stay_between_air_and_exhaust(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    airs = [float(pipe.air_degC) for pipe in run]
    low, high = min(airs + [t]) - 1e-6, max(airs + [t]) + 1e-6
    for place in along(gas, t, run):
        for value in (place.node.gas_degC, place.node.wall_degC, place.node.surface_degC):
            assert np.all((value >= low) & (value <= high))


@few
@given(gases(), enters, stretches())
def test_bulk_gas_is_never_supersaturated(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    for place in along(gas, t, run):
        held = gas.dry_total_mol_s[0] * _ratio(gas, place)
        assert float(place.node.vapour_mol_s[0]) <= float(held) * (1 + 1e-6)


def _ratio(gas: FlueGas, place: Place) -> float:
    from ventroute.flue.gas import saturated_mol

    return float(saturated_mol(1.0, gas.pressure_Pa[0], place.node.gas_degC[0]))


@few
@given(gases(), enters, stretches(air=(-35.0, 20.0), most=2), st.floats(0.1, 6.0))
def test_longer_never_leaves_warmer_in_colder_air(gas: FlueGas, t: float, run: list[Stretch], more: float) -> None:
    last = run[-1]
    longer = replace(last, length_m=float(last.length_m) + more, rise_m=0.0)
    shorter = replace(last, rise_m=0.0)
    before = along(gas, t, [*run[:-1], shorter])[-1].node.gas_degC
    after = along(gas, t, [*run[:-1], longer])[-1].node.gas_degC
    assume(float(last.air_degC) <= float(before.min()))  # a room may warm gas that came through the cold
    assert np.all(after <= before + 0.02)


@few
@given(gases(), enters, stretches(most=1), st.floats(0.1, 6.0))
def test_drop_grows_with_length(gas: FlueGas, t: float, run: list[Stretch], more: float) -> None:
    longer = replace(run[0], length_m=float(run[0].length_m) + more)
    assert np.all(along(gas, t, [longer])[-1].loss_Pa > along(gas, t, run)[-1].loss_Pa)


@few
@given(gases(), enters, stretches(air=(-35.0, 20.0)), st.floats(1.0, 15.0))
def test_colder_air_never_leaves_the_gas_warmer(gas: FlueGas, t: float, run: list[Stretch], colder: float) -> None:
    chilled = [replace(pipe, air_degC=float(pipe.air_degC) - colder) for pipe in run]
    assert np.all(along(gas, t, chilled)[-1].node.gas_degC <= along(gas, t, run)[-1].node.gas_degC + 0.02)


@few
@given(gases(), st.floats(60.0, 200.0), stretches(air=(-35.0, -1.0)))
def test_insulation_never_cools_the_inner_wall(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    def coldest(thickness: float) -> np.ndarray:
        wrapped = [replace(pipe, insulation_m=thickness) for pipe in run]
        return np.min([place.node.wall_degC for place in along(gas, t, wrapped)], axis=0)

    # thick enough that the greater surface does not matter
    assert np.all(coldest(0.05) >= coldest(0.025) - 0.02)


@few
@given(gases(), enters, stretches())
def test_one_state_or_many_give_the_same(gas: FlueGas, t: float, run: list[Stretch]) -> None:
    alone = [marches(_column(gas, k), t, [run], outside_degC=-10.0, wet=both[k : k + 1])[0][-1] for k in (0, 1)]
    many = along(gas, t, run)[-1]
    assert many.node.gas_degC == approx(np.array([float(place.node.gas_degC[0]) for place in alone]), abs=1e-4)
    assert many.loss_Pa == approx(np.array([float(place.loss_Pa[0]) for place in alone]), rel=1e-6)


def _column(gas: FlueGas, k: int) -> FlueGas:
    return FlueGas(*(getattr(gas, name)[..., k : k + 1] for name in FlueGas.__slots__))
