"""Words on drawings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.drawing import samples
from ventroute.drawing.summary import findings_lines, shopping_lines
from ventroute.drawing.words import (
    angle_words,
    grade_words,
    level_words,
    measure,
    part_words,
    pipe_words,
    proof_words,
    room_name,
    route_title,
    worst_first,
)
from ventroute.layout.building import build
from ventroute.model.plan import Finding, Verdict
from ventroute.model.source import Grade

HOUSE = samples.house()


def test_the_room_of_a_point_is_the_houses_own_answer():
    # Two ways to the same answer: polygons and heights here, convex bodies in the layout. Points near a face aside.
    building = build(HOUSE)
    chance = np.random.default_rng(7)
    low, high = np.array(samples.feet(0.6, 0.6, -7.4)), np.array(samples.feet(29, 23, 16))
    asked = 0
    for point in chance.uniform(low, high, (400, 3)):
        near = {building.room_at(point + step) for step in 0.25 * np.vstack([np.eye(3), -np.eye(3)])}
        room = building.room_at(point)
        if near == {room} and room != "outdoors":
            asked += 1
            assert room_name(HOUSE, tuple(point)) == (room or "")
    assert asked > 60


def test_a_point_above_the_roof_is_in_no_room():
    assert room_name(HOUSE, samples.feet(8, 7, 10)) == "attic"
    assert room_name(HOUSE, samples.feet(8, 7, 13)) == ""


def test_titles_and_parts():
    route = samples.roof_route().route
    assert route_title(route, "us") == "3 in PVC to the roof"
    assert pipe_words(route, "us") == "3 in PVC, schedule 40"
    assert part_words(route.parts[0], route.kit, "us") == "pipe, cut 2 ft 2 15/16 in"  # 30 in less 3 1/16 in
    assert part_words(route.parts[1], route.kit, "us") == "elbow 90"
    assert part_words(replace(route.parts[1], street=True, nominal_deg=22.5), route.kit, "us") == "street elbow 22 1/2"
    assert part_words(route.parts[-1], route.kit, "us") == "terminal"


@pytest.mark.parametrize(("degrees", "words"), [(90.0, "90"), (45.0, "45"), (22.5, "22 1/2"), (11.25, "11.25")])
def test_angles_as_the_trade_says_them(degrees: float, words: str):
    assert angle_words(degrees) == words


@pytest.mark.parametrize(
    ("value", "unit", "us", "metric"),
    [
        (3.048, "m", "10 ft", "3.048 m"),  # 1 ft = 0.3048 m exactly
        (65.0, "degC", "149 °F", "65 °C"),  # 65 * 9 / 5 + 32
        (249.08891, "Pa", "1 in w.c.", "249.1 Pa"),  # conventional inch of water, NIST SP 811 appendix B.8
        (4.0, "count", "4", "4"),
        (1.25, "deg", "1.2°", "1.2°"),
    ],
)
def test_measures_in_their_units(value: float, unit: str, us: str, metric: str):
    assert measure(value, unit, "us") == us
    assert measure(value, unit, "metric") == metric


def test_levels_are_said_above_or_below_grade():
    assert level_words(0.0, 0.3048, "us") == "1 ft below grade"
    assert level_words(0.6096, 0.3048, "us") == "1 ft above grade"


def test_only_what_was_read_in_its_own_text_counts_as_verified():
    assert grade_words(Grade.STANDARD) == "standard read"
    assert all(grade_words(g).endswith(", unverified") for g in Grade if g not in (Grade.STANDARD, Grade.SITE))


def test_findings_are_ordered_failed_then_to_judge_then_by_margin():
    findings = samples.roof_route().findings
    broken = replace(findings[2], verdict=Verdict.FAIL)
    order = [f.verdict for f in worst_first((*findings, broken))]
    assert order == [Verdict.FAIL, Verdict.ASK, *[Verdict.PASS] * 3]
    shares = [f.margin / f.limit for f in worst_first(findings) if f.margin is not None and f.limit]
    assert shares == sorted(shares)


def test_only_what_is_proved_is_called_proved():
    made = samples.roof_route()
    length = made.route.equivalent_m
    least = replace(made, least_possible_m=length / 2, proved_optimal=False, least_in_steps_m=0.0)
    assert "proved" not in proof_words(least, "us")
    assert "a shorter one is not ruled out" in proof_words(least, "us")
    steps = proof_words(replace(least, least_in_steps_m=length), "metric")
    assert steps.startswith("shortest at the rolls that were searched, proved; none is under")
    assert (
        proof_words(replace(least, least_possible_m=length, proved_optimal=True), "us") == "shortest possible, proved"
    )


def test_a_total_says_how_many_lines_have_no_price():
    made = samples.roof_route()
    assert [line.cost is None for line in made.shopping] == [False, True, False]
    total = shopping_lines(made, "us")[-1]
    sticks = made.shopping[0].quantity  # at 21.50; what has no price is left out, and the cement is in the box
    assert f"together {21.5 * sticks:.2f} and 1 without a price" in total
    priced = replace(made, shopping=tuple(line for line in made.shopping if line.cost is not None))
    assert "without a price" not in shopping_lines(priced, "us")[-1]


def test_a_room_s_volume_is_read_in_cubic_feet():
    # exact: 35.3147 cubic feet to the cubic metre
    assert measure(10.0, "m3", "us") == "353 cu ft"
    assert measure(10.0, "m3", "metric") == "10 m3"


def test_a_figure_that_ends_in_a_stop_gets_no_second_one():
    found = Finding("flue.drop", "s", Grade.PRACTICE, "the vent", 31.0, 62.0, "Pa", Verdict.PASS, 31.0, "computed")
    said = " ".join(findings_lines((found,), "us"))
    assert "in w.c. computed" in said
    assert ".." not in said
