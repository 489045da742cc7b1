"""Input at altitude. Several readings of the rule exist, so the reading is chosen by name.

References
----------
.. [1] NFPA 54 / ANSI Z223.1 wording, quoted in installation manuals: 4 % for each 1000 ft above sea level, once above
   2000 ft. Grade: second-hand.
.. [2] Manuals that count only what lies above 2000 ft. Grade: second-hand.
.. [3] Manuals of some fan-assisted appliances: 2 % for each 1000 ft above sea level. Grade: second-hand.
.. [4] Table of an older AGA standard, in steps of 1000 ft. Grade: second-hand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from ventroute.constants import FOOT_M
from ventroute.errors import VentrouteError
from ventroute.flue.species import FloatArray, Many


def _none(ft: FloatArray) -> FloatArray:
    return np.ones_like(ft)


def _whole(ft: FloatArray) -> FloatArray:
    return np.where(ft > 2000, 1 - 0.04 * ft / 1000, 1.0)


def _above(ft: FloatArray) -> FloatArray:
    return 1 - 0.04 * np.maximum(ft - 2000, 0.0) / 1000


def _fan(ft: FloatArray) -> FloatArray:
    return np.where(ft > 2000, 1 - 0.02 * ft / 1000, 1.0)


def _table(ft: FloatArray) -> FloatArray:
    step = np.floor((ft - 2500) / 1000 - 1e-9) + 1  # 2501 to 3500 ft is the first whole step
    return np.where(ft > 2000, np.where(ft <= 2500, 0.92, 0.92 - 0.04 * step), 1.0)


READINGS: Mapping[str, Callable[[FloatArray], FloatArray]] = {
    "none": _none,
    "total": _whole,  # [1]
    "part above": _above,  # [2]
    "fan-assisted": _fan,  # [3]
    "table": _table,  # [4]
}


def derating(reading: str, altitude_m: Many) -> FloatArray:
    """Share of the sea-level input that an appliance burns at an altitude.

    Parameters
    ----------
    reading : a key of `READINGS`
    altitude_m : (...)

    Returns
    -------
    (...) 0 to 1

    Raises
    ------
    VentrouteError
        No such reading.
    """
    if reading not in READINGS:
        raise VentrouteError(f"no altitude rule {reading!r}; wanted one of: {', '.join(READINGS)}")
    ft = np.asarray(altitude_m, dtype=np.float64) / FOOT_M
    return np.clip(READINGS[reading](ft), 0.0, 1.0)
