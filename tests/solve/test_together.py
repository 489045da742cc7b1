"""Links, prices and kits searched side by side give what each gives alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.solve.lattice import Scene
from tests.solve.scenes import IN, UP, by_length, kit, limit, problem, result_of, two_rooms, wall_cut
from ventroute.geometry.polytope import Polytope
from ventroute.layout.building import build
from ventroute.layout.zone import Zone
from ventroute.model.appliance import Want
from ventroute.model.site import Framing
from ventroute.solve.conditions import Common, Conditions
from ventroute.solve.links import linked
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.search import Search
from ventroute.solve.solver import seek, solve
from ventroute.solve.together import Await, together

SIZE = (150.0, 120.0, 90.0)


def house(seed: int) -> Problem:
    """Three rooms one above the other, a hole in each ceiling, two boxes in each room clear of the holes; invented."""
    rng = np.random.default_rng(seed)
    spots = [tuple(rng.uniform(15.0, [135.0, 105.0]).round(1).tolist()) for _ in range(3)]
    start = (*rng.uniform(15.0, [135.0, 105.0]).round(1).tolist(), 24.0)
    boxes = []
    for room, spot in enumerate(spots):
        ends = np.array([spot, spots[room - 1] if room else start[:2]])
        while sum(box[0] == room for box in boxes) < 2:
            extent = rng.uniform([10.0, 10.0, 15.0], [40.0, 40.0, 50.0])
            low = rng.uniform([0.0, 0.0, 0.0], np.array(SIZE) - extent)
            if (np.abs(ends - (low + extent / 2)[:2]) > extent[:2] / 2 + 9.0).any(axis=1).all():
                boxes.append((room, tuple(low.round(1).tolist()), tuple((low + extent).round(1).tolist())))
    site = Scene(SIZE, tuple(boxes), tuple(spots), start).site(1.0 * IN, 1 / 48)
    return Problem(build(site), kit(), limit(), site.appliance, site.want, {})


def prices(p: Problem) -> list[Weights]:
    """Equivalent length, and the same with bends that cost more."""
    length = by_length(p)
    return [length, replace(length, name="few", bend={angle: price + 0.7 for angle, price in length.bend.items()})]


@pytest.mark.parametrize("seed", range(16))
def test_a_chain_costs_what_its_links_cost_when_each_is_searched_by_itself(seed):
    # Against searches of one link at a time, in conditions of their own.
    p = house(seed)
    beside = Conditions.of(p)
    (_, row), *others = linked(p)[0]
    assert not others
    for weights in prices(p):
        alone = [result_of(Search(Conditions.of(p), link, weights)) for link in row]
        outcome = solve(p, weights, beside)
        if not all(result.paths for result in alone):
            assert not outcome.ways
            continue
        least = [result.paths[0] for result in alone]
        assert outcome.ways[0].price == pytest.approx(sum(path.price for path in least), abs=1e-9)
        assert outcome.least["roof"] == pytest.approx(sum(min(r.bound, r.paths[0].price) for r in alone), abs=1e-9)
        corners = np.concatenate([path.corners[:-1] for path in least])
        if all(len(result.paths) == 1 for result in alone):
            assert outcome.ways[0].corners[1:-1] == pytest.approx(corners, abs=1e-6)


def kits(p: Problem) -> list[Problem]:
    """The kit, a thinner one with smaller bends, and one that has 90s only; all in one house."""
    whole = p.kit
    bends = [replace(b, laying_m=0.7 * b.laying_m, socket_m=0.8 * b.socket_m, hub_od_m=2.9 * IN) for b in whole.bends]
    thin = replace(whole, pipe=replace(whole.pipe, od_m=2.375 * IN), bends=tuple(bends))
    square = kit((90.0,))
    return [p, replace(p, kit=thin), replace(p, kit=square, limit=limit((90.0,)))]


@pytest.mark.parametrize("seed", range(10))
def test_kits_and_prices_searched_side_by_side_cost_what_each_costs_alone(seed):
    # Against searches of one kit under one price, in a house of its own.
    problems = kits(house(seed))
    shared = Common(problems[0].building)
    asked = [(p, Conditions(p, shared), weights) for p in problems for weights in prices(p)]
    quests = [seek(conditions, weights) for _, conditions, weights in asked]
    together([quest.steps() for quest in quests])
    for (p, _, weights), quest in zip(asked, quests, strict=True):
        alone, beside = solve(p, weights), quest.outcome
        assert [way.price for way in beside.ways] == pytest.approx([way.price for way in alone.ways], abs=1e-9)
        assert [way.angles for way in beside.ways] == [way.angles for way in alone.ways]
        assert beside.least == pytest.approx(alone.least, abs=1e-9)
        assert beside.rolled == pytest.approx(alone.rolled, abs=1e-9)


def walled(seed: int) -> Problem:
    """A room with a wall to cut, studs in it for some seeds, and a box in the way; invented."""
    rng = np.random.default_rng(seed)
    x, z = float(rng.uniform(0.4, 1.2)), float(rng.uniform(0.9, 1.3))
    wall = wall_cut((x, 4.0, z), (x + float(rng.uniform(0.8, 2.0)), 4.2, z + 1.0))
    collar = (float(rng.uniform(0.5, 3.5)), float(rng.uniform(0.5, 2.0)), 0.7)
    low = (float(rng.uniform(0.2, 2.2)), 2.4, 0.4)
    box = low, (low[0] + float(rng.uniform(0.4, 1.4)), 3.0, float(rng.uniform(1.4, 2.0)))
    site = two_rooms(collar, (2.0, 2.0), cuts=(wall,), obstacles=(box,), want=Want(terminals=("wall",)))
    studs = Framing("studs", "stud", (0.0, 4.0, 0.0), (4.0, 0.2, 2.6), UP, 16 * IN, 0.1, 1.5 * IN, 0.2)
    return problem(replace(site, framing=(studs,) if seed % 2 else ()))


def zoned(p: Problem, seed: int) -> list[Problem]:
    """The kits, each with forbidden zones of its own: none, one, or two with as many faces or fewer."""
    rng, whole = np.random.default_rng(seed), np.array([4.0, 1.5, 2.6])
    out = []
    for count, own in enumerate(kits(p)):
        low = rng.uniform([0.0, 4.2, 0.8], [2.5, 4.3, 1.4], (count, 3))
        bodies = [Polytope.box(a, a + rng.uniform(0.2, 0.5) * whole) for a in low]
        bodies[1:] = [Polytope.hull(body.vertices[:6]) for body in bodies[1:]]
        zones = tuple(Zone("invented", f"zone {i}", (body,), margin_of(body)) for i, body in enumerate(bodies))
        out.append(replace(own, zones={"wall": zones}))
    return out


def margin_of(body: Polytope):
    """How far points are outside a body, at least, as its faces tell."""
    return lambda points: (points @ body.normals.T - body.offsets).max(axis=1)


@pytest.mark.parametrize("seed", range(12))
def test_kits_that_end_beyond_a_wall_cost_side_by_side_what_each_costs_alone(seed):
    # Against searches of one kit under one price, in a house of its own.
    problems = zoned(walled(seed), seed)
    shared = Common(problems[0].building)
    asked = [(p, Conditions(p, shared), weights) for p in problems for weights in prices(p)]
    quests = [seek(conditions, weights) for _, conditions, weights in asked]
    together([quest.steps() for quest in quests])
    assert any(quest.outcome.ways for quest in quests)
    for (p, _, weights), quest in zip(asked, quests, strict=True):
        alone, beside = solve(p, weights), quest.outcome
        assert [way.price for way in beside.ways] == pytest.approx([way.price for way in alone.ways], abs=1e-9)
        assert beside.least == pytest.approx(alone.least, abs=1e-9)


def test_a_search_that_waits_for_others_goes_on_when_all_of_them_have_ended():
    told = []

    def says(word, *first):
        yield Await(list(first))
        told.append(word)

    together([says("a", says("b", says("c")), says("d")), says("e")])
    assert sorted(told) == list("abcde")
    assert told.index("c") < told.index("b") < told.index("a")
    assert told.index("d") < told.index("a")
