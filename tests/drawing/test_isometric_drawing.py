"""The isometric as people get it: read back from SVG and DXF."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.drawing import samples
from tests.drawing.reading import SIXTEENTH_M, dxf_document, dxf_faults, dxf_texts, overlapping, said_m, svg_texts
from ventroute.drawing.iso_marks import pipes
from ventroute.drawing.iso_view import choose, crossing, fitted, projected, snapped
from ventroute.drawing.isometric import isometric, to_dxf, to_svg
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import PartKind, Run

HOUSE = samples.house()
HALF = SIXTEENTH_M / 2 + 1e-9  # rounding to the nearest sixteenth errs by half of one at most


def svg(planned: PlannedRoute, units: str = "us") -> bytes:
    return to_svg(isometric(planned, HOUSE, units))


def wanted(planned: PlannedRoute) -> dict[str, float]:
    """Every length that the drawing must state, from the plan alone."""
    found: dict[str, float] = {}
    for number, run in enumerate(planned.route.runs, 1):
        found[f"run {number}"] = run.length_m
        steps = [e - s for s, e in zip(run.start_m, run.end_m, strict=True)]
        flat = math.hypot(steps[0], steps[1])
        level = abs(steps[2]) <= 0.09 * flat
        parts = [s for s in (*steps[:2], 0.0 if level else steps[2]) if abs(s) > 5e-4]
        if len(parts) > 1:
            names = ("east", "west"), ("north", "south"), ("up", "down")
            for k, step in enumerate(steps):
                if abs(step) > 5e-4 and not (k == 2 and level):
                    found[f"run {number} {names[k][step < 0]}"] = abs(step)
    return found


@pytest.mark.parametrize("seed", range(50))
def test_no_texts_overlap_and_every_dimension_is_the_plans(seed: int):
    planned = samples.random_route(seed)
    drawing = isometric(planned, HOUSE, "us")
    texts = svg_texts(to_svg(drawing))
    assert overlapping(texts) == []
    expected = wanted(planned)
    said = {t.about: t for t in texts if t.value_m is not None}
    assert said.keys() == expected.keys()
    for about, length in expected.items():
        assert said_m(said[about].text) == pytest.approx(length, abs=HALF)
        assert said[about].value_m == pytest.approx(length, abs=1e-6)


@pytest.mark.parametrize("planned", [samples.roof_route(), samples.wall_route(), samples.random_route(7)])
def test_the_dxf_states_the_same_dimensions_and_passes_audit(planned: PlannedRoute):
    data = to_dxf(isometric(planned, HOUSE, "us"))
    said = {t.about: t for t in dxf_texts(data) if t.value_m is not None}
    assert said.keys() == wanted(planned).keys()
    for about, length in wanted(planned).items():
        assert said_m(said[about].text) == pytest.approx(length, abs=HALF)
    auditor = dxf_faults(data)
    assert not auditor.errors
    assert not auditor.fixes


@settings(max_examples=25, deadline=None)
@given(st.integers(min_value=100, max_value=100_000), st.sampled_from(["us", "metric"]))
def test_no_texts_overlap_on_any_route(seed: int, units: str):
    assert overlapping(svg_texts(svg(samples.random_route(seed), units))) == []


def test_metric_dimensions_are_within_half_a_millimetre():
    planned = samples.roof_route()
    for text in svg_texts(svg(planned, "metric")):
        if text.value_m is not None:
            assert said_m(text.text) == pytest.approx(text.value_m, abs=5.1e-4)


def test_the_sample_reads_as_a_fitter_would_write_it():
    # Worked by hand: 2 ft east and 2 ft up make a travel of 2 * sqrt(2) ft = 33.94 in = 2 ft 9 15/16 in.
    said = {t.about: t.text for t in svg_texts(svg(samples.roof_route()))}
    assert said["run 4"] == "2 ft 9 15/16 in"
    assert said["run 4 east"] == "2 ft east"
    assert said["run 4 up"] == "2 ft up"
    assert said["run 1"] == "2 ft 6 in"


def test_the_fall_is_written_and_does_not_make_the_run_skew():
    texts = [t.text for t in svg_texts(svg(samples.wall_route()))]
    assert "fall 1/4 in per ft" in texts
    assert not any(text.endswith((" up", " north")) for text in texts)


def test_the_fall_arrow_points_downhill():
    planned = samples.wall_route()
    leg = choose(planned.route).legs[1]
    drawing = isometric(planned, HOUSE, "us")
    heads = [i for i in drawing.items if getattr(i, "filled", False) and i.layer == "text"]
    downhill = (leg.start[0] - leg.end[0], leg.start[1] - leg.end[1])  # the run rises away from the appliance
    along = []
    for head in heads:
        tip, left, right = head.points
        way = (tip[0] - (left[0] + right[0]) / 2, tip[1] - (left[1] + right[1]) / 2)
        along.append((way[0] * downhill[0] + way[1] * downhill[1]) / math.hypot(*way) / math.hypot(*downhill))
    assert any(cosine > 0.999 for cosine in along)


def test_every_piece_of_the_cut_list_has_its_number():
    planned = samples.random_route(3)
    numbers = [t.text for t in svg_texts(svg(planned))]
    labels = {label for cut in planned.cuts for label in cut.labels}
    assert labels <= set(numbers)
    for part in planned.route.parts:
        assert numbers.count(str(part.n)) == (part.kind is not PartKind.TERMINAL)


def test_holes_rooms_ends_and_size_are_named():
    texts = " ".join(t.text for t in svg_texts(svg(samples.roof_route())))
    for words in ("hole: old flue, first floor", "new hole: roof patch", "UTILITY", "CLOSET", "ATTIC", "COLLAR 3 in",
                  "ROOF TERMINAL 3 in", "3 in PVC, schedule 40", "4 ft below grade",
                  "15 ft 6 in above grade"):  # fmt: skip
        assert words in texts


def test_each_room_is_named_once():
    texts = [t.text for t in svg_texts(svg(samples.roof_route()))]
    assert [texts.count(name) for name in ("UTILITY", "CLOSET", "ATTIC")] == [1, 1, 1]


def test_the_same_input_gives_the_same_bytes():
    planned = samples.random_route(11)
    first, second = isometric(planned, HOUSE, "us"), isometric(planned, HOUSE, "us")
    assert first == second
    assert to_svg(first) == to_svg(second)
    assert to_dxf(first) == to_dxf(second)


def test_bytes_do_not_depend_on_the_process():
    code = (
        "import hashlib;from tests.drawing import samples as s;from ventroute.drawing.isometric import *;"
        "d=isometric(s.random_route(5),s.house(),'us');print(hashlib.sha256(to_svg(d)+to_dxf(d)).hexdigest())"
    )
    runs = [
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True,
                       env={"PYTHONHASHSEED": seed, "PYTHONPATH": "."}).stdout
        for seed in ("1", "2")
    ]  # fmt: skip
    assert runs[0] == runs[1]


def test_names_from_the_site_file_are_not_markup():
    planned = samples.roof_route()
    hostile = '<script>alert("x")</script>&'
    crossings = (replace(planned.route.crossings[0], name=hostile), *planned.route.crossings[1:])
    data = to_svg(isometric(replace(planned, route=replace(planned.route, crossings=crossings)), HOUSE, "us"))
    assert b"<script" not in data
    assert any("<script>" in t.text for t in svg_texts(data))


def test_the_svg_reaches_for_nothing_outside_itself():
    data = svg(samples.roof_route()).decode()
    assert not re.search(r"href|url\(|@import|<image|<script|foreignObject", data)
    assert data.count("http") == data.count('xmlns="http')


def test_the_axes_stand_at_thirty_degrees_in_every_view():
    # ISO 6412-2: isometric projection, axes at 30 degrees to the horizontal and one upright.
    for quarter in range(4):
        for way in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)):
            x, y = projected(way, quarter)
            assert math.degrees(math.atan2(abs(y), abs(x))) == pytest.approx(30.0)
            assert math.hypot(x, y) == pytest.approx(1.0)
        assert projected((0.0, 0.0, 1.0), quarter) == pytest.approx((0.0, 1.0))


def test_a_run_along_the_line_of_sight_is_seen_from_another_corner():
    # From the south-west a run east, south... up along (-1, -1, 1) is seen end-on; another corner must be chosen.
    corners = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (-1.0, -1.0, 2.0), (-1.0, -1.0, 3.0)]
    made = samples.route(corners)
    assert choose(made).legs[1].length > 2 * 9.0
    assert choose(made).quarter != 0


def test_a_level_run_with_the_steepest_pitch_in_use_is_drawn_level():
    # 5/8 in per ft = 0.0521, asked for by some push-fit systems.
    parts, fall = snapped(Run((0.0, 0.0, 0.0), (3.0, 0.0, 3.0 * 0.0521), math.hypot(3.0, 3.0 * 0.0521)))
    assert parts == (3.0, 0.0, 0.0)
    assert fall == pytest.approx(0.0521)


@pytest.mark.parametrize("seed", range(12))
def test_drawn_runs_keep_their_order_of_length_and_join(seed: int):
    view = fitted(samples.random_route(seed).route, 0)
    for one, two in zip(view.legs, view.legs[1:], strict=False):
        assert one.end == two.start
    axis = [leg for leg in view.legs if not leg.skew]
    for one in axis:
        for two in axis:
            if one.run.length_m <= two.run.length_m:
                assert one.length <= two.length + 1e-9


def test_one_of_two_pipes_that_cross_on_paper_is_broken():
    for seed in range(400):
        view = choose(samples.random_route(seed).route)
        pairs = [(a, b) for k, a in enumerate(view.legs) for b in view.legs[k + 2 :] if crossing(a, b)]
        if pairs:
            lines = pipes(view)
            assert len(lines) == len(view.legs) + len(pairs)
            return
    pytest.fail("no two runs cross on paper in any sample")


def test_lines_give_way_to_lettering():
    drawing = isometric(samples.random_route(9), HOUSE, "us")
    thin = [i for i in drawing.items if type(i).__name__ == "Line" and i.layer in ("dimension", "leader", "skew")]
    for text in drawing.texts:
        left, low, right, high = text.box
        for line in thin:
            middle = ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)
            for x, y in (line.start, middle, line.end):
                assert not (left < x < right and low < y < high)


def test_dxf_layers_are_named_for_what_they_hold():
    document = dxf_document(to_dxf(isometric(samples.roof_route(), HOUSE, "us")))
    used = {entity.dxf.layer for entity in document.modelspace()}
    assert {"PIPE", "FITTING", "DIMENSION", "BARRIER", "SKEW", "TEXT"} <= used
    assert used <= {layer.dxf.name for layer in document.layers}
    assert document.header["$INSUNITS"] == 4  # millimetres, DXF reference of group code 70 for $INSUNITS


def test_a_name_with_line_breaks_spoils_neither_file():
    planned = samples.roof_route()
    crossings = (replace(planned.route.crossings[0], name="old\nflue\x07\r\n0\nSECTION"), *planned.route.crossings[1:])
    broken = replace(planned, route=replace(planned.route, crossings=crossings))
    drawing = isometric(broken, replace(HOUSE, name="two\nlines\x00"), "us")
    assert not dxf_faults(to_dxf(drawing)).errors
    assert len(dxf_texts(to_dxf(drawing))) == len(svg_texts(to_svg(drawing))) == len(drawing.texts)


def test_the_style_sheet_keeps_to_the_drawing():
    # Set into a web page, rules for bare elements or common class names would restyle the page.
    style = re.search(r"<style>(.*)</style>", svg(samples.roof_route()).decode())
    assert style is not None
    selectors = re.findall(r"([^{}]+)\{", style[1])
    assert selectors
    assert all(part.removeprefix("text").startswith(".vr-") for s in selectors for part in s.split(","))
