"""Ways whose size grows right after a hole. Houses and table are invented."""

from dataclasses import replace

import pytest

from tests.solve.scenes import FT, IN, UP, two_rooms
from ventroute.catalog.lookup import kits, load_catalog
from ventroute.layout.building import build
from ventroute.model.appliance import SizeLimit
from ventroute.model.site import Hole, Room
from ventroute.placing import make_route
from ventroute.solve.conditions import Conditions
from ventroute.solve.growing import Growing
from ventroute.solve.problem import Problem, Weights

SMALL = SizeLimit(2.0, 20 * FT, elbow_90_m=5 * FT, elbow_45_m=2.5 * FT, elbow_22_m=1.25 * FT)
LARGE = SizeLimit(3.0, 80 * FT, elbow_90_m=6 * FT, elbow_45_m=3 * FT, elbow_22_m=1.5 * FT)
RATIO = 4.0  # 80 ft over 20 ft: what a metre of 2 in counts in metres of 3 in
TIGHT = 2.6 * IN  # between 2 in pipe, 2.375 in outside, and 3 in pipe, 3.5 in


def growing(site) -> Growing:
    """2 in, then 3 in PVC in a house."""
    catalog, building = load_catalog(), build(site)
    small, large = kits(catalog, "PVC", 2.0, None, 2.0), kits(catalog, "PVC", 3.0, "PVC", 2.0)
    larger = Conditions.of(Problem(building, large, LARGE, site.appliance, site.want, {}))
    return Growing(larger.of(Problem(building, small, SMALL, site.appliance, site.want, {})), larger)


def weights(count="centreline", kit=None) -> tuple[Weights, Weights]:
    """Equivalent length in metres of 3 in."""
    out = []
    for row, ratio in ((SMALL, RATIO), (LARGE, 1.0)):
        figures = {90.0: row.elbow_90_m, 45.0: row.elbow_45_m, 22.5: row.elbow_22_m}
        out.append(Weights("length", ratio, {angle: ratio * figure for angle, figure in figures.items()}))
    return out[0], out[1]


def stacked(*, middle: float, clear: tuple[float, float, float]):
    """Three spaces over each other, holes straight above the collar; the middle one of this height."""
    site = two_rooms((1.0, 1.0, 0.8), (1.0, 1.0), pitch=0.0)
    floor = site.rooms[0].floor
    loft, top = 2.8 + middle + 0.2, 2.8 + middle + 0.2 + 1.5
    rooms = (site.rooms[0], Room("middle", floor, 2.8, 2.8 + middle), Room("loft", floor, loft, top))
    spaces = ("room", "middle", "loft", "outdoors")
    heights = (2.7, 2.8 + middle + 0.1, top + 0.1)
    holes = tuple(
        Hole(f"hole {n}", (1.0, 1.0, z), UP, c, (spaces[n], spaces[n + 1]))
        for n, (z, c) in enumerate(zip(heights, clear, strict=True))
    )
    appliance = replace(site.appliance, collar_size_in=2.0)
    envelope = replace(site.building, top_m=top + 0.2)
    return replace(site, rooms=rooms, holes=holes, building=envelope, appliance=appliance)


@pytest.mark.parametrize("hole", [(1.0, 1.0), (2.9, 3.1), (0.5, 3.3)])
def test_the_price_of_a_way_is_the_sum_of_shares_in_lengths_of_the_larger_size(hole):
    site = two_rooms((2.0, 2.0, 0.8), hole)
    site = replace(site, holes=(replace(site.holes[0], clear_m=TIGHT), *site.holes[1:]))
    both = growing(site)
    ways = both.seek(*weights()).run().ways
    assert ways
    for way in ways:
        route = make_route(both.larger, way, both.smaller)
        assert route.equivalent_m == pytest.approx(way.price, abs=1e-6)  # no figure for change and terminal
        change = route.grows_at
        small = sum(p.equivalent_m for p in route.parts[:change]) / RATIO / (20 * FT)
        assert [p.kind for p in route.parts[change - 1 : change + 1]] == ["coupling", "increaser"]
        assert small == pytest.approx(sum(p.nominal_deg / 90 * 5 / 20 for p in route.parts[:change] if p.nominal_deg))


def test_nothing_grows_where_the_larger_pipe_goes_through_every_hole():
    assert not growing(two_rooms((2.0, 2.0, 0.8), (1.0, 1.0))).chains


def test_nothing_grows_before_the_last_tight_hole():
    site = stacked(middle=1.5, clear=(0.15, TIGHT, 0.15))
    assert {chain.growth.crossing for chain in growing(site).chains} == {1}


def test_the_size_grows_after_the_first_hole_it_can():
    # Larger pipe counts a fourth: the sooner, the less.
    both = growing(stacked(middle=1.5, clear=(TIGHT, 0.15, 0.15)))
    assert {chain.growth.crossing for chain in both.chains} == {0, 1}
    assert both.seek(*weights()).run().ways[0].growth.crossing == 0


def test_the_size_grows_after_the_next_hole_where_the_first_leaves_no_room():
    # A coupling and an increaser over 4 in long do not fit a space of 4 in with an inch kept at either end.
    both = growing(stacked(middle=4 * IN, clear=(TIGHT, 0.15, 0.15)))
    found = both.seek(*weights()).run()
    assert found.ways
    routes = [make_route(both.larger, way, both.smaller) for way in found.ways if way.growth.crossing == 1]
    assert routes
    assert all(route.parts[route.grows_at].space == "loft" for route in routes)
    assert found.ways[0].growth.crossing == 1


def test_the_last_tight_hole_outdoors_leaves_no_place_to_grow():
    assert not growing(stacked(middle=1.5, clear=(0.15, 0.15, TIGHT))).chains


def test_no_way_is_cheaper_than_the_bounds():
    site = two_rooms((2.0, 2.0, 0.8), (2.9, 3.1))
    both = growing(replace(site, holes=(replace(site.holes[0], clear_m=TIGHT), *site.holes[1:])))
    found = both.seek(*weights()).run()
    assert found.rolled["roof"] <= found.least["roof"] + 1e-9
    assert found.least["roof"] == pytest.approx(found.ways[0].price)
