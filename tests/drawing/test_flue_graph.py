"""The flue graph."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.drawing import samples
from tests.drawing.reading import overlapping, svg_texts
from ventroute.drawing.graph import flue_graph, flue_lines, nice_ticks
from ventroute.drawing.primitives import Drawing, Polyline
from ventroute.drawing.svg import to_svg


def graph(units: str = "us") -> Drawing:
    drawing = flue_graph(samples.roof_route(), units)
    assert drawing is not None
    return drawing


@given(st.floats(-500, 500), st.floats(0.01, 1000), st.integers(2, 9))
def test_ticks_enclose_the_values_in_even_steps(low: float, span: float, count: int):
    ticks = nice_ticks(low, low + span, count)
    assert ticks[0] <= low + 1e-6 * span
    assert ticks[-1] >= low + span - 1e-6 * span
    steps = [b - a for a, b in pairwise(ticks)]
    assert steps == pytest.approx([steps[0]] * len(steps))
    assert len(ticks) <= 2 * count + 3


def test_curves_start_and_end_where_the_stations_say():
    # Gas 55 to 46 degC over 0..W: the drawn fall is (131 - 114.8) degF on an axis of known length between two ticks.
    curves = [item for item in graph().items if isinstance(item, Polyline)]
    gas, pressure = (curve for curve in curves if curve.layer == "first")
    limit = next(curve for curve in curves if curve.layer == "limit")
    dew = next(curve for curve in curves if curve.layer == "third")
    per_degC = (limit.points[0][1] - dew.points[0][1]) / (60.0 - 52.5)
    assert (gas.points[0][1] - gas.points[-1][1]) / per_degC == pytest.approx(9.0)
    assert (limit.points[0][1] - gas.points[0][1]) / per_degC == pytest.approx(5.0)
    assert pressure.points[0][1] > pressure.points[-1][1]
    assert len(gas.points) == 21


def test_the_lowest_limit_of_the_material_is_the_one_shown():
    # The sample's PVC: listing class 65 degC, plain pipe 60 degC = 140 degF.
    assert any(t.text == "PVC limit 140 °F" for t in graph().texts)
    assert any(t.text == "PVC limit 60 °C" for t in graph("metric").texts)


@pytest.mark.parametrize("units", ["us", "metric"])
def test_no_texts_overlap_on_the_graph(units: str):
    assert overlapping(svg_texts(to_svg(graph(units)))) == []


def test_names_stay_apart_when_the_curves_meet():
    planned = samples.roof_route()
    assert planned.flue is not None
    flat = tuple(replace(s, gas_degC=40.0, gas_dry_degC=40.0, wall_degC=40.0) for s in planned.flue.stations)
    drawing = flue_graph(replace(planned, flue=replace(planned.flue, dew_point_degC=40.0, stations=flat)), "us")
    assert drawing is not None
    assert overlapping(svg_texts(to_svg(drawing))) == []


def test_no_stations_no_graph():
    planned = samples.roof_route()
    assert flue_graph(replace(planned, flue=None), "us") is None
    assert planned.flue is not None
    assert flue_graph(replace(planned, flue=replace(planned.flue, stations=())), "us") is None


def test_condensate_is_said_in_gallons_and_litres():
    # 0.8 kg of water is 0.8 L; a US gallon is 3.785411784 L (NIST SP 811, appendix B.8), so 0.211 gal.
    state = samples.flue(samples.roof_route().route)
    assert any("in the vent: 0.21 gal/h" in line for line in flue_lines(state, "us"))
    assert any("in the vent: 0.80 L/h" in line for line in flue_lines(state, "metric"))
