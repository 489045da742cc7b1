"""The worksheet adds up; the order of work can be followed; the summary tells what is needed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.drawing import samples
from ventroute.drawing.assembly import benches, by_space, joints, part_rows, steps
from ventroute.drawing.summary import WIDTH, terminal_summary
from ventroute.drawing.worksheet import worksheet
from ventroute.model.plan import PlannedRoute
from ventroute.model.route import PartKind

FOOT = 0.3048


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(["centreline", "pipe"]))
def test_the_lines_add_up_to_the_plans_equivalent_length(seed: int, count: str):
    planned = samples.random_route(seed)
    if count == "pipe":
        route = planned.route
        planned = replace(planned, route=replace(route, runs_m=sum(p.cut_m or 0.0 for p in route.parts)))
    lines = worksheet(planned, replace(samples.appliance(), count=count), "us")
    assert lines[-1].total_m == pytest.approx(planned.route.equivalent_m, abs=1e-6)
    assert not any("not on the lines" in line.what for line in lines)
    total = 0.0
    for line in lines:
        total += line.length_m
        assert line.total_m == pytest.approx(total)


def test_the_sample_adds_up_by_hand():
    # Runs 2.5 + 3.0007 + 10.9375 + 2.8284 + 4 ft; two 90s at 5 ft, two 45s at 2.5 ft.
    lines = worksheet(samples.roof_route(), samples.appliance(), "us")
    assert [line.length_m / FOOT for line in lines if line.what.startswith("run")] == pytest.approx(
        [2.5, 3.00065, 10.9375, 2.82843, 4.0], abs=1e-4
    )
    assert lines[-1].total_m / FOOT == pytest.approx(23.2666 + 15.0, abs=1e-3)


def test_a_sum_that_does_not_match_is_shown_not_hidden():
    planned = samples.roof_route()
    wrong = replace(planned, route=replace(planned.route, fittings_m=planned.route.fittings_m + 1.0))
    last = worksheet(wrong, samples.appliance(), "us")[-1]
    assert last.what == "not on the lines above"
    assert last.length_m == pytest.approx(1.0)


def test_a_fitting_that_counts_less_than_the_table_says_so():
    # A plan that understates a bend is the unsafe direction: 90s count 5 ft in the table, here 4 ft.
    planned = samples.roof_route()
    parts = tuple(replace(p, equivalent_m=4 * FOOT) if p.n == 2 else p for p in planned.route.parts)
    lines = worksheet(replace(planned, route=replace(planned.route, parts=parts)), samples.appliance(), "us")
    assert next(line.basis for line in lines if line.what.startswith("part 2")).startswith(
        "the appliance's table says 5 ft"
    )
    assert next(line.basis for line in lines if line.what.startswith("part 4")) == "the appliance's table"


def test_a_size_that_is_not_in_the_table_is_not_passed_over():
    without = replace(samples.appliance(), sizes=samples.appliance().sizes[:1])
    lines = worksheet(samples.roof_route(), without, "us")
    assert all("no figure" in line.basis for line in lines if line.what.startswith("part"))


def test_steps_say_then_only_after_something():
    assert "Then" not in text_of(samples.roof_route())


def text_of(planned: PlannedRoute) -> str:
    return " ".join(line for step in steps(planned.route, "us") for line in step.lines)


def test_a_piece_goes_through_its_hole_before_its_fittings_are_joined():
    text = text_of(samples.roof_route())
    assert (
        'Slide piece 5 through "old flue, first floor" and "old flue, ceiling" before parts 4 and 6 are joined' in text
    )
    assert 'Slide piece 11 through "roof patch" before part 10 is joined' in text


def falling(planned: PlannedRoute) -> PlannedRoute:
    """The same with every level run falling as much as it rose."""
    runs = [
        replace(run, end_m=(*run.end_m[:2], 2 * run.start_m[2] - run.end_m[2]))
        if abs(run.end_m[2] - run.start_m[2]) < 0.1 * np.hypot(*np.subtract(run.end_m, run.start_m)[:2])
        else run
        for run in planned.route.runs
    ]
    return replace(planned, route=replace(planned.route, runs=tuple(runs)))


def test_level_runs_are_set_the_way_the_water_goes():
    rising = samples.roof_route()  # every level run rises 1/4 in per ft, by construction
    assert text_of(rising).count("at least 1/4 in per ft up, away from the appliance") == 2
    assert text_of(falling(rising)).count("at least 1/4 in per ft down, away from the appliance") == 2
    assert "per ft up" not in text_of(falling(rising))


def test_steps_come_in_working_order():
    titles = [step.title.split()[0] for step in steps(samples.roof_route().route, "us")]
    assert titles == ["Cut", "Mark", "Turn", "Dry-fit,", "Through", "Join", "Support,"]


def test_a_gasketed_system_is_never_cemented():
    planned = samples.roof_route()
    kit = replace(planned.route.kit, material=replace(planned.route.kit.material, joint="gasketed"))
    text = text_of(replace(planned, route=replace(planned.route, kit=kit)))
    assert "cement" not in text
    assert "gasket" in text


@pytest.mark.parametrize("seed", range(15))
def test_every_part_is_dry_fitted_once_and_every_bench_piece_is_bounded(seed: int):
    route = samples.random_route(seed).route
    assert [part.n for _, parts in by_space(route) for part in parts] == [part.n for part in route.parts]
    kinds = {part.n: part.kind for part in route.parts}
    passing = {part.n for part in route.parts if part.passes}
    for numbers in benches(route):
        assert kinds[numbers[0]] is kinds[numbers[-1]] is PartKind.ELBOW
        assert not passing & set(numbers)
        assert numbers == list(range(numbers[0], numbers[-1] + 1))


def test_joints_are_counted_between_neighbours():
    # Parts 1 to 11 and the terminal, which is not joined: ten joints.
    assert joints(samples.roof_route().route) == 10
    assert len(part_rows(samples.roof_route().route, "us")) == 12


def test_the_summary_says_what_fits_by_how_much_and_what_does_not():
    lines = terminal_summary(samples.plan(), "us", samples.CAUTIONS)
    text = "\n".join(lines)
    assert "equivalent 38 ft 3 3/16 in of 60 ft: 21 ft 8 13/16 in left" in text
    assert "2 in PVC to the roof: 2 in PVC to the roof needs 47 ft 2 in, 7 ft 2 in too much" in text
    assert "memory, unverified" in " ".join(text.split())  # wherever the line was broken
    assert text.index("ASK") < text.index("pass ")


def test_the_cautions_stand_once_at_the_end():
    lines = terminal_summary(samples.plan(), "us", samples.CAUTIONS)
    text = "\n".join(lines)
    assert all(text.count(caution) == 1 for caution in samples.CAUTIONS)
    assert lines[-1].endswith(samples.CAUTIONS[-1])


@pytest.mark.parametrize("units", ["us", "metric"])
def test_summary_lines_fit_a_terminal(units: str):
    for seed in range(8):
        lines = terminal_summary(samples.plan(samples.random_route(seed)), units, samples.CAUTIONS)
        assert max(map(len, lines)) <= WIDTH
        assert all(line == line.rstrip() for line in lines)


def test_no_route_is_said_plainly():
    lines = terminal_summary(replace(samples.plan(), routes=()), "us")
    assert lines[0] == "Sample house: no route keeps all rules, rules us-2021"


def test_an_unknown_price_is_not_shown_as_nothing():
    text = "\n".join(terminal_summary(samples.plan(), "us"))
    assert "price not known" in text
    assert "129.00" in text  # 6 sticks at 21.50
