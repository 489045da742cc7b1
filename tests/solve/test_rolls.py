"""Rolled offsets beside other bends and to areas: against trigonometry, and against scipy over the roll."""

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog, minimize_scalar

from tests.solve.scenes import EAST, FT, IN, LAYING_IN, TABLE_FT, UP, by_length, problem, result_of, two_rooms, wall_cut
from tests.solve.test_laws import mapped
from ventroute.model.site import Hole
from ventroute.solve.conditions import Conditions
from ventroute.solve.links import chains, direction_set, links
from ventroute.solve.offsets import Offsets
from ventroute.solve.rolls import worthwhile
from ventroute.solve.search import Search

ANGLES = (90.0, 45.0)
HUB_IN = {a: lay + 1.5 for a, lay in LAYING_IN.items()}  # corner to hub face: laying length and socket
PITCH = 1 / 48


def wall_site(collar, hole, *, faces=UP, obstacles=(), size=(6.0, 4.0, 2.6)):
    """A room with a hole through its east wall, 0.2 m thick."""
    site = two_rooms(collar, (1.0, 1.0), size=size, faces=faces, obstacles=obstacles)
    return replace(site, holes=(Hole("wall", (size[0] + 0.1, *hole), EAST, 0.15, ("room", "outdoors")),))


def first_link(p):
    return links(p, chains(p)[0][0])[0]


def searched(p, rolls=True):
    """The best price through the first link, with the rolls or without."""
    found = Conditions.of(p)
    link = first_link(p)
    if not rolls:
        found._directions[link.key] = direction_set(p, link)
    result = result_of(Search(found, link, by_length(p)))
    return result, found.directions(link)


def pitched(azimuth=0.0):
    """A level direction that rises a quarter inch in a foot."""
    return np.array([math.cos(azimuth), math.sin(azimuth), PITCH]) / math.hypot(1.0, PITCH)


def leaned(axis, angle_deg, roll):
    """A direction at an angle to an axis, rolled about it."""
    side = np.cross(axis, [0.0, 1.0, 0.0])
    side = side / np.linalg.norm(side)
    a = math.radians(angle_deg)
    return math.cos(a) * axis + math.sin(a) * (math.cos(roll) * side + math.sin(roll) * np.cross(axis, side))


def made_of(d, others, least, way):
    """Least length of legs along d and others that make up a way: every three of them by plain elimination."""
    columns = np.array([d, *others])
    rest, best = way - np.asarray(least) @ columns, math.inf
    for three in combinations(range(len(columns)), 3):
        matrix = columns[list(three)].T
        if abs(np.linalg.det(matrix)) > 1e-9:
            more = np.linalg.solve(matrix, rest)
            if more.min() >= -1e-7:
                best = min(best, float(more.sum()))
    return best + sum(least)


def offsets(axis, angle_deg, others, least, way, free=(), width=0.0, slope=0.0):
    """One sequence whose legs beside the offset are along others, and an end that may slide back along free ways."""
    columns = np.array([*others, *free])
    rest = way - sum(m * d for m, d in zip(least[1:], others, strict=True))
    count = len(others)
    return Offsets(
        axis[None],
        np.array([math.radians(angle_deg)]),
        np.array(least[:1]),
        rest[None],
        columns[None],
        np.array([1.0] * count + [0.0] * len(free)),
        np.array([np.inf] * count + [width] * len(free)),
        np.array([slope]),
        np.ones(1),
    )


def test_a_rolling_offset_of_rise_12_and_roll_16_has_28_284_in_of_travel_beside_a_rise():
    # Pipe reference case 7 (textbook rolling offset): true offset 20, travel at 45 degrees 28.284, run 20, and the roll
    # from level atan(12/16) = 36.870 degrees. The riser before it is as short as it may be: 6 in.
    axis, up = np.array(EAST), np.array(UP)
    found = offsets(axis, 45.0, [axis, up], [0.0, 0.0, 6.0], np.array([40.0, 16.0, 18.0]))
    roll, length = found.best()
    best = int(np.argmin(length[0]))
    assert length[0, best] + 6.0 == pytest.approx(6.0 + 20.0 + 28.284, abs=1e-3)
    [d] = found.toward(np.zeros(1, dtype=int), (roll[0][0, best, None], roll[1][0, best, None]))
    assert math.degrees(math.atan2(d[2], d[1])) == pytest.approx(36.870, abs=1e-3)


def test_an_offset_short_of_room_ahead_takes_the_roll_that_its_advance_allows():
    # Plumb 45 with 10 in of advance has 10 sqrt 2 of travel, 10 of it across (textbook right triangle, case 5). Of 8 in
    # north all is made by it, of 30 east what is left: sqrt(10^2 - 8^2) = 6; the rest, 24, by the level run.
    up, east = np.array(UP), np.array(EAST)
    found = offsets(up, 45.0, [up, east], [0.0, 0.0, 0.0], np.array([30.0, 8.0, 10.0]))
    assert found.best()[1].min() == pytest.approx(10 * math.sqrt(2) + 24.0, abs=1e-9)


def test_the_offset_after_a_riser_aims_from_its_top_and_not_from_the_collar():
    # Without pitch: riser 3 1/16 + 1 1/2 to the elbow's hub and 1 1/2 into the collar's socket, then the textbook
    # rolling offset (pipe reference cases 6 and 7) for what is left: travel = true offset / sin 22.5, run = true offset
    # / tan 22.5, roll from level atan(rise / roll).
    collar, hole, angles = np.array([1.0, 1.0, 0.8]), (2.2, 1.9), (90.0, 22.5)
    site = wall_site(tuple(collar), hole)
    p = problem(replace(site, appliance=replace(site.appliance, pitch=0.0)), angles, street=False)
    riser = (HUB_IN[90.0] + 1.5) * IN
    rise, roll, t = hole[1] - collar[2] - riser, hole[0] - collar[1], math.radians(22.5)
    a = math.atan2(rise, roll)
    result, found = searched(p)
    assert found.at(np.array([math.cos(t), math.sin(t) * math.cos(a), math.sin(t) * math.sin(a)])) >= 0
    offset = math.hypot(rise, roll)
    made = riser + 5.1 + offset / math.sin(t) - offset / math.tan(t) + (TABLE_FT[90.0] + 2 * TABLE_FT[22.5]) * FT
    assert result.paths[0].price <= made + 1e-6


def test_an_offset_to_an_area_aims_at_the_corner_that_is_nearest():
    # Plumb to plumb, 0.7 m east and 0.4 m north to the near corner: azimuth atan(0.4 / 0.7).
    roof = wall_cut((1.7, 1.4, 2.6), (2.9, 2.8, 4.4), ("room", "outdoors"), UP)
    site = two_rooms((1.0, 1.0, 0.5), (1.0, 1.0), cuts=(roof,))
    p = problem(replace(site, rooms=site.rooms[:1]), ANGLES)
    link = first_link(p)
    more = worthwhile(p, link, direction_set(p, link))
    azimuth = math.atan2(0.4, 0.7)
    d = math.sqrt(0.5) * np.array([math.cos(azimuth), math.sin(azimuth), 1.0])
    assert np.abs(more - d).sum(axis=1).min() < 1e-7


SOME = st.floats(0.2, 3.0)
LEVEL, DIAGONAL = pitched(), pitched(math.pi / 4)


@settings(max_examples=12)
@given(
    st.sampled_from([90.0, 45.0, 22.5]),
    st.sampled_from([[LEVEL, np.array(UP)], [np.array(UP), LEVEL], [LEVEL, np.array(UP), DIAGONAL]]),
    st.tuples(SOME, st.floats(-2.0, 2.0), SOME),
    st.floats(0.0, 0.8),
)
def test_the_best_roll_can_be_made_and_none_that_scipy_finds_is_shorter(angle, others, way, travel):
    way, least = np.array(way), [travel, *[0.05] * len(others)]
    slope = math.atan(PITCH)

    def at(roll):
        d = leaned(others[0], angle, roll)
        return min(made_of(d, others, least, way), 1e3) if d[2] >= math.sin(slope) else 1e3

    found = offsets(others[0], angle, others, least, way, slope=slope)
    roll, length = found.best()
    best = int(np.argmin(length[0]))
    got = float(length[0, best]) + 0.05 * len(others)
    if np.isfinite(got):
        [d] = found.toward(np.zeros(1, dtype=int), (roll[0][0, best, None], roll[1][0, best, None]))
        legs = np.array([d, *others])
        made = linprog(np.ones(len(legs)), A_eq=legs.T, b_eq=way, bounds=[(m, None) for m in least])
        assert made.fun == pytest.approx(got, abs=1e-6)
        assert d[2] >= math.sin(slope)
    values = [at(r) for r in np.linspace(0.0, 2 * math.pi, 121)]
    start = math.radians(3 * int(np.argmin(values)))
    near = minimize_scalar(at, bounds=(start - 0.06, start + 0.06), method="bounded", options={"xatol": 1e-8})
    assert min(got, 1e3) <= min(near.fun, *values) + 1e-6


def corner_free(seed):
    """A wall site with a few boxes."""
    rng = np.random.default_rng(seed)
    collar = (float(rng.uniform(0.4, 3.0)), float(rng.uniform(0.4, 3.6)), float(rng.uniform(0.3, 0.8)))
    hole = (float(rng.uniform(0.4, 3.6)), float(rng.uniform(1.5, 2.3)))
    boxes = []
    for _ in range(int(rng.integers(0, 4))):
        low = rng.uniform([0.2, 0.2, 0.0], [4.0, 3.0, 1.5])
        high = low + rng.uniform(0.2, 0.8, 3)
        if np.any(np.array(collar) < low - 0.2) or np.any(np.array(collar)[:2] > high[:2] + 0.2):
            boxes.append((low, high))
    return wall_site(collar, hole, obstacles=boxes)


def added(site):
    p = problem(site, ANGLES)
    link = first_link(p)
    return worthwhile(p, link, direction_set(p, link))


@settings(max_examples=12)
@given(st.integers(0, 10_000))
def test_rolls_never_lengthen_and_never_go_below_the_bound_at_any_roll(seed):
    p = problem(corner_free(seed), ANGLES)
    (rolled, _), (plain, _) = searched(p), searched(p, rolls=False)
    if rolled.paths and plain.paths and rolled.bound >= rolled.paths[0].price - 1e-9:
        assert rolled.paths[0].price <= plain.paths[0].price + 1e-9
    search = Search(Conditions.of(p), first_link(p), by_length(p))
    assert all(search.rolled <= path.price + 1e-9 for path in rolled.paths)


@settings(max_examples=40)
@given(
    st.integers(0, 10_000),
    st.sampled_from([((-1, 0), (0, 1)), ((1, 0), (0, -1)), ((0, -1), (1, 0)), ((0, 1), (-1, 0))]),
)
def test_turning_or_mirroring_the_house_turns_or_mirrors_the_rolls(seed, move):
    site, turn = corner_free(seed), np.array(move, dtype=float)
    moved = mapped(site, lambda p: (*(turn @ np.array(p[:2])).tolist(), p[2]))
    got, expected = added(moved), added(site)
    expected[:, :2] = expected[:, :2] @ turn.T
    assert len(got) == len(expected)
    for d in expected:
        assert np.abs(got - d).sum(axis=1).min() < 1e-6


@pytest.mark.parametrize("falls_to", ["appliance", "terminal"])
@pytest.mark.parametrize("faces", [UP, EAST, (0.0, 1.0, 0.0)])
def test_every_roll_that_is_added_drains(falls_to, faces):
    site = wall_site((1.0, 1.0, 0.8), (2.7, 1.9), faces=faces)
    site = replace(site, appliance=replace(site.appliance, falls_to=falls_to))
    for d in added(site):
        run = math.hypot(d[0], d[1])
        if falls_to == "appliance":
            assert d[2] >= PITCH * run - 1e-12
        else:
            assert d[2] >= run - 1e-9 or -d[2] >= PITCH * run - 1e-12


def test_between_holes_on_parallel_lines_the_offset_from_end_to_end_is_all():
    assert len(added(two_rooms((1.0, 1.0, 0.8), (2.3, 1.7)))) == 0
