"""What is on the shelf decides what is planned."""

from dataclasses import replace

from tests.plan.houses import random_house, workshop
from ventroute.layout.building import build
from ventroute.model.route import PartKind
from ventroute.planner import plan


def offers_without(site, *starts, count=0):
    """Demonstration prices, with all items of these beginnings at `count`."""
    shop = workshop(site)
    offers = tuple(replace(o, count=count) if o.item.startswith(starts) else o for o in shop.catalog.offers)
    return replace(shop, stock=replace(shop.stock, offers=offers))


def house():
    site = random_house(2)
    return replace(site, want=replace(site.want, sizes_in=(3.0,)))


def used(result):
    return {part.item for r in result.routes for part in r.route.parts if part.kind is PartKind.ELBOW}


def test_a_bend_out_of_stock_is_not_used_and_its_cost_is_said():
    site = house()
    plenty = plan(site, build(site), workshop(site))
    assert any(item.startswith("elbow-45-pvc-3") for item in used(plenty))
    scarce = plan(site, build(site), offers_without(site, "elbow-45-pvc-3"))
    assert scarce.routes
    assert not any(item.startswith("elbow-45-pvc-3") for item in used(scarce))
    assert all("out of stock" in route.scarcity for route in scarce.routes)
    assert min(r.route.equivalent_m for r in scarce.routes) >= min(r.route.equivalent_m for r in plenty.routes) - 1e-9


def test_no_route_needs_more_of_a_part_than_there_is():
    site = house()
    few = plan(site, build(site), offers_without(site, "elbow-", count=1))
    for route in few.routes:
        for line in route.shopping:
            if line.item.startswith("elbow-"):
                assert line.quantity <= 1


def test_pipe_out_of_stock_is_a_reason_and_not_an_error():
    site = house()
    none = plan(site, build(site), offers_without(site, "pipe-pvc"))
    assert not none.routes
    assert {row.rule for row in none.rejected} == {"stock"}


def test_what_is_at_home_is_free():
    site = house()
    shop = workshop(site)
    full = plan(site, build(site), shop)
    item = next(p.item for p in full.routes[0].route.parts if p.kind is PartKind.ELBOW)
    mine = replace(shop, stock=replace(shop.stock, have={item: 20}))
    with_box = plan(site, build(site), mine)
    line = next(row for row in with_box.routes[0].shopping if row.item == item)
    assert line.cost == 0.0
    assert with_box.routes[0].cost < full.routes[0].cost
