"""Sticks, offcuts, kerfs and tape readings."""

from __future__ import annotations

import random
import time
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ventroute.shop.cuts import KERF_M, CutError, CutPlan, Piece, StickOffer, cut_plan, marks_m

IN = 0.0254  # exact: international inch, NIST SP 811
approx = pytest.approx
SIXTEENTH = IN / 16


def pieces(*inches: float, item: str = "pipe") -> list[Piece]:
    return [Piece(item, length * IN, str(n)) for n, length in enumerate(inches, start=1)]


def inches(plan: CutPlan) -> list[list[float]]:
    return [[round(piece / IN, 6) for piece in stick.pieces_m] for stick in plan.sticks]


def test_kerf_keeps_62_40_and_17_7_8_off_one_stick():
    # 62 + 40 + 17 7/8 and two kerfs of 1/8 make 120 1/8 in; with 13 1/2 and three kerfs it is 115 7/8, offcut 4 1/8.
    # Arithmetic; kerf of 1/8 in by common practice.
    plan = cut_plan(pieces(62, 40, 17.875, 13.5), {"pipe": [120 * IN]})
    assert inches(plan) == [[62, 40, 13.5], [17.875]]
    assert plan.sticks[0].waste_m == approx(4.125 * IN)
    assert plan.proved
    assert [item for item, _ in plan.leftovers] == ["pipe", "pipe"]


def test_the_tape_reads_each_mark_from_the_sticks_end():
    # 62; then 1/8 kerf and 40; then 1/8 kerf and 13 1/2
    plan = cut_plan(pieces(62, 40, 17.875, 13.5), {"pipe": [120 * IN]})
    assert [mark / IN for mark in plan.sticks[0].marks_m] == approx([62, 102.125, 115.75])


def test_a_piece_as_long_as_the_stick_is_not_sawn():
    plan = cut_plan(pieces(120), {"pipe": [120 * IN]})
    assert plan.sticks[0].marks_m == ()
    assert plan.sticks[0].waste_m == 0


def test_two_pieces_and_one_kerf_may_fill_a_stick():
    # 60 + 59 7/8 + 1/8 = 120 exactly: one cut, nothing over
    plan = cut_plan(pieces(60, 59.875), {"pipe": [120 * IN]})
    assert len(plan.sticks) == 1
    assert plan.sticks[0].waste_m == 0
    assert [mark / IN for mark in plan.sticks[0].marks_m] == approx([60])


def test_a_rest_thinner_than_the_kerf_is_sawdust():
    # 60 + 59 13/16 + 1/8 leaves 1/16 in: the second cut eats it
    plan = cut_plan(pieces(60, 59.8125), {"pipe": [120 * IN]})
    assert len(plan.sticks) == 1
    assert plan.sticks[0].waste_m == 0


def test_sixty_and_sixty_do_not_come_from_ten_feet():
    plan = cut_plan(pieces(60, 60), {"pipe": [120 * IN]})
    assert len(plan.sticks) == 2


def test_a_piece_longer_than_the_stick_is_named():
    with pytest.raises(CutError, match=r"pipe: piece 2 .*longest"):
        cut_plan(pieces(10, 120.1), {"pipe": [120 * IN]})


def test_no_sticks_at_all_is_an_error():
    with pytest.raises(CutError):
        cut_plan(pieces(10), {})


def test_no_pieces_need_no_sticks():
    plan = cut_plan([], {"pipe": [120 * IN]})
    assert plan.sticks == ()
    assert plan.proved


def test_offcuts_at_home_are_used_before_a_stick_is_bought():
    plan = cut_plan(pieces(30, 40), {"pipe": [120 * IN]}, {"pipe": [31 * IN, 40 * IN]})
    assert all(stick.offcut for stick in plan.sticks)
    assert sorted(inches(plan)) == [[30], [40]]


def test_too_few_sticks_on_the_shelf_is_an_error():
    offer = StickOffer(120 * IN, 20.0, 1)
    with pytest.raises(CutError, match="too few sticks"):
        cut_plan(pieces(100, 100), {"pipe": [offer]})
    assert len(cut_plan(pieces(100, 19), {"pipe": [offer]}).sticks) == 1


def test_the_cheapest_sticks_are_bought_not_the_shortest():
    # one 10 ft stick at 20 is dearer than two of 5 ft at 8
    offers = [StickOffer(120 * IN, 20.0), StickOffer(60 * IN, 8.0)]
    plan = cut_plan(pieces(50, 50), {"pipe": offers})
    assert [stick.stick_m / IN for stick in plan.sticks] == approx([60, 60])
    dear = [StickOffer(120 * IN, 15.0), StickOffer(60 * IN, 8.0)]
    assert len(cut_plan(pieces(50, 50), {"pipe": dear}).sticks) == 1


def test_without_every_price_the_least_length_is_bought():
    offers = [StickOffer(120 * IN, 1.0), StickOffer(60 * IN)]
    plan = cut_plan(pieces(50), {"pipe": offers})
    assert plan.sticks[0].stick_m == approx(60 * IN)


def test_items_are_cut_each_from_its_own_sticks():
    both = [*pieces(50, item="b"), *pieces(50, item="a")]
    plan = cut_plan(both, {"a": [120 * IN], "b": [120 * IN]})
    assert [(stick.stick, stick.item) for stick in plan.sticks] == [(1, "a"), (2, "b")]


def valid(plan: CutPlan, wanted: list[Piece], offcuts: list[float]) -> bool:
    """Every piece is cut once, no stick holds more than its length, no offcut is used twice."""
    cut = [(label, length) for s in plan.sticks for label, length in zip(s.labels, s.pieces_m, strict=True)]
    ends = [s.stick_m - sum(s.pieces_m) - KERF_M * (len(s.pieces_m) - 1) for s in plan.sticks]
    spent = Counter(stick.stick_m for stick in plan.sticks if stick.offcut)
    once = sorted(cut) == sorted((piece.label, piece.length_m) for piece in wanted)
    return once and min(ends) > -1e-6 and not spent - Counter(offcuts)


@pytest.mark.parametrize(("low", "high"), [(30, 50), (8, 60), (4, 118)])
def test_sixty_pieces_are_cut_at_once(low, high):
    # under a second on a quiet machine, see tests/bench/bench_cuts.py; a busy one is given longer
    from scipy import optimize  # noqa: F401 - its import is not what is measured

    chance = random.Random(f"{low} {high}")
    offers = [StickOffer(60 * IN, 9.0), StickOffer(120 * IN, 16.0), StickOffer(240 * IN, 30.0)]
    for _ in range(3):
        wanted = pieces(*(chance.randint(low * 16, high * 16) / 16 for _ in range(60)))
        offcuts = [chance.randint(12 * 16, 60 * 16) / 16 * IN for _ in range(6)]
        took = []
        for _ in range(2):
            start = time.process_time()
            plan = cut_plan(wanted, {"pipe": offers}, {"pipe": offcuts})
            took.append(time.process_time() - start)
        assert min(took) < 10.0
        assert valid(plan, wanted, offcuts)
        assert plan.gap < 0.01
        price = sum(offer.price or 0 for s in plan.sticks for offer in offers if offer.length_m == s.stick_m)
        # no way is cheaper than its length at the cheapest price of a length
        length = sum(piece.length_m + KERF_M for piece in wanted) - sum(cut + KERF_M for cut in offcuts)
        assert price >= length * 30.0 / ((240 + 0.125) * IN) - 1e-9


@pytest.mark.parametrize(
    ("sticks", "each", "stick"), [(12, 5, 120), (10, 6, 240), (15, 4, 120), (20, 3, 120), (30, 2, 60)]
)
def test_sticks_sawn_at_random_without_waste_are_found_again(sticks, each, stick):
    # the optimum is known by how they were made: nothing is left, so fewer sticks do not hold the length
    chance = random.Random(sticks)
    for _ in range(2):
        made: list[float] = []
        for _ in range(sticks):
            room = stick * 16 - 2 * (each - 1)  # sixteenths, without the kerfs
            marks = [0, *sorted(chance.sample(range(16, room, 16), each - 1)), room]
            made += [(b - a) / 16 for a, b in pairwise(marks)]
        chance.shuffle(made)
        wanted = pieces(*made)
        plan = cut_plan(wanted, {"pipe": [stick * IN]})
        assert valid(plan, wanted, [])
        assert len(plan.sticks) == sticks
        assert plan.proved
        assert plan.gap == 0


def test_ten_pieces_need_no_scipy():
    # planning asks this for every route: the import alone would take longer than the search
    import subprocess
    import sys

    code = (
        "import sys; from ventroute.shop.cuts import Piece, cut_plan\n"
        "ps = [Piece('p', 0.3 + 0.11 * n, str(n)) for n in range(10)]\n"
        "assert cut_plan(ps, {'p': [3.048]}).proved\n"
        "assert 'scipy' not in sys.modules and 'numpy' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


@pytest.mark.parametrize(
    ("lengths", "stick", "wanted"),
    [
        ([10.0], 120.0, [10.0]),
        ([10.03], 120.0, [10.0]),  # 10 and 0.48 sixteenths
        ([10.04, 10.04], 120.0, [10.0625, 20.25]),  # each 10 1/16, kerf 1/8
        ([60.03, 59.85], 120.0, [60.0]),  # 60.03 + 1/8 + 59.85 = 120.005 would be over, 119.98 + ... ends the stick
    ],
)
def test_marks_are_sixteenths_and_errors_do_not_add_up(lengths, stick, wanted):
    marks = marks_m([length * IN for length in lengths], stick * IN)
    assert [mark / IN for mark in marks][: len(wanted)] == approx(wanted)


saw_lengths = st.lists(st.floats(2.0, 119.0), min_size=1, max_size=9)


@settings(max_examples=80, deadline=None)
@given(saw_lengths, st.lists(st.floats(1.0, 100.0), max_size=3))
def test_every_piece_is_cut_once_and_every_stick_holds_its_pieces_and_kerfs(lengths, offcuts):
    wanted = pieces(*lengths)
    plan = cut_plan(wanted, {"pipe": [120 * IN]}, {"pipe": [length * IN for length in offcuts]})
    cut = [(label, length) for s in plan.sticks for label, length in zip(s.labels, s.pieces_m, strict=True)]
    assert sorted(cut) == sorted((piece.label, piece.length_m) for piece in wanted)
    for stick in plan.sticks:
        taken = sum(stick.pieces_m) + KERF_M * (len(stick.pieces_m) - 1)
        assert taken <= stick.stick_m + 1e-6  # tenths of a micrometre
        assert stick.waste_m == approx(max(0.0, stick.stick_m - taken - KERF_M), abs=1e-5)
    used = sorted(stick.stick_m for stick in plan.sticks if stick.offcut)
    for length in used:
        assert used.count(length) <= [cut * IN for cut in offcuts].count(length)


@settings(max_examples=80, deadline=None)
@given(saw_lengths)
def test_a_mark_is_within_a_sixteenth_of_where_the_piece_ends(lengths):
    plan = cut_plan(pieces(*lengths), {"pipe": [120 * IN]})
    for stick in plan.sticks:
        at = 0.0
        for n, length in enumerate(stick.pieces_m):
            at += length
            if n < len(stick.marks_m):
                # each piece is rounded by half a sixteenth at most
                assert abs(stick.marks_m[n] - at) <= (n + 1) * SIXTEENTH / 2 + 1e-9
                assert stick.marks_m[n] / SIXTEENTH == approx(round(stick.marks_m[n] / SIXTEENTH), abs=1e-6)
            at += KERF_M
        assert len(stick.marks_m) in (len(stick.pieces_m), len(stick.pieces_m) - 1)


@settings(max_examples=40, deadline=None)
@given(saw_lengths)
def test_the_same_pieces_give_the_same_plan(lengths):
    assert cut_plan(pieces(*lengths), {"pipe": [120 * IN]}) == cut_plan(pieces(*lengths), {"pipe": [120 * IN]})


def test_metric_sticks_hold_metric_pieces():
    # 2 m of 1.0 + 0.996825 m: one kerf of 3.175 mm fills it to the end
    plan = cut_plan([Piece("pp", 1.0, "1"), Piece("pp", 0.996825, "2")], {"pp": [2.0, 1.0]})
    assert len(plan.sticks) == 1
    assert plan.sticks[0].stick_m == 2.0
