"""Small programs against HiGHS, as scipy calls it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from ventroute.solve.lp import Lp, bounds


def program(seed: int):
    """A random program: three equalities and up to five inequalities over two to seven lengths."""
    rng = np.random.default_rng(seed)
    n, m = int(rng.integers(2, 8)), int(rng.integers(0, 6))
    cost = rng.uniform(0.5, 2.0, n)
    return cost, rng.normal(size=(3, n)), rng.normal(size=3), rng.normal(size=(m, n)), rng.normal(size=m)


def highs(cost, eq, eq_b, ge, ge_b):
    return linprog(cost, A_ub=-ge if len(ge) else None, b_ub=-ge_b if len(ge) else None, A_eq=eq, b_eq=eq_b)


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_rows_added_one_by_one_reach_the_optimum_that_highs_finds(seed):
    # Oracle: HiGHS through scipy.optimize.linprog.
    cost, eq, eq_b, ge, ge_b = program(seed)
    lp = Lp(cost.tolist())
    for a, b in zip(eq, eq_b, strict=True):
        lp.add(a.tolist(), float(b), equal=True)
    lp.solve()
    for a, b in zip(ge, ge_b, strict=True):
        lp.add(a.tolist(), float(b))
        lp.solve()
    oracle = highs(cost, eq, eq_b, ge, ge_b)
    assert lp.feasible == (oracle.status == 0)
    if lp.feasible:
        assert lp.value == pytest.approx(oracle.fun, abs=1e-7)
        assert np.dot(cost, lp.x()) == pytest.approx(lp.value, abs=1e-7)
        assert np.allclose(eq @ lp.x(), eq_b, atol=1e-7)


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_many_programs_at_once_have_the_optima_of_one_at_a_time(seed):
    # Oracle: HiGHS through scipy.optimize.linprog.
    rng = np.random.default_rng(seed)
    n, m, count = 4, 5, 6
    cost = np.ones(n)
    a, b = rng.normal(size=(count, m, n)), rng.normal(size=(count, m))
    equal = np.array([True, True, False, False, False])
    for value, rows, right in zip(bounds(cost, a, b, equal), a, b, strict=True):
        oracle = highs(cost, rows[:2], right[:2], rows[2:], right[2:])
        assert np.isfinite(value) == (oracle.status == 0)
        if oracle.status == 0:
            assert value == pytest.approx(oracle.fun, abs=1e-7)


def test_a_copy_does_not_change_its_parent():
    parent = Lp([1.0, 1.0])
    parent.add([1.0, 1.0], 2.0)
    assert parent.solve()
    child = parent.copy()
    child.add([1.0, 0.0], 5.0)
    assert child.solve()
    assert parent.value == pytest.approx(2.0)
    assert child.value == pytest.approx(5.0)


def test_contradicting_rows_have_no_solution():
    lp = Lp([1.0])
    lp.add([1.0], 3.0)
    lp.add([-1.0], -2.0)
    assert not lp.solve()
