"""Labels find places where they cover no other, and lines give way."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ventroute.drawing.board import Board, Label, Spot, around, knocked_out
from ventroute.drawing.flat import spread
from ventroute.drawing.primitives import Line, Text, overlap

points = st.tuples(st.floats(0, 60), st.floats(0, 60))


@settings(max_examples=40, deadline=None)
@given(st.lists(points, min_size=1, max_size=25))
def test_labels_around_crowded_points_never_overlap(anchors: list[tuple[float, float]]):
    board = Board()
    for k, anchor in enumerate(anchors):
        label = Label((f"label {k}", "second line"), 3.0)
        board.place(label, around(anchor, label))
    texts = [item for item in board.items if isinstance(item, Text)]
    assert len(texts) == 2 * len(anchors)
    for k, one in enumerate(texts):
        assert not any(overlap(one.box, two.box) for two in texts[k + 1 :])


def test_a_label_keeps_off_a_pipe_when_there_is_room_beside_it():
    board = Board()
    board.draw(Line((0.0, 0.0), (50.0, 0.0), "pipe"), cost=60.0)
    label = Label(("beside",), 3.0)
    spots = [Spot((25.0, 0.0), 0.0), Spot((25.0, 5.0), 3.0)]
    assert board.place(label, spots).centre == (25.0, 5.0)


def test_a_line_of_a_label_does_not_run_through_another_text():
    board = Board()
    board.draw(Text((10.0, 0.0), "in the way", 3.0, "text"))
    through = Line((0.0, 0.0), (20.0, 0.0), "leader")
    past = Line((0.0, 0.0), (0.0, 20.0), "leader")
    spots = [Spot((24.0, 0.0), 0.0, (through,)), Spot((0.0, 22.0), 5.0, (past,))]
    assert board.place(Label(("tied",), 3.0), spots).lines == (past,)


def test_a_thin_line_is_broken_by_a_text_and_a_pipe_is_not():
    text = Text((10.0, 0.0), "x", 3.0, "text")
    thin, pipe = Line((0.0, 0.0), (20.0, 0.0), "dimension"), Line((0.0, 0.0), (20.0, 0.0), "pipe")
    kept = knocked_out([text, thin, pipe])
    broken = [item for item in kept if isinstance(item, Line) and item.layer == "dimension"]
    assert [line.start[0] for line in broken] == [0.0, pytest.approx(text.box[2] + 0.3)]
    assert broken[0].end[0] == pytest.approx(text.box[0] - 0.3)
    assert pipe in kept


@given(st.lists(st.floats(0, 100), max_size=12).map(sorted), st.floats(0.5, 9))
def test_spread_keeps_order_and_distance(wanted: list[float], size: float):
    places = spread(wanted, [size] * len(wanted), 1.0)
    assert all(b - a >= size + 1.0 - 1e-9 for a, b in pairwise(places))


@given(st.lists(st.integers(0, 9), min_size=1, max_size=9, unique=True).map(sorted))
def test_spread_leaves_alone_what_has_room(tens: list[int]):
    wanted = [10.0 * ten for ten in tens]
    assert spread(wanted, [3.0] * len(wanted), 1.0) == pytest.approx(wanted)


def test_spread_shares_the_displacement():
    # Two labels 4 wide wanted at the same place, 0, with a gap of 2: least squares puts them at -3 and 3.
    assert spread([0.0, 0.0], [4.0, 4.0], 2.0) == pytest.approx([-3.0, 3.0])
