"""A size that grows on the way: an old hole takes 2 in only, and 2 in alone may not be so long. All invented."""

import math
from dataclasses import replace

import pytest

from tests.plan import audit
from tests.plan.houses import FT, IN, UP, planned, random_house, workshop
from tests.plan.test_random_houses import assert_promises
from ventroute.catalog.lookup import find_item, load_catalog
from ventroute.drawing.worksheet import worksheet
from ventroute.flue.along import stretches
from ventroute.io.plan_file import plan_json, read_plan
from ventroute.layout.building import build
from ventroute.model.appliance import SizeLimit
from ventroute.model.plan import Verdict
from ventroute.model.route import PartKind
from ventroute.model.site import Envelope, Hole, Place, Room, Site
from ventroute.planner import judged
from ventroute.shop.joints import joints
from ventroute.sizing import size_rows
from ventroute.whole_route import with_catalog_kit

ROWS = (
    SizeLimit(2.0, 12 * FT, 3 * FT, 6, 5 * FT, 2.5 * FT, 1.25 * FT, increaser_m=FT),
    SizeLimit(3.0, 60 * FT, 4 * FT, 8, 5 * FT, 2.5 * FT, 1.25 * FT, increaser_m=FT),
)
TWO_OD, THREE_OD = 2.375 * IN, 3.5 * IN  # ASTM D1785, outside diameters of 2 in and 3 in pipe


def house(*, mixed="by share", roof=(1.0, 1.0), ceiling=2.75 * IN, rows=ROWS, count="centreline"):
    """A collar 1 m over the floor; a tight hole straight above it, and one in the roof."""
    base = random_house(1)
    appliance = replace(
        base.appliance, sizes=rows, collar_size_in=2.0, collar_m=(1.0, 1.0, 1.0), mixed_sizes=mixed, count=count
    )
    floor, outside = (
        ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)),
        ((-0.2, -0.2), (4.2, -0.2), (4.2, 4.2), (-0.2, 4.2)),
    )
    return Site(
        "invented house",
        Place(altitude_m=200.0, winter_degC=-12.0, grade_m=-0.4),
        Envelope(outside, -0.4, 6.0),
        appliance,
        (Room("room", floor, 0.0, 2.4), Room("loft", floor, 2.6, 5.7, heated=False)),
        holes=(
            Hole("ceiling", (1.0, 1.0, 2.5), UP, ceiling, ("room", "loft")),
            Hole("roof", (*roof, 5.85), UP, 5.0 * IN, ("loft", "outdoors")),
        ),
        want=replace(base.want, terminals=("roof",)),
    )


@pytest.fixture(scope="module")
def straight():
    site = house()
    return site, planned(site).routes[0]


@pytest.fixture(scope="module")
def turned():
    site = house(roof=(3.0, 3.0))
    return site, planned(site)


def test_neither_size_alone_gets_out():
    found = planned(house(mixed="no"))
    assert not found.routes
    rules = {row.size_in: row.rule for row in found.rejected}
    assert rules == {2.0: "length.max", 3.0: "passage"}


def test_the_shares_of_a_straight_way_are_those_counted_by_hand(straight):
    # 2 in: from the collar at 1 m to the loft's floor at 2.6 m, the gap of 1 in, a socket, the coupling's middle; the
    # increaser's length and its 1 ft. 3 in: what is left of the 5 m and a foot over the roof.
    _site, route = straight
    catalog = load_catalog()
    coupling, change = find_item(catalog, "coupling-pvc-2"), find_item(catalog, "increaser-pvc-2-3")
    small = 1.6 + IN + coupling.socket_m + coupling.gap_m
    large = route.route.terminal_m[2] - 1.0 - small - change.length_m
    by_hand = (small + change.length_m + FT) / (12 * FT) + large / (60 * FT)
    assert [part.kind for part in route.route.parts[:4]] == ["pipe", "coupling", "increaser", "pipe"]
    assert route.route.equivalent_m / route.limit_m == pytest.approx(by_hand, abs=1e-6)
    assert route.limit_m == pytest.approx(60 * FT)
    assert route.proved_in_steps


def test_all_parts_of_the_mixed_way_keep_what_is_promised(turned):
    site, plan = turned
    assert plan.routes
    assert all(route.route.smaller is not None for route in plan.routes)
    assert_promises(site, plan.routes)


def test_no_route_is_shorter_than_the_bound(turned):
    _site, plan = turned
    least = min(route.route.equivalent_m for route in plan.routes)
    for route in plan.routes:
        assert route.least_possible_m <= least + 1e-9
        assert route.least_possible_m <= route.least_in_steps_m + 1e-9


def test_the_first_hole_holds_the_smaller_pipe_and_the_second_the_larger(turned):
    _site, plan = turned
    route = plan.routes[0].route
    assert [route.kit_in(c).pipe.od_m for c in route.crossings] == pytest.approx([TWO_OD, THREE_OD])
    fits = {f.subject: f.measured for f in plan.routes[0].findings if f.rule == "hole.fit"}
    assert fits["ceiling"] == pytest.approx(TWO_OD)
    assert fits["roof"] == pytest.approx(THREE_OD)
    assert fits["roof: room"] == pytest.approx(5 * IN - THREE_OD)


def test_the_findings_show_the_sum_of_shares_and_the_stricter_number_of_elbows(turned):
    site, plan = turned
    route = plan.routes[0]
    by_rule = {finding.rule: finding for finding in route.findings}
    each = audit.shares(route, site)
    assert by_rule["length.max"].measured / (60 * FT) == pytest.approx(sum(each.values()))
    assert f"{each[2.0]:.3f} of the smaller size's" in by_rule["length.max"].note
    assert by_rule["length.elbows"].limit == 6.0
    assert by_rule["route.size"].verdict is Verdict.PASS  # the change stands upright: water runs back over its step
    assert by_rule["length.min"].limit == pytest.approx(4 * FT)
    plain = sum(share * row.max_length_m for share, row in zip((each[2.0], each[3.0]), ROWS, strict=True))
    assert by_rule["length.min"].measured == pytest.approx(plain)
    assert {f.subject for f in route.findings if f.rule == "size.listed"} == {"2 in", "3 in"}
    assert {f.subject[:4] for f in route.findings if f.rule == "support.spacing"} == {"2 in", "3 in"}


def test_where_all_can_be_of_the_larger_size_nothing_changes():
    wide = house(ceiling=5.0 * IN)
    assert plan_json(planned(wide)) == plan_json(planned(replace(wide, appliance=house(mixed="no").appliance)))


def test_a_change_that_makes_the_way_too_long_is_said():
    short = tuple(replace(row, max_length_m=row.max_length_m / 2) for row in ROWS)
    found = planned(house(rows=short))
    assert not found.routes
    assert [row.rule for row in found.rejected if row.because.startswith("2 in PVC, then 3 in PVC")] == ["length.max"]


def test_pipe_alone_counts_less_than_corner_to_corner(turned):
    _site, plan = turned
    pipe_only = planned(house(roof=(3.0, 3.0), count="pipe")).routes[0]
    catalog = load_catalog()
    counted = 0.0
    for part in pipe_only.route.parts:
        size = None if part.kind is PartKind.TERMINAL else find_item(catalog, part.item)
        row = ROWS[0] if part.kind is PartKind.INCREASER or getattr(size, "size_in", 3.0) == 2.0 else ROWS[1]
        figure = {90.0: row.elbow_90_m, 45.0: row.elbow_45_m, 22.5: row.elbow_22_m}.get(part.nominal_deg, 0.0)
        if part.kind is PartKind.INCREASER:
            figure = row.increaser_m + math.dist(part.start_m, part.end_m)
        counted += ((part.cut_m or 0.0) + figure) / row.max_length_m
    assert pipe_only.route.equivalent_m / (60 * FT) == pytest.approx(counted)
    assert pipe_only.route.equivalent_m < plan.routes[0].route.equivalent_m


def test_a_plan_is_read_back_and_judged_the_same(tmp_path, turned):
    site, plan = turned
    (tmp_path / "plan.json").write_text(plan_json(plan), encoding="utf-8")
    back = read_plan(tmp_path / "plan.json")
    assert plan_json(back) == plan_json(plan)
    building, shop = build(site), workshop(site)
    for route in back.routes:
        read = with_catalog_kit(route.route, site, shop.catalog)
        assert [kit.size_in for kit in read.kits] == [2.0, 3.0]
        assert [[change.item for change in kit.start] for kit in read.kits] == [[], ["increaser-pvc-2-3"]]
        assert not [f for f in judged(site, building, shop, read) if f.verdict is Verdict.FAIL]


def _failing(site, route):
    found = judged(site, build(site), workshop(site), route)
    return {finding.rule: finding.note for finding in found if finding.verdict is Verdict.FAIL}


def test_a_manual_that_does_not_say_by_share_fails_the_route(turned):
    site, plan = turned
    silent = replace(site, appliance=replace(site.appliance, mixed_sizes="no"))
    assert "not entered as letting" in _failing(silent, plan.routes[0].route)["route.size"]


def test_a_smaller_pipe_after_the_larger_fails(turned):
    site, plan = turned
    route = plan.routes[0].route
    last = max(n for n, part in enumerate(route.parts) if part.kind is PartKind.PIPE)
    shrunk = replace(route.parts[last], item=route.smaller.pipe.item)
    failing = _failing(site, replace(route, parts=(*route.parts[:last], shrunk, *route.parts[last + 1 :])))
    assert "smaller size stands after the larger" in failing["route.size"]


def test_the_larger_pipe_in_the_tight_hole_fails(turned):
    site, plan = turned
    route = plan.routes[0].route
    thick = replace(route.parts[0], item=route.kit.pipe.item)
    assert "hole.fit" in _failing(site, replace(route, parts=(thick, *route.parts[1:])))


def test_the_gas_meets_each_bore_in_turn(turned):
    _site, plan = turned
    route = plan.routes[0].route
    bores = [pipe.bore_m for pipe in stretches(route, lambda _: 20.0, coldest_degC=-12.0)]
    small, large = (kit.pipe.bore_m for kit in route.kits)
    assert bores == sorted(bores)
    assert {small, large} == set(bores)
    length = sum(pipe.length_m for pipe in stretches(route, lambda _: 20.0, coldest_degC=-12.0) if pipe.bore_m == small)
    assert length == pytest.approx(math.dist(route.parts[0].start_m, route.parts[1].end_m))


def test_every_socket_of_either_size_is_cemented(straight):
    # 2 in: collar, and both of the coupling (pipe, increaser's spigot). 3 in: the increaser's own, and both of a
    # coupling wherever the 3 in run is longer than a stick.
    _site, route = straight
    couplings = sum(part.item == "coupling-pvc-3" for part in route.route.parts)
    assert joints(route.route, None) == {("PVC", "PVC", 2.0): 3, ("PVC", "PVC", 3.0): 1 + 2 * couplings}


def test_the_list_holds_pipe_and_hangers_of_both_sizes(turned):
    _site, plan = turned
    items = {line.item for line in plan.routes[0].shopping}
    assert {
        "pipe-pvc-40-2",
        "pipe-pvc-40-3",
        "coupling-pvc-2",
        "increaser-pvc-2-3",
        "hanger-pvc-2",
        "hanger-pvc-3",
    } <= items


@pytest.mark.parametrize("count", ["centreline", "pipe"])
def test_the_worksheet_adds_up_to_the_sum_of_shares(count):
    site = house(roof=(3.0, 3.0), count=count)
    route = planned(site).routes[0]
    lines = worksheet(route, site.appliance, "us")
    assert lines[-1].total_m / (60 * FT) == pytest.approx(route.route.equivalent_m / route.limit_m)
    assert not [line for line in lines if "check" in line.basis]
    assert any("times 5 by share" in line.basis for line in lines)


def beside():
    """Two rooms with a tight level hole between them, and a hole in the roof over the second."""
    site = house(roof=(3.0, 3.0))
    west, east = (((0.0, 0.0), (1.8, 0.0), (1.8, 4.0), (0.0, 4.0)), ((2.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 4.0)))
    return replace(
        site,
        rooms=(Room("room", west, 0.0, 2.4), Room("next", east, 0.0, 2.4)),
        building=replace(site.building, top_m=2.8),
        holes=(
            Hole("wall", (1.9, 1.0, 1.8), (1.0, 0.0, 0.0), 2.75 * IN, ("room", "next")),
            Hole("roof", (3.4, 3.0, 2.6), UP, 5.0 * IN, ("next", "outdoors")),
        ),
        appliance=replace(
            site.appliance, sizes=(replace(ROWS[0], max_length_m=20 * FT), replace(ROWS[1], max_length_m=100 * FT))
        ),
    )


def test_where_the_size_grows_in_a_level_run_a_person_must_judge_its_step():
    site = beside()
    routes = planned(site).routes
    mixed = [route for route in routes if route.route.smaller is not None]
    assert mixed
    assert_promises(site, routes)
    for route in mixed:
        asked = [f for f in route.findings if f.rule == "route.size" and f.verdict is Verdict.ASK]
        assert [f.subject for f in asked] == [f"part {route.route.parts[route.route.grows_at].n} (increaser)"]


def test_the_table_of_sizes_has_a_row_for_what_grows(turned):
    site, plan = turned
    rows = [row for row in size_rows(plan, site, workshop(site)) if row["fits"]]
    assert [(row["grows_from_in"], row["size_in"], row["limit_m"]) for row in rows] == [
        (2.0, 3.0, pytest.approx(60 * FT))
    ]


@pytest.mark.parametrize("seed", range(6))
def test_random_houses_with_a_tight_ceiling_keep_every_promise(seed):
    base = random_house(3 * seed)
    tight = replace(base.holes[0], clear_m=2.6 * IN)
    rows = (replace(ROWS[0], max_length_m=40 * FT), replace(ROWS[1], max_length_m=100 * FT))
    site = replace(
        base,
        holes=(tight, *base.holes[1:]),
        appliance=replace(base.appliance, sizes=rows, collar_size_in=(2.0, 3.0)[seed % 2], mixed_sizes="by share"),
    )
    routes = planned(site).routes
    assert any(route.route.smaller is not None for route in routes)
    assert_promises(site, routes)
