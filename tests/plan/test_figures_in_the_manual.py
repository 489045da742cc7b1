"""Where no route fits for want of a figure: the manual may have one, and only the manual."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from tests.plan.houses import FT, IN, random_house, workshop
from ventroute.layout.building import build
from ventroute.mending import mends
from ventroute.model.appliance import SizeLimit
from ventroute.model.plan import Plan
from ventroute.model.site import Site
from ventroute.planner import Workshop, plan
from ventroute.units import parse_length

OFFER = re.compile(r"the manual's own figure for a 3 in (\S+) 90 \((\w+)\), if it has one, of no more than (.*?); (.*)")


def three_in(site: Site, **changes: object) -> Site:
    """The house in 3 in pipe to the wall, its table's row changed."""
    rows = tuple(replace(row, **changes) if row.size_in == 3.0 else row for row in site.appliance.sizes)
    want = replace(site.want, sizes_in=(3.0,), terminals=("wall",))
    return replace(site, want=want, appliance=replace(site.appliance, sizes=rows))


def row(site: Site) -> SizeLimit:
    return next(row for row in site.appliance.sizes if row.size_in == 3.0)


def made(site: Site, shop: Workshop) -> Plan:
    return plan(site, build(site), shop)


def offered(site: Site, shop: Workshop) -> dict[str, float]:
    """The figures [m] that would do, by key of the table."""
    found = [OFFER.match(words) for words in mends(site, shop)]
    assert all("enter none but the manual's: then 3 in PVC" in offer[4] for offer in found if offer)
    return {offer[2]: parse_length(offer[3], None) for offer in found if offer}


@pytest.fixture(scope="module")
def just_too_long() -> tuple[Site, Workshop]:
    """A house whose only way, through one 90, is a foot over the limit; the table has no figure for a long-turn 90."""
    house = three_in(random_house(6))
    shop = workshop(house)
    least = min(found.route.equivalent_m for found in made(house, shop).routes)
    return three_in(house, max_length_m=least - FT), shop


def test_a_long_turn_figure_that_would_do_is_offered_and_a_greater_one_would_not(just_too_long):
    site, shop = just_too_long
    assert not made(site, shop).routes
    figure = offered(site, shop)["elbow_90_long"]
    # The plain 90 counts 5 ft and one is too many by 1 ft: near 4 ft must do, and what does is told to the inch.
    assert 3.5 * FT <= figure <= 4 * FT
    for by, routes in ((0.0, True), (0.6 * FT, False)):
        entered = three_in(site, by_pattern=((90.0, "long", figure + by),))
        assert bool(made(entered, shop).routes) is routes


def test_what_has_its_figure_is_not_asked_for(just_too_long):
    site, shop = just_too_long
    assert "elbow_90_long" not in offered(three_in(site, by_pattern=((90.0, "long", 5 * FT),)), shop)


def test_a_pattern_that_is_not_sold_is_not_asked_for(just_too_long):
    site, shop = just_too_long
    bends = tuple(bend for bend in shop.catalog.bends if bend.pattern != "long")
    assert not offered(site, replace(shop, catalog=replace(shop.catalog, bends=bends)))


def test_a_short_turn_that_fits_under_a_low_ceiling_is_offered():
    # By hand, in bends without spigots (PVC 3 in: laying 3 1/16 in, sockets 1 1/2 in; short-turn 1 15/16 in): the axis
    # turns 6 1/16 in over the collar, rises 1/4 in per ft over 9 ft to the wall, and stands 1 3/4 in and a gap of
    # 1 in below the ceiling: 11 in and more. The short turn saves 1 1/8 in of that, and here are 10 1/2 in.
    house = three_in(random_house(6))
    ceiling_m, (x, y, _) = house.rooms[0].top_m, house.appliance.collar_m
    assert ceiling_m is not None
    cuts = tuple(replace(cut, size=(cut.size[0], cut.size[1], ceiling_m - 0.5)) for cut in house.cuts)
    collar = (x, y, ceiling_m - 10.5 * IN)
    low = replace(house, cuts=cuts, holes=(), obstacles=(), appliance=replace(house.appliance, collar_m=collar))
    shop = workshop(low)
    bends = tuple(bend for bend in shop.catalog.bends if not bend.street)
    shop = replace(shop, catalog=replace(shop.catalog, bends=bends))
    assert not made(low, shop).routes
    figure = offered(low, shop)["elbow_90_short"]
    assert figure > row(low).elbow_90_m  # a sharper bend is not taken for less than the plain one
    assert made(three_in(low, by_pattern=((90.0, "short", figure),)), shop).routes
