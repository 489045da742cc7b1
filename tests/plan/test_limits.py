"""What a smaller greatest length does to a plan: laws, on random houses."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from tests.plan.houses import planned, random_house

SEEDS = (0, 3, 6, 12, 18, 21)
SHARES = (1.0, 0.3, 0.2, 0.15, 0.1)


@cache
def least_m(seed: int, share: float) -> float:
    """The least equivalent length where the manual allows so much of what it did, infinite where there is no route."""
    site = random_house(seed)
    rows = tuple(replace(row, max_length_m=share * row.max_length_m) for row in site.appliance.sizes)
    found = planned(replace(site, appliance=replace(site.appliance, sizes=rows))).routes
    assert all(route.route.equivalent_m <= route.limit_m + 1e-9 for route in found)
    return min((route.route.equivalent_m for route in found), default=np.inf)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_smaller_limit_never_opens_a_route_nor_shortens_one(seed):
    least = [least_m(seed, share) for share in SHARES]
    assert all(after >= before - 1e-6 for before, after in pairwise(least))


def test_some_houses_lose_their_route_on_the_way():
    # Guards the test above against limits that are all kept or all broken.
    first, last = ([np.isfinite(least_m(seed, share)) for seed in SEEDS] for share in (SHARES[0], SHARES[-1]))
    assert sum(first) > sum(last)
