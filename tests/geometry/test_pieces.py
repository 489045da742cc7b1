"""Convex bodies that are open to each other, and that join."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ventroute.geometry.frames import square_to, unit
from ventroute.geometry.pieces import joined, share_air
from ventroute.geometry.polytope import Polytope

UNIT = Polytope.box((0, 0, 0), (1, 1, 1))


@pytest.mark.parametrize(
    ("low", "high", "open_"),
    [
        ((1, 0, 0), (2, 1, 1), True),  # a whole face
        ((1, 0.9, 0.9), (2, 2, 2), True),  # some of a face
        ((0.5, 0.5, 0.5), (2, 2, 2), True),  # overlapping
        ((0.2, 0.2, 0.2), (0.8, 0.8, 0.8), True),  # one inside the other
        ((1, 1, 0), (2, 2, 1), False),  # an edge
        ((1, 1, 1), (2, 2, 2), False),  # a corner
        ((1.001, 0, 0), (2, 1, 1), False),  # a millimetre apart
        ((1 + 1e-9, 0, 0), (2, 1, 1), True),  # apart by rounding
    ],
)
def test_open_to_each_other(low: tuple[float, ...], high: tuple[float, ...], open_: bool) -> None:
    other = Polytope.box(low, high)
    assert share_air(UNIT, other) is open_
    assert share_air(other, UNIT) is open_


def test_slopes_that_meet_at_a_ridge_join_to_one_attic() -> None:
    south = Polytope.box((0, 0, 0), (4, 2, 5)).clip(unit((0, -1, 1)), 0.5)
    north = Polytope.box((0, 2, 0), (4, 4, 5)).clip(unit((0, 1, 1)), (4 + 2**0.5 / 2) / 2**0.5)
    assert south is not None
    assert north is not None
    whole = joined([south, north])
    assert sum(piece.volume_m3 for piece in whole) == pytest.approx(south.volume_m3 + north.volume_m3)
    assert len(whole) == 1


def test_an_ell_does_not_join() -> None:
    assert len(joined([UNIT, Polytope.box((1, 0, 0), (2, 2, 1))])) == 2


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(*[st.integers(0, 5)] * 3, *[st.integers(1, 3)] * 3), min_size=1, max_size=3))
def test_joining_a_difference_keeps_its_volume(blocks: list[tuple[int, ...]]) -> None:
    whole = Polytope.box((0, 0, 0), (6, 6, 6))
    taken = [Polytope.box(b[:3], np.add(b[:3], b[3:])) for b in blocks]
    pieces = whole.subtract(taken)
    fewer = joined(pieces)
    assert len(fewer) <= len(pieces)
    assert sum(p.volume_m3 for p in fewer) == pytest.approx(sum(p.volume_m3 for p in pieces), abs=1e-6)
    for k, piece in enumerate(fewer):
        assert all(piece.intersect(other) is None for other in fewer[:k])


@given(st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.01))
def test_a_frame_is_right_angled_and_right_handed(way: tuple[float, float, float]) -> None:
    first, second = square_to(way)
    frame = np.array([unit(way), first, second])
    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(frame) == pytest.approx(1)
