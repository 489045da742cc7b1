"""Fuels: what a gas is made of, what it gives, and how to read more of them from the catalog.

References
----------
.. [1] ISO 6976:2016, molar gross calorific values at 25 degC. Grade: memory (methane met by two libraries).
.. [2] Typical analysis published by a gas utility; ranges in it: CH4 87-97 %, C2H6 1.5-7 %. Grade: second-hand.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from ventroute.errors import CatalogError
from ventroute.flue.properties import EVAPORATION_25_J_KG
from ventroute.flue.species import WATER
from ventroute.model.source import Evidence, Grade

_C, _H, _O, _N = 0.012011, 0.001008, 0.015999, 0.014007  # kg/mol, abridged standard atomic weights; memory


@dataclass(frozen=True, slots=True)
class Component:
    """One gas of a fuel: atoms in a molecule, and gross heat [J/mol] at 25 degC [1]."""

    carbon: int
    hydrogen: int
    oxygen: int
    nitrogen: int
    gross_J_mol: float

    @property
    def kg_mol(self) -> float:
        """Molar mass [kg/mol]."""
        return self.carbon * _C + self.hydrogen * _H + self.oxygen * _O + self.nitrogen * _N


COMPONENTS: Mapping[str, Component] = {
    "CH4": Component(1, 4, 0, 0, 890_580.0),
    "C2H6": Component(2, 6, 0, 0, 1_560_690.0),
    "C3H8": Component(3, 8, 0, 0, 2_219_170.0),
    "n-C4H10": Component(4, 10, 0, 0, 2_877_400.0),
    "i-C4H10": Component(4, 10, 0, 0, 2_868_200.0),
    "C3H6": Component(3, 6, 0, 0, 2_058_020.0),
    "H2": Component(0, 2, 0, 0, 285_830.0),
    "CO": Component(1, 0, 1, 0, 282_980.0),
    "CO2": Component(1, 0, 2, 0, 0.0),
    "O2": Component(0, 0, 2, 0, 0.0),
    "N2": Component(0, 0, 0, 2, 0.0),
}


@dataclass(frozen=True, slots=True)
class Fuel:
    """A gas by mole fractions; they are normalised when asked for. ``parts`` pairs a component's name and its share."""

    name: str
    parts: tuple[tuple[str, float], ...]
    evidence: Evidence

    def __post_init__(self) -> None:
        unknown = [name for name, _ in self.parts if name not in COMPONENTS]
        if unknown:
            raise CatalogError(f"fuel {self.name!r}: no component {unknown[0]!r}; known: {', '.join(COMPONENTS)}")
        if not self.parts or any(share < 0 for _, share in self.parts):
            raise CatalogError(f"fuel {self.name!r}: shares must be at least 0 and one above it")
        if self.gross_J_mol <= 0:
            raise CatalogError(f"fuel {self.name!r}: nothing in it burns")

    def _mean(self, what: str) -> float:
        total = sum(share for _, share in self.parts)
        return sum(share * float(getattr(COMPONENTS[name], what)) for name, share in self.parts) / total

    @property
    def carbon(self) -> float:
        """Carbon atoms per molecule."""
        return self._mean("carbon")

    @property
    def hydrogen(self) -> float:
        """Hydrogen atoms per molecule."""
        return self._mean("hydrogen")

    @property
    def nitrogen_mol(self) -> float:
        """N2 brought by the fuel, mol per mol."""
        return self._mean("nitrogen") / 2

    @property
    def oxygen_need(self) -> float:
        """O2 to burn one mole completely [mol]."""
        return self.carbon + self.hydrogen / 4 - self._mean("oxygen") / 2

    @property
    def kg_mol(self) -> float:
        """Molar mass [kg/mol]."""
        return self._mean("kg_mol")

    @property
    def gross_J_mol(self) -> float:
        """Gross (higher) heat of combustion at 25 degC [J/mol]."""
        return self._mean("gross_J_mol")

    @property
    def net_J_mol(self) -> float:
        """Net (lower) heat of combustion at 25 degC [J/mol]: the water formed stays vapour."""
        return self.gross_J_mol - self.hydrogen / 2 * WATER.kg_mol * EVAPORATION_25_J_KG


NATURAL_GAS = Fuel(
    "natural gas",
    (("CH4", 95.0), ("C2H6", 3.2), ("C3H8", 0.2), ("n-C4H10", 0.03), ("i-C4H10", 0.03), ("N2", 1.0), ("CO2", 0.5)),
    Evidence("gas-analysis", Grade.SECOND_HAND, "typical analysis"),
)
PROPANE = Fuel("propane", (("C3H8", 100.0),), Evidence("pure-substance", Grade.PRACTICE, "taken as pure"))
FUELS: Mapping[str, Fuel] = {fuel.name: fuel for fuel in (NATURAL_GAS, PROPANE)}


def read_fuels(folder: Path) -> dict[str, Fuel]:
    """Fuels in ``fuels.csv`` of a folder: columns fuel, component, mole_percent, source, page, grade; a row of units.

    Returns
    -------
    fuels by name, in the order of the file

    Raises
    ------
    CatalogError
        The file is missing, a row is not complete, or a fuel cannot be.
    """
    path = folder / "fuels.csv"
    try:
        rows = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    except OSError as error:
        raise CatalogError(f"{path}: cannot be read: {error.strerror}") from error
    shares: dict[str, list[tuple[str, float]]] = {}
    evidence: dict[str, Evidence] = {}
    for line, row in enumerate(rows[1:], start=3):  # the first row holds the units
        try:
            shares.setdefault(row["fuel"], []).append((row["component"], float(row["mole_percent"])))
            evidence[row["fuel"]] = Evidence(row["source"], Grade(row["grade"]), row["page"])
        except (KeyError, ValueError, TypeError) as error:
            raise CatalogError(f"{path}:{line}: {error}; wanted fuel, component, mole_percent, grade") from error
    return {name: Fuel(name, tuple(parts), evidence[name]) for name, parts in shares.items()}
