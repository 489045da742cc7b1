"""Laws that any right solver keeps."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.solve.scenes import by_length, problem, two_rooms
from tests.solve.test_against_exhaustive import random_site
from ventroute.model.site import Hole, Obstacle
from ventroute.solve.conditions import Conditions
from ventroute.solve.solver import solve

SEEDS = st.integers(0, 10_000)


def least(site):
    """Price of the best way, infinite where there is none."""
    p = problem(site, (90.0, 45.0))
    return min((way.price for way in solve(p, by_length(p)).ways), default=np.inf)


def mapped(site, move):
    """A site with every point moved; boxes stay boxes."""

    def box(corner, size):
        a, b = np.array(move(corner)), np.array(move(tuple(np.add(corner, size))))
        return tuple(np.minimum(a, b).tolist()), tuple(np.abs(b - a).tolist())

    def ring(floor):
        points = [tuple(move((*p, 0.0))[:2]) for p in floor]
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
        return tuple(points if area > 0 else points[::-1])

    origin = np.array(move((0.0, 0.0, 0.0)))
    things = tuple(replace(o, corner=box(o.corner, o.size)[0], size=box(o.corner, o.size)[1]) for o in site.obstacles)
    return replace(
        site,
        building=replace(site.building, footprint=ring(site.building.footprint)),
        rooms=tuple(replace(r, floor=ring(r.floor)) for r in site.rooms),
        holes=tuple(
            replace(h, at=move(h.at), axis=tuple((np.array(move(h.axis)) - origin).tolist())) for h in site.holes
        ),
        obstacles=things,
        appliance=replace(
            site.appliance,
            collar_m=move(site.appliance.collar_m),
            faces=tuple((np.array(move(site.appliance.faces)) - origin).tolist()),
        ),
    )


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_turning_the_house_a_quarter_changes_nothing(seed):
    site = random_site(seed)
    assert least(mapped(site, lambda p: (-p[1], p[0], p[2]))) == pytest.approx(least(site), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_mirroring_the_house_changes_nothing(seed):
    site = random_site(seed)
    assert least(mapped(site, lambda p: (-p[0], p[1], p[2]))) == pytest.approx(least(site), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(SEEDS, st.tuples(*[st.floats(-20, 20)] * 3))
def test_moving_the_house_changes_nothing(seed, by):
    site = random_site(seed)
    moved = mapped(site, lambda p: (p[0] + by[0], p[1] + by[1], p[2]))
    assert least(moved) == pytest.approx(least(site), abs=1e-6)


@settings(max_examples=25, deadline=None)
@given(SEEDS, SEEDS)
def test_a_further_obstacle_never_shortens(seed, other):
    site = random_site(seed)
    rng = np.random.default_rng(other)
    collar, hole = np.array(site.appliance.collar_m), np.array(site.holes[0].at)
    extent = rng.uniform(0.1, 0.6, 3)
    low = rng.uniform(0.0, 1.4, 3)
    high = low + extent
    for spot in (collar, hole):
        if np.all(spot[:2] > low[:2] - 0.2) and np.all(spot[:2] < high[:2] + 0.2):
            return
    more = replace(
        site, obstacles=(*site.obstacles, Obstacle("one more", corner=tuple(low.tolist()), size=tuple(extent.tolist())))
    )
    assert least(more) >= least(site) - 1e-6


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.floats(0.4, 1.6), st.floats(0.4, 1.6))
def test_a_further_hole_never_lengthens(seed, x, y):
    site = random_site(seed)
    spots = [np.array(h.at[:2]) for h in site.holes]
    if any(np.linalg.norm(s - (x, y)) < 0.4 for s in spots):
        return
    z = site.holes[0].at[2]
    more = replace(site, holes=(*site.holes, Hole("one more", (x, y, z), (0.0, 0.0, 1.0), 0.15, ("room", "loft"))))
    assert least(more) <= least(site) + 1e-6


def test_a_wider_gap_never_shortens():
    site = random_site(7)
    wide = replace(site, want=replace(site.want, gap_m=0.06))
    assert least(wide) >= least(site) - 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_is_never_above_the_route_and_meets_it_where_the_search_ends(seed):
    p = problem(random_site(seed), (90.0, 45.0))
    outcome = solve(p, by_length(p))
    for kind, bound in outcome.least.items():
        best = min((w.price for w in outcome.ways if w.kind == kind), default=np.inf)
        assert bound <= best + 1e-9


def test_a_collar_boxed_in_has_no_route():
    walls = [((1.0, 1.0, 1.2), (3.0, 3.0, 1.3))]
    site = two_rooms((2.0, 2.0, 0.9), (2.0, 2.0), obstacles=walls)
    p = problem(site)
    boxed = replace(site, obstacles=(*site.obstacles, *sides()))
    assert solve(p, by_length(p)).ways
    q = problem(boxed)
    assert not solve(q, by_length(q)).ways


def sides():
    spans = [((1.7, 1.7, 0.0), (1.75, 2.3, 1.3)), ((2.25, 1.7, 0.0), (2.3, 2.3, 1.3)),
             ((1.7, 1.7, 0.0), (2.3, 1.75, 1.3)), ((1.7, 2.25, 0.0), (2.3, 2.3, 1.3))]  # fmt: skip
    return [Obstacle(f"side {i}", corner=a, size=tuple(np.subtract(b, a).tolist())) for i, (a, b) in enumerate(spans)]


def test_without_any_fitting_the_pipe_can_only_go_straight():
    site = two_rooms((1.0, 1.0, 0.5), (1.0, 1.0))
    p = problem(site, ())
    [way] = solve(p, by_length(p)).ways
    assert way.angles == ()
    aside = problem(two_rooms((1.0, 1.0, 0.5), (2.0, 1.0)), ())
    assert solve(aside, by_length(aside)).ways == ()


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.permutations(["length", "fewest", "dear pipe"]))
def test_what_was_searched_under_other_prices_before_changes_no_price(seed, order):
    # Searches of one link share what they found; each has to come to what it finds by itself.
    p = problem(random_site(seed), (90.0, 45.0))
    plain = by_length(p)
    prices = {
        "length": plain,
        "fewest": replace(plain, name="fewest", bend={a: 1000.0 + m for a, m in plain.bend.items()}),
        "dear pipe": replace(plain, name="dear pipe", per_m=4.0),
    }
    shared = Conditions.of(p)
    for name in order:
        alone, together = solve(p, prices[name]), solve(p, prices[name], shared)
        assert [w.price for w in together.ways] == pytest.approx([w.price for w in alone.ways], abs=1e-9)
        assert together.least == pytest.approx(alone.least, abs=1e-9)
