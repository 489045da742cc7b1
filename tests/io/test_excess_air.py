"""Excess air as a manual gives it: a percentage, or CO2 or O2 of dry flue gas."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.badsites.cases import GOOD
from ventroute.cli.desk import open_text
from ventroute.errors import InputError, UnitError
from ventroute.flue.state import appliance_gas
from ventroute.model.excess import DryGas, parse_excess_air


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("40 %", 0.4),
        ("40 percent", 0.4),
        ("9 % CO2", DryGas("CO2", 0.09)),
        (" 9.5% CO₂ ", DryGas("CO2", 0.095)),
        ("5 % o2", DryGas("O2", 0.05)),
    ],
)
def test_it_reads_as_manuals_print_it(text, said):
    assert parse_excess_air(text) == said


@pytest.mark.parametrize("text", ["9 CO2", "CO2", "9 % CO", "9 % NO2", "-1 % CO2", "101 % O2", "9 ppm CO2", 0.4, "0.4"])
def test_what_is_neither_is_refused_with_what_to_write(text):
    with pytest.raises(UnitError, match="9 % CO2"):
        parse_excess_air(text)


def house(*said: str) -> str:
    return GOOD.replace('category = "IV"', "\n".join(['category = "IV"', *said]))


def test_a_house_burns_with_the_excess_air_of_its_manuals_reading():
    # US DOE Steam Tip Sheet 4 (2006), natural gas: 5 % O2 in dry flue gas is 28.1 % excess air.
    gases = [
        appliance_gas(desk.site.appliance, desk.site.place, desk.shop.fuels)
        for desk in (open_text(house(f'excess_air = "{said}"'), "house.toml", Path()) for said in ("5 % O2", "28.1 %"))
    ]
    assert float(gases[0].kg_s) == pytest.approx(float(gases[1].kg_s), rel=2e-3)
    assert float(gases[0].o2_dry) == pytest.approx(0.05, abs=1e-9)


def test_a_reading_that_the_fuel_cannot_give_is_a_fault_beside_those_of_the_house():
    # Natural gas gives at most 11.8 or 11.9 % CO2, propane 13.8: a propane figure under the wrong fuel is noticed.
    text = house('excess_air = "13 % CO2"').replace("collar = [6, 4, -4]", "collar = [6, 0.25, 0]")
    with pytest.raises(InputError) as caught:
        open_text(text, "house.toml", Path())
    collar, air = caught.value.faults
    assert collar.key == "appliance.collar"
    line = text[: text.index("excess_air")].count("\n") + 1
    assert str(air).startswith(f"house.toml:{line}: appliance.excess_air: 13 % CO2: dry flue gas of natural gas cannot")
    open_text(text.replace("natural gas", "propane").replace("[6, 0.25, 0]", "[6, 4, -4]"), "house.toml", Path())
