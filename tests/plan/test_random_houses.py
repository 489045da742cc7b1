"""Every promise of a planned route, on random houses and the demonstrations, by other means than the planner's."""

import pytest
import trimesh

from tests.plan import audit
from tests.plan.houses import planned, random_house
from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.plan import DEMOS
from ventroute.io.site_file import read_site
from ventroute.model.plan import Verdict

SEEDS = range(200)


def routes(seed: int):
    site = random_house(seed)
    return site, planned(site).routes


@pytest.mark.parametrize("seed", SEEDS)
def test_a_planned_route_keeps_what_it_promises(seed):
    site, found = routes(seed)
    assert_promises(site, found)


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_keeps_what_it_promises(name):
    catalog = load_catalog()
    site = read_site(catalogs_folder() / "sites" / f"{name}.toml", catalog.appliances)
    found = planned(site).routes
    assert found
    assert_promises(site, found)


def thing(obstacle):
    if obstacle.corner is not None:
        return audit.box(obstacle.corner, obstacle.size)
    return trimesh.creation.cylinder(radius=obstacle.diameter_m / 2, segment=obstacle.ends, sections=96)


def assert_promises(site, found):
    rooms = {
        r.name: audit.under_roof(r.floor, r.bottom_m, site, inner=True)
        if r.top_m is None
        else audit.prism(r.floor, r.bottom_m, r.top_m)
        for r in site.rooms
    }
    things = [thing(o) for o in site.obstacles]
    for route in found:
        audit.parts_meet(route, site)
        audit.cuts_are_corner_distance_less_laying_lengths(route)
        audit.pieces_fit_sockets_and_sticks(route)
        audit.pitch_is_kept(route, site)
        audit.turns_are_within_the_give(route)
        audit.equivalent_adds_up(route, site)
        audit.bill_is_the_parts(route)
        audit.sizes_never_shrink(route)
        audit.keeps_clear(route, site, rooms, things)
        assert not [f for f in route.findings if f.verdict is Verdict.FAIL]
        assert route.route.equivalent_m >= route.least_possible_m - 1e-6


def test_most_random_houses_have_a_route():
    # Guards the test above against passing on empty plans.
    assert sum(bool(routes(seed)[1]) for seed in range(0, 200, 10)) >= 12
