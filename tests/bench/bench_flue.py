"""States of the flue a second: ours, many at once, against a loop through general fluid and heat libraries.

Run ``python tests/bench/bench_flue.py``. Fixed seed, pipe and steps. Ours is the wet march (condensing, wall by Newton
steps); the loop does the dry bound only, so the ratio understates.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import fluids
import ht
import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from ventroute.flue.cooling import marches
from ventroute.flue.fuel import NATURAL_GAS
from ventroute.flue.gas import burn
from ventroute.flue.sizes import drop_for_size
from ventroute.flue.species import KELVIN
from ventroute.flue.stretch import Stretch

OURS, THEIRS = 10_000, 20
LENGTH_M, STEP_M = 6.0, 2.0


def states(n: int) -> dict[str, np.ndarray]:
    """Sizes 2 to 4 in, 10 to 60 kW, 20 to 100 % excess air, exhaust 35 to 65 degC, winters -30 to 10 degC."""
    draw = np.random.default_rng(1).uniform(0.0, 1.0, (5, n))
    return {
        "bore": 0.0525 + 0.05 * draw[0],
        "input": 1e4 + 5e4 * draw[1],
        "excess": 0.2 + 0.8 * draw[2],
        "exhaust": 35.0 + 30.0 * draw[3],
        "winter": -30.0 + 40.0 * draw[4],
    }


def ours(s: dict[str, np.ndarray], wet: float = 1.0) -> np.ndarray:
    """Outlet temperature [degC]."""
    gas = burn(NATURAL_GAS, s["input"], s["excess"])
    pipe = Stretch(LENGTH_M, 0.1, s["bore"], s["bore"] + 0.008, 0.16, 0.9, 1.5e-6, s["winter"])
    (places,) = marches(gas, s["exhaust"], [[pipe]], outside_degC=s["winter"], wet=wet, step_m=STEP_M)
    return places[-1].node.gas_degC


def theirs(s: dict[str, np.ndarray], k: int) -> float:
    """Outlet temperature, dry [degC], one state."""
    gas = burn(NATURAL_GAS, float(s["input"][k]), float(s["excess"][k]))
    t, air, bore = float(s["exhaust"][k]), float(s["winter"][k]), float(s["bore"][k])
    kg_s = float(gas.gas_kg_s(t))
    for _ in range(2 * int(LENGTH_M / STEP_M)):
        mu, k_gas, cp = (PropsSI(what, "T", t + KELVIN, "P", 101_325.0, "Air") for what in "VLC")
        re, pr = 4 * kg_s / (np.pi * bore * mu), mu * cp / k_gas
        factor = fluids.friction_factor(Re=re, eD=1.5e-6 / bore)
        inside = (
            ht.conv_internal.turbulent_Gnielinski(re, pr, factor) * k_gas / bore if re > 3000 else 3.66 * k_gas / bore
        )
        through = np.log((bore + 0.008) / bore) * bore / 2 / 0.16

        def unbalanced(surface: float, t: float = t, inside: float = inside, through: float = through) -> float:
            film = 0.5 * (surface + air) + KELVIN
            mu, k_air, cp, rho = (PropsSI(what, "T", film, "P", 101_325.0, "Air") for what in "VLCD")
            grashof = 9.80665 / film * abs(surface - air) * (bore + 0.008) ** 3 / (mu / rho) ** 2
            nu = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(mu * cp / k_air, max(grashof, 1e-9))
            outside = nu * k_air / (bore + 0.008) + ht.radiation.q_rad(0.9, surface + KELVIN, air + KELVIN) / (
                surface - air
            )
            flux = outside * (surface - air) * (bore + 0.008) / bore
            return inside * (t - surface - flux * through) - flux

        surface = brentq(unbalanced, air + 1e-6, t)
        flux = inside * (t - surface) / (1 + inside * through)
        t = air + (t - air) * float(np.exp(-flux / (t - air) * np.pi * bore * STEP_M / 2 / (kg_s * cp)))
    return t


def best_s(work: object, times: int = 3) -> float:
    """Shortest of a few runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()  # type: ignore[operator]
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    """Print the rates and their ratio."""
    many, few = states(OURS), states(THEIRS)
    own = OURS / best_s(lambda: ours(many))
    loop = THEIRS / best_s(lambda: [theirs(few, k) for k in range(THEIRS)], 1)
    gas = burn(NATURAL_GAS, many["input"], many["excess"])
    drops = OURS / best_s(lambda: drop_for_size(gas, many["exhaust"], many["bore"], 15.0))
    print(f"cooling, ours, {OURS} at once: {own:10.0f} states/s")
    print(f"cooling, library loop:     {loop:10.0f} states/s")
    print(f"ratio:                     {own / loop:10.0f}")
    apart = np.abs(ours(few, 0.0) - [theirs(few, k) for k in range(THEIRS)]).max()
    print(f"dry outlets apart by at most {apart:.2f} K (the loop takes the gas as air)")
    print(f"drop by size, ours:        {drops:10.0f} states/s")


if __name__ == "__main__":
    main()
