"""Several patterns of one angle in a route: which are used, and where a small one fits that a large one does not.

Measures of D3311 and D2466 in 3 in, as the catalog holds them: quarter bend 3 1/16, vent quarter bend 1 15/16, long-turn
4 1/4, pressure quarter bend 1 27/32 (memory and second-hand); sockets 1 1/2, pressure 1 7/8.
"""

import math
from dataclasses import replace

import pytest

from tests.solve.scenes import FT, IN, LAYING_IN, kit, limit, two_rooms
from tests.solve.test_against_exhaustive import SHORT_90
from ventroute.catalog.lookup import kits, load_catalog
from ventroute.layout.building import build
from ventroute.solve.problem import Problem, Weights
from ventroute.solve.solver import solve

ASIDE_IN = (
    7.2  # more than two vent bends need hub to hub (2 x 3 7/16), less than a street bend does (2 x 3 1/16 + 1 1/2)
)


def best(table):
    """The best way of a house whose hole stands 7.2 in beside the collar, in 90s alone."""
    site = two_rooms((1.0, 2.0, 0.5), (1.0 + ASIDE_IN * IN, 2.0), angles=(90.0,))
    own = kit((90.0,))
    made = replace(own, bends=(*own.bends, SHORT_90), regular=((90.0, LAYING_IN[90.0] * IN),))
    p = Problem(build(site), made, table, site.appliance, site.want, {})
    each = {(90.0, i): p.equivalent_m(e.hub) for i, e in enumerate(p.patterns[90.0])}
    return solve(p, Weights.of("length", 1.0, each)).ways[0]


def test_two_vent_bends_fit_where_two_quarter_bends_do_not():
    way = best(replace(limit((90.0,)), by_pattern=((90.0, "short", 6 * FT),)))
    assert way.angles == (90.0, 90.0)
    assert way.patterns == (1, 1)
    start, end = way.corners[0], way.corners[-1]
    level = ASIDE_IN * IN
    run = math.hypot(level, level / 48) + (end[2] - start[2]) - level / 48
    assert way.price == pytest.approx(run + 2 * 6 * FT, abs=1e-5)


def test_without_a_figure_of_its_own_a_sharper_bend_is_not_used():
    way = best(limit((90.0,)))
    assert set(way.patterns) == {0}
    assert len(way.angles) > 2


def test_a_wider_pattern_counts_as_any_bend_and_a_sharper_one_needs_its_own_figure():
    catalog = load_catalog()
    made = kits(catalog, "PVC", 3.0, None, 3.0)
    row = limit()
    assert {bend.pattern for bend in made.bends if bend.angle_deg == 90.0} == {"drainage", "short", "long", "pressure"}
    counted = {(b.angle_deg, b.pattern): made.equivalent_m(row, b) for b in made.bends}
    assert counted[90.0, "drainage"] == counted[90.0, "long"] == pytest.approx(5 * FT)
    assert counted[90.0, "short"] is counted[90.0, "pressure"] is counted[45.0, "pressure"] is None
    told = replace(row, by_pattern=((90.0, "short", 8 * FT), (90.0, "long", 3 * FT)))
    assert {b.pattern: made.equivalent_m(told, b) for b in made.bends if b.angle_deg == 90.0 and b.pattern != "pressure"} == {
        "drainage": pytest.approx(5 * FT), "short": pytest.approx(8 * FT), "long": pytest.approx(3 * FT),
    }  # fmt: skip


def test_where_pressure_pattern_is_all_that_is_made_it_has_the_plain_figure():
    made = kits(load_catalog(), "CPVC", 3.0, None, 3.0)
    assert {made.equivalent_m(limit(), b) for b in made.bends if b.angle_deg == 90.0} == {5 * FT}
