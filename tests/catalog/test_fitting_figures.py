"""Figures of the catalogs against the tables they come from, typed here a second time from those tables."""

from fractions import Fraction
from math import sqrt

import pytest

from ventroute.catalog.lookup import find_item, load_catalog
from ventroute.constants import INCH_M
from ventroute.model.parts import Bend, Coupling, PipeStock
from ventroute.model.source import Grade

approx = pytest.approx
SIZES = ("1.5", "2", "2.5", "3", "4", "5", "6")
DRAINAGE = ("1.5", "2", "3", "4", "6")


def inches(text):
    """A mixed fraction as printed in the tables."""
    return float(sum(Fraction(part) for part in text.split()))


def measure(item, name):
    return getattr(find_item(load_catalog(), item), name) / INCH_M


# Schedule 40 table of ASTM D1785 as given by two pipe-data pages: outside diameter, least wall, mean bore [in].
SCHEDULE_40 = {
    "1.5": (1.900, 0.145, 1.590),
    "2": (2.375, 0.154, 2.047),
    "2.5": (2.875, 0.203, 2.445),
    "3": (3.500, 0.216, 3.042),
    "4": (4.500, 0.237, 3.998),
    "5": (5.563, 0.258, 5.016),
    "6": (6.625, 0.280, 6.031),
}


@pytest.mark.parametrize("material", ["pvc", "cpvc"])
@pytest.mark.parametrize("size", SIZES)
def test_schedule_40_pipe_has_the_diameters_of_d1785(material, size):
    od, _, bore = SCHEDULE_40[size]
    assert measure(f"pipe-{material}-40-{size}", "od_m") == approx(od, abs=1e-9)
    assert measure(f"pipe-{material}-40-{size}", "bore_m") == approx(bore, abs=1e-9)


@pytest.mark.parametrize("size", DRAINAGE)
def test_abs_pipe_shares_them(size):
    # D2661 and F628 take the outside diameter and least wall of D1785.
    assert measure(f"pipe-abs-40-{size}", "od_m") == approx(SCHEDULE_40[size][0], abs=1e-9)


@pytest.mark.parametrize("size", SIZES)
def test_the_mean_bore_follows_from_the_wall_and_its_tolerance(size):
    # Wall tolerance: the larger of 0.020 in and 12 % of the least wall; mean bore = OD - 2 (wall + half of it).
    od, wall, _ = SCHEDULE_40[size]
    expected = od - 2 * (wall + max(0.020, 0.12 * wall) / 2)
    assert measure(f"pipe-pvc-40-{size}", "bore_m") == approx(expected, abs=1.01e-3)


def test_ten_feet_of_3_in_pvc_weigh_14_09_lb_and_of_4_in_20_06():
    # Weight column of the same table: 1.409 and 2.006 lb/ft.
    for size, pounds in (("3", 14.09), ("4", 20.06)):
        pipe = find_item(load_catalog(), f"pipe-pvc-40-{size}")
        assert isinstance(pipe, PipeStock)
        assert pipe.kg_m is not None
        assert pipe.kg_m * 3.048 / 0.45359237 == approx(pounds, abs=1e-6)


def test_the_weight_of_5_in_cpvc_is_left_blank():
    # The printed figure (2.874 lb/ft) does not fit the wall; what is not known is blank, never guessed.
    pipe = find_item(load_catalog(), "pipe-cpvc-40-5")
    assert isinstance(pipe, PipeStock)
    assert pipe.kg_m is None


# Moulded schedule 40 socket elbows (D2466) from the public data file: laying length and centre to face [in].
PRESSURE = {
    "90": [("1 1/16", "2 11/32"), ("1 5/16", "2 11/16"), ("1 1/2", "3 1/4"), ("1 27/32", "3 23/32"),
           ("2 13/32", "4 13/32"), ("3 1/16", "6 1/8"), ("3 17/32", "6 9/16")],
    "45": [("19/32", "1 29/32"), ("11/16", "2 1/16"), ("11/16", "2 7/16"), ("27/32", "2 27/32"),
           ("1 3/32", "3 3/32"), ("1 3/8", "4 3/8"), ("1 23/32", "4 3/4")],
    "22": [("11/32", ""), ("3/8", "1 23/32"), ("1/2", "2 1/4"), ("9/16", "2 13/32"), ("19/32", "2 27/32"),
           ("", ""), ("1 9/32", "4 9/16")],
}  # fmt: skip
HUB = ("2 1/4", "2 3/4", "3 11/32", "4", "5 1/32", "6 5/32", "7 9/32")


def pressure_item(material, angle, size):
    return f"elbow-{angle}-{material}-{size}" + ("-pressure" if material == "pvc" else "")


@pytest.mark.parametrize("material", ["pvc", "cpvc"])
@pytest.mark.parametrize("angle", ["90", "45", "22"])
def test_pressure_elbows_have_the_lengths_of_d2466(material, angle):
    for size, hub, (laying, face) in zip(SIZES, HUB, PRESSURE[angle], strict=True):
        if not laying:
            continue  # 5 in 22 1/2: a fabricated part, not stocked here
        item = pressure_item(material, angle, size)
        assert measure(item, "laying_m") == approx(inches(laying), abs=1e-9)
        assert measure(item, "hub_od_m") == approx(inches(hub), abs=1e-9)
        if face:
            both = measure(item, "laying_m") + measure(item, "socket_m")
            assert both == approx(inches(face), abs=1e-9)


# Remembered D3311 drainage bends, hub x hub: laying length of 90, 45, 22 1/2 (1 1/2, 2, 3, 4 in) [in].
DRAINAGE_LAYING = {
    "90": ("1 3/4", "2 5/16", "3 1/16", "3 7/8"),
    "45": ("1 1/8", "1 1/2", "1 3/4", "2 3/16"),
    "22": ("5/8", "3/4", "15/16", "1 1/8"),
}
DRAINAGE_SOCKET = ("11/16", "3/4", "1 1/2", "1 3/4")  # D2665; 3/4 and 1 1/2 read in a textbook
STREET = {"90": ("2 1/2", "3 7/32", "4 9/16", "5 5/8"), "45": ("1 7/8", "2 13/32", "3 1/4", "3 15/16")}


@pytest.mark.parametrize("material", ["pvc", "abs"])
@pytest.mark.parametrize("angle", ["90", "45", "22"])
def test_drainage_bends_have_the_lengths_remembered_from_d3311(material, angle):
    for size, laying, socket in zip(DRAINAGE, DRAINAGE_LAYING[angle], DRAINAGE_SOCKET, strict=False):
        bend = find_item(load_catalog(), f"elbow-{angle}-{material}-{size}")
        assert isinstance(bend, Bend)
        assert bend.laying_m / INCH_M == approx(inches(laying), abs=1e-9)
        assert bend.socket_m / INCH_M == approx(inches(socket), abs=1e-9)
        assert bend.evidence.grade is Grade.MEMORY


@pytest.mark.parametrize("angle", ["90", "45"])
def test_a_street_bend_reaches_laying_plus_spigot_to_its_spigots_end(angle):
    # Centre to spigot end, with the spigots read on street tees and wyes: 3/4, 29/32, 1 1/2, 1 3/4 in.
    for size, reach in zip(DRAINAGE, STREET[angle], strict=False):
        item = f"elbow-{angle}-pvc-{size}-street"
        assert measure(item, "laying_m") + measure(item, "spigot_m") == approx(inches(reach), abs=1e-9)


@pytest.mark.parametrize("size", ["1.5", "2", "3", "4"])
def test_remembered_drainage_lengths_lie_within_what_was_read(size):
    # A drainage bend is never shorter than the pressure bend; its vent bend lies between the pressure 90 and the
    # regular one; the long-sweep bend is longer than the regular one.
    for angle in ("90", "45", "22"):
        pressure = measure(f"elbow-{angle}-pvc-{size}-pressure", "laying_m")
        assert measure(f"elbow-{angle}-pvc-{size}", "laying_m") >= pressure
    short, regular = (measure(f"elbow-90-pvc-{size}{kind}", "laying_m") for kind in ("-short", ""))
    assert measure(f"elbow-90-pvc-{size}-pressure", "laying_m") <= short < regular
    assert regular < measure(f"elbow-90-pvc-{size}-long", "laying_m")


def test_hubs_of_drainage_bends_are_taken_no_smaller_than_their_lower_bound():
    # Socket entrance and two least walls: 2.21, 2.70, 3.95, 4.99, 7.21 in (1 1/2, 2, 3, 4, 6).
    for size, least in zip(DRAINAGE, (2.21, 2.70, 3.95, 4.99, 7.21), strict=True):
        assert measure(f"elbow-90-pvc-{size}", "hub_od_m") >= least


def test_couplings_leave_the_gaps_remembered():
    # D2466: 3/32 in to 2 in, 3/16 to 4, 1/4 beyond. DWV: 1/16 to 1/8, the middle.
    for size, gap in zip(SIZES, (3 / 32, 3 / 32, 3 / 16, 3 / 16, 3 / 16, 1 / 4, 1 / 4), strict=True):
        assert measure(f"coupling-cpvc-{size}", "gap_m") == approx(gap, abs=1e-9)
    assert all(1 / 16 <= measure(f"coupling-pvc-{size}", "gap_m") <= 1 / 8 for size in DRAINAGE)


def test_reducer_bushings_take_the_spigot_less_the_small_socket():
    # 2 x 1 1/2: 0.06; 3 x 2: 0.75; 4 x 3: 0.25; 3 x 1 1/2: 0.81; 4 x 2: 1.0; 6 x 4: 1.25 in (derived, unsure).
    lengths = {"2-1.5": 0.06, "3-2": 0.75, "4-3": 0.25, "3-1.5": 0.81, "4-2": 1.0, "6-4": 1.25}
    for sizes, length in lengths.items():
        assert measure(f"reducer-pvc-{sizes}", "length_m") == approx(length, abs=0.004)


def test_polypropylene_is_sized_by_its_outside_diameter_in_mm():
    # EN 14471 systems: DN 60, 80, 100, 110, 125, 160.
    sizes = {"2": 60, "3": 80, "3.937": 100, "4": 110, "5": 125, "6": 160}
    for size, mm in sizes.items():
        assert measure(f"pipe-pp-single-{size}", "od_m") * 25.4 == approx(mm, abs=1e-9)


def test_stainless_vent_is_sized_by_its_bore_and_never_cut():
    for size in ("3", "4", "5", "6"):
        pipe = find_item(load_catalog(), f"pipe-stainless-single-{size}")
        assert isinstance(pipe, PipeStock)
        assert pipe.bore_m / INCH_M == approx(float(size), abs=1e-9)
        assert not pipe.can_be_cut


# Worked take-offs: arithmetic from first principles, figures from the catalog.


def test_a_12_in_offset_in_3_in_drainage_45s_is_cut_at_13_471_in():
    # Travel 12 sqrt 2 = 16.971 in, less two laying lengths of 1 3/4.
    assert 12 * sqrt(2) - 2 * measure("elbow-45-pvc-3", "laying_m") == approx(13.471, abs=1e-3)


def test_the_same_offset_in_pressure_45s_is_cut_at_15_283_in_from_stops_and_from_faces():
    bend = find_item(load_catalog(), "elbow-45-pvc-3-pressure")
    assert isinstance(bend, Bend)
    laying, socket = bend.laying_m / INCH_M, bend.socket_m / INCH_M
    assert 12 * sqrt(2) - 2 * laying == approx(15.283, abs=1e-3)
    assert 12 * sqrt(2) - 2 * inches("2 27/32") + 2 * socket == approx(15.283, abs=1e-3)
    drainage = measure("elbow-45-pvc-3", "laying_m")
    assert 2 * (drainage - laying) == approx(1.8125, abs=1e-9)


def test_a_24_in_jog_of_90s_is_cut_at_17_7_8_or_20_5_16_in_by_pattern():
    for item, cut in (("elbow-90-pvc-3", 17.875), ("elbow-90-pvc-3-pressure", 20.3125)):
        assert 24 - 2 * measure(item, "laying_m") == approx(cut, abs=1e-9)


def test_the_shortest_3_in_45_offsets_are_4_596_3_536_and_4_022_in():
    # Hub to hub, hub to street without pipe, and hub to hub in the pressure pattern.
    hub = 2 * (measure("elbow-45-pvc-3", "laying_m") + measure("elbow-45-pvc-3", "socket_m"))
    street = measure("elbow-45-pvc-3", "laying_m") + (
        measure("elbow-45-pvc-3-street", "laying_m") + measure("elbow-45-pvc-3-street", "spigot_m")
    )
    press = "elbow-45-pvc-3-pressure"
    pressure = 2 * (measure(press, "laying_m") + measure(press, "socket_m"))
    assert [distance / sqrt(2) for distance in (hub, street, pressure)] == approx([4.596, 3.536, 4.022], abs=1e-3)


def test_a_6_in_offset_in_3_in_pressure_22_halves_is_cut_at_14_554_in():
    # Travel 6 / sin 22.5 = 15.679 in.
    assert 15.679 - 2 * measure("elbow-22-pvc-3-pressure", "laying_m") == approx(14.554, abs=1e-3)


def test_a_textbook_run_between_2_in_hub_faces_is_cut_at_55_1_2_in():
    # Modern Plumbing: 4 ft 6 in between faces, engagement 3/4 in at each end.
    assert 54 + 2 * measure("elbow-90-pvc-2", "socket_m") == approx(55.5, abs=1e-9)


def test_a_3_in_hub_passes_an_old_4_in_gas_vents_hole_and_a_4_in_hub_does_not():
    # Double-wall gas vent of 4 in: about 4 1/2 in outside.
    assert measure("elbow-90-pvc-3", "hub_od_m") + 2 * 0.25 <= 4.5
    assert measure("elbow-90-pvc-4", "hub_od_m") > 4.5
    assert measure("pipe-pvc-40-4", "od_m") == approx(4.5)


def test_a_2_in_hub_fits_a_stud_wall_and_a_3_in_hub_does_not():
    # The cavity of a 2 x 4 wall is 3 1/2 in.
    assert measure("coupling-pvc-2", "hub_od_m") < 3.5 < measure("coupling-pvc-3", "hub_od_m")
    assert isinstance(find_item(load_catalog(), "coupling-pvc-3"), Coupling)
