"""Pressure lost to friction, bends, changes of size and the open end.

References
----------
.. [1] Colebrook 1939; Haaland 1983 as the start of the iteration. Grade: memory, checked against a library.
.. [2] Rennels and Hudson, Pipe Flow, 2012: smooth bends and mitres, as coded in a public fluid library; Grade:
   second-hand.
.. [3] IFGC 2018 appendix A, table A.2.2: equivalent length = K D / f. Grade: standard read.
.. [4] Borda-Carnot for a sudden widening, 0.5 (1 - area ratio) for a sudden narrowing. Grade: memory.
.. [5] ASHRAE duct method (Altshul-Tsal). Grade: memory, met by a published design sheet.
"""

from __future__ import annotations

import numpy as np

from ventroute.flue.species import FloatArray, Many

LAMINAR_TO = 2300.0
TURBULENT_FROM = 4000.0
EXIT_K = 1.0  # the velocity head that leaves with the gas
ENTRANCE_SHARP_K = 0.57  # flush sharp edge, from [2]
SCREEN_K = 0.5  # spark or bird screen, ASHRAE chimney chapter; memory


def colebrook(reynolds: Many, relative_roughness: Many) -> FloatArray:
    """Darcy friction factor of turbulent flow by the Colebrook equation [1], solved to rounding.

    Parameters
    ----------
    reynolds : (...) above 0; means what it says from 4000 up
    relative_roughness : (...) roughness / bore

    Returns
    -------
    (...)
    """
    rough = np.asarray(relative_roughness, dtype=np.float64) / 3.7
    re = np.asarray(reynolds, dtype=np.float64)
    x = -1.8 * np.log10(rough**1.11 + 6.9 / re)  # Haaland's 1/sqrt(f)
    for _ in range(3):
        inner = rough + 2.51 * x / re
        residual = x + 2.0 * np.log10(inner)
        x = x - residual / (1.0 + 2.0 / np.log(10.0) * 2.51 / (re * inner))
    return np.asarray(1.0 / np.square(x), dtype=np.float64)


def friction_factor(reynolds: Many, relative_roughness: Many) -> FloatArray:
    """Darcy friction factor at any Reynolds number above 0.

    64/Re to 2300, Colebrook from 4000, a straight line between: [1] leaves that stretch open.

    Returns
    -------
    (...)
    """
    re = np.asarray(reynolds, dtype=np.float64)
    if re.size and float(re.min()) >= TURBULENT_FROM:
        return colebrook(re, relative_roughness)
    turbulent = colebrook(np.maximum(re, TURBULENT_FROM), relative_roughness)
    share = np.clip((re - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO), 0.0, 1.0)
    laminar = 64.0 / np.minimum(re, LAMINAR_TO)
    return np.asarray(laminar + share * (turbulent - laminar))


def duct_factor(reynolds: Many, relative_roughness: Many) -> FloatArray:
    """Darcy friction factor of the duct design method [5]; (...)."""
    base = 0.11 * (np.asarray(relative_roughness) + 68.0 / np.asarray(reynolds)) ** 0.25
    return np.where(base < 0.018, 0.85 * base + 0.0028, base)


def reynolds(kg_s: Many, bore_m: Many, viscosity_Pa_s: Many) -> FloatArray:
    """Reynolds number of flow in a round pipe; (...)."""
    return np.asarray(4.0 * np.asarray(kg_s) / (np.pi * bore_m * viscosity_Pa_s))


def velocity_m_s(kg_s: Many, bore_m: Many, density_kg_m3: Many) -> FloatArray:
    """Mean velocity in a round pipe; (...) [m/s]."""
    return np.asarray(4.0 * np.asarray(kg_s) / (np.pi * np.asarray(bore_m) ** 2 * density_kg_m3))


def velocity_head_Pa(density_kg_m3: Many, speed_m_s: Many) -> FloatArray:
    """Dynamic pressure; (...) [Pa]."""
    return np.asarray(0.5 * np.asarray(density_kg_m3) * np.asarray(speed_m_s) ** 2)


def friction_Pa(factor: Many, length_m: Many, bore_m: Many, head_Pa: Many) -> FloatArray:
    """Darcy-Weisbach loss of a straight length; (...) [Pa]."""
    return np.asarray(np.asarray(factor) * length_m / bore_m * head_Pa)


def mitre_k(angle_deg: Many) -> FloatArray:
    """Velocity heads lost in a corner without any radius [2]; (...)."""
    half = np.sin(np.radians(np.asarray(angle_deg, dtype=np.float64)) / 2)
    return np.asarray(0.42 * half + 2.56 * half**3)


def smooth_bend_k(angle_deg: Many, radius_ratio: Many, factor: Many) -> FloatArray:
    """Velocity heads lost in a smooth bend, friction along it included [2].

    Parameters
    ----------
    angle_deg : (...) true turn
    radius_ratio : (...) radius of the centre line / bore
    factor : (...) Darcy friction factor of the pipe

    Returns
    -------
    (...)
    """
    angle = np.radians(np.asarray(angle_deg, dtype=np.float64))
    half = np.sin(angle / 2)
    ratio = np.asarray(radius_ratio, dtype=np.float64)
    separation = 6.6 * factor * (np.sqrt(half) + half) / ratio ** (4 * angle / np.pi)
    return np.asarray(factor * angle * ratio + (0.10 + 2.4 * np.asarray(factor)) * half + separation)


def bend_k(angle_deg: Many, radius_ratio: Many, factor: Many) -> FloatArray:
    """Velocity heads lost in a moulded bend: the smooth bend that fits it, never more than a mitre [2]; (...).

    ``radius_ratio`` 0 stands for an inside without radius, a plain mitre.
    """
    ratio = np.asarray(radius_ratio, dtype=np.float64)
    smooth = smooth_bend_k(angle_deg, np.where(ratio > 0, ratio, 1.0), factor)
    mitre = mitre_k(angle_deg)
    return np.where(ratio > 0, np.minimum(smooth, mitre), mitre)


def change_k(from_bore_m: Many, to_bore_m: Many) -> FloatArray:
    """Velocity heads, at the narrower bore, lost in a sudden change of bore [4]; (...)."""
    ratio: FloatArray = np.square(np.asarray(from_bore_m, dtype=np.float64) / to_bore_m)
    return np.where(ratio <= 1, np.square(1 - ratio), 0.5 * (1 - 1 / np.maximum(ratio, 1.0)))


def equivalent_m(k: Many, bore_m: Many, factor: Many) -> FloatArray:
    """Length of straight pipe that loses as much as a fitting [3]; (...) [m]."""
    return np.asarray(np.asarray(k) * bore_m / factor)
