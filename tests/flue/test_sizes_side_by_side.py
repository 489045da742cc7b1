"""Sizes on one footing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.flue.pipework import BTU_H, FOOT, appliance, degC
from ventroute.constants import INCH_M
from ventroute.flue.fuel import NATURAL_GAS
from ventroute.flue.gas import burn
from ventroute.flue.sizes import drop_for_size, flow_in
from ventroute.flue.state import appliance_gas
from ventroute.model.site import Place

approx = pytest.approx
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


def test_altitude_raises_speed_and_drop_at_full_input() -> None:
    # Thinner air, the same mass of gas: the speed goes with 1 / density, and so does the drop at one mass flow.
    low, high = (appliance_gas(appliance(), Place(altitude_m=z)) for z in (0.0, 2000.0))
    slow, fast = (float(flow_in(gas, 60.0, 0.0525).speed_m_s) for gas in (low, high))
    thinner = high.pressure_Pa / low.pressure_Pa
    assert fast == approx(slow / thinner, rel=0.01)
    assert float(drop_for_size(high, 60.0, 0.0525, 5.0)) > float(drop_for_size(low, 60.0, 0.0525, 5.0))
