"""Whole chains worked by hand-sized steps with other libraries: combustion, flow, cooling, condensate.

Source of every expected value: a separate calculation with Cantera 3.2.0 (gas), CoolProp 8.0.0 (water), fluids 1.3.1
(friction, bends) and ht 1.2.0 (films), the same models. Allowed: flows, CO2, dew point 0.5 % and 0.3 K; friction 3 %;
bends 2 %; gas 2 K; wall 3 K; condensate in the vent 5 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from tests.flue.pipework import BTU_H, FOOT, MADE_UP, degC
from ventroute.constants import INCH_M
from ventroute.flue.cooling import Place, marches
from ventroute.flue.draught import column_Pa, draught_Pa
from ventroute.flue.fuel import NATURAL_GAS, PROPANE, Fuel
from ventroute.flue.gas import FlueGas, burn
from ventroute.flue.losses import bend_k, equivalent_m
from ventroute.flue.properties import air_kg_m3
from ventroute.flue.stretch import Stretch

approx = pytest.approx
METHANE = Fuel("methane", (("CH4", 1.0),), MADE_UP)
LB_H = 0.45359237 / 3600  # kg/s
CFM = 0.3048**3 / 60  # m3/s
K2 = 2 * 1.8  # two kelvin in degF


@dataclass(frozen=True)
class Case:
    fuel: Fuel
    input_Btu_h: float
    excess: float
    flue_degF: float
    pressure_Pa: float
    bore_in: float
    od_in: float
    conductivity: float
    emissivity: float
    feet: float
    ambient_degF: float
    co2: float
    o2: float
    y_water: float
    dew_degC: float
    products_lb_h: float
    air_cfm: float
    condensed_gal_h: float
    gas_lb_h: float
    density: float
    viscosity_uPa_s: float
    cfm: float
    ft_s: float
    reynolds: float
    factor: float
    inches_100ft: float
    elbow: tuple[float, float]
    mitre: tuple[float, float]
    films: tuple[float, float, float]
    half_degF: float
    end_degF: tuple[float, float]
    wall_degF: tuple[float, float]
    surface_degF: tuple[float, float]
    heat_W: tuple[float, float]
    shed_kg_h: float


# fmt: off
CASES = {
    "C1": Case(NATURAL_GAS, 180_000, 0.50, 300, 101_325, 4.00, 4.04, 15.0, 0.4, 25, 70, 7.638, 7.492, 0.12926, 51.19,
               202.83, 43.40, 0.0, 202.83, 0.8128, 22.28, 66.62, 12.72, 14_376, 0.02813, 0.2071, (0.450, 5.33),
               (1.202, 14.2), (13.3, 6.3, 3.3), 251.6, (214.5, 214.5), (156.4, 156.4), (202.8, 156.3), (1346, 1346), 0.0),
    "C2": Case(PROPANE, 199_000, 0.25, 120, 101_325, 3.068, 3.5, 0.16, 0.9, 40, 32, 10.815, 4.490, 0.12563, 50.61,
               189.47, 40.12, 0.1671, 188.08, 1.0844, 17.98, 46.31, 15.03, 21_536, 0.02546, 0.4552, (0.414, 4.16),
               (1.202, 12.1), (18.8, 5.5, 5.0), 115.6, (111.1, 77.7), (107.2, 64.3), (93.1, 86.7), (1138, 594), 1.52),
    "C3": Case(NATURAL_GAS, 75_000, 0.40, 100, 101_325, 2.067, 2.375, 0.16, 0.9, 15, 0, 8.224, 6.456, 0.13785, 52.50,
               79.10, 16.88, 0.4763, 75.13, 1.1347, 17.99, 17.68, 12.64, 12_763, 0.02903, 0.5699, (0.462, 2.74),
               (1.202, 7.13), (18.0, 6.3, 4.3), 94.6, (88.9, 63.9), (80.7, 43.4), (72.7, 63.6), (342, 197), 0.417),
    "C4": Case(NATURAL_GAS, 57_000, 0.40, 100, 81_200, 2.067, 2.375, 0.16, 0.9, 15, 0, 8.224, 6.456, 0.13785, 48.03,
               60.11, 16.01, 0.2876, 57.72, 0.9034, 17.86, 17.06, 12.20, 9_872, 0.03103, 0.4517, (0.489, 2.72),
               (1.202, 6.67), (14.6, 5.6, 4.3), 94.6, (88.8, 59.7), (80.8, 38.7), (74.0, 64.6), (325, 170), 0.411),
    "C5": Case(METHANE, 100_000, 0.20, 130, 101_325, 4.026, 4.5, 0.16, 0.9, 50, -10, 9.601, 3.825, 0.16054, 55.66,
               90.87, 19.29, 0.0752, 90.25, 1.0429, 17.97, 23.10, 4.355, 7_878, 0.03295, 0.03623, (0.515, 5.24),
               (1.202, 12.2), (6.5, 6.1, 4.3), 111.7, (88.7, 27.9), (66.3, 9.1), (80.3, 45.8), (2247, 697), 2.92),
}
# fmt: on
cases = pytest.mark.parametrize("name", CASES)


def burnt(case: Case) -> FlueGas:
    return burn(case.fuel, np.full(2, case.input_Btu_h * BTU_H), case.excess, pressure_Pa=case.pressure_Pa)


def marched(case: Case) -> tuple[Place, ...]:
    """Wet and dry bound as two columns."""
    pipe = Stretch(
        length_m=case.feet * FOOT,
        rise_m=0.0,
        bore_m=case.bore_in * INCH_M,
        od_m=case.od_in * INCH_M,
        conductivity_W_mK=case.conductivity,
        emissivity=case.emissivity,
        roughness_m=1.5e-6,
        air_degC=degC(case.ambient_degF),
    )
    return marches(
        burnt(case), degC(case.flue_degF), [[pipe]], outside_degC=degC(case.ambient_degF), wet=np.array([1.0, 0.0])
    )[0]


def degF(t: np.ndarray) -> np.ndarray:
    return np.asarray(t) * 1.8 + 32


@cases
def test_combustion(name: str) -> None:
    case, gas = CASES[name], burnt(CASES[name])
    t = degC(case.flue_degF)
    assert 100 * float(gas.co2_dry[0]) == approx(case.co2, rel=5e-3)
    assert 100 * float(gas.o2_dry[0]) == approx(case.o2, rel=5e-3)
    assert float(gas.y_water[0]) == approx(case.y_water, rel=5e-3)
    assert float(gas.dew_point_degC[0]) == approx(case.dew_degC, abs=0.3)
    assert float(gas.kg_s[0]) / LB_H == approx(case.products_lb_h, rel=5e-3)
    assert float(gas.gas_kg_s(t)[0]) / LB_H == approx(case.gas_lb_h, rel=5e-3)
    assert float(gas.density_kg_m3(t)[0]) == approx(case.density, rel=5e-3)
    assert float(gas.volume_m3_s(t)[0]) / CFM == approx(case.cfm, rel=5e-3)
    air = float(gas.air_kg_s[0]) / float(air_kg_m3(degC(70.0), case.pressure_Pa)) / CFM
    assert air == approx(case.air_cfm, rel=5e-3)
    condensed = float(gas.condensate_kg_s(t)[0]) * 3600 / 3.78541
    assert condensed == approx(case.condensed_gal_h, rel=5e-3, abs=1e-9)


@cases
def test_flow_at_the_collar(name: str) -> None:
    case, node = CASES[name], marched(CASES[name])[0].node
    bore = case.bore_in * INCH_M
    assert float(node.speed_m_s[0]) / FOOT == approx(case.ft_s, rel=5e-3)
    assert float(node.factor[0]) == approx(case.factor, rel=3e-2)
    head = 0.5 * float(node.density_kg_m3[0]) * float(node.speed_m_s[0]) ** 2
    assert float(node.factor[0]) / bore * head * 100 * FOOT / 249.089 == approx(case.inches_100ft, rel=3e-2)
    for ratio, (k, feet) in ((1.0, case.elbow), (0.0, case.mitre)):
        found = float(bend_k(90.0, ratio, case.factor))
        assert found == approx(k, rel=2e-2)
        assert float(equivalent_m(found, bore, case.factor)) / FOOT == approx(feet, rel=2e-2)


@cases
def test_gas_cools_and_sheds_water(name: str) -> None:
    case, places = CASES[name], marched(CASES[name])
    first, last = places[0].node, places[-1].node
    half = np.interp(case.feet * FOOT / 2, [p.distance_m[0] for p in places], [p.node.gas_degC[0] for p in places])
    assert float(degF(half)) == approx(case.half_degF, abs=K2)
    assert degF(last.gas_degC) == approx(np.array(case.end_degF), abs=K2)
    assert degF(last.wall_degC) == approx(np.array(case.wall_degF), abs=3 * 1.8)
    surface = [float(degF(first.surface_degC[0])), float(degF(last.surface_degC[0]))]
    assert surface == approx(case.surface_degF, abs=3 * 1.8)
    assert places[-1].heat_W == approx(np.array(case.heat_W), rel=0.03)
    shed = float(first.vapour_mol_s[0] - last.vapour_mol_s[0]) * 0.018015 * 3600
    assert shed == approx(case.shed_kg_h, rel=0.05, abs=1e-9)
    assert float(first.inside_W_m2K[0]) == approx(case.films[0], rel=0.05)


def test_the_dry_bound_predicts_ice_where_the_wet_does_not() -> None:
    last = marched(CASES["C5"])[-1].node
    assert float(last.wall_degC[0]) > 0 > float(last.wall_degC[1])


def test_draught_of_a_20_ft_rise() -> None:
    # C6: natural gas, 40 000 Btu/h, 100 % excess, 350 degF, outdoors 30 degF.
    gas, t = burn(NATURAL_GAS, 40_000 * BTU_H, 1.0), degC(350.0)
    assert float(gas.kg_s) / LB_H == approx(59.52, rel=5e-3)
    assert float(gas.volume_m3_s(t)) / CFM == approx(20.69, rel=5e-3)
    density, outside = gas.density_kg_m3(t), air_kg_m3(degC(30.0))
    assert float(density) == approx(0.7679, rel=5e-3)
    assert float(outside) == approx(1.2984, rel=5e-3)
    assert float(column_Pa(20 * FOOT, density, outside)) == approx(31.71, rel=5e-3)
    assert float(draught_Pa(20 * FOOT, t, degC(30.0))) / 249.089 == approx(0.1234, rel=5e-3)


@cases
def test_the_march_does_not_hang_on_its_step(name: str) -> None:
    case = CASES[name]
    pipe = Stretch(
        case.feet * FOOT,
        0.0,
        case.bore_in * INCH_M,
        case.od_in * INCH_M,
        case.conductivity,
        case.emissivity,
        1.5e-6,
        degC(case.ambient_degF),
    )
    coarse, fine = (
        marches(burnt(case), degC(case.flue_degF), [[pipe]], outside_degC=0.0, wet=np.array([1.0, 0.0]), step_m=step)
        for step in (2.0, 0.25)
    )
    coarse, fine = coarse[0][-1], fine[0][-1]
    assert coarse.node.gas_degC == approx(fine.node.gas_degC, abs=0.1)
