"""Vent that is not sawn: what makes up a straight stretch, against the plain sums and every choice there is."""

from itertools import combinations_with_replacement

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventroute.catalog.lookup import kits, load_catalog
from ventroute.layout.lengths import FITS_M, whole_lengths

IN = 0.0254
KIT = kits(load_catalog(), "stainless", 4.0, "stainless", 4.0)
SOLD = [round(metres / IN) for metres in KIT.pipe.stick_m]
RANGES = [(row.least_m / IN, row.most_m / IN) for row in KIT.adjustables]


def fewest(inches: float) -> int:
    """The least number of pieces, from every choice of lengths that are sold with or without an adjustable one."""
    for count in range(1, 12):
        if any(abs(sum(row) - inches) * IN <= FITS_M for row in combinations_with_replacement(SOLD, count)):
            return count
        for row in combinations_with_replacement(SOLD, count - 1):
            if any(low <= inches - sum(row) <= high for low, high in RANGES):
                return count
    raise AssertionError(inches)


@given(st.floats(4.01, 300.0))
def test_a_stretch_is_made_of_the_fewest_lengths_that_are_sold_and_one_adjustable(inches):
    made = whole_lengths(inches * IN, KIT, ())
    assert made is not None
    assert len(made) == fewest(inches)
    assert sum(length for _, length in made) == pytest.approx(inches * IN, abs=FITS_M)
    adjusted = [length / IN for item, length in made if item != KIT.pipe.item]
    assert len(adjusted) <= 1
    assert all(any(low - 1e-6 <= length <= high + 1e-6 for low, high in RANGES) for length in adjusted)
    assert all(round(length / IN) in SOLD for item, length in made if item == KIT.pipe.item)


@given(st.floats(20.0, 200.0), st.floats(0.0, 1.0), st.floats(2.0, 16.0))
def test_no_joint_and_no_adjustable_length_stands_in_a_wall(inches, share, wide):
    wall = (share * (inches - wide) * IN, (share * (inches - wide) + wide) * IN)
    made = whole_lengths(inches * IN, KIT, [wall])
    at = 0.0
    for n, (item, length) in enumerate(made or ()):
        end = at + length
        if n + 1 < len(made):
            assert not wall[0] < end < wall[1]
        if item != KIT.pipe.item:
            assert end <= wall[0] or at >= wall[1]
        at = end


def test_a_wall_in_the_middle_of_five_feet_takes_one_whole_length():
    made = whole_lengths(60 * IN, KIT, [(20 * IN, 40 * IN)])
    assert made == [(KIT.pipe.item, pytest.approx(60 * IN))]


def test_less_than_two_sockets_of_pipe_cannot_be_had():
    assert whole_lengths(3.5 * IN, KIT, ()) is None  # the short adjustable length reaches from 4 in


def test_a_wall_thicker_than_the_longest_length_leaves_no_place_for_its_joints():
    # Every order of a hundred feet of pieces would take years: the search must come to an end by itself.
    assert whole_lengths(1200.7 * IN, KIT, [(100 * IN, 180 * IN)]) is None


def test_a_stretch_longer_than_any_vent_is_given_up():
    assert whole_lengths(1e5 * IN, KIT, ()) is None
