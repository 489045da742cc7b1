"""The stream in the vent: gas, vapour and the water it has shed, as one balance of heat and mass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ventroute.flue.gas import FlueGas
from ventroute.flue.properties import (
    Powers,
    dry_powers,
    liquid_J_mol,
    moist_conductivity_W_mK,
    moist_viscosity_Pa_s,
    psat_Pa,
    psat_slope,
    vapour_cp_J_molK,
    vapour_J_mol,
)
from ventroute.flue.species import (
    ENTHALPY_DRY,
    KELVIN,
    R_J_MOL_K,
    WATER,
    FloatArray,
    power_series,
)

SETTLE_K = 1e-7  # a temperature is found when a Newton step moves it by less; the next would move it by its square
MOST_SETTLE_STEPS = 30


@dataclass(frozen=True, slots=True, eq=False)
class Stream:
    """What does not change along the vent. Arrays are (n,), powers tuples of them."""

    dry_mol_s: FloatArray
    dry_kg_s: FloatArray
    water_mol_s: FloatArray  # vapour that enters the vent
    pressure_Pa: FloatArray
    heat_powers: Powers  # enthalpy flow of the dry gas [W] = T * series(T)
    cp_powers: Powers
    viscosity_powers: Powers
    conductivity_powers: Powers
    wet: FloatArray  # 1 where water may condense, 0 for the dry bound

    @classmethod
    def of(cls, gas: FlueGas, enters_degC: FloatArray, wet: FloatArray) -> Stream:
        """The stream that enters the vent at a temperature (n,), the appliance's own condensate left behind."""
        heat = np.tensordot(ENTHALPY_DRY.T, gas.dry_mol_s, axes=(1, 0))
        viscosity, conductivity = dry_powers(gas.dry_fractions)
        return cls(
            dry_mol_s=gas.dry_total_mol_s,
            dry_kg_s=gas.dry_kg_s,
            water_mol_s=gas.vapour_mol_s(enters_degC),
            pressure_Pa=gas.pressure_Pa,
            heat_powers=tuple(heat),
            cp_powers=tuple(order * term for order, term in enumerate(heat, start=1)),
            viscosity_powers=viscosity,
            conductivity_powers=conductivity,
            wet=wet,
        )

    def kg_s(self, vapour_mol_s: FloatArray) -> FloatArray:
        """Mass flow of gas (n,) with that much vapour left [kg/s]."""
        return np.asarray(self.dry_kg_s + WATER.kg_mol * vapour_mol_s)

    def y_water(self, vapour_mol_s: FloatArray) -> FloatArray:
        """Mole fraction of vapour (n,)."""
        return np.asarray(vapour_mol_s / (self.dry_mol_s + vapour_mol_s))

    def density_kg_m3(self, t_degC: FloatArray, vapour_mol_s: FloatArray) -> FloatArray:
        """Density of the gas (n,) [kg/m3]."""
        moles = self.dry_mol_s + vapour_mol_s
        return np.asarray(self.pressure_Pa * self.kg_s(vapour_mol_s) / (moles * R_J_MOL_K * (t_degC + KELVIN)))

    def cp_W_K(self, t_degC: FloatArray, vapour_mol_s: FloatArray) -> FloatArray:
        """Heat capacity flow of the gas without condensing (n,) [W/K]."""
        return power_series(self.cp_powers, t_degC + KELVIN) + vapour_mol_s * vapour_cp_J_molK(t_degC)

    def viscosity_Pa_s(self, t_degC: FloatArray, y_water: FloatArray) -> FloatArray:
        """Viscosity of the gas (n,) [Pa s]."""
        return moist_viscosity_Pa_s(self.viscosity_powers, self.dry_kg_s / self.dry_mol_s, y_water, t_degC)

    def conductivity_W_mK(self, t_degC: FloatArray, y_water: FloatArray) -> FloatArray:
        """Conductivity of the gas (n,) [W/(m K)]."""
        return moist_conductivity_W_mK(self.conductivity_powers, y_water, t_degC)

    def heat_W(self, t_degC: FloatArray, vapour_mol_s: FloatArray) -> FloatArray:
        """Enthalpy flow of gas and shed water, both at one temperature (n,) [W]; only differences mean anything."""
        kelvin = t_degC + KELVIN
        dry = power_series(self.heat_powers, kelvin) * kelvin
        shed = self.water_mol_s - vapour_mol_s
        return np.asarray(dry + vapour_mol_s * vapour_J_mol(t_degC) + shed * liquid_J_mol(t_degC))

    def _saturated(self, t_degC: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Vapour that the gas can hold (n,) [mol/s], and its slope with temperature."""
        saturation = np.minimum(psat_Pa(t_degC), 0.999 * self.pressure_Pa)
        room = self.pressure_Pa - saturation
        held = self.dry_mol_s * saturation / room
        return held, held * psat_slope(t_degC) * self.pressure_Pa / room

    def settle(
        self, heat_W: FloatArray, vapour_mol_s: FloatArray, near_degC: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Temperature and vapour at which the stream holds that much heat: fog forms rather than supersaturation.

        Parameters
        ----------
        heat_W : (n,) wanted `heat_W`
        vapour_mol_s : (n,) vapour before any fog forms
        near_degC : (n,) where to begin

        Returns
        -------
        temperature [degC], vapour [mol/s], heat capacity flow with condensing [W/K], each (n,)
        """
        t, found = near_degC, np.zeros(near_degC.shape, dtype=np.bool_)
        for _ in range(MOST_SETTLE_STEPS):  # what is found stands still: none depends on what it is worked out beside
            vapour, capacity = self.at(t, vapour_mol_s)
            move = np.clip((self.heat_W(t, vapour) - heat_W) / capacity, -40.0, 40.0)
            t = t - np.where(found, 0.0, move)
            found = found | (np.abs(move) < SETTLE_K)
            if found.all():
                break
        vapour, capacity = self.at(t, vapour_mol_s)
        return t, vapour, capacity

    def at(self, t_degC: FloatArray, vapour_mol_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Vapour left at a temperature out of so much, and the heat capacity flow there, each (n,)."""
        held, slope = self._saturated(t_degC)
        fog = (held <= vapour_mol_s * (1.0 + 1e-9)) & (self.wet > 0)  # at the brink counts: it is cooling
        vapour = np.where(fog, np.minimum(held, vapour_mol_s), vapour_mol_s)
        latent = np.where(fog, slope * (vapour_J_mol(t_degC) - liquid_J_mol(t_degC)), 0.0)
        shed = (self.water_mol_s - vapour) * (4181.0 * WATER.kg_mol)
        return vapour, self.cp_W_K(t_degC, vapour) + shed + latent
