"""What is on the shelf decides what is planned."""

from collections import Counter
from dataclasses import replace

import pytest

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


def at_prices(site, **prices):
    """Demonstration prices but for elbows, each angle at its own."""
    shop = workshop(site)
    own = {f"elbow-{angle.strip('_')}-pvc-3": price for angle, price in prices.items()}
    offers = tuple(
        replace(o, price=next((price for start, price in own.items() if o.item.startswith(start)), o.price))
        for o in shop.catalog.offers
    )
    return replace(shop, stock=replace(shop.stock, offers=offers))


def bends(planned):
    return [part.item.split("-")[1] for part in planned.route.parts if part.kind is PartKind.ELBOW]


def test_the_way_that_uses_the_box_is_taken_where_it_is_cheaper_in_all():
    # the way between the holes goes by four 45s or by four 90s; 45s are a sixth of the price of 90s
    site = random_house(3)
    site = replace(site, want=replace(site.want, sizes_in=(3.0,), prefer="cost", terminals=("roof",)))
    shop = at_prices(site, _90=30.0, _45=5.0, _22=30.0)
    bought = plan(site, build(site), shop).routes[0]
    assert bends(bought) == ["45"] * 4
    for count, angle in ((4, "90"), (1, "45")):  # one 90 at home does not pay for three more
        box = dict.fromkeys(("elbow-90-pvc-3", "elbow-90-pvc-3-street"), count)
        best = plan(site, build(site), replace(shop, stock=replace(shop.stock, have=box))).routes[0]
        assert bends(best) == [angle] * 4
        assert best.cost <= bought.cost + 1e-9


def test_floors_that_may_be_fire_rated_are_on_the_list():
    # the pipe goes from the room through its ceiling into the loft, and out through the roof
    result = plan(house(), build(house()), workshop(house()))
    for planned in result.routes:
        asked = [f.subject for f in planned.findings if f.rule == "hole.firestop"]
        listed = [line for line in planned.shopping if line.item == "firestop-vent"]
        assert asked == ['"ceiling"']
        assert [line.quantity for line in listed] == [1]
        assert "'ceiling'" in listed[0].why


def test_pipe_that_can_freeze_is_insulated_where_it_can():
    # the loft is as cold as outdoors; at 20 degC nothing freezes, at -40 degC a small burner does not keep it from that
    cold = replace(house(), appliance=replace(house().appliance, input_W=10e3))
    warm = replace(cold, place=replace(cold.place, winter_degC=20.0))
    frozen = replace(cold, place=replace(cold.place, winter_degC=-40.0))
    for site, wanted in ((warm, False), (frozen, True)):
        for planned in plan(site, build(site), workshop(site)).routes:
            lines = [line for line in planned.shopping if line.item.startswith("insulation")]
            assert bool(lines) == wanted == bool(planned.flue.freezes_running)
            assert all(space in line.why for line in lines for space in planned.flue.freezes_running)


def test_what_scarcity_costs_is_told_in_parts_length_and_money():
    site = replace(house(), appliance=replace(house().appliance, materials=("PVC", "ABS")))
    found = plan(site, build(site), offers_without(site, "elbow-45-pvc-3")).routes
    plenty = plan(site, build(site), workshop(site)).routes
    wished = next(r for r in plenty if r.route.kit.material.name == "PVC")
    scarce = next(r for r in found if r.route.kit.material.name == "PVC")
    instead = min(r.cost for r in found if r.route.kit.material.name == "ABS")
    before, after = Counter(bends(wished)), Counter(bends(scarce))
    assert all(f"{count} of {angle}" in scarce.scarcity for angle, count in (after - before).items())
    assert f"in place of {(before - after)['45']} of 45 degrees" in scarce.scarcity
    assert f"{scarce.route.equivalent_m - wished.route.equivalent_m:+.4f} m equivalent" in scarce.scarcity
    assert f"{scarce.cost - wished.cost:+.2f} in price" in scarce.scarcity
    assert f"in ABS, all in stock, {scarce.cost - instead:.2f} less" in scarce.scarcity
    assert not any(r.scarcity for r in found if r.route.kit.material.name == "ABS")


@pytest.mark.parametrize("seed", range(30, 42))
def test_every_number_of_a_planned_list_is_counted_from_its_parts(seed):
    site = random_house(seed)
    for planned in plan(site, build(site), workshop(site)).routes:
        parts = Counter(p.item for p in planned.route.parts if p.kind is not PartKind.PIPE and p.item)
        listed = {line.item: line.quantity for line in planned.shopping if line.length_m is None}
        assert {item: listed[item] for item in parts} == parts
        sawn = {label: m for cut in planned.cuts for label, m in zip(cut.labels, cut.pieces_m, strict=True)}
        assert sawn == {str(p.n): p.cut_m for p in planned.route.parts if p.kind is PartKind.PIPE}
        sticks = Counter((cut.item, cut.stick_m) for cut in planned.cuts)
        assert {(line.item, line.length_m): line.quantity for line in planned.shopping if line.length_m} == sticks
        new = sum(cut.cost for cut in site.cuts if cut.name in {c.name for c in planned.route.crossings})
        assert planned.cost == pytest.approx(sum(line.cost for line in planned.shopping) + new, abs=0.006)
        named = " ".join(line.why for line in planned.shopping)
        assert all(f"'{hole.name}'" in named for hole in site.holes)


def test_bends_that_are_too_few_are_planned_round():
    # one 45 and one 22 1/2 are there, and no way does with so few; by 90s there is one
    site = house()
    few = offers_without(site, "elbow-45-pvc-3", "elbow-22-pvc-3", count=1)
    routes = plan(site, build(site), few).routes
    assert routes
    for planned in routes:
        assert all(count <= 1 for angle, count in Counter(bends(planned)).items() if angle in ("45", "22"))
    assert "too few on the shelves" in routes[0].scarcity
