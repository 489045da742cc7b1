"""A stretch of pipe as the gas sees it: bore, wall, slope, and what is around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ventroute.flue.species import FloatArray, Many

RISING = 0.7  # rise over length from which the outside film is that of an upright pipe; own choice, sin 45 deg


@dataclass(frozen=True, slots=True, eq=False)
class Bend:
    """A turn within a stretch: true angle, radius / bore (0: a mitre), and where, 0 to 1 along the stretch."""

    angle_deg: float
    radius_ratio: float
    at: float


@dataclass(frozen=True, eq=False)
class Stretch:
    """Pipe in one space, of one bore and one kind of slope. Figures may be arrays (...), one entry a state."""

    length_m: Many
    rise_m: Many
    bore_m: Many
    od_m: Many
    conductivity_W_mK: Many
    emissivity: Many
    roughness_m: Many
    air_degC: Many
    space: str = ""
    insulation_m: Many = 0.0  # thickness
    insulation_W_mK: Many = 0.04  # mineral wool or foam; common practice
    insulation_emissivity: Many = 0.9  # most surfaces that are not bare metal; memory
    wind_m_s: float = 0.0
    k: Many = 0.0  # velocity heads lost at its start, bends apart
    bends: tuple[Bend, ...] = ()

    @cached_property
    def height_m(self) -> FloatArray:
        """Height of an upright stretch (...), 0 for one that is rather level [m]."""
        length, rise = np.asarray(self.length_m, dtype=np.float64), np.abs(np.asarray(self.rise_m, dtype=np.float64))
        return np.where(rise > RISING * length, length, 0.0)

    @cached_property
    def outer_m(self) -> FloatArray:
        """Diameter that meets the air (...), of the insulation where there is any [m]."""
        return np.asarray(np.asarray(self.od_m) + 2.0 * np.asarray(self.insulation_m))

    @cached_property
    def outer_emissivity(self) -> FloatArray:
        """Emissivity of the surface that meets the air (...)."""
        return np.where(np.asarray(self.insulation_m) > 0, self.insulation_emissivity, self.emissivity)

    @cached_property
    def wall_m2K_W(self) -> FloatArray:
        """Resistance of wall and insulation over the inner surface (...) [m2 K/W]."""
        bore, od = np.asarray(self.bore_m), np.asarray(self.od_m)
        wall = np.log(od / bore) / self.conductivity_W_mK
        return np.asarray(0.5 * bore * (wall + np.log(self.outer_m / od) / self.insulation_W_mK))


def side_by_side(pipes: Sequence[Stretch], shape: tuple[int, ...]) -> Stretch:
    """Stretches of several runs in one wind as one of (runs, n), given n; what they lose in fittings is left out."""
    if len(pipes) == 1:
        return pipes[0]

    def rows(name: str) -> FloatArray:
        return np.array([np.broadcast_to(getattr(pipe, name), shape) for pipe in pipes], dtype=np.float64)

    return Stretch(
        rows("length_m"),
        rows("rise_m"),
        rows("bore_m"),
        rows("od_m"),
        rows("conductivity_W_mK"),
        rows("emissivity"),
        rows("roughness_m"),
        rows("air_degC"),
        insulation_m=rows("insulation_m"),
        insulation_W_mK=rows("insulation_W_mK"),
        insulation_emissivity=rows("insulation_emissivity"),
        wind_m_s=pipes[0].wind_m_s,
    )
