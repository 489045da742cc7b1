"""The good file torn, doubled and scribbled on at random: a house, or faults at lines that exist; never a crash."""

from __future__ import annotations

import re
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.badsites.cases import GOOD
from ventroute.errors import Fault, InputError
from ventroute.io.site_file import building_faults, read_site_text
from ventroute.layout.building import build

HERE = Path(__file__).parent
LINES = GOOD.split("\n")
NUMBERS = [match.span() for match in re.finditer(r"(?<![\w\"/.-])-?[0-9]+(?:\.[0-9]+)?(?![\w\"/])", GOOD)]
STRINGS = [match.span() for match in re.finditer(r'"[^"\n]*"', GOOD)]
CALM = settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def faults_of(text: str) -> tuple[Fault, ...]:
    """What reading and building a text finds, nothing where it stands."""
    try:
        site = read_site_text(text, "house.toml", HERE)
    except InputError as error:
        return error.faults
    try:
        build(site)
    except InputError as error:
        return building_faults(text, "house.toml", error.faults).faults
    return ()


def told_well(text: str) -> None:
    """Every fault has a line that exists, is one printable line, and says something."""
    last = text.replace("\r\n", "\n").count("\n") + 1
    for fault in faults_of(text):
        assert 1 <= fault.line <= last, fault
        assert fault.what
        assert str(fault).isprintable()
        assert len(str(fault)) < 1000


@CALM
@given(
    st.integers(0, len(GOOD)),
    st.integers(0, 200),
    st.text(max_size=8) | st.sampled_from(['"', "[", "]", "{", "=", "\n", "#", '"""']),
)
def test_a_piece_torn_out_or_written_over(start, length, scribble):
    told_well(GOOD[:start] + scribble + GOOD[start + length :])


@CALM
@given(st.lists(st.sampled_from(["leave out", "double", "swap"]), min_size=1, max_size=4), st.data())
def test_lines_left_out_doubled_and_swapped(acts, data):
    lines = list(LINES)
    for act in acts:
        n, m = data.draw(st.integers(0, len(lines) - 1)), data.draw(st.integers(0, len(lines) - 1))
        if act == "leave out":
            lines.pop(n)
        elif act == "double":
            lines.insert(n, lines[m])
        else:
            lines[n], lines[m] = lines[m], lines[n]
    told_well("\n".join(lines))


ODD = st.sampled_from(
    ["0", "-0.0", "1e-300", "1e300", "1e6", "999", "-999", "nan", "inf", "-inf", "true", '"up"', '""', "[]", "{}",
     "[[[1]]]", "1979-05-27", "0.0001", "12345678901234567890", '"1/0 in"', '"6 in"', '"roof"', '"outdoors"']
) | st.floats(-100, 100).map(lambda v: f"{v:.6f}")  # fmt: skip


@CALM
@given(
    st.lists(st.tuples(st.sampled_from(NUMBERS + STRINGS), ODD), min_size=1, max_size=3, unique_by=lambda pair: pair[0])
)
def test_other_values_in_place_of_good_ones(changes):
    text = GOOD
    for (start, end), value in sorted(changes, reverse=True):
        text = text[:start] + value + text[end:]
    told_well(text)
