"""Water vapour, air and the standard atmosphere against printed values and two libraries."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from ventroute.constants import FOOT_M
from ventroute.flue import properties as p
from ventroute.flue.species import AR, CO2, KELVIN, N2, O2, R_J_MOL_K, WATER, power_series

approx = pytest.approx
psychrolib.SetUnitSystem(psychrolib.SI)
STATES = np.random.default_rng(5).uniform(0.0, 1.0, (1000, 3))
NAMES = {"CarbonDioxide": CO2, "Oxygen": O2, "Nitrogen": N2, "Argon": AR, "Water": WATER}


def test_saturation_pressure_is_psychrolibs_over_1000_states() -> None:
    # PsychroLib 2.5.0, the same Hyland-Wexler equations, over ice and over water.
    t = -60.0 + 200.0 * STATES[:, 0]
    t = t[np.abs(t - 0.01) > 1e-3]
    assert p.psat_Pa(t) == approx(np.array([psychrolib.GetSatVapPres(x) for x in t]), rel=1e-12)


def test_saturation_pressure_is_iapws_within_0_03_percent() -> None:
    # CoolProp 8.0.0 (IAPWS-95), 0.1 to 99 degC.
    t = 0.1 + 98.9 * STATES[:, 0]
    reference = np.array([PropsSI("P", "T", x + KELVIN, "Q", 1, "Water") for x in t])
    assert p.psat_Pa(t) == approx(reference, rel=3e-4)


def test_dew_point_of_15_7_kPa_is_54_92_degC() -> None:
    # CoolProp 54.9176 degC, IAPWS97 54.9185 degC.
    assert float(p.dew_point_degC(15_700.0)) == approx(54.918, abs=0.005)


def test_dew_points_are_coolprops_over_1000_states() -> None:
    pressure = 700.0 + 60_000.0 * STATES[:, 1]
    reference = np.array([PropsSI("T", "P", x, "Q", 1, "Water") - KELVIN for x in pressure])
    assert p.dew_point_degC(pressure) == approx(reference, abs=0.01)


@given(st.floats(0.02, 150.0))
def test_dew_point_of_saturated_vapour_is_its_temperature(t: float) -> None:
    assert float(p.dew_point_degC(p.psat_Pa(t))) == approx(t, abs=1e-8)


@given(st.floats(0.02, 150.0))
def test_slope_of_saturation_is_its_derivative(t: float) -> None:
    difference = (np.log(p.psat_Pa(t + 1e-4)) - np.log(p.psat_Pa(t - 1e-4 if t > 0.03 else t))) / (
        2e-4 if t > 0.03 else 1e-4
    )
    assert float(p.psat_slope(t)) == approx(float(difference), rel=1e-5)


def test_heat_of_evaporation_is_iapws_within_0_3_percent_to_80_degC() -> None:
    t = 0.1 + 79.9 * STATES[:, 0]
    reference = np.array(
        [PropsSI("H", "T", x + KELVIN, "Q", 1, "Water") - PropsSI("H", "T", x + KELVIN, "Q", 0, "Water") for x in t]
    )
    assert p.evaporation_J_mol(t) / WATER.kg_mol == approx(reference, rel=3e-3)


@pytest.mark.parametrize(
    ("feet", "inHg", "density_percent"),
    # International standard atmosphere as printed in an engineering table: inHg, density per cent of sea level.
    [(0, 29.92, 100), (2000, 27.82, 94.3), (4000, 25.84, 88.8), (6000, 23.98, 83.6), (8000, 22.22, 78.6)],
)
def test_standard_atmosphere_is_as_printed(feet: int, inHg: float, density_percent: float) -> None:
    z = feet * FOOT_M
    pressure = float(p.standard_pressure_Pa(z))
    assert pressure / 3386.389 == approx(inHg, abs=0.05)
    density = p.air_kg_m3(15.0 - 0.0065 * z, pressure) / p.air_kg_m3(15.0)
    assert 100 * float(density) == approx(density_percent, abs=0.1)


def test_standard_pressure_at_5000_ft_is_84_307_Pa() -> None:
    assert float(p.standard_pressure_Pa(1524.0)) == approx(84_307.2, abs=0.1)  # PsychroLib 2.5.0


def test_humidity_ratio_at_70_degF_and_half_saturation_is_0_007778() -> None:
    assert float(p.humidity_ratio(21.1, 0.5)) == approx(0.007778, abs=1e-6)  # PsychroLib 2.5.0


def test_humidity_ratios_are_psychrolibs_over_1000_states() -> None:
    t, rh, pressure = -10 + 50 * STATES[:, 0], STATES[:, 1], 70e3 + 35e3 * STATES[:, 2]
    reference = [psychrolib.GetHumRatioFromRelHum(*x) for x in zip(t, rh, pressure, strict=True)]
    # PsychroLib rounds the ratio of molar masses to 0.621945 and keeps the ratio above 1e-7.
    assert p.humidity_ratio(t, rh, pressure) == approx(np.array(reference), rel=1e-3, abs=2e-7)


def test_sea_level_air_weighs_1_225_kg_per_m3() -> None:
    assert float(p.air_kg_m3(15.0)) == approx(1.225, abs=5e-4)  # ISO 2533:1975, 0 m


def test_air_is_coolprops_air() -> None:
    # CoolProp 8.0.0, Lemmon's dry air, 1 atm, 240 to 600 K.
    t = -30.0 + 350.0 * STATES[:, 0]

    def reference(what: str) -> np.ndarray:
        return np.array([PropsSI(what, "T", x + KELVIN, "P", 101_325.0, "Air") for x in t])

    assert p.air_viscosity_Pa_s(t) == approx(reference("V"), rel=1e-3)
    assert p.air_conductivity_W_mK(t) == approx(reference("L"), rel=1e-3)
    assert p.air_cp_J_kgK(t) == approx(reference("C"), rel=8e-3)  # worst at -30 degC, below the range of the fit
    assert p.air_kg_m3(t) == approx(reference("D"), rel=1.5e-3)


@pytest.mark.parametrize("name", NAMES)
def test_pure_gases_are_coolprops_thin_gases(name: str) -> None:
    gas, kelvin = NAMES[name], 280.0 + 340.0 * STATES[:, 0]

    def reference(what: str) -> np.ndarray:
        return np.array([PropsSI(what, "T|gas", x, "Dmolar", 0.01, name) for x in kelvin])

    assert power_series(gas.viscosity_uPa_s, kelvin / 300) * 1e-6 == approx(reference("V"), rel=8e-3)
    assert power_series(gas.conductivity_mW_mK, kelvin / 300) * 1e-3 == approx(reference("L"), rel=2e-3)
    assert R_J_MOL_K * power_series(gas.cp_R, kelvin) == approx(reference("Cpmolar"), rel=4e-3)


@pytest.mark.parametrize(
    ("t", "y", "viscosity", "conductivity"),
    # Kinetic theory (Cantera 3.2.0, gri30, mixture averaged), natural gas at 25 % excess air.
    [
        (60, 0.1531, 18.23, 0.0279),
        (100, 0.1531, 19.95, 0.0307),
        (200, 0.1531, 23.98, 0.0379),
        (300, 0.1531, 27.7, 0.0449),
    ],
)
def test_flue_gas_is_near_kinetic_theory(t: float, y: float, viscosity: float, conductivity: float) -> None:
    dry = np.array([0.0929, 0.0456, 0.8527, 0.0088])
    of_viscosity, of_conductivity = p.dry_powers(dry)
    kg_mol = float(dry @ np.array([gas.kg_mol for gas in (CO2, O2, N2, AR)]))
    assert float(p.moist_viscosity_Pa_s(of_viscosity, kg_mol, y, t)) * 1e6 == approx(viscosity, rel=0.016)
    assert float(p.moist_conductivity_W_mK(of_conductivity, y, t)) == approx(conductivity, rel=0.06)
