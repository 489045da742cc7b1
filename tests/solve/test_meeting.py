"""The least lengths that lead a given way, against HiGHS, as scipy calls it; rows over lengths, against the corners."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from ventroute.solve.meeting import meeting, met
from ventroute.solve.rows import Row, Rows

TILT = 1 / 48  # a quarter inch a foot
COMPASS = [(np.cos(a), np.sin(a), rise) for a in np.arange(16) * np.pi / 8 for rise in (0.0, TILT, 1.0)]
DIRECTIONS = np.array([(0.0, 0.0, 1.0), (0.0, 0.0, -1.0), *COMPASS])
DIRECTIONS /= np.linalg.norm(DIRECTIONS, axis=1)[:, None]


def scene(seed: int):
    """Sequences of one length, many of them in a plane, and ways that some of them lead."""
    rng = np.random.default_rng(seed)
    n, count = int(rng.integers(1, 7)), 12
    pool = DIRECTIONS[rng.choice(len(DIRECTIONS), int(rng.integers(1, 6)))]
    dirs = pool[rng.integers(0, len(pool), (count, n))]
    lengths = rng.uniform(0.0, 4.0, (count, n)) * rng.integers(0, 2, (count, n))
    way = np.einsum("nk,nkj->nj", lengths, dirs)
    astray = rng.integers(0, 3, count) == 0
    way[astray] = rng.normal(size=(int(astray.sum()), 3))
    return dirs, way


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_the_least_lengths_that_lead_a_way_are_those_that_highs_finds(seed):
    # Oracle: HiGHS through scipy.optimize.linprog.
    dirs, way = scene(seed)
    least = meeting(dirs, way)
    here = np.isfinite(least)
    found = iter(met(dirs[here], way[here]).x())
    for value, d, goal in zip(least, dirs, way, strict=True):
        oracle = linprog(np.ones(len(d)), A_eq=d.T, b_eq=goal)
        assert np.isfinite(value) == (oracle.status == 0)
        if oracle.status == 0:
            lengths = next(found)
            assert value == pytest.approx(oracle.fun, abs=1e-7)
            assert lengths @ d == pytest.approx(goal, abs=1e-7)
            assert lengths.min() >= 0.0
            assert lengths.sum() == pytest.approx(value, abs=1e-7)


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_further_rows_are_met_from_there_as_cheaply_as_from_the_start(seed):
    # Oracle: HiGHS through scipy.optimize.linprog.
    dirs, way = scene(seed)
    here = np.isfinite(meeting(dirs, way)).nonzero()[0]
    programs = met(dirs[here], way[here])
    rng = np.random.default_rng(seed + 1)
    a, b = rng.normal(size=(len(here), 2, dirs.shape[1])), rng.normal(size=(len(here), 2))
    values = programs.add(a, b, np.zeros(b.shape, dtype=bool)).solved().value
    for value, i, rows, right in zip(values, here, a, b, strict=True):
        oracle = linprog(np.ones(dirs.shape[1]), A_ub=-rows, b_ub=-right, A_eq=dirs[i].T, b_eq=way[i])
        assert np.isfinite(value) == (oracle.status == 0)
        if oracle.status == 0:
            assert value == pytest.approx(oracle.fun, abs=1e-6)


@given(st.integers(0, 2**32 - 1))
def test_a_row_over_the_lengths_says_what_it_says_of_the_corners(seed):
    # Against the corners themselves, by their definition as sums of legs.
    rng = np.random.default_rng(seed)
    legs, count = int(rng.integers(1, 6)), 3
    dirs, base = rng.normal(size=(count, legs, 3)), rng.normal(size=(count, legs + 1, 3))
    shapes = [some_rows(rng, legs) for _ in range(int(rng.integers(1, 4)))]
    shape = rng.integers(0, len(shapes), count)
    a, b = Rows.of(shapes, legs).over(shape, dirs, base)
    x = rng.uniform(0.0, 2.0, (count, legs))
    for i in range(count):
        corners = base[i] + np.concatenate([np.zeros((1, 3)), np.cumsum(dirs[i] * x[i][:, None], axis=0)])
        rows = shapes[shape[i]]
        for m, row in enumerate(rows):
            said = row.g @ corners[row.corner] - row.t
            if row.other:
                said -= row.other[1] @ corners[row.other[0]]
            assert a[i, m] @ x[i] - b[i, m] == pytest.approx(said, abs=1e-9)
        assert (a[i, len(rows) :] @ x[i] > b[i, len(rows) :]).all()  # what fills up shorter lists asks nothing


def some_rows(rng: np.random.Generator, legs: int) -> list[Row]:
    """One or two rows at random, the second on two corners."""
    return [
        Row(int(rng.integers(0, legs + 1)), rng.normal(size=3), float(rng.normal())),
        Row(legs, rng.normal(size=3), float(rng.normal()), other=(int(rng.integers(0, legs + 1)), rng.normal(size=3))),
    ][: int(rng.integers(1, 3))]
