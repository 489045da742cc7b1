"""Small programs against HiGHS, as scipy calls it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from ventroute.solve.lp import Programs


def program(seed: int):
    """A random program: three equalities and up to five inequalities over two to seven lengths."""
    rng = np.random.default_rng(seed)
    n, m = int(rng.integers(2, 8)), int(rng.integers(0, 6))
    cost = rng.uniform(0.5, 2.0, n)
    return cost, rng.normal(size=(3, n)), rng.normal(size=3), rng.normal(size=(m, n)), rng.normal(size=m)


def highs(cost, eq, eq_b, ge, ge_b):
    return linprog(cost, A_ub=-ge if len(ge) else None, b_ub=-ge_b if len(ge) else None, A_eq=eq, b_eq=eq_b)


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_rows_added_one_by_one_reach_the_optimum_that_highs_finds(seed):
    # Oracle: HiGHS through scipy.optimize.linprog.
    cost, eq, eq_b, ge, ge_b = program(seed)
    lp = Programs.of(cost, 1).add(eq[None], eq_b[None], np.ones((1, 3), dtype=bool)).solved()
    for a, b in zip(ge, ge_b, strict=True):
        if np.isfinite(lp.value[0]):
            bound = lp.first_steps(a[None, None], np.array([[b]]), np.array([[False]]))[0, 0]
            before, lp = lp, lp.add(a[None, None], np.array([[b]]), np.array([[False]])).solved()
            assert before.value[0] - 1e-9 <= bound <= lp.value[0] + 1e-7  # a first pivot is a lower bound
    oracle = highs(cost, eq, eq_b, ge, ge_b)
    assert np.isfinite(lp.value[0]) == (oracle.status == 0)
    if oracle.status == 0:
        assert lp.value[0] == pytest.approx(oracle.fun, abs=1e-7)
        assert np.dot(cost, lp.x()[0]) == pytest.approx(lp.value[0], abs=1e-7)
        assert np.allclose(eq @ lp.x()[0], eq_b, atol=1e-7)


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_many_programs_at_once_have_the_optima_of_one_at_a_time(seed):
    # Oracle: HiGHS through scipy.optimize.linprog.
    rng = np.random.default_rng(seed)
    n, m, count = 4, 5, 6
    a, b = rng.normal(size=(count, m, n)), rng.normal(size=(count, m))
    equal = np.array([True, True, False, False, False])
    values = Programs.of(np.ones(n), count).add(a, b, np.tile(equal, (count, 1))).solved().value
    for value, rows, right in zip(values, a, b, strict=True):
        oracle = highs(np.ones(n), rows[:2], right[:2], rows[2:], right[2:])
        assert np.isfinite(value) == (oracle.status == 0)
        if oracle.status == 0:
            assert value == pytest.approx(oracle.fun, abs=1e-7)


def one(cost, a, b):
    """A program of inequalities."""
    return Programs.of(np.array(cost), 1).add(np.array([a]), np.array([b]), np.zeros((1, len(b)), dtype=bool))


def test_a_row_added_to_a_program_does_not_change_it():
    parent = one([1.0, 1.0], [[1.0, 1.0]], [2.0]).solved()
    child = parent.add(np.array([[[1.0, 0.0]]]), np.array([[5.0]]), np.array([[False]])).solved()
    assert parent.value[0] == pytest.approx(2.0)
    assert child.value[0] == pytest.approx(5.0)


def test_programs_of_different_numbers_of_rows_stand_in_one_batch():
    few, many = one([1.0], [[1.0]], [2.0]).solved(), one([1.0], [[1.0], [1.0]], [2.0, 4.0]).solved()
    both = (
        Programs.stacked([few.one(0), many.one(0)])
        .add(np.ones((2, 1, 1)), np.full((2, 1), 3.0), np.zeros((2, 1), dtype=bool))
        .solved()
    )
    assert both.value.tolist() == pytest.approx([3.0, 4.0])


def test_contradicting_rows_have_no_solution():
    assert one([1.0], [[1.0], [-1.0]], [3.0, -2.0]).solved().value[0] == np.inf
