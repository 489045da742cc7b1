"""One description of what is seen: true sizes, plain ids, and the same bytes each time."""

import json
import struct
import subprocess
import sys
from itertools import combinations

import numpy as np
import pytest
import sample
from ventroute.viewer.glb import glb
from ventroute.viewer.page_data import scene_data
from ventroute.viewer.palette import LOOKS
from ventroute.viewer.scene import scene
from ventroute.viewer.shape import ident

from ventroute.drawing.words import margin, measure, money
from ventroute.layout.building import build

FT, IN = 0.3048, 0.0254


@pytest.fixture(scope="module")
def seen():
    site = sample.site()
    return scene(site, build(site), sample.plan(), sample.zones())


def named(seen, name):
    return next(shape for shape in seen.shapes if shape.name == name)


def extent(shape):
    points = shape.triangles.reshape(-1, 3)
    return points.min(axis=0), points.max(axis=0)


def volume(triangles):
    return float(np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6.0)


def test_everything_of_the_site_and_every_part_is_there_once(seen):
    site, plan = sample.site(), sample.plan()
    wanted = [thing.name for things in (site.rooms, site.roofs, site.holes, site.cuts, site.obstacles, site.features,
              site.keep_outs) for thing in things]  # fmt: skip
    names = [shape.name for shape in seen.shapes]
    assert all(names.count(name) == 1 for name in wanted)
    parts = [shape for shape in seen.shapes if shape.route]
    assert len(parts) == sum(len(planned.route.parts) for planned in plan.routes)
    assert len({shape.id for shape in seen.shapes}) == len(seen.shapes)


def test_ids_hold_letters_digits_and_underscores_alone(seen):
    for shape in seen.shapes:
        assert shape.id.replace("_", "").isalnum()
        assert shape.id.isascii()
    assert ident("part", 3, "1/ä") == "route_1___part_3"


def test_a_pipe_is_drawn_at_its_outside_diameter_and_cut_length(seen):
    low, high = extent(named(seen, "part 1: pipe"))
    # 3 in pipe as the sample has it: 3.5 in outside; upright from the collar at -4 ft
    assert high[:2] - low[:2] == pytest.approx([3.5 * IN, 3.5 * IN], rel=0.03)
    part = sample.plan().routes[0].route.parts[0]
    assert high[2] - low[2] == pytest.approx(part.cut_m)
    assert low[2] == pytest.approx(-4 * FT)


def test_a_hole_is_drawn_through_the_whole_barrier(seen):
    low, high = extent(named(seen, "old flue, ceiling"))
    # closet's ceiling at 8.5 ft, attic's floor at 9.5 ft
    assert (low[2], high[2]) == pytest.approx((8.5 * FT, 9.5 * FT))
    assert high[0] - low[0] == pytest.approx(6 * IN, rel=0.03)


def test_the_attic_ends_under_the_roof(seen):
    attic = named(seen, "attic")
    _, high = extent(attic)
    ridge_m, thick_m, slope = 16 * FT, 9 * IN, 6.5 / 13
    # the underside at the ridge is the thickness, measured square to the slope, lower
    assert high[2] == pytest.approx(ridge_m - thick_m * (1 + slope**2) ** 0.5, abs=1e-6)
    assert volume(attic.triangles) > 0


def test_a_zone_without_end_is_cut_off_where_the_picture_ends(seen):
    column = named(seen, "meter-column: meter")  # 200 ft tall as given
    low, high = extent(column)
    assert high[2] - low[2] < 20


def test_choosing_a_route_leaves_out_the_other(seen):
    assert {shape.route for shape in seen.of("2")} == {"", "2"}


def test_a_plan_without_its_house_and_a_house_without_a_plan_can_be_seen():
    assert all(shape.route for shape in scene(None, None, sample.plan()).shapes)
    assert not any(shape.route for shape in scene(sample.site(), None, None).shapes)
    assert scene(None, None, None).bounds_m().shape == (2, 3)


def test_metric_descriptions_name_no_inch_lengths():
    pipe = named(scene(None, None, sample.plan(), units="metric"), "part 1: pipe")
    assert " m;" in pipe.description
    assert "ft" not in pipe.description


def chunks(data):
    size, kind = struct.unpack("<II", data[12:20])
    assert kind == 0x4E4F534A  # "JSON": Khronos glTF 2.0, binary container
    return json.loads(data[20 : 20 + size])


def test_the_glb_names_every_node_by_id_and_stands_y_up(seen):
    data = glb(seen)
    assert data[:4] == b"glTF"
    tree = chunks(data)
    assert {node["name"] for node in tree["nodes"] if "mesh" in node} == {shape.id for shape in seen.shapes}
    node = next(node for node in tree["nodes"] if node["name"] == "route_1_part_1")
    assert node["extras"]["description"] == named(seen, "part 1: pipe").description
    matrix = np.array(node["matrix"]).reshape(4, 4).T
    assert matrix @ [0, 0, 1, 1] == pytest.approx([0, 1, 0, 1])  # our up is glTF's y


def test_the_glb_reads_back_with_the_same_triangles(seen):
    import io

    import trimesh

    back = trimesh.load(io.BytesIO(glb(seen)), file_type="glb")
    assert sum(len(mesh.faces) for mesh in back.geometry.values()) == sum(len(s.triangles) for s in seen.shapes)


def test_same_scene_same_bytes(seen):
    assert glb(seen) == glb(seen)


def test_page_data_is_plain_json_and_explains_every_look(seen):
    data = json.loads(json.dumps(scene_data(seen)))
    assert {shape["look"] for shape in data["shapes"]} == set(data["looks"])
    assert data["routes"] == ["1", "2"]


def linear(colour):
    """Linear red, green, blue of a #rrggbb, by IEC 61966-2-1 (sRGB)."""
    part = np.array(list(bytes.fromhex(colour[1:]))) / 255
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)


# Machado, Oliveira, Fernandes, "A Physiologically-based Model for Simulation of Color Vision Deficiency" (2009),
# full protanopia and deuteranopia, on linear RGB; from memory
BLINDNESS = {
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
}


@pytest.mark.parametrize("matrix", BLINDNESS.values(), ids=BLINDNESS)
def test_pipe_fitting_terminal_and_hole_stay_apart_for_colour_blind_eyes(matrix):
    kinds = [np.array(matrix) @ linear(LOOKS[key].colour) for key in ("pipe", "fitting", "terminal", "hole")]
    assert min(np.linalg.norm(a - b) for a, b in combinations(kinds, 2)) > 0.1


def test_no_two_looks_share_colour_pattern_and_strength():
    assert len({(look.colour, look.pattern, look.opacity) for look in LOOKS.values()}) == len(LOOKS)


def test_what_must_not_be_entered_has_a_pattern():
    assert LOOKS["zone"].pattern != "solid"
    assert LOOKS["keep_out"].pattern not in ("solid", LOOKS["zone"].pattern)


@pytest.mark.parametrize(
    ("value", "unit", "units", "said"),
    [
        (2.3, "m", "us", "7 ft 6 9/16 in"), (2.3, "m", "metric", "2.3 m"), (65.0, "degC", "us", "149 °F"),
        (None, "m", "us", ""), (1.19, "deg", "us", "1.2°"), (4.0, "count", "us", "4"),
    ],
)  # fmt: skip
def test_quantities_are_said_in_the_readers_units(value, unit, units, said):
    assert measure(value, unit, units) == said


def test_a_difference_of_temperatures_has_no_zero_point():
    assert margin(10.0, "degC", "us") == "18 °F"  # 10 K is 18 Fahrenheit degrees, not 50 °F


def test_an_unknown_price_stays_blank():
    assert money(None) == ""
    assert money(0.0) == "0.00"


def test_the_core_imports_nothing_of_the_viewer_and_the_scene_no_painter():
    code = (
        "import sys, ventroute, ventroute.layout.building, ventroute.io.site_file\n"
        "assert not [m for m in sys.modules if m.startswith('ventroute.viewer')]\n"
        "import ventroute.viewer.scene, ventroute.viewer.report, ventroute.viewer.paint\n"
        "print([m for m in ('pyvista', 'vtkmodules', 'trimesh', 'starlette') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
