"""Gaps of placed routes by hand, and against a general collision library on random scenes."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from tests.layout.plain_parts import HUB_OD, KIT, LAYING, OD, SOCKET, route_along
from tests.layout.small_houses import GAP, box, gable, gabled_site, hall
from ventroute.geometry.rounds import Corners, gaps
from ventroute.layout.building import Building, build
from ventroute.layout.clearance import Clearance, clearances
from ventroute.layout.envelope import envelopes, rounds_of
from ventroute.layout.sweep import tubes
from ventroute.model.parts import Change, Coupling
from ventroute.model.route import Part, PartKind, Route
from ventroute.model.site import Hole


def found(building: Building, route: Route, what: str, n: int = 1, within: float = 20.0) -> Clearance:
    return next(c for c in clearances(building, route, GAP, within) if c.part_n == n and c.what == what)


def straight(start: tuple[float, float, float], end: tuple[float, float, float]) -> Route:
    return route_along([start, end], ["hall"])


@pytest.mark.parametrize(
    ("start", "end", "what", "expected"),
    [
        ((0, 0, 0), (2, 0, 0), "hall: floor", 2.9 - OD / 2),
        ((0, 0, 0), (2, 0, 0), "hall: ceiling", 3.9 - OD / 2),
        ((0, 0, 0), (2, 0, 0), "hall: east wall", 3.0),  # a flat end faces it
        ((0, 0, 0), (2, 0, 0), "hall: north wall", 5 - OD / 2),
        ((0, 0, 0), (2, 0, 0), "chest", 1 - OD / 2),
        ((-2, 0, 0), (-1.5, 0, 0), "chest", np.hypot(1.5, 1 - OD / 2)),  # rim to edge
        ((0, 1.5, 0.5), (0, 4, 0.5), "chest", 0.0),
    ],
)
def test_gaps_of_one_pipe_by_hand(
    start: tuple[float, float, float], end: tuple[float, float, float], what: str, expected: float
) -> None:
    building = hall(box("chest", (0, 1, -0.5), (1, 2, 1)))
    gap = found(building, straight(start, end), what).gap_m
    assert gap <= expected + 1e-9
    if expected > 0:
        assert gap == pytest.approx(expected, abs=1e-6)


def test_what_is_needed_is_the_gap_of_the_thing() -> None:
    building = hall(box("hot", (0, 1, 0), (1, 2, 1), 0.15))
    route = straight((0, 0, 0), (2, 0, 0))
    assert found(building, route, "hot").needed_m == 0.15
    assert found(building, route, "hall: floor").needed_m == GAP


def test_far_things_are_left_out() -> None:
    building = hall(box("near", (0, 0.5, 0), (1, 1, 1)), box("far", (0, 4, 0), (1, 4.5, 1)))
    names = {c.what for c in clearances(building, straight((0, 0, 0), (2, 0, 0)), GAP)}
    assert names == {"near"}


def test_a_round_pipe_is_nearer_to_a_corner_than_a_square_one() -> None:
    # Diagonally past an edge: distance of the axis less the radius, not the squared-off clearance.
    building = hall(box("post", (0.1, 0.1, -2), (0.4, 0.4, 2)))
    gap = found(building, straight((0, 0, -1), (0, 0, 1)), "post").gap_m
    assert gap == pytest.approx(0.1 * 2**0.5 - OD / 2, abs=1e-6)


def test_a_hub_is_wider_than_pipe_and_ends_flat() -> None:
    route = route_along([(-1, 0, 0), (0, 0, 0), (0, 0, 1)], ["hall"] * 2)
    building = hall(box("below", (-0.5, -0.5, -1), (0.5, 0.5, -0.2)), box("side", (-0.3, 0.2, -0.2), (0.3, 0.3, 0.05)))
    assert found(building, route, "below", 2).gap_m == pytest.approx(0.2 - HUB_OD / 2, abs=1e-6)
    assert found(building, route, "below", 2).hub
    assert found(building, route, "side", 2).gap_m == pytest.approx(0.2 - HUB_OD / 2, abs=1e-6)
    ceiling = hall(box("lid", (-1, -1, 0.5), (1, 1, 1)))
    assert found(ceiling, route, "lid", 2).gap_m == pytest.approx(0.5 - LAYING - SOCKET, abs=1e-6)


def test_a_street_end_reaches_only_to_its_spigots_end() -> None:
    straight_route = route_along([(-1, 0, 0), (0, 0, 0), (0, 0, 1)], ["hall"] * 2)
    parts = list(straight_route.parts)
    spigot = LAYING + 0.05
    parts[0] = replace(parts[0], end_m=(-spigot, 0.0, 0.0))
    parts[1] = replace(parts[1], item="elbow-90-street", street=True, start_m=(-spigot, 0.0, 0.0))
    building = hall(box("west", (-0.5, -0.5, 0.048), (-0.2, 0.5, 1)))
    gap = found(building, replace(straight_route, parts=tuple(parts)), "west", 2).gap_m
    assert gap == pytest.approx(0.2 - spigot, abs=1e-4)


def test_the_outside_of_a_bend_is_not_hollow() -> None:
    # A post in the outer corner of a turn, near the bend's body, far from both hubs.
    route = route_along([(-1, 0, 0), (0, 0, 0), (0, 0, 1)], ["hall"] * 2)
    building = hall(box("post", (0.03, -1, -0.2), (0.2, 1, -0.03)))
    bent = next(mesh for n, _, *mesh in tubes(route) if n == 2)
    shape = trimesh.Trimesh(*bent)
    points = np.array([[0.03, y, -0.03] for y in np.linspace(-0.05, 0.05, 41)])
    true = trimesh.proximity.closest_point(shape, points)[1].min()
    assert found(building, route, "post", 2).gap_m <= true + 1e-4


def test_a_coupling_is_a_hub_over_both_sockets() -> None:
    pipe = straight((0, 0, 0), (1, 0, 0)).parts[0]
    gap = KIT.coupling.gap_m
    parts = (
        pipe,
        Part(2, PartKind.COUPLING, "coupling", (1.0, 0.0, 0.0), (1 + gap, 0.0, 0.0), "hall"),
        replace(pipe, n=3, start_m=(1 + gap, 0.0, 0.0), end_m=(2.0, 0.0, 0.0)),
    )
    route = replace(straight((0, 0, 0), (1, 0, 0)), parts=parts)
    building = hall(box("below", (0.9, -1, -1), (1.1, 1, -0.1)), box("ahead", (1.2, -1, 0.046), (1.4, 1, 1)))
    assert found(building, route, "below", 2).gap_m == pytest.approx(0.1 - HUB_OD / 2, abs=1e-6)
    reach = 1 + gap + SOCKET
    assert found(building, route, "ahead", 2).gap_m == pytest.approx(1.2 - reach, abs=1e-5)


def test_a_coupling_without_a_gap_takes_its_way_from_its_neighbours() -> None:
    kit = replace(KIT, coupling=Coupling("coupling", "PVC", 3.0, 0.0, SOCKET, HUB_OD, KIT.coupling.evidence))
    pipe = straight((0, 0, 0), (1, 0, 0)).parts[0]
    parts = (pipe, Part(2, PartKind.COUPLING, "coupling", (1.0, 0.0, 0.0), (1.0, 0.0, 0.0), "hall"))
    route = replace(straight((0, 0, 0), (1, 0, 0)), kit=kit, parts=parts)
    assert found(hall(), route, "hall: floor", 2).gap_m == pytest.approx(2.9 - HUB_OD / 2)


def test_a_change_at_the_collar_is_a_hub_over_its_length_and_socket() -> None:
    change = Change("up", "increaser", "PVC", 2.0, "PVC", 3.0, 0.06, SOCKET, 0.12, KIT.coupling.evidence)
    parts = (Part(1, PartKind.INCREASER, "up", (0.0, 0.0, 0.0), (0.06, 0.0, 0.0), "hall"),)
    route = replace(straight((0, 0, 0), (1, 0, 0)), kit=replace(KIT, start=(change,)), parts=parts)
    building = hall(box("ahead", (1.0, -1, -1), (1.4, 1, 1)))
    assert found(building, route, "ahead", 1).gap_m == pytest.approx(1 - 0.06 - SOCKET, abs=1e-6)
    assert found(building, route, "hall: floor", 1).gap_m == pytest.approx(2.9 - 0.06, abs=1e-6)


# Passages -------------------------------------------------------------------------------------------------------------


def up_through(x: float = 1.0, y: float = 1.0) -> Route:
    return route_along([(x, y, -1), (x, y, 5)], ["utility"], {0: ("first floor", "ceiling", "roof")})


def test_a_pipe_in_holes_is_exempt_from_what_they_pierce() -> None:
    worst = min(clearances(build(gabled_site()), up_through(), GAP), key=lambda c: c.gap_m)
    assert worst.gap_m > 0.3


def test_without_its_holes_the_same_pipe_is_in_construction() -> None:
    route = up_through()
    bare = replace(route, parts=tuple(replace(p, passes=()) for p in route.parts))
    assert min(c.gap_m for c in clearances(build(gabled_site()), bare, GAP)) < -1


@pytest.mark.parametrize(("x", "clear"), [(1.0, OD - 1e-4), (1.01, 0.15)])
def test_a_name_alone_is_no_hole(x: float, clear: float) -> None:
    site = gabled_site()
    holes = tuple(replace(hole, clear_m=clear) for hole in site.holes)
    building = build(replace(site, holes=holes))
    assert min(c.gap_m for c in clearances(building, up_through(x), GAP)) < 0


def test_a_hole_crossed_askew_is_no_hole() -> None:
    route = route_along([(0.8, 1, -1), (1.2, 1, 1)], ["utility"], {0: ("first floor",)})
    assert min(c.gap_m for c in clearances(build(gabled_site()), route, GAP)) < 0


def test_a_hub_in_a_hole_is_never_exempt() -> None:
    route = route_along([(1, 1, -1), (1, 1, 0.1), (1, 1.8, 0.1)], ["utility", "closet"], {0: ("first floor",)})
    hubs = [c for c in clearances(build(gabled_site()), route, GAP) if c.part_n == 2]
    assert min(c.gap_m for c in hubs) < 0


def test_a_pipe_along_a_wall_by_its_hole_is_not_exempt_from_the_wall() -> None:
    hole = Hole("first floor", (0.56, 1.0, 0.0), (0, 0, 1.0), 0.1, ("utility", "closet"))
    route = route_along([(0.56, 1, -1), (0.56, 1, 1)], ["utility"], {0: ("first floor",)})
    building = build(gabled_site(holes=(hole,)))
    assert found(building, route, "closet: west wall").gap_m == pytest.approx(0.06 - OD / 2)


def test_an_obstacle_beside_a_hole_counts_inside_it_too() -> None:
    cable = box("cable", (1.06, 0.9, -0.08), (1.1, 1.1, 0.08))
    building = build(gabled_site(obstacles=(cable,)))
    assert found(building, up_through(), "cable").gap_m == pytest.approx(0.06 - OD / 2, abs=1e-6)


def test_by_the_ridge_the_slanting_end_of_the_pipe_counts() -> None:
    # Up through the south slope near the ridge: the pipe's far side meets the slope last, nearest to the north slope.
    y = 2.9
    site = gabled_site(holes=(Hole("roof", (4, y, 4), (0, 0, 1.0), 0.1, ("attic", "outdoors")),))
    building = build(site)
    route = route_along([(4, y, 3.2), (4, y, 6)], ["attic"], {0: ("roof",)})
    attic = building.space_named("attic")
    assert attic is not None
    k = next(i for i, n in enumerate(attic.container.normals) if n[1] > 0.1 and n[2] > 0.1)
    normal, offset = attic.container.normals[k], attic.container.offsets[k]
    turns = np.linspace(0, 2 * np.pi, 2001)
    rim = np.column_stack([4 + OD / 2 * np.cos(turns), y + OD / 2 * np.sin(turns)])
    south, under = building.passages[0].mouth_a
    z = (under - rim @ south[:2]) / south[2]
    expected = float((offset - np.column_stack([rim, z]) @ normal).min())
    assert found(building, route, "attic: roof facing north").gap_m == pytest.approx(expected, abs=1e-6)


def test_grade_counts_outdoors_and_the_edge_of_the_world_does_not() -> None:
    building = build(gabled_site())
    route = route_along([(-1, 3, 0.2), (-40, 3, 0.2)], ["outdoors"])
    names = {c.what: c.gap_m for c in clearances(building, route, GAP)}
    assert names["grade"] == pytest.approx(0.2 - OD / 2)
    assert set(names) == {"grade"}


def test_a_part_in_no_known_space_is_never_clear() -> None:
    route = route_along([(0, 0, 0), (1, 0, 0)], ["cellar"])
    assert [c.gap_m for c in clearances(hall(), route, GAP)] == [-np.inf]


# The route and itself -------------------------------------------------------------------------------------------------


def test_a_route_that_turns_back_keeps_its_gap_from_itself() -> None:
    route = route_along([(0, 0, 0), (2, 0, 0), (2, 0.5, 0), (0, 0.5, 0)], ["hall"] * 3)
    records = {(c.part_n, c.what): c for c in clearances(hall(), route, GAP)}
    assert records[5, "part 1"].gap_m == pytest.approx(0.5 - OD, abs=1e-6)
    assert records[4, "part 2"].gap_m == pytest.approx(0.5 - HUB_OD, abs=1e-6)
    assert records[5, "part 1"].needed_m == GAP


def test_neighbours_round_one_corner_are_not_measured() -> None:
    route = route_along([(0, 0, 0), (1, 0, 0), (1, 1, 0), (2, 1, 0)], ["hall"] * 3)
    between = [
        c for c in clearances(hall(), route, GAP) if c.what.startswith("part") and c.part_n - int(c.what[5:]) < 3
    ]
    assert between == []


def test_a_loop_that_meets_itself_is_found() -> None:
    route = route_along([(0, 0, 0), (2, 0, 0), (2, 1, 0), (1, 1, 0), (1, -1, 0)], ["hall"] * 4)
    worst = min(clearances(hall(), route, GAP), key=lambda c: c.gap_m)
    assert worst.what == "part 1"
    assert worst.part_n == 7
    assert worst.gap_m <= 0


# Bends, and time ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("turn_deg", [22.5, 45.0, 88.8, 90.0])
@pytest.mark.parametrize("share", [1.0, 0.8, 0.6])
def test_the_envelope_of_a_bend_encloses_pipe_bent_wide_or_tight(turn_deg: float, share: float) -> None:
    # Pipe bent to an arc that touches both legs; share 1 is from stop to stop, less is a tighter turn.
    turn = np.radians(turn_deg)
    on = np.array([np.cos(turn), 0, np.sin(turn)])
    route = route_along([(-1, 0, 0), (0, 0, 0), tuple(on)], ["hall"] * 2)
    fitting = next(b for b in KIT.bends if b.item == route.parts[1].item)
    reach = float(np.linalg.norm(np.array(route.parts[1].end_m)))
    assert reach == pytest.approx(fitting.laying_m)
    radius = reach * share / np.tan(turn / 2)
    t, around = (x.ravel() for x in np.meshgrid(np.linspace(0, turn, 25), np.linspace(0, 2 * np.pi, 33)))
    out = radius + OD / 2 * np.cos(around)
    points = np.column_stack([-reach * share + out * np.sin(t), OD / 2 * np.sin(around), radius - out * np.cos(t)])
    rounds = rounds_of([e for e in envelopes(hall(), route) if e.part_n == 2])
    held = np.zeros(len(points), bool)
    for k in range(len(rounds.radii)):
        shape = rounds.take(np.full(len(points), k))
        held |= gaps(shape, Corners(points[:, None]), len(points)) < 1e-5
    assert held.all()


def test_twenty_parts_among_fifty_solids_are_measured_in_no_time() -> None:
    rng = np.random.default_rng(5)
    things = []
    for k in range(50):
        low = rng.uniform(-4.5, 3.5, 3).clip(-2.8, 3.0)
        things.append(box(f"t{k}", tuple(low), tuple(low + rng.uniform(0.1, 0.8, 3))))  # type: ignore[arg-type]
    building = hall(*things)
    corners = [(-4.0, -4.0, -2.0)]
    for k in range(10):
        step = np.eye(3)[k % 3] * (0.9 if k % 2 else 0.7)
        corners.append(tuple(float(x) for x in corners[-1] + step))  # type: ignore[arg-type]
    route = route_along(corners, ["hall"] * 10)
    assert len(route.parts) >= 20
    best = np.inf
    for _ in range(5):
        start = time.process_time()
        clearances(building, route, GAP)
        best = min(best, time.process_time() - start)
    assert best < 0.4  # 20 ms on a quiet machine; pair by pair it would be seconds


def test_a_gable_of_two_slopes_is_open_under_its_ridge() -> None:
    building = build(gabled_site(roofs=gable(0, 0, 8, 6, 3.0, 5.0)))
    route = route_along([(2, 3, 4.5), (6, 3, 4.5)], ["attic"])
    assert 0 < min(c.gap_m for c in clearances(building, route, GAP)) < 0.2
