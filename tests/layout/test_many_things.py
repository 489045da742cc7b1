"""Many obstacles and large meshes: what is left out as too far to matter changes no gap."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.bench.large_site import machine
from tests.layout.plain_parts import OD, route_along
from tests.layout.small_houses import GAP, box, hall
from ventroute.geometry.rounds import Corners, Rounds, gaps
from ventroute.layout.clearance import clearances
from ventroute.layout.envelope import envelopes, rounds_of
from ventroute.model.route import Route
from ventroute.model.site import Obstacle

SCAN = np.array(machine(2_000).triangles) + (0.5, 0.2, 0.1)


def things(seed: int, count: int = 60) -> list[Obstacle]:
    """Boxes and bars all over the hall."""
    rng = np.random.default_rng(seed)
    out: list[Obstacle] = []
    for n in range(count):
        low = rng.uniform((-4, -4, -2.5), (3, 3, 2.5))
        if n % 2:
            out.append(box(f"t{n}", tuple(low), tuple(low + rng.uniform(0.05, 1, 3)), float(rng.uniform(0, 0.1))))
        else:
            ends = tuple(low), tuple(low + rng.normal(size=3))
            out.append(Obstacle(f"t{n}", None, ends=ends, diameter_m=float(rng.uniform(0.02, 0.4))))
    return out


def bent(seed: int) -> Route:
    """A run with three legs somewhere in the hall."""
    rng = np.random.default_rng(seed)
    corners = np.cumsum(rng.uniform(-1, 1, (4, 3)) * (1.5, 1.5, 0.8), axis=0)
    return route_along([tuple(c) for c in corners], ["hall"] * 4)


@settings(deadline=None, max_examples=15)
@given(st.integers(0, 10_000))
def test_gaps_among_many_things_are_those_to_each_thing_alone(seed: int) -> None:
    some, route = things(seed), bent(seed)
    found = {(c.part_n, c.what): (c.gap_m, c.needed_m) for c in clearances(hall(*some), route, GAP) if c.what[0] == "t"}
    alone = {
        (c.part_n, c.what): (c.gap_m, c.needed_m)
        for thing in some
        for c in clearances(hall(thing), route, GAP)
        if c.what == thing.name
    }
    assert found.keys() == alone.keys()
    for key, told in alone.items():
        assert found[key] == pytest.approx(told, abs=2e-7)  # gaps are found to 1e-7


@settings(deadline=None, max_examples=15)
@given(st.integers(0, 10_000))
def test_the_gap_to_a_mesh_is_the_least_to_any_triangle_of_it(seed: int) -> None:
    building = hall(Obstacle("scan", None, mesh="scan.glb", triangles=SCAN))
    start = np.random.default_rng(seed).uniform(-1.2, 1.2, 3)
    route = route_along([tuple(start), tuple(start + (0.4, 0.1, 0.2))], ["hall"])
    found = next(c.gap_m for c in clearances(building, route, GAP, 20.0) if c.what == "scan")
    (pipe,) = envelopes(building, route)
    every = gaps(rounds_of([pipe]).take(np.zeros(len(SCAN), dtype=np.intp)), Corners(SCAN), len(SCAN)).min()
    inside = trimesh.Trimesh(SCAN.reshape(-1, 3), np.arange(3 * len(SCAN)).reshape(-1, 3)).contains(start[None])[0]
    if inside or every <= 0:
        assert found <= 0
    else:
        assert found == pytest.approx(every, abs=2e-7)


def test_a_pipe_inside_a_mesh_is_not_clear_wherever_it_starts() -> None:
    # A cube is covered by cells whose faces meet on planes through it, and a pipe may start on such a plane.
    cube = np.array(trimesh.creation.box((2.4, 2.4, 2.4)).triangles)
    hollow = np.array(trimesh.creation.box((0.3, 2.4, 0.3)).apply_translation((1.35, 0, 0)).triangles)
    building = hall(Obstacle("tank", None, mesh="tank.stl", triangles=np.concatenate([cube, hollow])))
    for x in np.linspace(-1, 1, 11):
        route = route_along([(x, 0.0, 0.0), (x, 0.0, 0.2)], ["hall"])
        assert next(c.gap_m for c in clearances(building, route, GAP, 20.0) if c.what == "tank") <= 0


def test_bars_keep_their_roundness_among_others() -> None:
    # Side by side and parallel: distance of the axes less both radii.
    bars = [Obstacle(f"t{n}", None, ends=((-1, n, -1), (-1, n, 1)), diameter_m=0.1 * n) for n in range(1, 4)]
    route = route_along([(-1, 0, -0.5), (-1, 0, 0.5)], ["hall"])
    told = {c.what: c.gap_m for c in clearances(hall(*bars), route, GAP, 20.0)}
    for n in range(1, 4):
        assert told[f"t{n}"] == pytest.approx(n - OD / 2 - 0.05 * n, abs=2e-7)


def test_the_order_of_things_changes_no_gap() -> None:
    some, route = things(5), bent(5)
    there, back = (clearances(hall(*row), route, GAP) for row in (some, some[::-1]))
    assert [replace(c, gap_m=0.0) for c in there] == [replace(c, gap_m=0.0) for c in back]
    assert [c.gap_m for c in there] == pytest.approx([c.gap_m for c in back], abs=2e-7)


def test_cylinders_of_none_are_none() -> None:
    none = np.zeros((0, 3))
    assert len(gaps(Rounds.cylinders(none, none, np.zeros(0)), Corners(np.zeros((0, 1, 3))), 0)) == 0
