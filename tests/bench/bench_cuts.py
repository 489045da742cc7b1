"""Sixty pieces from three sticks and six offcuts: time and gap. Run by hand: python tests/bench/bench_cuts.py

Pieces are drawn at random to 1/16 in, offcuts from 12 to 60 in; sticks of 5, 10 and 20 ft at 9, 16 and 30 (invented), kerf
1/8 in. The time is the least of three runs. Beside them a dozen pieces, and the same dozen by the plain program that
gives every piece to one bin (whole numbers, HiGHS): it is not asked for sixty, which it does not end in minutes.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from ventroute.shop.cuts import KERF_M, CutPlan, Piece, StickOffer, cut_plan

IN = 0.0254
FT = 12 * IN
SIXTEENTH = IN / 16
SOLD = (StickOffer(5 * FT, 9.0), StickOffer(10 * FT, 16.0), StickOffer(20 * FT, 30.0))
RANGES = ((30, 50), (8, 60), (4, 118))
SEEDS = range(20)
RUNS = 3


def instance(seed: int, low: int, high: int, count: int) -> tuple[list[Piece], list[float]]:
    """Pieces from low to high [in], and offcuts [m]."""
    chance = random.Random(f"{seed} {low} {high}")
    wanted = [Piece("pipe", chance.randint(low * 16, high * 16) * SIXTEENTH, str(n)) for n in range(count)]
    return wanted, [chance.randint(12 * 16, 60 * 16) * SIXTEENTH for _ in range(6)]


def timed(call: Callable[[], Any]) -> tuple[float, Any]:
    """The least time of some runs [s], and what came out."""
    best = float("inf")
    for _ in range(RUNS):
        start = time.perf_counter()
        result = call()
        best = min(best, time.perf_counter() - start)
    return best, result


def price(plan: CutPlan) -> float:
    """What the sticks of a plan cost."""
    by_length = {round(offer.length_m / FT): offer.price or 0.0 for offer in SOLD}
    return sum(by_length[round(stick.stick_m / FT)] for stick in plan.sticks if not stick.offcut)


def assigned(wanted: Sequence[Piece], offcuts: Sequence[float]) -> float:
    """Least price by one variable for every piece in every bin."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    n = len(wanted)
    bins = [(length, 0.0) for length in offcuts]
    bins += [(offer.length_m, offer.price or 0.0) for offer in SOLD for _ in range(n)]
    count = n * len(bins)
    cost = np.concatenate([np.zeros(count), [paid for _, paid in bins]])
    once = np.zeros((n, len(cost)))
    room = np.zeros((len(bins), len(cost)))
    for b, (length, _) in enumerate(bins):
        for i, piece in enumerate(wanted):
            once[i, i * len(bins) + b] = 1.0
            room[b, i * len(bins) + b] = piece.length_m + KERF_M
        room[b, count + b] = -(length + KERF_M)
    solved: Any = milp(
        cost,
        constraints=[LinearConstraint(once, 1.0, 1.0), LinearConstraint(room, ub=1e-9)],
        integrality=np.ones(len(cost), dtype=np.int64),
        bounds=Bounds(0, 1),
        options={"node_limit": 20_000},
    )
    return float(solved.fun)


def main() -> None:
    """Print the table."""
    from scipy import optimize  # noqa: F401 - its import is not what is measured

    print(f"{'pieces':>14} {'seed':>5} {'price':>7} {'gap':>7} {'time':>9}")
    for low, high in RANGES:
        times, proved = [], 0
        for seed in SEEDS:
            wanted, offcuts = instance(seed, low, high, 60)
            seconds, plan = timed(lambda w=wanted, o=offcuts: cut_plan(w, {"pipe": SOLD}, {"pipe": o}))
            times.append(seconds)
            proved += plan.proved
            name = f"60 of {low}-{high}"
            print(f"{name:>14} {seed:>5} {price(plan):>7.2f} {100 * plan.gap:>5.2f} % {1e3 * seconds:>6.0f} ms")
        print(
            f"{proved} of {len(times)} proved, median {1e3 * np.median(times):.0f} ms, most {1e3 * max(times):.0f} ms"
        )
    wanted, offcuts = instance(0, 30, 50, 12)
    seconds, plan = timed(lambda: cut_plan(wanted, {"pipe": SOLD}, {"pipe": offcuts}))
    start = time.perf_counter()
    least = assigned(wanted, offcuts)
    plain = time.perf_counter() - start
    print(
        f"12 of 30-50: {price(plan):.2f} in {1e3 * seconds:.0f} ms; plain program {least:.2f} in {1e3 * plain:.0f} ms"
    )


if __name__ == "__main__":
    main()
