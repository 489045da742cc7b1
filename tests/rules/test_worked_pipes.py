"""Worked cases of pipe, material, support and structure that concern rules; the mark of each figure beside it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.rules.routes import PVC, kit, out_north, site, straight_up
from tests.rules.yard import appliance, house, m, pack
from ventroute.layout.supports import supports
from ventroute.model.appliance import SizeLimit
from ventroute.model.parts import Material
from ventroute.model.plan import Verdict
from ventroute.model.route import Run
from ventroute.model.source import Evidence, Grade
from ventroute.rules.framing import bore, needs_plate
from ventroute.rules.length import rise_m, slope_deg
from ventroute.rules.materials import gate, joint
from ventroute.rules.supports import growth_m, held, spacing, support_findings

US = pack("us-2021")
PER_F = 1.8  # a coefficient per degF, per K


@pytest.mark.parametrize(
    ("length", "rise_F", "per_F", "growth"),
    [
        ("500 ft", 60.0, 3.0e-5, "10.8 in"),  # PVC, handbook page, read
        ("40 ft", 50.0, 3.4e-5, "0.816 in"),  # CPVC, sprinkler pipe guide, read
        ("100 ft", 20.0, 5.5e-5, "1.32 in"),  # ABS, plastics design sheet, read
        ("20 ft", 80.0, 3.0e-5, "0.576 in"),  # case 12: PVC vent from 60 to 140 degF
    ],
)
def test_cases_11_and_12_growth_by_handbooks(length, rise_F, per_F, growth):
    grown = growth_m(m(length), per_F * PER_F, 15.0, 15.0 + rise_F / 1.8)
    assert grown == pytest.approx(m(growth), rel=1e-3)


@pytest.mark.parametrize(
    ("length_m", "per_K", "from_degC", "to_degC", "growth_mm"),
    [
        (6.0, 50.4e-6, 0.0, 60.0, 18.1),  # PVC, web table, read
        (10.0, 0.16e-3, 0.0, 70.0, 112.0),  # PP flue, trade article, read
        (3.0, 0.16e-3, 15.0, 75.0, 28.8),  # case 12: PP run
    ],
)
def test_cases_11_and_12_growth_in_metric(length_m, per_K, from_degC, to_degC, growth_mm):
    assert growth_m(length_m, per_K, from_degC, to_degC) * 1000 == pytest.approx(growth_mm, abs=0.05)


def material(name: str, letter: str, service: float | None) -> Material:
    return Material(name, letter, None, service, 5e-5, 0.15, 0.9, 1.5e-6, "cemented", Evidence("t", Grade.INVENTED))


CLASSED = {"PVC": ("II A", 60.0), "CPVC": ("II B", 93.0), "PP": ("II C", None), "stainless": ("I", None)}


def gates(name: str, degC: float) -> tuple[Verdict, Verdict | None]:
    """What class and plain pipe's own limit say."""
    letter, service = CLASSED[name]
    heater = appliance(materials=(name,), exhaust_max_degC=degC)
    found = {f.rule: f.verdict for f in gate(heater, material(name, letter, service), 3.0, US, house().want)}
    return found["material.class"], found.get("material.service")


def test_case_13_exhaust_temperature_against_class_and_plain_pipe():
    # Classes read in the notice for ULC 636: 65, 90, 110, above 135 to 245 degC. Plain PVC 140 degF, read.
    assert gates("PVC", 63.0) == (Verdict.PASS, Verdict.ASK)  # allowed by class, and a person is told
    assert gates("PVC", 70.0)[0] is Verdict.FAIL
    assert gates("CPVC", 70.0)[0] is Verdict.PASS
    assert gates("CPVC", 95.0)[0] is Verdict.FAIL
    assert gates("PP", 95.0)[0] is Verdict.PASS
    assert gates("PP", 120.0)[0] is Verdict.FAIL  # whatever a European T120 mark allows
    assert gates("stainless", 150.0)[0] is Verdict.PASS


def test_without_a_class_plain_pipe_s_own_limit_decides():
    heater = appliance(materials=("ABS",), exhaust_max_degC=62.0)
    found = {f.rule: f.verdict for f in gate(heater, material("ABS", "", 60.0), 3.0, US, house().want)}
    assert found["material.class"] is Verdict.ASK
    assert found["material.service"] is Verdict.FAIL


def level_m(material: str, size_in: float, degC: float) -> float:
    return held(US, material, size_in, degC).level.value


def test_case_15_hangers_of_a_straight_23_ft_of_2_in_pvc():
    # 4 ft by the UPC as adopted, read: 7 hangers; 3 ft at 140 degF by the table for warm pipe, read: 9.
    for degC, feet, count in ((30.0, 4, 7), (60.0, 3, 9)):
        assert level_m("PVC", 2.0, degC) == pytest.approx(feet * 0.3048)
        heater = appliance(exhaust_max_degC=degC)
        level = (Run((0.0, 0.0, 1.0), (m("23 ft"), 0.0, 1.0), m("23 ft")),)
        laid = replace(straight_up(site()), kit=kit(size_in=2.0), runs=level, crossings=())
        used = US.applying(heater)
        (found,) = [f for f in support_findings(heater, used, laid) if f.rule == "support.spacing"]
        assert found.note.split("; ")[1].startswith(f"{count} hangers")
        assert supports(laid, spacing(used, heater, laid.kit)).level == count  # what the shopping list counts


@pytest.mark.parametrize(
    ("size", "degC", "feet"),
    [(3.0, 40.0, 4.0), (3.0, 60.0, 3.5), (4.0, 60.0, 4.0), (5.0, 60.0, 4.0), (6.0, 60.0, 4.0), (2.0, 15.0, 4.0)],
)
def test_hangers_keep_the_lesser_of_code_and_warm_table(size, degC, feet):
    assert level_m("PVC", size, degC) == pytest.approx(feet * 0.3048)


def test_between_two_rows_the_hotter_one_counts():
    # 3 in PVC: 120 degF 4 ft, 140 degF 3 1/2 ft; at 130 degF (54.4 degC) it is 3 1/2 ft.
    assert level_m("PVC", 3.0, 54.4) == pytest.approx(m("3.5 ft"))


@pytest.mark.parametrize(
    ("material", "size", "level", "upright"),
    [("ABS", 3.0, "4 ft", "10 ft"), ("CPVC", 1.0, "3 ft", "10 ft"), ("CPVC", 2.0, "4 ft", "10 ft"), ("PP", 3.0, "1 m", "2 m")],
)  # fmt: skip
def test_hangers_of_the_other_plastics(material, size, level, upright):
    # ABS, CPVC: IRC 2018 table P2605.1, read. PP: one clamp to a pipe of at most 2 m, second-hand.
    found = held(US, material, size, 50.0)
    assert (found.level.value, found.upright.value) == (pytest.approx(m(level)), pytest.approx(m(upright)))


@given(st.floats(15.0, 90.0), st.floats(0.0, 20.0), st.sampled_from([1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0]))
def test_hotter_gas_is_never_held_farther_apart(degC, more, size_in):
    assert level_m("PVC", size_in, degC + more) <= level_m("PVC", size_in, degC)


def test_beyond_the_table_its_last_row_holds_and_a_person_is_asked():
    # The warm table ends at 140 degF; class II A goes to 149 degF.
    found = held(US, "PVC", 3.0, 65.0)
    assert found.level.value == pytest.approx(m("3.5 ft"))
    heater = appliance(exhaust_max_degC=65.0)
    asked = [f for f in support_findings(heater, US, out_north(site(heater))) if f.rule == "support.spacing"]
    assert {f.verdict for f in asked} == {Verdict.ASK}
    assert all("140 degF" in f.note or "140 °F" in f.note for f in asked)
    assert held(US, "PVDF", 3.0, 60.0) is None
    assert held(US, "PVC", 8.0, 60.0) is None


def test_what_was_remembered_of_a_row_does_not_borrow_the_grade_of_the_rest():
    # PVC level 4 ft: UPC as adopted, read. PVC upright 10 ft: the row of IRC P2605.1 was cut off, memory.
    found = held(US, "PVC", 3.0, 40.0)
    assert found.level.evidence.grade is Grade.STANDARD
    assert found.upright.evidence.grade is Grade.MEMORY
    assert held(US, "stainless", 4.0, 100.0).upright is None


def test_case_16_slope():
    # 15 ft at 1/4 in per ft: 3.75 in, sloped 180.039 in, 1.194 degrees. Pitch read in an installation paper.
    rise = rise_m(m("15 ft"), 1 / 48)
    assert rise == pytest.approx(m("3.75 in"))
    assert math.hypot(m("15 ft"), rise) == pytest.approx(m("180.039 in"), abs=1e-5)
    assert slope_deg((0, 0, 0), (m("15 ft"), 0, rise)) == pytest.approx(1.194, abs=1e-3)
    assert rise_m(m("15 ft"), math.tan(math.radians(3))) == pytest.approx(m("9.43 in"), abs=1e-4)  # EN 14471, read


def test_case_17_equivalent_length_by_practice():
    # 2 in, 25 ft, three 90s at 5 ft and two 45s at 2 1/2 ft: 45 ft. Common practice.
    row = SizeLimit(2.0, 30.0, elbow_90_m=m("5 ft"), elbow_45_m=m("2.5 ft"))
    total = m("25 ft") + 3 * row.equivalent_m(90.0) + 2 * row.equivalent_m(45.0)
    assert total == pytest.approx(m("45 ft"))


JOIST, STUD = US.rule("framing.joist"), US.rule("framing.stud")


@pytest.mark.parametrize(
    ("depth", "hole", "most", "allowed"),
    [
        ("9.25 in", "3.5 in", "3.083333 in", False),  # 3 in pipe through a 2x10
        ("9.25 in", "2.5 in", "3.083333 in", True),  # 2 in pipe
        ("5.5 in", "1.9 in", "1.5 in", False),  # 1 1/2 in pipe through a 2x6: the edges govern
        ("7.25 in", "2.375 in", "2.416667 in", True),
        ("11.25 in", "3.5 in", "3.75 in", True),
    ],
)
def test_case_19_boring_joists(depth, hole, most, allowed):
    # IRC R502.8.1 as inspection pages quote it: a third of the depth, 2 in from the edges.
    result = bore(JOIST, m(depth), m(hole))
    assert result.most_m == pytest.approx(m(most), abs=1e-6)
    assert result.allowed is allowed


def test_case_19_the_edge_left_beside_a_centred_hole():
    assert bore(JOIST, m("9.25 in"), m("2.5 in")).edge_m == pytest.approx(m("3.375 in"))
    assert not bore(JOIST, m("9.25 in"), m("2.5 in"), m("1.9 in")).allowed


@pytest.mark.parametrize(
    ("width", "pipe", "allowed", "doubled"),
    [
        ("3.5 in", "1.9 in", True, True),  # 54 %: only in doubled studs
        ("3.5 in", "2.375 in", False, False),
        ("5.5 in", "1.9 in", True, False),  # 35 %
        ("5.5 in", "2.375 in", True, True),  # 43 %
        ("5.5 in", "3.5 in", False, False),
    ],
)
def test_studs_may_be_bored_to_40_or_doubled_to_60_percent(width, pipe, allowed, doubled):
    # IRC R602.6, read on the printed page.
    result = bore(STUD, m(width), m(pipe))
    assert (result.allowed, result.doubled) == (allowed, doubled)


def test_case_20_what_an_old_type_b_hole_takes():
    # Outside diameter of the old vent 4 1/2 in: memory. 3 in hub 4.0, 4 in hub 5 1/32: second-hand.
    hole = m("4.5 in")
    assert (hole - m("4 in")) / 2 == pytest.approx(m("1/4 in"))
    assert m("5 1/32 in") > hole
    assert hole - m("4.5 in") < US.rule("hole.fit").figures["least"].value  # an exact fit is asked about


def test_plates_guard_pipe_within_an_inch_and_a_half():
    # IFGC 502.7, memory.
    shield = US.rule("framing.shield")
    assert needs_plate(shield, m("1.4 in"))
    assert not needs_plate(shield, m("1.5 in"))
    assert shield.evidence.grade is Grade.MEMORY


@pytest.mark.parametrize(
    ("first", "second", "cement", "primer"),
    [
        ("PVC", "PVC", "ASTM D2564", "ASTM F656"),
        ("CPVC", "CPVC", "ASTM F493", "ASTM F656"),
        ("ABS", "ABS", "ASTM D2235", ""),  # primer is not recommended there
        ("PVC", "ABS", "ASTM D3138", ""),  # the transition joint, that one only
    ],
)
def test_cement_and_primer_by_pair(first, second, cement, primer):
    # Named by installation papers, read there.
    found = joint(US, first, second)
    assert (found.cement, found.primer) == (cement, primer)


def test_pairs_without_a_standard_have_no_joint():
    assert joint(US, "PVC", "CPVC") is None
    assert joint(US, "PP", "PP") is None
    assert PVC.joint == "cemented"


def test_the_gate_tells_every_reason_and_wants():
    heater = appliance(materials=("PVC",))
    want = house().want.__class__(materials=("ABS",), sizes_in=(2.0,))
    found = gate(heater, PVC, 3.0, US, want)
    assert [f.rule for f in found if f.verdict is Verdict.FAIL] == ["material.listed", "size.listed"]
    missing = gate(heater, PVC, 4.0, US, house().want)
    assert any(f.rule == "size.listed" and "3 in" in f.note for f in missing if f.verdict is Verdict.FAIL)
