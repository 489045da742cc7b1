"""The solver against every sequence of at most five fittings, lengths by HiGHS."""

import math
import os
from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest

from tests.solve.exhaustive import Fitting, Stage, cheaper, exact, relaxed
from tests.solve.scenes import FT, IN, LAYING_IN, MADE_UP, by_length, kit, limit, problem, result_of, two_rooms
from ventroute.layout.building import build
from ventroute.model.parts import Bend
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import chains, links
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.search import Search

ANGLES = (90.0, 45.0)
SITES = 300
PATTERNED = 120
SWUNG = 60  # of the sites, in which every compound roll is looked at too
# 3 in: vent quarter bend 1 15/16 (D3311), moulded pressure 45 27/32 with a socket of 2 (D2466); memory and second-hand
SHORT_90 = Bend("elbow-90-short", "PVC", 3.0, "short", 90.0, 1.9375 * IN, 1.5 * IN, 4 * IN, 2.5, None, MADE_UP)
PRESSURE_45 = Bend("elbow-45-pressure", "PVC", 3.0, "pressure", 45.0, 0.84375 * IN, 2 * IN, 4 * IN, 2.5, None, MADE_UP)


def patterned():
    """The made-up kit with a short-turn 90 and a pressure 45 beside its own pattern."""
    own = kit(ANGLES)
    regular = tuple((a, LAYING_IN[a] * IN) for a in ANGLES)
    return replace(own, bends=(*own.bends, SHORT_90, PRESSURE_45), regular=regular)


def patterned_limit(elbow_45_ft):
    """The table counts a short-turn 90 one foot more than its own, and a pressure 45 as much."""
    table = replace(limit(ANGLES), elbow_45_m=elbow_45_ft * FT)
    return replace(table, by_pattern=((90.0, "short", 6 * FT), (45.0, "pressure", table.elbow_45_m)))


def random_site(seed: int):
    """A small room with up to four boxes, a collar below and a hole in the ceiling."""
    rng = np.random.default_rng(seed)
    size = rng.uniform([2.0, 2.0, 1.9], [3.5, 3.5, 2.6])
    boxes = []
    for _ in range(int(rng.integers(0, 5))):
        extent = rng.uniform(0.15, 0.9, 3)
        low = rng.uniform(0.0, size - extent)
        boxes.append((low, low + extent))
    inner = size - 0.3
    collar = (*rng.uniform(0.3, inner[:2]), float(rng.uniform(0.2, 0.9)))
    hole = rng.uniform(0.3, inner[:2])
    free = [
        b
        for b in boxes
        if not _near(b, collar)
        and not (b[0][0] - 0.1 < hole[0] < b[1][0] + 0.1 and b[0][1] - 0.1 < hole[1] < b[1][1] + 0.1)
    ]
    return two_rooms(tuple(collar), tuple(hole), size=tuple(size), obstacles=free, angles=ANGLES)


def _near(box, collar) -> bool:
    low, high = box
    return bool(np.all(np.asarray(collar) > low - 0.15) and np.all(np.asarray(collar)[:2] < high[:2] + 0.15))


def stage_of(p, link, fittings) -> Stage:
    """The room of a problem in the oracle's own words."""
    room = p.building.site.rooms[0]
    xs, ys = zip(*room.floor, strict=True)
    boxes = [(np.array(o.corner), np.add(o.corner, o.size)) for o in p.building.site.obstacles]
    found = Conditions.of(p).directions(link)
    return Stage(
        np.array([min(xs), min(ys), room.bottom_m]), np.array([max(xs), max(ys), room.top_m]), boxes,
        link.start_m, link.end.centre_m, link.start_true, link.end.true,
        list(zip(found.nominal, found.true, strict=True)), fittings, 2.5, 3.5 * IN, 4.0 * IN, p.want.gap_m, 1.5 * IN, room.top_m,
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(int(os.environ.get("VENTROUTE_SITES", SITES))))
def test_no_sequence_is_shorter_and_the_one_found_is_legal(seed):
    p = problem(random_site(seed), ANGLES)
    fittings = [Fitting(a, LAYING_IN[a] * IN, 1.5 * IN, 1.5 * IN, p.limit.equivalent_m(a)) for a in ANGLES]
    holds(p, by_length(p), fittings, 5, swung=seed < SWUNG)


@pytest.mark.parametrize("seed", range(int(os.environ.get("VENTROUTE_SITES", PATTERNED)) // 2))
def test_no_mix_of_patterns_is_shorter_and_the_one_found_is_legal(seed):
    site = random_site(1000 + seed)
    table = patterned_limit((2.5, 4.0)[seed % 2])  # where a 45 counts 4 ft, 90s pay
    p = Problem(build(site), patterned(), table, site.appliance, site.want, {})
    fittings = [
        Fitting(a, e.hub.laying_m, e.hub.socket_m, 1.5 * IN if e.street else math.inf, p.equivalent_m(e.hub))
        for a, elbows in p.patterns.items()
        for e in elbows
    ]
    each = {(a, i): p.equivalent_m(e.hub) for a, elbows in p.patterns.items() for i, e in enumerate(elbows)}
    assert len(fittings) == 4
    holds(p, Weights.of("length", 1.0, each), fittings, 3, swung=seed < SWUNG // 2)


def holds(p, weights, fittings, most, *, swung) -> None:
    """The solver's best in the first link is legal; nothing of at most `most` fittings, or `swung` about, is shorter."""
    chain = next(c for c in chains(p)[0] if c)
    link = links(p, chain)[0]
    conditions = Conditions.of(p)
    result = result_of(Search(conditions, link, weights))
    stage, pairs = stage_of(p, link, fittings), conditions.compounds(link).dirs[: None if swung else 0]
    if not result.paths:
        assert cheaper(stage, 12.0, 3) is None
        assert cheapest_swung(stage, pairs, 12.0) >= 12.0
        return
    best = result.paths[0]
    assert cheaper(stage, best.price - 1e-3, most) is None
    assert cheapest_swung(stage, pairs, best.price - 1e-3) >= best.price - 1e-3
    stage = only(stage, best.strand.dirs)
    path = [stage.index(d) for d in best.strand.dirs]
    made = zip(path[:-1], path[1:], best.strand.patterns, strict=True)
    turns = [stage.turns(a, b)[nth] for a, b, nth in made]
    own = exact(stage, path, turns) + sum(t.equivalent for t in turns)
    assert own == pytest.approx(best.price, abs=1e-3)


def only(stage: Stage, dirs) -> Stage:
    """The stage with no other directions; what is as low as the pitch allows is level to the fittings."""
    ends = [(n, t) for n, t in stage.directions if any(np.linalg.norm(t - e) < 1e-9 for e in (stage.into, stage.out))]
    flat = [(np.array([x, y, 0.0]) / math.hypot(x, y), np.array([x, y, z])) for x, y, z in dirs if abs(z) < 0.03]
    return replace(stage, directions=[*ends, *flat, *((d, d) for d in dirs if abs(d[2]) >= 0.03)])


def cheapest_swung(stage: Stage, dirs, price: float) -> float:
    """The least price of three bends with one of these pairs of directions between them, `price` where none is less."""
    straight = float(np.linalg.norm(stage.end - stage.start))
    for pair in dirs:
        few = only(stage, pair)
        path = [few.index(d) for d in (stage.into, *pair, stage.out)]
        for turns in product(*(few.turns(a, b) for a, b in pairwise(path))):
            cost = sum(t.equivalent for t in turns)
            if straight + cost < price and relaxed(few, path, list(turns)) + cost < price:
                price = min(price, exact(few, path, list(turns)) + cost)
    return price
