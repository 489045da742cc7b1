"""Lettering is as wide as the font says, and stays inside its box."""

from __future__ import annotations

import io
import math
import re
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.ttfonts import TTFontFile

from ventroute.drawing import widths
from ventroute.drawing.metrics import text_width, wrap
from ventroute.drawing.primitives import Text, hatch_strokes, overlap

FONTS = files("ventroute.drawing") / "fonts"


def font(name: str) -> TTFontFile:
    return TTFontFile(io.BytesIO((FONTS / name).read_bytes()))


@pytest.mark.parametrize(
    ("file", "table", "signs"),
    [("DejaVuSans.ttf", widths.REGULAR, widths.REGULAR_SIGNS), ("DejaVuSans-Bold.ttf", widths.BOLD, widths.BOLD_SIGNS)],
)
def test_every_width_is_the_fonts_own(file: str, table: tuple[int, ...], signs: dict[str, int]):
    # The font's hmtx table, read by the PDF writer, which scales it to 1000 units an em.
    known = font(file).charWidths
    pairs = {widths.FIRST + k: width for k, width in enumerate(table) if width} | {ord(c): w for c, w in signs.items()}
    assert len(pairs) > 300
    for code, width in pairs.items():
        assert known[code] == pytest.approx(width * 1000 / 2048, abs=1.0)


def test_the_licence_of_the_fonts_is_shipped_with_them():
    words = (FONTS / "LICENSE").read_text()
    assert "Bitstream Vera Fonts Copyright" in words
    assert "DejaVu changes are in public domain" in words


def test_widths_add_up():
    # Advance widths of "7", " ", "f", "t" in DejaVu Sans: 1303, 651, 721, 803 of 2048.
    assert text_width("7 ft", 2048.0) == pytest.approx(1303 + 651 + 721 + 803)


def test_an_unknown_sign_is_given_a_whole_em():
    assert text_width("\u6f22", 3.0) == pytest.approx(3.0)


@given(st.text(alphabet="abc 123/", max_size=60), st.floats(5, 60))
def test_wrapped_lines_fit_or_are_one_word(text: str, width: float):
    lines = wrap(text, width, 3.0)
    assert " ".join(lines).split() == text.split()
    assert all(text_width(line, 3.0) <= width or not re.search(r"(?<!\d) | (?!\d)", line) for line in lines)


def test_a_number_is_not_broken():
    assert wrap("boiler, 100 000 Btu/h", 0.0, 3.0) == ("boiler,", "100 000", "Btu/h")
    assert wrap("cut 3 1/2 in off", 0.0, 3.0) == ("cut", "3 1/2", "in", "off")


def test_a_text_box_is_centred_and_holds_the_base_line():
    text = Text((10.0, 5.0), "7 ft", 3.0, "text")
    left, low, right, high = text.box
    assert ((left + right) / 2, (low + high) / 2) == pytest.approx((10.0, 5.0))
    assert low < text.baseline[1] < high
    assert text.baseline[0] == left


def test_boxes_that_only_touch_do_not_overlap():
    assert not overlap((0, 0, 1, 1), (1, 0, 2, 1))
    assert overlap((0, 0, 1, 1), (0.9, 0.9, 2, 2))


@given(st.floats(0, 180), st.floats(0.4, 3.0))
def test_hatch_strokes_stay_in_the_square_and_fill_it(angle: float, spacing: float):
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    strokes = hatch_strokes(square, angle, spacing)
    assert all(-1e-6 <= v <= 10 + 1e-6 for stroke in strokes for point in stroke for v in point)
    # Strokes at a spacing s across a region of area A have a total length near A / s.
    assert sum(math.dist(*stroke) for stroke in strokes) * spacing == pytest.approx(100.0, rel=0.5)


def test_a_hatch_leaves_the_notch_of_an_l_free():
    ell = ((0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (5.0, 5.0), (5.0, 10.0), (0.0, 10.0))
    for (x0, y0), (x1, y1) in hatch_strokes(ell, 0.0, 1.0):
        assert y0 == pytest.approx(y1)
        if y0 > 5.0:
            assert max(x0, x1) <= 5.0 + 1e-9
