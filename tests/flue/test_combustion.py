"""Combustion against printed problems, tables and stoichiometry."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.flue.pipework import BTU_H, MADE_UP, degC
from ventroute.constants import FOOT_M
from ventroute.errors import CatalogError, VentrouteError
from ventroute.flue.derate import READINGS, derating
from ventroute.flue.fuel import FUELS, NATURAL_GAS, PROPANE, Fuel, read_fuels
from ventroute.flue.gas import burn, co2_max, excess_air, excess_from_co2, excess_from_o2
from ventroute.flue.properties import dew_point_degC, humidity_ratio
from ventroute.model.excess import DryGas

approx = pytest.approx
CATALOG = Path(__file__).parents[2] / "catalogs" / "flue"
METHANE = Fuel("methane", (("CH4", 1.0),), MADE_UP)
ETHANE = Fuel("ethane", (("C2H6", 1.0),), MADE_UP)
LB_PER_1000_BTU = 0.45359237 / 1.055056  # kg/MJ in one lb per 1000 Btu
GALLON_KG = 3.78541


def test_vapour_pressure_of_moist_air_and_mixed_gas_is_20_88_kPa() -> None:
    # Cengel and Boles, Thermodynamics, example 15-4: 1.661 of 8.059 mol, dew point 60.9 degC.
    fuel = Fuel("example", (("CH4", 72.0), ("H2", 9.0), ("N2", 14.0), ("O2", 2.0), ("CO2", 3.0)), MADE_UP)
    gas = burn(fuel, 1e3, 0.0, humidity=float(humidity_ratio(20.0, 0.8)))
    assert float(gas.y_water) * 101.325 == approx(20.88, abs=0.05)  # the book rounds air to 21 % oxygen
    assert float(gas.dew_point_degC) == approx(60.9, abs=0.3)


def test_ethane_with_five_oxygen_has_42_9_percent_excess_and_dew_point_49() -> None:
    # Thermodynamics for Engineers, 4th ed., chapter 13 problem 2: 42.9 %, air-fuel ratio 23.0, 49 degC at 100 kPa.
    excess = 5.0 / ETHANE.oxygen_need - 1.0
    assert 100 * excess == approx(42.9, abs=0.05)
    gas = burn(ETHANE, 1e3, excess, pressure_Pa=100e3)
    assert float(gas.air_kg_s / gas.fuel_kg_s) == approx(23.0, abs=0.1)
    assert float(gas.dew_point_degC) == approx(49.0, abs=0.3)


def test_methane_at_4_percent_oxygen_condenses_near_131_3_degF() -> None:
    # "Condensation within boilers", sample calculation: 2.31 psia of vapour, 131.3 degF by table.
    assert float(dew_point_degC(2.31 * 6894.757)) * 1.8 + 32 == approx(131.3, abs=0.2)
    excess = excess_from_o2(METHANE, 0.04)
    assert 100 * float(excess) == approx(21.1, abs=0.1)
    assert float(burn(METHANE, 1.0, excess).dew_point_degC) * 1.8 + 32 == approx(131.3, abs=1.0)


def test_stoichiometric_methane_makes_9_5_co2_19_0_water_71_5_nitrogen() -> None:
    # engineersnotebook.com, combustion products of methane, wet.
    gas = burn(METHANE, 1.0, 0.0)
    total = float(gas.dry_total_mol_s + gas.water_mol_s)
    assert 100 * float(gas.dry_mol_s[0]) / total == approx(9.5, abs=0.05)
    assert 100 * float(gas.y_water) == approx(19.0, abs=0.05)
    assert 100 * float(gas.dry_mol_s[2] + gas.dry_mol_s[3]) / total == approx(71.5, abs=0.05)


@pytest.mark.parametrize(
    ("fuel", "excess", "co2", "o2", "dew", "dew_humid_degF", "kg_MJ"),
    # Hand stoichiometry with saturation from CoolProp 8.0.0; combustion air at 70 degF and 50 % for the humid column.
    [
        (NATURAL_GAS, 0, 11.87, 0.00, 58.98, 140.0, 0.3292),
        (NATURAL_GAS, 10, 10.69, 2.10, 57.13, 136.9, 0.3602),
        (NATURAL_GAS, 25, 9.29, 4.56, 54.67, 132.7, 0.4068),
        (NATURAL_GAS, 50, 7.64, 7.49, 51.19, 126.9, 0.4845),
        (NATURAL_GAS, 100, 5.64, 11.04, 45.78, 118.0, 0.6397),
        (NATURAL_GAS, 150, 4.47, 13.10, 41.67, 111.4, 0.7950),
        (METHANE, 0, 11.74, 0.00, 59.19, None, 0.7642 * LB_PER_1000_BTU),
        (METHANE, 40, 8.12, 6.47, 52.70, None, 1.0532 * LB_PER_1000_BTU),
        (PROPANE, 0, 13.76, 0.00, 54.87, None, 0.7709 * LB_PER_1000_BTU),
        (PROPANE, 50, 8.91, 7.40, 47.17, None, 1.1333 * LB_PER_1000_BTU),
    ],
)
def test_products_by_excess_air(
    fuel: Fuel, excess: float, co2: float, o2: float, dew: float, dew_humid_degF: float | None, kg_MJ: float
) -> None:
    gas = burn(fuel, 1e6, excess / 100)
    assert 100 * float(gas.co2_dry) == approx(co2, abs=0.006)
    assert 100 * float(gas.o2_dry) == approx(o2, abs=0.006)
    assert float(gas.dew_point_degC) == approx(dew, abs=0.02)
    assert float(gas.kg_s) == approx(kg_MJ, rel=3e-4)
    if dew_humid_degF is not None:
        humid = burn(fuel, 1e6, excess / 100, humidity=0.00778)
        assert float(humid.dew_point_degC) * 1.8 + 32 == approx(dew_humid_degF, abs=0.06)


@pytest.mark.parametrize(
    ("fuel", "HHV", "LHV", "air_fuel", "co2"),
    # MJ/kg, kg/kg and per cent by hand from ISO 6976 heats; published 17.2 (methane), 15.6 to 15.8 (propane).
    [
        (METHANE, 55.51, 50.03, 17.24, 11.74),
        (NATURAL_GAS, 53.62, 48.37, 16.65, 11.87),
        (PROPANE, 50.33, 46.34, 15.68, 13.76),
    ],
)
def test_fuels_have_their_heats_and_air(fuel: Fuel, HHV: float, LHV: float, air_fuel: float, co2: float) -> None:
    assert fuel.gross_J_mol / fuel.kg_mol / 1e6 == approx(HHV, rel=3e-4)
    assert fuel.net_J_mol / fuel.kg_mol / 1e6 == approx(LHV, rel=6e-4)
    gas = burn(fuel, 1.0, 0.0)
    assert float(gas.air_kg_s / gas.fuel_kg_s) == approx(air_fuel, rel=5e-4)
    assert 100 * co2_max(fuel) == approx(co2, abs=0.006)


@pytest.mark.parametrize(
    ("degF", "share", "gallons"),
    # Equilibrium at 20, 40, 60 % excess air: share of all water condensed, US gal per therm of input.
    [
        (80, (0.811, 0.776, 0.742), (0.907, 0.869, 0.830)),
        (100, (0.634, 0.568, 0.501), (0.710, 0.635, 0.560)),
        (120, (0.310, 0.185, 0.059), (0.347, 0.207, 0.066)),
        (130, (0.056, 0.0, 0.0), (0.062, 0.0, 0.0)),
    ],
)
def test_condensate_by_flue_temperature(degF: float, share: tuple[float, ...], gallons: tuple[float, ...]) -> None:
    gas = burn(NATURAL_GAS, 100_000 * BTU_H, np.array([0.2, 0.4, 0.6]))
    condensed = gas.condensate_kg_s(degC(degF))
    assert condensed / (0.018015 * gas.water_mol_s) == approx(np.array(share), abs=1e-3)
    assert condensed * 3600 / GALLON_KG == approx(np.array(gallons), abs=2e-3)


@pytest.mark.parametrize(
    ("degF", "percent"),
    # Own heat balance by hand with Cantera enthalpies, natural gas, 77 degF, dry air: 20, 40, 60 % excess.
    [
        (80, (98.06, 97.72, 97.37)),
        (110, (94.21, 93.21, 92.22)),
        (200, (87.29, 86.86, 86.43)),
        (500, (79.97, 78.48, 77.0)),
    ],
)
def test_efficiency_by_flue_temperature(degF: float, percent: tuple[float, ...]) -> None:
    gas = burn(NATURAL_GAS, 1e6, np.array([0.2, 0.4, 0.6]))
    assert 100 * gas.efficiency(degC(degF)) == approx(np.array(percent), abs=0.03)


@pytest.mark.parametrize(
    ("excess", "o2", "percent"),
    # US DOE Steam Tip Sheet 4 (2006): efficiency at 200, 300, ... 600 degF above air; one point allowed.
    [
        (9.5, 2, (85.4, 83.1, 80.8, 78.4, 76.0)),
        (15.0, 3, (85.2, 82.8, 80.4, 77.9, 75.4)),
        (28.1, 5, (84.7, 82.1, 79.5, 76.7, 74.0)),
        (44.9, 7, (84.1, 81.2, 78.2, 75.2, 72.1)),
        (81.6, 10, (82.8, 79.3, 75.6, 71.9, 68.2)),
    ],
)
def test_efficiency_is_the_tip_sheets_within_a_point(excess: float, o2: float, percent: tuple[float, ...]) -> None:
    gas = burn(NATURAL_GAS, 1e6, excess / 100)
    rise = np.array([200.0, 300.0, 400.0, 500.0, 600.0])
    assert 100 * gas.efficiency(degC(70 + rise), degC(70.0)) == approx(np.array(percent), abs=1.0)
    assert 100 * float(gas.o2_dry) == approx(o2, abs=0.05)


def test_handbook_mass_flow_is_2_to_4_percent_below_stoichiometry() -> None:
    # ASHRAE Handbook, Systems and Equipment, chimney chapter: kg/MJ from the CO2; natural gas, LP gas. From memory.
    co2 = np.linspace(0.04, 0.10, 7)
    for fuel, a, b in ((NATURAL_GAS, 0.159, 10.72), (PROPANE, 0.144, 12.61)):
        exact = burn(fuel, 1e6, excess_from_co2(fuel, co2)).kg_s
        ratio = 0.303 * (a + b / (100 * co2)) / exact
        assert np.all((ratio > 0.96) & (ratio < 0.98))


@given(st.sampled_from([NATURAL_GAS, PROPANE, METHANE, ETHANE]), st.floats(0.0, 8.0))
def test_readings_give_back_the_excess_air(fuel: Fuel, excess: float) -> None:
    gas = burn(fuel, 1.0, excess)
    assert float(excess_from_co2(fuel, float(gas.co2_dry))) == approx(excess, abs=1e-7)
    assert float(excess_from_o2(fuel, max(0.0, float(gas.o2_dry)))) == approx(excess, abs=1e-7)


@pytest.mark.parametrize(("o2", "excess"), [(2, 9.5), (3, 15.0), (5, 28.1), (7, 44.9), (10, 81.6)])
def test_excess_air_of_a_manuals_o2_or_co2_is_the_tip_sheets(o2: float, excess: float) -> None:
    # US DOE Steam Tip Sheet 4 (2006), natural gas; and CO2 = greatest CO2 x (20.9 - O2) / 20.9, as flue gas analysers
    # reckon, with the greatest at 11.8 %: they round air and fuel, so a few in a hundred.
    assert 100 * excess_air(NATURAL_GAS, DryGas("O2", o2 / 100)) == approx(excess, rel=0.03)
    co2 = 11.8 * (20.9 - o2) / 20.9
    assert 100 * excess_air(NATURAL_GAS, DryGas("CO2", co2 / 100)) == approx(excess, rel=0.04, abs=1.0)
    assert excess_air(NATURAL_GAS, excess / 100) == excess / 100


@pytest.mark.parametrize("reading", [DryGas("CO2", 0.12), DryGas("CO2", 0.0), DryGas("O2", 0.21), DryGas("O2", 0.18)])
def test_what_dry_flue_gas_of_natural_gas_cannot_hold_is_refused(reading: DryGas) -> None:
    # Hand stoichiometry: at most 11.87 % CO2; air has 20.946 % O2, and 18 % is beyond 400 % excess.
    with pytest.raises(VentrouteError, match=f"{100 * reading.share:g} % {reading.gas}: .*wanted"):
        excess_air(NATURAL_GAS, reading)


@pytest.mark.parametrize("reading", [0.0, 0.2])
def test_impossible_co2_is_refused(reading: float) -> None:
    with pytest.raises(ValueError, match="wanted more than the air's"):
        excess_from_co2(NATURAL_GAS, reading)


@pytest.mark.parametrize("reading", [-0.01, 0.21])
def test_impossible_o2_is_refused(reading: float) -> None:
    with pytest.raises(ValueError, match="wanted from 0 to below"):
        excess_from_o2(NATURAL_GAS, reading)


shares = st.dictionaries(
    st.sampled_from(["CH4", "C2H6", "C3H8", "n-C4H10", "H2", "CO", "N2", "CO2"]), st.floats(0.01, 1.0), min_size=1
).filter(lambda parts: bool(set(parts) & {"CH4", "C2H6", "C3H8", "n-C4H10"}))


@given(shares, st.floats(0.0, 3.0), st.floats(0.0, 0.02))
def test_mass_is_kept_whatever_burns(parts: dict[str, float], excess: float, humidity: float) -> None:
    gas = burn(Fuel("any", tuple(parts.items()), MADE_UP), 1e4, excess, humidity=humidity)
    # molar masses are rounded to 1 mg/mol
    assert float(gas.kg_s) == approx(float(gas.fuel_kg_s + gas.air_kg_s * (1 + humidity)), rel=2e-4)


@given(st.floats(0.0, 2.0), st.floats(0.0, 3000.0), st.floats(30.0, 300.0))
def test_condensate_and_vapour_add_to_all_water(excess: float, altitude_m: float, t: float) -> None:
    gas = burn(NATURAL_GAS, 3e4, excess, pressure_Pa=101_325.0 * (1 - altitude_m / 10_000))
    liquid = float(gas.condensate_kg_s(t)) / 0.018015
    assert liquid + float(gas.vapour_mol_s(t)) == approx(float(gas.water_mol_s), rel=1e-9)
    assert (liquid > 0) == (t < float(gas.dew_point_degC) - 1e-9)


def test_altitude_lowers_the_dew_point_by_4_5_kelvin_at_6000_ft() -> None:
    # Stoichiometry with CoolProp saturation at 81 200 Pa: 48.03 instead of 52.50 degC.
    assert float(burn(NATURAL_GAS, 1.0, 0.4).dew_point_degC) == approx(52.50, abs=0.02)
    assert float(burn(NATURAL_GAS, 1.0, 0.4, pressure_Pa=81_200.0).dew_point_degC) == approx(48.03, abs=0.02)


@pytest.mark.parametrize(
    ("reading", "shares"),
    # Readings of the altitude rule at 3000, 5000, 7000 ft as instructions print them.
    [
        ("total", (0.88, 0.80, 0.72)),
        ("part above", (0.96, 0.88, 0.80)),
        ("fan-assisted", (0.94, 0.90, 0.86)),
        ("table", (0.88, 0.80, 0.72)),
        ("none", (1.0, 1.0, 1.0)),
    ],
)
def test_derating_reads_as_printed(reading: str, shares: tuple[float, ...]) -> None:
    assert derating(reading, np.array([3000.0, 5000.0, 7000.0]) * FOOT_M) == approx(np.array(shares))
    assert float(derating(reading, 1500.0 * FOOT_M)) == 1.0


def test_table_steps_at_2500_ft() -> None:
    # AGA table: 2001 to 2500 ft 0.92, 2501 to 3500 ft 0.88.
    assert derating("table", np.array([2000.0, 2001.0, 2500.0, 2501.0, 3500.0, 3501.0]) * FOOT_M) == approx(
        np.array([1.0, 0.92, 0.92, 0.88, 0.88, 0.84])
    )


def test_unknown_altitude_rule_is_refused_with_the_known_ones() -> None:
    with pytest.raises(VentrouteError, match="none, total"):
        derating("some", 0.0)
    assert set(READINGS) == {"none", "total", "part above", "fan-assisted", "table"}


def test_catalog_fuels_are_the_built_in_ones() -> None:
    read = read_fuels(CATALOG)
    for name, fuel in FUELS.items():
        assert read[name] == fuel
    assert read["methane"].parts == (("CH4", 100.0),)


def test_catalog_rows_have_a_source_and_sum_to_their_analysis() -> None:
    read = read_fuels(CATALOG)
    assert all(fuel.evidence.source for fuel in read.values())
    # 95.0 + 3.2 + 0.2 + 0.06 + 1.0 + 0.5, the printed analysis
    assert sum(share for _, share in read["natural gas"].parts) == approx(99.96)


def test_bad_fuel_rows_are_refused(tmp_path: Path) -> None:
    with pytest.raises(CatalogError, match="cannot be read"):
        read_fuels(tmp_path)
    head = "fuel,component,mole_percent,source,page,grade\n-,-,%,-,-,-\n"
    for row, what in [
        ("a,CH4,much,s,,memory", ":3: could not"),
        ("a,XX,1,s,,memory", "no component"),
        ("a,N2,1,s,,memory", "burns"),
    ]:
        (tmp_path / "fuels.csv").write_text(head + row + "\n", encoding="utf-8")
        with pytest.raises(CatalogError, match=what):
            read_fuels(tmp_path)
    with pytest.raises(CatalogError, match="shares"):
        Fuel("a", (("CH4", -1.0),), MADE_UP)
