"""Sizes on one footing, and natural draught in balance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.flue.pipework import BTU_H, FOOT, PVC, WINTER, appliance, degC, kit
from ventroute.constants import INCH_M
from ventroute.flue.balance import agreeing_flow, natural_flow_kg_s
from ventroute.flue.draught import column_Pa
from ventroute.flue.fuel import NATURAL_GAS
from ventroute.flue.gas import burn
from ventroute.flue.losses import friction_factor, reynolds, velocity_head_Pa, velocity_m_s
from ventroute.flue.sizes import compare, drop_for_size, flow_in
from ventroute.model.appliance import SizeLimit

approx = pytest.approx
TWO, THREE = kit(PVC, 2.0, 2.067, 2.375), kit(PVC, 3.0, 3.068, 3.5)
GAS = burn(NATURAL_GAS, 75_000 * BTU_H, 0.4)


def test_two_inch_pipe_loses_0_57_inches_in_100_ft() -> None:
    # Chain case (fluids 1.3.1): 0.5699 in w.c. per 100 ft, f 0.02903, 12.64 ft/s, Re 12 763, at 100 degF.
    flow = flow_in(GAS, degC(100.0), 2.067 * INCH_M)
    assert float(flow.factor) == approx(0.02903, rel=0.01)
    assert float(flow.reynolds) == approx(12_763, rel=0.02)
    assert float(flow.speed_m_s) / FOOT == approx(12.64, rel=5e-3)
    bare = drop_for_size(GAS, degC(100.0), 2.067 * INCH_M, 100 * FOOT) - 1.5 * flow.head_Pa
    assert float(bare) / 249.089 == approx(0.5699, rel=0.03)


@given(st.floats(0.04, 0.15), st.floats(1.01, 1.5), st.floats(0.5, 40.0))
def test_a_wider_bore_costs_less(bore: float, wider: float, length: float) -> None:
    assert float(drop_for_size(GAS, 50.0, bore * wider, length)) < float(drop_for_size(GAS, 50.0, bore, length))


@given(st.floats(0.04, 0.15), st.floats(0.5, 40.0), st.floats(0.1, 10.0))
def test_a_longer_run_costs_more(bore: float, length: float, more: float) -> None:
    assert float(drop_for_size(GAS, 50.0, bore, length + more)) > float(drop_for_size(GAS, 50.0, bore, length))


def test_a_sweep_gives_what_one_at_a_time_gives() -> None:
    bores, inputs = np.array([0.05, 0.08, 0.1]), np.array([10e3, 20e3, 40e3])
    many = drop_for_size(burn(NATURAL_GAS, inputs, 0.4), 45.0, bores, 12.0)
    each = [float(drop_for_size(burn(NATURAL_GAS, q, 0.4), 45.0, d, 12.0)) for q, d in zip(inputs, bores, strict=True)]
    assert many == approx(np.array(each), rel=1e-12)


def test_rows_say_what_is_left_of_the_budget() -> None:
    rows = compare(appliance(), WINTER, [TWO, THREE], 6.0, {90.0: 2})
    assert [row.equivalent_m for row in rows] == approx([10.0, 9.0])  # 6 m and two elbows at 2 m and 1.5 m
    assert [row.margin_m for row in rows] == approx([2.0, 21.0])
    assert [row.why_not for row in rows] == ["", ""]
    assert rows[0].drop_Pa > rows[1].drop_Pa
    assert rows[0].velocity_m_s > rows[1].velocity_m_s


def test_reference_is_what_straight_pipe_of_the_greatest_length_costs() -> None:
    (row,) = compare(appliance(), WINTER, [TWO], 12.0, {})
    assert row.drop_Pa == approx(row.reference_drop_Pa, rel=1e-12)


@pytest.mark.parametrize(
    ("limits", "straight", "bends", "why"),
    [
        ((SizeLimit(3.0, 30.0),), 5.0, {}, "not in the manual's table"),
        ((SizeLimit(2.0, 4.0),), 5.0, {}, "1.00 m over the manual's greatest length"),
        ((SizeLimit(2.0, 30.0, min_length_m=6.0),), 5.0, {}, "1.00 m short of the manual's least length"),
        ((SizeLimit(2.0, 30.0),), 5.0, {45.0: 1}, "no equivalent for a 45 degree bend"),
        ((SizeLimit(2.0, 30.0, max_elbows=1, elbow_90_m=1.0),), 5.0, {90.0: 2}, "2 elbows, 1 allowed"),
    ],
)
def test_rows_say_why_not(limits: tuple[SizeLimit, ...], straight: float, bends: dict[float, int], why: str) -> None:
    (row,) = compare(appliance(sizes=limits), WINTER, [TWO], straight, bends)
    assert why in row.why_not
    assert row.drop_Pa > 0


def test_altitude_raises_the_speed_at_full_input() -> None:
    from ventroute.model.site import Place

    (low,), (high,) = (compare(appliance(), Place(altitude_m=z), [TWO], 5.0, {}) for z in (0.0, 2000.0))
    assert high.velocity_m_s > low.velocity_m_s
    assert high.drop_Pa > low.drop_Pa


def test_flow_without_friction_is_that_of_the_handbook() -> None:
    # ASHRAE chimney chapter: V = sqrt(2 Dt/(k rho)).
    flow = natural_flow_kg_s(
        rise_m=6.0, length_m=0.0, bore_m=0.1, heads=4.0, gas_kg_m3=0.8, outside_kg_m3=1.25, viscosity_Pa_s=2.2e-5
    )
    lift = float(column_Pa(6.0, 0.8, 1.25))
    assert float(flow) == approx(0.8 * np.pi / 4 * 0.01 * np.sqrt(2 * lift / (4.0 * 0.8)), rel=1e-9)


@given(st.floats(1.0, 12.0), st.floats(0.05, 0.3), st.floats(0.6, 1.15), st.floats(1.0, 10.0))
def test_at_the_natural_flow_loss_is_lift(rise: float, bore: float, gas: float, heads: float) -> None:
    length = rise + 1.0
    flow = natural_flow_kg_s(
        rise_m=rise, length_m=length, bore_m=bore, heads=heads, gas_kg_m3=gas, outside_kg_m3=1.25, viscosity_Pa_s=2.2e-5
    )
    factor = friction_factor(reynolds(flow, bore, 2.2e-5), 1.5e-6 / bore)
    loss = (factor * length / bore + heads) * velocity_head_Pa(gas, velocity_m_s(flow, bore, gas))
    assert float(loss) == approx(float(column_Pa(rise, gas, 1.25)), rel=1e-6)


def test_gas_as_heavy_as_air_does_not_flow() -> None:
    still = {"length_m": 4.0, "bore_m": 0.1, "heads": 2.0, "viscosity_Pa_s": 2e-5}
    assert float(natural_flow_kg_s(rise_m=4.0, gas_kg_m3=1.25, outside_kg_m3=1.25, **still)) == 0.0
    assert float(natural_flow_kg_s(rise_m=0.0, gas_kg_m3=0.8, outside_kg_m3=1.25, **still)) == 0.0


def test_pressures_that_never_agree_give_no_flow() -> None:
    bracket = np.array([0.1, 0.1]), np.array([1.0, 1.0])
    found = agreeing_flow(lambda flow: np.array([1.0, 0.5]) - flow * np.array([0.1, 1.0]), *bracket)
    assert np.isnan(found[0])
    assert float(found[1]) == approx(0.5)
