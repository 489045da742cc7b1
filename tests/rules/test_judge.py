"""Routes judged whole: what passes, what each broken thing is told as, and in which order."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from tests.rules.routes import NORTH_CUT, ROOF_HOLE, kit, out_north, route, site, straight_up
from tests.rules.yard import appliance, built, m, pack
from ventroute.model.appliance import SizeLimit, Want
from ventroute.model.plan import Finding, FlueState, Station, Verdict
from ventroute.model.route import Route
from ventroute.model.site import Framing, Place, Site
from ventroute.rules.check import in_order, judge
from ventroute.rules.length import equivalent_m, slope_deg
from ventroute.rules.passage import tilted_need_m

PASS, FAIL, ASK = Verdict.PASS, Verdict.FAIL, Verdict.ASK


def judged(where: Site, made: Route, rules: str = "us-2021", flue: FlueState | None = None) -> tuple[Finding, ...]:
    return judge(where, built(where), pack(rules), made, flue=flue)


def of(findings: tuple[Finding, ...], rule: str) -> list[Finding]:
    return [finding for finding in findings if finding.rule == rule]


def fails(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.rule for finding in findings if finding.verdict is FAIL}


def test_a_straight_vent_through_the_roof_passes():
    findings = judged(site(), straight_up(site()))
    assert fails(findings) == set()
    assert {"roof.practice", "hole.fit", "hole.joint", "length.max", "gap", "material.class"} <= {
        f.rule for f in findings
    }


def test_a_pitched_vent_through_the_wall_passes():
    assert fails(judged(site(), out_north(site()))) == set()


def test_findings_come_with_fails_first_then_questions_then_the_nearest():
    where = site(appliance(sizes=(SizeLimit(3.0, 2.0, elbow_90_m=1.5),)))
    findings = judged(where, out_north(where))
    order = [finding.verdict for finding in findings]
    assert order == sorted(order, key=[FAIL, ASK, PASS].index)
    passed = [finding.margin for finding in findings if finding.verdict is PASS and finding.margin is not None]
    assert all(after > before - 1e-6 for before, after in pairwise(passed))
    assert in_order(reversed(findings)) == findings


def test_what_rounding_alone_tells_apart_goes_by_name():
    # a hair of rounding is another one on another machine: the order must not follow it
    first = next(f for f in judged(site(), out_north(site())) if f.verdict is PASS and f.margin is not None)
    one, two = (replace(first, rule=rule, margin=0.0) for rule in ("a.rule", "b.rule"))
    for hair in (-4e-7, 0.0, 4e-7):
        assert [f.rule for f in in_order([replace(two, margin=hair), one])] == ["a.rule", "b.rule"]
    assert [f.rule for f in in_order([one, replace(two, margin=-2e-6)])] == ["b.rule", "a.rule"]


def test_every_finding_says_where_its_figure_is_from():
    for finding in judged(site(), out_north(site()), "ca-b149-2025"):
        assert finding.source
        assert finding.grade
        assert finding.subject
        if finding.measured is not None and finding.rule != "material.service":
            assert finding.unit in ("m", "degC", "Pa", "deg", "count", "m3")


def test_the_equivalent_length_is_counted_afresh_from_the_parts():
    # 2 m up, 5.3 m along at 1/48, one 90 at 1.5 m: 2 + 5.3 sqrt(1 + 1/48^2) + 1.5.
    made = out_north(site())
    row = site().appliance.limit(3.0)
    whole = 2.0 + 5.3 * math.hypot(1.0, 1 / 48) + 1.5
    assert equivalent_m(site().appliance, row, made) == pytest.approx(whole, abs=1e-9)
    lying = replace(made, runs_m=0.0, fittings_m=0.0)
    (finding,) = of(judged(site(), lying), "length.max")
    assert finding.measured == pytest.approx(whole, abs=1e-9)


def test_counted_as_pipe_only_the_sawn_lengths_count():
    heater = appliance(count="pipe")
    made = out_north(site(heater))
    sawn = sum(part.cut_m for part in made.parts if part.cut_m)
    assert equivalent_m(heater, heater.limit(3.0), made) == pytest.approx(sawn + 1.5, abs=1e-9)


@pytest.mark.parametrize(("limit", "expected"), [(8.801149, FAIL), (8.801151, PASS)])
def test_the_length_limit_is_inclusive_to_rounding(limit, expected):
    # 2 + 5.3 * sqrt(1 + 1/2304) + 1.5 = 8.8011500 m.
    where = site(appliance(sizes=(SizeLimit(3.0, limit, elbow_90_m=1.5),)))
    assert of(judged(where, out_north(where)), "length.max")[0].verdict is expected


def test_too_short_too_many_elbows_and_a_bend_without_a_figure():
    short = site(appliance(sizes=(SizeLimit(3.0, 20.0, min_length_m=15.0, max_elbows=0, elbow_45_m=0.5),)))
    assert {"length.min", "length.elbows", "length.angles"} <= fails(judged(short, out_north(short)))


def test_a_size_that_the_table_lacks_fails():
    where = site(appliance(sizes=(SizeLimit(2.0, 20.0, elbow_90_m=1.5),)))
    made = out_north(site())
    assert "size.listed" in fails(judged(where, made))


@pytest.mark.parametrize(
    ("pitch", "expected"), [(1 / 48, PASS), (1 / 47, PASS), (1 / 49, FAIL), (0.0, FAIL), (-0.01, FAIL)]
)
def test_level_runs_rise_a_quarter_inch_per_foot(pitch, expected):
    # Common practice, as the manual of the appliance has it.
    findings = of(judged(site(), out_north(site(), pitch)), "pitch")
    assert [finding.verdict for finding in findings] == [expected]
    assert findings[0].limit == pytest.approx(math.degrees(math.atan(1 / 48)))


def test_where_condensate_drains_to_the_terminal_a_run_falls():
    where = site(appliance(falls_to="terminal", category="III"))
    assert of(judged(where, out_north(where, -1 / 48)), "pitch")[0].verdict is PASS
    assert of(judged(where, out_north(where, 1 / 48)), "pitch")[0].verdict is FAIL


def test_a_level_collar_stays_level():
    heater = appliance(collar_m=(3.0, 3.0, 2.0), faces=(0.0, 1.0, 0.0))
    made = route(site(heater), "wall", [(3.0, 3.0, 2.0), (3.0, 8.3, 2.0)], [("north cut", 0)])
    assert of(judged(site(heater), made), "pitch")[0].verdict is PASS
    falling = route(site(heater), "wall", [(3.0, 3.0, 2.0), (3.0, 8.3, 1.9)], [("north cut", 0)])
    assert of(judged(site(heater), falling), "pitch")[0].verdict is FAIL


@pytest.mark.parametrize(("clear", "expected"), [(0.0889, [ASK, PASS]), (0.0888, [FAIL]), (0.12, [PASS, PASS])])
def test_a_hole_takes_a_pipe_no_wider_than_its_clear_width(clear, expected):
    where = site(holes=(replace(ROOF_HOLE, clear_m=clear),))
    findings = of(judged(where, straight_up(where)), "hole.fit")
    assert [finding.verdict for finding in findings] == expected


def test_a_pipe_tilted_for_its_pitch_needs_more_than_its_diameter():
    # 3.5 in pipe at 1/48 through 8 in of wall: 3.5 / cos + 8 / 48 = 3.667 in.
    assert tilted_need_m(m("3.5 in"), m("8 in"), math.atan(1 / 48)) == pytest.approx(m("3.667427 in"), abs=1e-7)


def test_a_joint_inside_construction_fails():
    made = straight_up(site())
    lower, joint, upper = made.parts[0], made.parts[1], made.parts[2]
    up = 5.85 - joint.start_m[2]
    moved = [
        replace(lower, end_m=(3.0, 3.0, lower.end_m[2] + up)),
        replace(joint, start_m=(3.0, 3.0, joint.start_m[2] + up), end_m=(3.0, 3.0, joint.end_m[2] + up)),
        replace(upper, start_m=(3.0, 3.0, upper.start_m[2] + up)),
    ]
    bad = replace(made, parts=(*moved, *made.parts[3:]))
    assert "hole.joint" in fails(judged(site(), bad))


def test_a_crossing_without_a_hole_fails():
    made = straight_up(site())
    astray = replace(made, crossings=(replace(made.crossings[0], name="nowhere"),))
    assert "hole.fit" in fails(judged(site(), astray))


def test_parts_that_do_not_meet_or_are_strange_fail():
    made = straight_up(site())
    first = replace(made.parts[0], end_m=(3.0, 3.0, made.parts[0].end_m[2] - 0.01))
    assert "parts.meet" in fails(judged(site(), replace(made, parts=(first, *made.parts[1:]))))
    strange = replace(made.parts[0], item="pipe-from-elsewhere")
    assert "parts.one-system" in fails(judged(site(), replace(made, parts=(strange, *made.parts[1:]))))


def test_pipe_shorter_than_both_sockets_fails():
    # Two 90s of laying length 78 mm and sockets of 38 mm: 60 mm of pipe between them is less than 76 mm.
    up = 3.0 + 2 * 0.078 + 0.060
    corners = [(3.0, 3.0, 1.0), (3.0, 3.0, 3.0), (3.0, 4.0, 3.03), (3.0, 4.0, 3.03 + up - 3.0), (3.0, 8.3, 3.36)]
    made = route(site(), "wall", corners, [("north cut", 3)], [90.0, 90.0, 90.0])
    assert "parts.least-pipe" in fails(judged(site(), made))


def test_a_pipe_longer_than_a_stick_fails():
    made = out_north(site(), parts=kit(pipe=replace(kit().pipe, stick_m=(10.0,))))
    short = replace(made, kit=kit())
    assert "parts.stick" in fails(judged(site(), short))


def test_a_terminal_too_low_over_the_roof_fails():
    where = site(place=Place(snow_m=0.5))
    findings = judged(where, straight_up(where, 6.7))
    (finding,) = of(findings, "roof.practice")
    assert finding.verdict is FAIL
    assert finding.measured == pytest.approx(0.7)
    assert finding.limit == pytest.approx(0.5 + 0.3048)
    assert finding.margin == pytest.approx(-0.1048)


def test_a_terminal_in_a_room_is_no_terminal():
    made = straight_up(site())
    inside = replace(made, terminal_m=(3.0, 3.0, 3.0))
    assert "terminal.outdoors" in fails(judged(site(), inside))


@pytest.mark.parametrize(("end", "rule"), [(8.1, "terminal.reach"), (8.7, "terminal.pipe-outdoors")])
def test_a_wall_terminal_stands_out_enough_but_not_too_far(end, rule):
    # Defaults of the site file: 6 in at least, 2 ft of pipe at most.
    assert rule in fails(judged(site(), out_north(site(), end=end)))


def test_a_part_too_near_a_wall_fails():
    heater = appliance(collar_m=(0.26, 3.0, 1.0))
    where = site(heater, holes=(replace(ROOF_HOLE, at=(0.26, 3.0, 5.85)),))
    made = route(where, "roof", [(0.26, 3.0, 1.0), (0.26, 3.0, 6.6)], [("roof hole", 0)])
    findings = [finding for finding in of(judged(where, made), "gap") if finding.verdict is FAIL]
    # The hub's radius is 50 mm and the wall 60 mm off: 10 mm where 25.4 are asked.
    assert findings[0].measured == pytest.approx(0.01, abs=1e-6)


def test_a_route_that_turns_back_on_itself_fails():
    corners = [
        (3.0, 3.0, 1.0), (3.0, 3.0, 3.0), (5.0, 3.0, 3.05), (5.0, 3.0, 3.05 + 0.21),
        (2.9, 3.0, 3.32), (2.9, 8.3, 3.45),
    ]  # fmt: skip
    small = kit(bends=(replace(kit().bends[0], laying_m=0.03), kit().bends[1]))
    made = route(site(), "wall", corners, [("north cut", 4)], [90.0] * 4, small)
    near = [finding for finding in judged(site(), made) if finding.rule == "gap.self"]
    assert near
    assert near[0].measured == pytest.approx(0.21 - 0.1, abs=0.06)
    tight = replace(site(), want=Want(gap_m=0.2))
    assert "gap.self" in fails(judge(tight, built(tight), pack("us-2021"), made))


def test_floors_between_rooms_raise_one_question_about_fire():
    assert of(judged(site(), straight_up(site())), "hole.firestop") == []


def test_case_33_a_plastic_vent_boxed_in_from_two_feet_in_canada():
    # CSA B149.1 8.9.5, read: the first 0.9 m must be in view. Through the ceiling 0.6 m above the collar.
    heater = appliance(collar_m=(3.0, 3.0, 5.1))
    where = site(heater, holes=(ROOF_HOLE,))
    made = route(where, "roof", [(3.0, 3.0, 5.1), (3.0, 3.0, 5.1 + m("12 ft"))], [("roof hole", 0)])
    (finding,) = of(judged(where, made, "ca-b149-2025"), "vent.in-view")
    assert finding.verdict is FAIL
    assert of(judged(site(), straight_up(site()), "ca-b149-2025"), "vent.in-view")[0].verdict is PASS


def test_cellular_core_is_refused_unless_the_manual_names_it():
    foam = kit(schedule="40 cellular core")
    assert "material.cellular-core" in fails(judged(site(), straight_up(site(), parts=foam)))
    named = site(appliance(cellular_core=True))
    assert "material.cellular-core" not in fails(judged(named, straight_up(named, parts=foam)))
    assert "material.cellular-core" in fails(judged(named, straight_up(named, parts=foam), "ca-b149-2025"))


def test_an_appliance_that_breathes_the_room_is_asked_about_air():
    # Hall: 9.6 x 7.6 x 5.5 m = 401 m3; 40 000 Btu/h want 2000 ft3 = 57 m3; 400 000 want 566 m3.
    room = site(appliance(vent_style="non-direct"))
    (enough,) = of(judged(room, out_north(room)), "air.indoor")
    assert enough.verdict is PASS
    assert enough.measured == pytest.approx(9.6 * 7.6 * 5.5)
    big = site(appliance(vent_style="non-direct", input_W=117_228.4))
    (asked,) = of(judged(big, out_north(big)), "air.indoor")
    assert asked.verdict is ASK
    assert asked.margin == pytest.approx(9.6 * 7.6 * 5.5 - 50 * 400 * 0.3048**3)
    (openings,) = of(judged(big, out_north(big)), "air.same-storey")
    assert openings.verdict is ASK
    assert "400 in2" in openings.note  # 1 in2 per 1000 Btu/h each
    assert of(judged(room, out_north(room)), "air.same-storey") == []  # the room is enough
    assert of(judged(site(), out_north(site())), "air.indoor") == []


def test_a_natural_draft_vent_at_a_wall_is_asked_about():
    heater = appliance(category="I", vent_style="non-direct")
    assert of(judged(site(heater), out_north(site(heater))), "terminal.wall-vent")[0].verdict is ASK


def flue(**changes: object) -> FlueState:
    station = Station(1.0, 50.0, 50.0, 30.0, 20.0, 5.0, "hall")
    return replace(FlueState(55.0, 0.02, 30.0, 45.0, 0.5, reference_drop_Pa=60.0, stations=(station,)), **changes)  # type: ignore[arg-type]


def test_the_gas_raises_questions_only():
    fine = judged(site(), out_north(site()), flue=flue())
    assert of(fine, "flue.drop")[0].verdict is PASS
    assert of(fine, "flue.pressure") == []  # category IV is under pressure
    natural = site(appliance(category="I"))
    assert of(judged(natural, out_north(natural), flue=flue()), "flue.pressure")[0].verdict is ASK
    assert of(judged(site(), out_north(site()), flue=flue(drop_Pa=61.0)), "flue.drop")[0].verdict is ASK
    cold = flue(stations=(replace(flue().stations[0], wall_degC=-1.0),))
    assert of(judged(site(), out_north(site()), flue=cold), "flue.freezing")[0].verdict is ASK


@pytest.mark.parametrize(("offset", "verdicts"), [(1.0, [FAIL]), (0.8, [PASS])])
def test_a_new_hole_misses_the_studs(offset, verdicts):
    studs = Framing("studs", "stud", (2.0, 7.8, 0.0), (4.0, 0.2, 5.0), (0.0, 0.0, 1.0), 0.4, offset, 0.038, 0.2)
    findings = of(judged(site(framing=(studs,)), out_north(site())), "framing.miss")
    assert [finding.verdict for finding in findings] == verdicts


def test_slopes_are_angles_over_the_level():
    assert slope_deg((0, 0, 0), (1, 0, 1)) == pytest.approx(45.0)
    assert slope_deg((0, 0, 0), (0, 0, -1)) == pytest.approx(-90.0)
    assert NORTH_CUT.cost == 45.0
