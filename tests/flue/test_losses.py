"""Friction, bends and fittings against printed designs and a fluid library."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.constants import FOOT_M, INCH_M
from ventroute.flue import losses
from ventroute.flue.draught import draught_Pa

approx = pytest.approx
STATES = np.random.default_rng(7).uniform(0.0, 1.0, (1000, 3))
ratios = st.floats(0.5, 3.0)
factors = st.floats(0.015, 0.06)


def test_colebrook_at_100_000_and_1e_4_is_0_0185138661() -> None:
    assert float(losses.colebrook(1e5, 1e-4)) == approx(0.0185138661, abs=5e-11)  # fluids 1.3.1


def test_colebrook_is_the_librarys_over_1000_states() -> None:
    re, rough = 10 ** (3.6 + 3 * STATES[:, 0]), 10 ** (-6 + 4 * STATES[:, 1])
    reference = [fluids.friction.Colebrook(*x) for x in zip(re, rough, strict=True)]
    assert losses.colebrook(re, rough) == approx(np.array(reference), rel=1e-9)


def test_duct_factor_is_altshul_tsal_over_1000_states() -> None:
    re, rough = 10 ** (3.7 + 2 * STATES[:, 0]), 10 ** (-5 + 3 * STATES[:, 1])
    reference = [fluids.friction.Tsal_1989(*x) for x in zip(re, rough, strict=True)]
    assert losses.duct_factor(re, rough) == approx(np.array(reference), rel=1e-9)


def test_duct_design_sheet_gives_0_0191_and_2_3_Pa_per_m() -> None:
    # ASHRAE duct design sheet: 254.5 mm hydraulic diameter, 7.14 m/s, 0.09 mm, Re 120 727.
    factor = losses.duct_factor(120_727.0, 0.09 / 254.5)
    assert float(factor) == approx(0.0191, abs=5e-5)
    head = losses.velocity_head_Pa(1.204, 7.14)
    assert float(head) == approx(31.0, abs=0.5)
    assert float(losses.friction_Pa(factor, 1.0, 0.2545, head)) == approx(2.3, abs=0.05)


def test_smooth_water_pipe_has_0_0179() -> None:
    assert float(losses.colebrook(100_600.0, 0.0)) == approx(0.0179, abs=1e-4)  # Crane TP 410, example 7.1


def test_compressed_air_line_loses_2_6_psi() -> None:
    # Crane TP 410, example 7.16: 100 scfm of air at 65 psig and 115 degF, 75 ft of 1 in Schedule 40: 2.61 psi.
    bore, kelvin = 1.049 * INCH_M, (115 - 32) / 1.8 + 273.15
    pressure = (65 + 14.696 - 1.3) * 6894.757  # mean of the line
    density = pressure * 0.028965 / (8.314462618 * kelvin)
    kg_s = 100 * FOOT_M**3 / 60 * 1.2246  # standard air at 60 degF
    viscosity = 1.925e-5
    factor = losses.colebrook(losses.reynolds(kg_s, bore, viscosity), 4.57e-5 / bore)
    speed = losses.velocity_m_s(kg_s, bore, density)
    drop = losses.friction_Pa(factor, 75 * FOOT_M, bore, losses.velocity_head_Pa(density, speed))
    assert float(speed) / FOOT_M * 60 == approx(3425, rel=0.02)  # printed 3367 and 3484 ft/min at the two ends
    assert float(drop) / 6894.757 == approx(2.66, rel=0.04)  # between the print and the library's 2.71


@pytest.mark.parametrize(("bore_in", "feet"), [(2.067, 5.17), (3.068, 7.67), (4.026, 10.1)])
def test_screwed_ell_has_the_tables_equivalent_length(bore_in: float, feet: float) -> None:
    # IFGC/IRC 2018 appendix A, table A.2.2: K 0.90, f 0.030.
    assert float(losses.equivalent_m(0.90, bore_in * INCH_M, 0.030)) / FOOT_M == approx(feet, rel=5e-3)


@pytest.mark.parametrize(
    ("factor", "short_90", "short_45", "long_90", "long_45"),
    # Rennels by fluids 1.3.1: r/D 1 and 1.5, turns of 90 and 45 degrees.
    [
        (0.0374, 0.575, 0.349, 0.392, 0.282),
        (0.0309, 0.488, 0.295, 0.336, 0.239),
        (0.0259, 0.420, 0.254, 0.294, 0.207),
        (0.0220, 0.368, 0.222, 0.260, 0.182),
    ],
)
def test_smooth_bends_are_rennels(
    factor: float, short_90: float, short_45: float, long_90: float, long_45: float
) -> None:
    found = [float(losses.smooth_bend_k(angle, ratio, factor)) for ratio in (1.0, 1.5) for angle in (90.0, 45.0)]
    assert found == approx([short_90, short_45, long_90, long_45], abs=1.5e-3)


def test_smooth_bends_are_the_librarys_over_1000_states() -> None:
    angle, ratio, factor = 10 + 80 * STATES[:, 0], 0.8 + 2 * STATES[:, 1], 0.015 + 0.03 * STATES[:, 2]
    reference = [
        fluids.bend_rounded(Di=1.0, angle=a, bend_diameters=r, fd=f, method="Rennels")
        for a, r, f in zip(angle, ratio, factor, strict=True)
    ]
    assert losses.smooth_bend_k(angle, ratio, factor) == approx(np.array(reference), rel=1e-9)


def test_mitres_are_1_202_and_0_304() -> None:
    # Rennels by fluids 1.3.1.
    assert float(losses.mitre_k(90.0)) == approx(1.202, abs=5e-4)
    assert float(losses.mitre_k(45.0)) == approx(0.304, abs=5e-4)
    assert float(losses.mitre_k(70.0)) == approx(fluids.bend_miter(angle=70.0, method="Rennels"), rel=1e-9)


def test_sharp_entrance_is_the_librarys() -> None:
    assert fluids.entrance_sharp() == approx(losses.ENTRANCE_SHARP_K)


@given(st.floats(5.0, 90.0), ratios, factors)
def test_no_bend_costs_more_than_a_mitre(angle: float, ratio: float, factor: float) -> None:
    assert losses.bend_k(angle, ratio, factor) <= losses.mitre_k(angle) == losses.bend_k(angle, 0.0, factor)


@given(st.floats(5.0, 89.0), ratios, factors)
def test_a_greater_turn_costs_more(angle: float, ratio: float, factor: float) -> None:
    assert losses.bend_k(angle + 1.0, ratio, factor) > losses.bend_k(angle, ratio, factor)


@given(st.floats(10.0, 5000.0))
def test_laminar_flow_has_64_over_re_to_2300_and_no_jump_after(re: float) -> None:
    if re <= 2300:
        assert float(losses.friction_factor(re, 1e-5)) == approx(64 / re)
    assert float(losses.friction_factor(re * (1 + 1e-9), 1e-5)) == approx(
        float(losses.friction_factor(re, 1e-5)), rel=1e-6
    )


@given(st.floats(100.0, 50_000.0), st.floats(1.001, 1.5))
def test_more_flow_always_loses_more(re: float, more: float) -> None:
    before, after = (float(losses.friction_factor(x, 1e-5)) * x**2 for x in (re, re * more))
    assert after > before


@given(st.floats(0.02, 0.2), st.floats(0.02, 0.2))
def test_a_change_of_bore_costs_at_most_one_head(before: float, after: float) -> None:
    assert 0.0 <= float(losses.change_k(before, after)) <= 1.0
    assert float(losses.change_k(before, before)) == 0.0


def test_friction_falls_as_the_4_75th_power_of_the_bore() -> None:
    # Blasius: f ~ Re**-0.25, so drop ~ D**-4.75; average against greatest bore of 2 in pipe: 4.7 % more.
    def drop(bore: float) -> float:
        factor = losses.friction_factor(losses.reynolds(0.01, bore, 1.8e-5), 0.0)
        head = losses.velocity_head_Pa(1.1, losses.velocity_m_s(0.01, bore, 1.1))
        return float(losses.friction_Pa(factor, 1.0, bore, head))

    assert drop(2.047 * INCH_M) / drop(2.067 * INCH_M) == approx(1.047, abs=1e-3)


@pytest.mark.parametrize(("psia", "inches"), [(14.7, 0.67), (10.0, 0.457)])
def test_tall_stack_draws_as_printed(psia: float, inches: float) -> None:
    # "Steam: its generation and use", chimneys: 100 ft, 60 degF air, 500 degF gas: 0.67 in w.c. at 14.7 psia, 0.45 at 10
    # (0.457 by the formula printed there).
    draught = draught_Pa(100 * FOOT_M, (500 - 32) / 1.8, (60 - 32) / 1.8, psia * 6894.757)
    assert float(draught) / 249.089 == approx(inches, abs=5e-3)
