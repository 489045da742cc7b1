"""A whole survey, from answers to the site that they describe."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from ventroute.cli.survey import Answers
from ventroute.errors import InputError
from ventroute.io.site_file import read_site_text
from ventroute.io.site_words import FEATURES
from ventroute.model.site import Site
from ventroute.survey.interview import Interview
from ventroute.survey.questions import Questions

ANSWERS = (Path(__file__).parent / "answers.txt").read_text(encoding="utf-8")
FOOT_M, INCH_M = 0.3048, 0.0254


def interview(answers: str, unit: str = "ft", *, patient: bool = False) -> str:
    """The site file that these answers make."""
    asked = Answers(io.StringIO(answers), "<stdin>", patient=patient, quiet=True)
    return Interview(Questions(asked, unit), FEATURES, ["model-a", "model-b"]).run()


def surveyed(answers: str) -> Site:
    """The site that these answers describe."""
    return read_site_text(interview(answers), "house.toml", Path())


def with_answer(old: str, new: str) -> str:
    assert ANSWERS.count(old) >= 1
    return ANSWERS.replace(old, new, 1)


def line_of(answers: str, text: str) -> int:
    return answers[: answers.index(text)].count("\n") + 1


@pytest.fixture(scope="module")
def site() -> Site:
    return surveyed(ANSWERS)


def test_place_is_as_it_was_said(site):
    assert site.name == "Test house"
    assert site.place.altitude_m == pytest.approx(850 * FOOT_M)
    assert site.place.winter_degC == pytest.approx(-15)  # 5 degF, exactly
    assert site.place.snow_m == pytest.approx(18 * INCH_M)


def test_half_an_inch_between_two_walls_is_shared_between_them(site):
    # 30 ft and 30 ft 1/2 in: the nearest room is 30 ft 1/4 in wide.
    xs = {x for x, _ in site.building.footprint}
    assert sorted(xs) == pytest.approx([0, 360.25 * INCH_M])


def test_a_gable_spans_the_whole_house_by_default(site):
    assert [roof.name for roof in site.roofs] == ["roof, south slope", "roof, north slope"]
    ridge_m = max(z for roof in site.roofs for _, _, z in roof.corners)
    assert ridge_m == pytest.approx(16 * FOOT_M)  # eave 10 ft, 12 ft of run at 6 in 12


def test_rooms_stand_where_their_corner_was_said(site):
    utility, closet, attic = site.rooms
    assert utility.floor[0] == pytest.approx((0.5 * FOOT_M, 0.5 * FOOT_M))
    assert utility.floor[2] == pytest.approx((12.5 * FOOT_M, 9.5 * FOOT_M))
    assert utility.top_m - utility.bottom_m == pytest.approx(86 * INCH_M)
    assert (utility.heated, closet.heated, attic.heated) == (True, True, False)
    assert attic.top_m is None


def test_holes_join_the_spaces_that_were_named(site):
    assert [hole.through for hole in site.holes] == [
        ("utility", "closet"),
        ("closet", "attic"),
        ("attic", "outdoors"),
    ]
    assert [hole.clear_m for hole in site.holes] == pytest.approx([6 * INCH_M] * 3)
    assert [cut.through for cut in site.cuts] == [("attic", "outdoors")]


def test_what_is_in_the_way_is_a_box_or_round(site):
    duct, drain = site.obstacles
    assert duct.size == pytest.approx((FOOT_M, 8 * FOOT_M, 0.8 * FOOT_M), abs=INCH_M / 32)
    assert drain.diameter_m == pytest.approx(2 * INCH_M)


def test_features_keep_what_their_rules_ask_for(site):
    window, deck, regulator = site.features
    assert window.kind == "window, openable"
    assert deck.open_sides == 3
    assert regulator.pressure_Pa == pytest.approx(2 * 6894.757, rel=1e-6)


def test_an_elbow_without_a_figure_is_not_used(site):
    two, three = site.appliance.sizes
    assert (two.size_in, three.size_in) == (2, 3)
    assert two.elbow_22_m is None
    assert three.elbow_22_m == pytest.approx(FOOT_M)
    assert three.min_length_m == pytest.approx(3 * FOOT_M)
    assert site.appliance.materials == ("PVC", "CPVC")


def test_patterns_elbows_terminal_and_growth_are_as_the_manual_has_them(site):
    two, three = site.appliance.sizes
    assert two.by_pattern == ()
    assert [of[:2] for of in three.by_pattern] == [(90.0, "short"), (90.0, "long")]
    assert [of[2] for of in three.by_pattern] == pytest.approx([8 * FOOT_M, 3 * FOOT_M])
    assert (two.max_elbows, three.max_elbows) == (None, 6)
    assert (two.terminal_m, three.terminal_m) == pytest.approx((0, 2 * FOOT_M))
    assert site.appliance.mixed_sizes == "by share"


def test_of_one_size_growth_is_not_asked_for():
    one = with_answer(ANSWERS[ANSWERS.index("3 in\n100 ft") : ANSWERS.index("\ninstallation")], "")
    assert "mixed_sizes" not in interview(one)


def test_a_model_of_the_catalog_stands_for_the_manual():
    start = ANSWERS.index("\nwater heater")
    text = interview(ANSWERS[:start].rstrip("\n") + "\nmodel-b\n")
    assert 'model = "model-b"' in text
    assert "exhaust_max" not in text


def test_going_round_the_other_way_gives_the_same_room(site):
    clockwise = "n 9\ne 12\ns 9\nw 12\n"
    other = surveyed(with_answer("e 12\nn 9\nw 12\ns 9\n", clockwise))
    assert set(other.rooms[0].floor) == set(site.rooms[0].floor)


def test_metric_answers_are_written_in_metres():
    text = interview(with_answer("\nft\n", "\nm\n").replace("30 ft 0 1/2 in", "30.01").replace("24 ft", "24"))
    assert 'units = "m"' in text
    assert '["30.005 m", "0 m"]' in text  # 1 cm between two walls, shared


def test_diagonals_are_asked_for_and_used():
    lean = with_answer("e 12\nn 9\nw 12\ns 9\n\n", "e 12\nn 9\nw 12\ns 9\n\n1-3 15 ft 1 in\n2-4 14 ft 11 in\n")
    floor = surveyed(lean).rooms[0].floor
    across = [sum((a - b) ** 2 for a, b in zip(floor[i], floor[i + 2], strict=True)) ** 0.5 for i in (0, 1)]
    assert across == pytest.approx([181 * INCH_M, 179 * INCH_M], abs=INCH_M / 8)


# What will not do


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("Test house", "", "name", "not a name"),
        ("\nft\n", "\nfeet\n", "units", "is not one of ft, in"),
        ("850 ft", "850,5 ft", "altitude", "comma"),
        ("5 degF", "5", "winter", "no unit"),
        ("east 30\n", "left 30\n", "outside wall 1", "is not a wall"),
        ("gable", "hipped", "roof", "is not one of gable, flat"),
        ("6/12", "6 12", "pitch", "not a pitch"),
        ("0.5, 0.5, -7.5", "0.5, 0.5", "utility corner", "2 lengths; wanted 3"),
        ("7 ft 2 in", "0", "utility height", "is no height"),
        ("heated", "warm", "utility air", "is not one of heated, unheated"),
        ("\ncloset\n4", "\nutility\n4", "room", "is named already"),
        ("\ncloset\n4", "\noutdoors\n4", "room", "is named already"),
        ("old flue, ceiling", "old flue, floor", "hole", "is named already"),
        ("\nutility\ncloset\nold", "\nutility\nclozet\nold", "old flue, floor to", "is not one of utility, closet"),
        ("window, openable", "window", "kitchen window kind", "is not one of window, openable"),
        ("2 psi", "2", "regulator pressure", "no unit"),
        ("\nIV\n", "\n4\n", "category", "is not one of I, II, III, IV"),
        ("149 degF", "149", "exhaust max", "no unit"),
        ("90 short 8 ft", "90 sharp 8 ft", "size 2 pattern 1", "wanted one of 90 short"),
        ("90 short 8 ft", "22 short 8 ft", "size 2 pattern 1", "wanted one of 90 short"),
        ("90 long 3 ft", "90 short 3 ft", "size 2 pattern 2", "has its figure already"),
        ("2 ft\n6\n", "2 ft\nsix\n", "size 2 max elbows", "is not a count"),
        ("by share", "yes", "mixed sizes", "is not one of no, by share"),
        ("PVC, CPVC", "PVC, PVZ", "materials", "PVZ"),
    ],
)  # fmt: skip
def test_a_bad_line_of_a_pipe_is_named_with_its_question(old, new, key, words):
    answers = with_answer(old, new)
    with pytest.raises(InputError) as caught:
        interview(answers)
    (fault,) = caught.value.faults
    assert (fault.file, fault.key) == ("<stdin>", key)
    assert words in fault.what
    first_changed = next(n for n, (a, b) in enumerate(zip(ANSWERS.split("\n"), answers.split("\n"), strict=False), 1)
                         if a != b)  # fmt: skip
    assert fault.line == first_changed


def test_readings_that_do_not_close_are_refused_and_walls_named():
    answers = with_answer("w 12\n", "w 13\n")
    with pytest.raises(InputError, match=r"utility: the readings miss by 1 ft in 43 ft \(one of walls 1, 3 could be"):
        interview(answers)


def test_a_house_without_rooms_is_refused():
    answers = ANSWERS[: ANSWERS.index("utility")] + "\n"
    with pytest.raises(InputError, match="at least one room is needed"):
        interview(answers)


def test_an_appliance_without_sizes_is_refused():
    answers = ANSWERS[: ANSWERS.index("2 in\n40 ft")] + "\n"
    with pytest.raises(InputError, match="at least one size is needed"):
        interview(answers)


@pytest.mark.parametrize("lines", [0, 1, 5, 20, 60, 100])
def test_answers_that_end_early_name_the_question(lines):
    answers = "".join(ANSWERS.splitlines(keepends=True)[:lines])
    with pytest.raises(InputError, match="the answers end here; wanted: ") as caught:
        interview(answers)
    assert caught.value.faults[0].line == lines + 1


def test_a_person_is_asked_again(capsys):
    once = with_answer("5 degF\n", "5\n5 degF\n").replace("w 12\n", "w 13\n", 1)
    spoilt = once.replace("s 9\n\n\n", "s 9\n\n\ne 12\nn 9\nw 12\ns 9\n\n\n", 1)
    assert interview(spoilt, patient=True) == interview(ANSWERS)
    said = capsys.readouterr().err
    assert '"5"' in said
    assert "the readings miss by 1 ft" in said


def test_control_characters_reach_no_file():
    with pytest.raises(InputError, match="not a name"):
        interview(with_answer("Test house", "Test\x1b[2Jhouse"))
