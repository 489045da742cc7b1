"""Combustion: from fuel and air to flue gas.

References
----------
.. [1] Complete combustion by atom balance; dry air O2 20.946, N2 78.084, Ar 0.934, CO2 0.036 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ventroute.errors import VentrouteError
from ventroute.flue.fuel import Fuel
from ventroute.flue.properties import (
    LIQUID_J_MOL_K,
    MASS_RATIO,
    SEA_LEVEL_PA,
    Powers,
    dew_point_degC,
    evaporation_J_mol,
    psat_Pa,
    vapour_J_mol,
)
from ventroute.flue.species import (
    AIR_FRACTIONS,
    AIR_KG_MOL,
    DRY_KG_MOL,
    ENTHALPY_DRY,
    KELVIN,
    R_J_MOL_K,
    WATER,
    FloatArray,
    Many,
    power_series,
)
from ventroute.model.excess import MOST_EXCESS, DryGas

_O2_IN_AIR = float(AIR_FRACTIONS[1])


@dataclass(frozen=True, slots=True, eq=False)
class FlueGas:
    """A stream of flue gas, water not yet condensed. Every array broadcasts to one shape (...).

    ``dry_mol_s`` is (4, ...) in the order CO2, O2, N2, Ar; ``water_mol_s`` all water, formed and brought by the air.
    """

    dry_mol_s: FloatArray
    water_mol_s: FloatArray
    air_water_mol_s: FloatArray  # the part of the water that came with the air
    pressure_Pa: FloatArray
    input_W: FloatArray
    fuel_kg_s: FloatArray
    air_kg_s: FloatArray  # dry combustion air

    @property
    def dry_total_mol_s(self) -> FloatArray:
        """All dry gas (...) [mol/s]."""
        return np.asarray(self.dry_mol_s.sum(axis=0))

    @property
    def dry_fractions(self) -> FloatArray:
        """Mole fractions of the dry gas (4, ...)."""
        return self.dry_mol_s / self.dry_total_mol_s

    @property
    def co2_dry(self) -> FloatArray:
        """CO2 in dry gas (...), 0 to 1."""
        return np.asarray(self.dry_fractions[0])

    @property
    def o2_dry(self) -> FloatArray:
        """O2 in dry gas (...), 0 to 1."""
        return np.asarray(self.dry_fractions[1])

    @property
    def y_water(self) -> FloatArray:
        """Water in wet gas before any condenses (...), 0 to 1."""
        return np.asarray(self.water_mol_s / (self.water_mol_s + self.dry_total_mol_s))

    @property
    def dew_point_degC(self) -> FloatArray:
        """Dew point before any water condenses (...) [degC]."""
        return dew_point_degC(self.y_water * self.pressure_Pa)

    @property
    def dry_kg_s(self) -> FloatArray:
        """Mass flow of dry gas (...) [kg/s]."""
        return np.asarray(np.tensordot(DRY_KG_MOL, self.dry_mol_s, axes=(0, 0)))

    @property
    def kg_s(self) -> FloatArray:
        """Mass flow of all products (...) [kg/s]."""
        return np.asarray(self.dry_kg_s + WATER.kg_mol * self.water_mol_s)

    def vapour_mol_s(self, t_degC: Many) -> FloatArray:
        """Water that stays vapour at a temperature in equilibrium (...) [mol/s], never above all of it."""
        saturated = saturated_mol(self.dry_total_mol_s, self.pressure_Pa, t_degC)
        return np.minimum(self.water_mol_s, saturated)

    def condensate_kg_s(self, t_degC: Many) -> FloatArray:
        """Water condensed in an appliance that the gas leaves at a temperature, in equilibrium (...) [kg/s]."""
        return np.asarray(WATER.kg_mol * (self.water_mol_s - self.vapour_mol_s(t_degC)))

    def kg_mol(self, t_degC: Many) -> FloatArray:
        """Molar mass of what is gas at a temperature (...) [kg/mol]."""
        vapour = self.vapour_mol_s(t_degC)
        return np.asarray((self.dry_kg_s + WATER.kg_mol * vapour) / (self.dry_total_mol_s + vapour))

    def density_kg_m3(self, t_degC: Many) -> FloatArray:
        """Density of what is gas at a temperature (...) [kg/m3]."""
        return np.asarray(self.pressure_Pa * self.kg_mol(t_degC) / (R_J_MOL_K * (np.asarray(t_degC) + KELVIN)))

    def gas_kg_s(self, t_degC: Many) -> FloatArray:
        """Mass flow of what is gas at a temperature (...) [kg/s]."""
        return np.asarray(self.dry_kg_s + WATER.kg_mol * self.vapour_mol_s(t_degC))

    def volume_m3_s(self, t_degC: Many) -> FloatArray:
        """Volume flow of what is gas at a temperature (...) [m3/s]."""
        return np.asarray(self.gas_kg_s(t_degC) / self.density_kg_m3(t_degC))

    def efficiency(self, t_degC: Many, air_degC: Many = 25.0) -> FloatArray:
        """Share of the gross input that does not leave with gas and condensate (...), 0 to 1; no jacket loss."""
        vapour = self.vapour_mol_s(t_degC)
        rise = np.asarray(t_degC) - np.asarray(air_degC)
        dry = tuple(np.tensordot(ENTHALPY_DRY.T, self.dry_mol_s, axes=(1, 0)))
        sensible = _dry_J_s(dry, t_degC) - _dry_J_s(dry, air_degC)
        sensible = sensible + vapour * (vapour_J_mol(t_degC) - vapour_J_mol(air_degC))
        latent = (vapour - self.air_water_mol_s) * evaporation_J_mol(air_degC)
        liquid = (self.water_mol_s - vapour) * LIQUID_J_MOL_K * rise
        return np.asarray(1.0 - (sensible + latent + liquid) / self.input_W)


def _dry_J_s(powers: Powers, t_degC: Many) -> FloatArray:
    kelvin = np.asarray(t_degC, dtype=np.float64) + KELVIN
    return power_series(powers, kelvin) * kelvin


def saturated_mol(dry_mol: Many, pressure_Pa: Many, t_degC: Many) -> FloatArray:
    """Vapour that saturates an amount of dry gas, infinite where water would boil (...) [mol, as dry_mol]."""
    saturation = psat_Pa(t_degC)
    room = np.asarray(pressure_Pa - saturation)
    return np.where(room > 0, dry_mol * saturation / np.where(room > 0, room, 1.0), np.inf)


def burn(
    fuel: Fuel,
    input_W: Many,
    excess_air: Many,
    *,
    pressure_Pa: Many = SEA_LEVEL_PA,
    humidity: Many = 0.0,
) -> FlueGas:
    """Products of complete combustion [1].

    Parameters
    ----------
    fuel : what burns
    input_W : (...) gross (HHV) input [W]
    excess_air : (...) fraction over the stoichiometric need
    pressure_Pa : (...) of the place
    humidity : (...) of the combustion air [kg water per kg dry air]

    Returns
    -------
    FlueGas of the broadcast shape (...)
    """
    shape = np.broadcast_shapes(*(np.shape(x) for x in (input_W, excess_air, pressure_Pa, humidity)))
    full = np.ones(shape)
    rate = full * np.asarray(input_W) / fuel.gross_J_mol
    air = rate * (1.0 + np.asarray(excess_air)) * fuel.oxygen_need / _O2_IN_AIR
    brought = air * np.asarray(humidity) / MASS_RATIO
    dry = AIR_FRACTIONS.reshape(4, *[1] * len(shape)) * air
    dry[0] += rate * fuel.carbon
    dry[1] -= rate * fuel.oxygen_need
    dry[2] += rate * fuel.nitrogen_mol
    return FlueGas(
        dry_mol_s=dry,
        water_mol_s=np.asarray(rate * fuel.hydrogen / 2 + brought),
        air_water_mol_s=np.asarray(brought),
        pressure_Pa=np.asarray(full * pressure_Pa),
        input_W=np.asarray(full * input_W),
        fuel_kg_s=np.asarray(rate * fuel.kg_mol),
        air_kg_s=np.asarray(air * AIR_KG_MOL),
    )


def _dry_stoichiometric(fuel: Fuel) -> tuple[float, float]:
    """Dry products and air of stoichiometric combustion, mol per mol fuel."""
    air = fuel.oxygen_need / _O2_IN_AIR
    dry = air * (1 - _O2_IN_AIR) + fuel.carbon + fuel.nitrogen_mol
    return dry, air


def co2_max(fuel: Fuel) -> float:
    """Greatest CO2 in dry products, 0 to 1: that of stoichiometric combustion."""
    dry, air = _dry_stoichiometric(fuel)
    return (fuel.carbon + air * float(AIR_FRACTIONS[0])) / dry


def excess_from_co2(fuel: Fuel, co2_dry: Many) -> FloatArray:
    """Excess air from the CO2 of dry products, exact [1].

    Parameters
    ----------
    co2_dry : (...) mole fraction, 0 to `co2_max`

    Returns
    -------
    (...) fraction over the stoichiometric need

    Raises
    ------
    ValueError
        A reading this fuel cannot give: at or below that of plain air, or above the stoichiometric one.
    """
    reading = np.asarray(co2_dry, dtype=np.float64)
    if np.any(reading <= AIR_FRACTIONS[0]) or np.any(reading > co2_max(fuel) * (1 + 1e-9)):
        limits = f"wanted more than the air's and at most {100 * co2_max(fuel):.1f} %"
        raise ValueError(f"dry flue gas of {fuel.name} cannot hold so much or so little CO2; {limits}")
    dry, air = _dry_stoichiometric(fuel)
    return np.asarray(dry * (co2_max(fuel) - reading) / (air * (reading - float(AIR_FRACTIONS[0]))))


def excess_from_o2(fuel: Fuel, o2_dry: Many) -> FloatArray:
    """Excess air from the O2 of dry products, exact [1].

    Parameters
    ----------
    o2_dry : (...) mole fraction, 0 up to that of air

    Returns
    -------
    (...) fraction over the stoichiometric need

    Raises
    ------
    ValueError
        A reading below 0 or not below that of air.
    """
    reading = np.asarray(o2_dry, dtype=np.float64)
    if np.any(reading < 0) or np.any(reading >= _O2_IN_AIR):
        raise ValueError(
            f"dry flue gas cannot hold so much or so little O2; wanted from 0 to below {100 * _O2_IN_AIR:.1f} %"
        )
    dry, air = _dry_stoichiometric(fuel)
    return np.asarray(dry * reading / (air * (_O2_IN_AIR - reading)))


def excess_air(fuel: Fuel, said: float | DryGas) -> float:
    """Excess air [-] of what a manual says of it.

    Raises
    ------
    VentrouteError
        Dry flue gas of this fuel cannot hold that; the message says what is wrong and what is wanted.
    """
    if not isinstance(said, DryGas):
        return said
    excess_of = {"CO2": excess_from_co2, "O2": excess_from_o2}[said.gas]
    reading = f"{100 * said.share:.4g} % {said.gas}"
    try:
        excess = float(excess_of(fuel, said.share))
    except ValueError as error:
        raise VentrouteError(f"{reading}: {error}") from None
    if excess > MOST_EXCESS:
        raise VentrouteError(f"{reading}: {100 * excess:.0f} % excess air; wanted at most {100 * MOST_EXCESS:.0f} %")
    return excess
