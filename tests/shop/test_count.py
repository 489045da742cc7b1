"""The list: every number traces to parts, holes or rooms, every line says why."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings

from tests.layout.small_houses import APPLIANCE
from tests.shop.small_routes import FT, IN, house, kit, laid, offset, routes, straight, the_shelf
from ventroute.model.plan import FlueState, ShoppingLine
from ventroute.model.route import PartKind
from ventroute.model.shelf import Asks, Offer, Shelf, Stock
from ventroute.shop.count import Bill, shopping
from ventroute.shop.cuts import CutError
from ventroute.units import format_length

approx = pytest.approx
UP = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 1.0), (1.0, 0.0, 2.0)]


def line(bill: Bill, item: str) -> ShoppingLine:
    found = [entry for entry in bill.lines if entry.item == item]
    assert len(found) == 1, [entry.item for entry in bill.lines]
    return found[0]


def made(route=None, site=None, stock=None, **more) -> Bill:
    return shopping(route or laid(UP), site or house(), the_shelf(), stock or Stock(), **more)


# Cut length = corner distance less both laying lengths. Textbook and arithmetic cases; laying lengths as given there.
@pytest.mark.parametrize(
    ("angle", "shift_in", "laying_in", "cut_in", "saw"),
    [
        (45.0, 12, 1.75, 13.471, "13 1/2 in"),  # 12 sqrt 2 less twice 1 3/4, drainage pattern
        (45.0, 12, 27 / 32, 15.283, "15 5/16 in"),  # the same offset, pressure pattern: 1 13/16 longer
        (45.0, 10, 0.5, 13.142, "13 1/8 in"),  # right triangle of a plumbing textbook: travel 14.142, less twice 1/2
        (22.5, 6, 9 / 16, 14.554, "14 9/16 in"),  # 6 / sin 22.5 less twice 9/16
        (45.0, 20, 1.75, 24.784, "24 13/16 in"),  # rolling offset of 12 and 16: true offset 20, travel 28.284
        (45.0, 35.335, 3.0, 43.971, "44 in"),  # apprentice page: travel 49.971, take-off 3 each
    ],
)
def test_offsets_are_cut_as_textbooks_work_them(angle, shift_in, laying_in, cut_in, saw):
    route = offset(angle, shift_in * IN, laying_in * IN)
    pipes = [part for part in route.parts if part.kind is PartKind.PIPE]
    assert pipes[1].cut_m / IN == approx(cut_in, abs=1e-3)
    bill = shopping(route, house(), the_shelf(), Stock())
    pieces = {label: m for cut in bill.cuts for label, m in zip(cut.labels, cut.pieces_m, strict=True)}
    assert format_length(pieces[str(pipes[1].n)], short=True) == saw


@pytest.mark.parametrize(
    ("centres_in", "laying_in", "saw"),
    [
        (24.0, 3 + 1 / 16, "17 7/8 in"),  # two 3 in drainage quarter bends
        (24.0, 1 + 27 / 32, "20 5/16 in"),  # two 3 in pressure 90s
        (16 + 1.5 + 3, 3.0, "14 1/2 in"),  # textbook: 16 to a hub's face, laying length 3, socket 1 1/2
        (54 + 2 * (2.0 + 0.75), 2.0, "55 1/2 in"),  # textbook: 4 ft 6 in between faces, sockets of 3/4
    ],
)
def test_jogs_are_cut_as_textbooks_work_them(centres_in, laying_in, saw):
    parts = kit()
    turn = replace(parts.bends[0], laying_m=laying_in * IN)
    corners = [(0, 0, 0), (0, 0, 1.0), (centres_in * IN, 0, 1.0), (centres_in * IN, 0, 2.0)]
    route = laid(corners, [turn, turn], replace(parts, bends=(turn,)))
    middle = [part for part in route.parts if part.kind is PartKind.PIPE][1]
    assert format_length(middle.cut_m, short=True) == saw


@settings(max_examples=60, deadline=None)
@given(routes())
def test_every_number_traces_to_the_parts(route):
    bill = shopping(route, house(), the_shelf(), Stock())
    pipes = [part for part in route.parts if part.kind is PartKind.PIPE]
    # metres: the pieces cut are the pieces placed
    cut = sorted((label, m) for c in bill.cuts for label, m in zip(c.labels, c.pieces_m, strict=True))
    assert cut == sorted((str(part.n), part.cut_m) for part in pipes)
    # sticks: as many lines' sticks as are sawn
    sticks = Counter((c.item, c.stick_m) for c in bill.cuts)
    assert {(e.item, e.length_m): e.quantity for e in bill.lines if e.unit == "stick"} == dict(sticks)
    # fittings: every part that is no pipe, once
    fittings = Counter(part.item for part in route.parts if part.kind is not PartKind.PIPE)
    for item, count in fittings.items():
        assert line(bill, item).quantity == count
    # nothing else carries a part's item
    items = {part.item for part in route.parts}
    assert items == {entry.item for entry in bill.lines if entry.item in the_shelf().goods} & items


@settings(max_examples=30, deadline=None)
@given(routes())
def test_every_line_says_why_and_stands_once(route):
    bill = shopping(route, house(), the_shelf(), Stock())
    assert all(entry.why for entry in bill.lines)
    assert all(entry.quantity > 0 for entry in bill.lines)
    keys = [(entry.item, entry.unit, entry.length_m) for entry in bill.lines]
    assert len(set(keys)) == len(keys)


@settings(max_examples=20, deadline=None)
@given(routes())
def test_the_cost_is_the_sum_of_what_is_bought(route):
    offers = tuple(Offer(item, 2.0) for item in the_shelf().goods)
    bill = shopping(route, house(), the_shelf(), Stock(offers=offers))
    priced = [entry for entry in bill.lines if entry.unit != "can"]  # cans are not among the goods
    assert bill.cost == approx(sum(2.0 * entry.quantity for entry in priced))
    unpriced = {entry.item for entry in bill.lines if entry.cost is None}
    assert unpriced == {entry.item for entry in bill.lines if entry.unit == "can"}


def test_parts_at_home_are_not_bought():
    item = kit().bends[0].item
    stock = Stock({item: 1}, {}, (Offer(item, 7.0),))
    entry = line(made(stock=stock), item)
    assert (entry.quantity, entry.have, entry.packs, entry.cost) == (2, 1, 1, 7.0)


def test_more_at_home_than_needed_counts_only_what_is_needed():
    item = kit().bends[0].item
    assert line(made(stock=Stock({item: 9})), item).have == 2


def test_pipe_at_home_is_sawn_first_and_costs_nothing():
    pipe = kit().pipe
    bill = made(stock=Stock({}, {pipe.item: (1.5, 1.5, 1.5)}, (Offer(pipe.item, 20.0, length_m=3.048),)))
    assert all(cut.offcut for cut in bill.cuts)
    own = [entry for entry in bill.lines if entry.item == pipe.item]
    assert all(entry.unit == "piece" and entry.cost == 0 and "home" in entry.why for entry in own)


def test_packs_are_bought_whole():
    item = kit().bends[0].item
    entry = line(made(stock=Stock(offers=(Offer(item, 30.0, pack=10),))), item)
    assert (entry.packs, entry.cost, entry.price) == (1, 30.0, 3.0)


def test_the_cheapest_shop_for_as_many_as_are_needed_is_named():
    # two are needed: a pack of ten at 30 is dearer than two at 8, cheaper a piece though it is
    item = kit().bends[0].item
    offers = (Offer(item, 30.0, 10, shop="box"), Offer(item, 8.0, shop="single"), Offer(item, 1.0, 1, 0, "sold out"))
    entry = line(made(stock=Stock(offers=offers)), item)
    assert (entry.shop, entry.cost) == ("single", 16.0)


def test_a_shop_with_too_few_is_passed_over_for_one_with_enough():
    item = kit().bends[0].item
    offers = (Offer(item, 5.0, 1, 1, "one left"), Offer(item, 8.0, 1, 20, "plenty"))
    assert line(made(stock=Stock(offers=offers)), item).shop == "plenty"


def test_what_the_shelves_lack_is_said():
    item = kit().bends[0].item
    entry = line(made(stock=Stock(offers=(Offer(item, 5.0, 1, 1),))), item)
    assert "only 1 on the shelves" in entry.why
    gone = line(made(stock=Stock(offers=(Offer(item, 5.0, 1, 0),))), item)
    assert "only 0 on the shelves" in gone.why
    assert gone.cost is None


def test_sticks_that_are_sold_out_cannot_be_sawn():
    pipe = kit().pipe
    gone = tuple(Offer(pipe.item, 20.0, 1, 0, length_m=length) for length in pipe.stick_m)
    with pytest.raises(CutError):
        made(stock=Stock(offers=gone))
    five = Stock(offers=(gone[0], Offer(pipe.item, 9.0, 1, 9, length_m=pipe.stick_m[1])))
    assert {cut.stick_m for cut in made(stock=five).cuts} == {pipe.stick_m[1]}


def test_pipe_that_is_not_sawn_must_come_in_lengths_that_are_sold():
    steel = kit("stainless", 3.0)
    assert not steel.pipe.can_be_cut
    whole = straight(steel.pipe.stick_m[0], (0.0, 0.0, 1.0), steel)
    assert [cut.pieces_m for cut in made(whole).cuts] == [(approx(steel.pipe.stick_m[0]),)]
    none = replace(steel, adjustables=())
    with pytest.raises(CutError, match="not sawn") as caught:
        made(straight(0.7, (0.0, 0.0, 1.0), none))
    assert "6 in, 12 in, 18 in, 24 in, 36 in, 48 in, 60 in" in str(caught.value)  # the catalog's row of pipe
    assert "or an adjustable one" in str(caught.value)


def test_an_adjustable_length_is_bought_as_a_part_and_sawn_from_nothing():
    bill = made(straight(0.7, (0.0, 0.0, 1.0), kit("stainless", 3.0)))  # 27.56 in: 18 in and 9.56 in
    assert [(entry.item, entry.quantity) for entry in bill.lines if entry.item.startswith("adjustable")] == [
        ("adjustable-stainless-3-long", 1)
    ]
    assert [cut.stick_m for cut in bill.cuts] == [approx(18 * 0.0254)]


def test_condensing_appliances_get_trap_and_tubing():
    flue = FlueState(50.0, 0.01, 20.0, 40.0, 0.4, appliance_condensate_kg_h=2.0)
    bill = made(flue=flue)
    assert "2.4 kg/h" in line(bill, "trap-condensate").why
    assert line(bill, "tubing-condensate").quantity == 1
    assert not [entry for entry in bill.lines if entry.item.startswith("drain-tee")]


def test_a_vent_that_falls_to_its_terminal_gets_a_drain_tee():
    site = house(appliance=replace(APPLIANCE, falls_to="terminal"))
    assert line(made(site=site), "drain-tee-pvc-3").quantity == 1


def test_dry_vents_get_no_drain():
    bill = made(site=house(appliance=replace(APPLIANCE, category="III")))
    assert not [entry for entry in bill.lines if "condensate" in entry.item]


def test_insulation_covers_what_runs_through_the_space_that_asks():
    # 2 m of vent above z = 5 counts as outdoors here, bought by the 3 ft
    route = laid([(0, 0, 4.0), (0, 0, 8.0)])
    inside = sum(math.dist(p.start_m, p.end_m) for p in route.parts if p.space == "outdoors")
    entry = line(made(route, asks=Asks(insulate=frozenset({"outdoors"}))), "insulation-3")
    assert entry.quantity == math.ceil(inside / (3 * FT) - 1e-9)
    assert "outdoors" in entry.why
    assert not [e for e in made(route).lines if e.item.startswith("insulation")]


@pytest.mark.parametrize(("least_in", "layers"), [(0.5, 1), (0.75, 2), (2.0, 4), (None, 1)])
def test_insulation_is_as_thick_as_the_findings_ask(least_in, layers):
    # what is listed is 1/2 in thick; where no thickness is enough the list says so
    route = laid([(0, 0, 4.0), (0, 0, 8.0)])
    least = None if least_in is None else least_in * IN
    flue = FlueState(50.0, 0.01, 1.0, 40.0, 0.0, insulate_m=least)
    asks = Asks(insulate=frozenset({"outdoors"}))
    entry = line(made(route, asks=asks, flue=flue), "insulation-3")
    inside = sum(math.dist(p.start_m, p.end_m) for p in route.parts if p.space == "outdoors")
    assert entry.quantity == layers * math.ceil(inside / (3 * FT) - 1e-9)
    assert ("none is known to be enough" in entry.why) == (least is None)


def test_an_alarm_for_each_level_with_a_heated_room():
    # utility and closet are heated, one storey apart; the attic is not
    assert line(made(), "alarm-co").quantity == 2


def test_an_empty_shelf_still_lists_everything_without_prices():
    bill = shopping(laid(UP), house(), Shelf(), Stock())
    assert bill.cost == 0
    assert {"hole-plug", "trap-condensate", "label-vent", "alarm-co"} <= {entry.item for entry in bill.lines}
    assert all(entry.price is None for entry in bill.lines)


def test_the_same_route_gives_the_same_bill():
    assert made() == made()
