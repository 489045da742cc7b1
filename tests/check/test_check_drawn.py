"""`ventroute check` of routes drawn by hand in a shed of one room: what passes, and each way to fail."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from ventroute.cli.main import run

SHED = Path(__file__).parent / "shed.toml"
HEAD = 'format = 1\nmaterial = "PVC"\nsize = "2 in"\nterminal = "{}"\n'


def drawn(terminal: str, *runs: str) -> str:
    return HEAD.format(terminal) + "".join(f"[[run]]\n{run}\n" for run in runs)


UP = drawn("roof", 'toward = "up"\nlength = "8 ft"\nthrough = ["roof hole"]')
# From the collar at (3, 5, 3): up 1 ft 9 5/16 in, then east. At 1/4 in a foot the axis is 3.1875 in higher in the
# middle of the wall, 12 ft 9 in on; so it crosses the wall's hole, at 5 ft, in its middle.
EAST = drawn(
    "wall",
    'toward = "up"\nlength = "20 13/16 in"',
    'toward = "east"\nlength = "13 ft 8 in"\nthrough = ["wall hole"]',
)


def check(tmp_path: Path, text: str, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, list[dict[str, Any]]]]:
    """Exit status, and the findings by rule."""
    path = tmp_path / "route.toml"
    path.write_text(text, encoding="utf-8")
    status = run(["check", str(SHED), str(path), "--json"])
    said = capsys.readouterr()
    assert said.err == ""
    found: dict[str, list[dict[str, Any]]] = {}
    for finding in json.loads(said.out)["routes"][0]["findings"]:
        found.setdefault(finding["rule"], []).append(finding)
    return status, found


def fails(found: dict[str, list[dict[str, Any]]]) -> set[str]:
    return {rule for rule, findings in found.items() if any(f["verdict"] == "fail" for f in findings)}


def test_straight_up_through_the_roof_passes(tmp_path, capsys):
    status, found = check(tmp_path, UP, capsys)
    assert (status, fails(found)) == (0, set())
    length = found["length.max"][0]
    assert length["measured"] == pytest.approx(8 * 0.3048)  # 8 ft of pipe, no elbow
    assert length["limit"] == pytest.approx(30 * 0.3048)


def test_along_the_ceiling_and_out_of_the_wall_passes(tmp_path, capsys):
    status, found = check(tmp_path, EAST, capsys)
    assert (status, fails(found)) == (0, set())
    inches = 20.8125 + 164 + 60  # both runs, and the elbow's 5 ft of the table
    assert found["length.max"][0]["measured"] == pytest.approx(inches * 0.0254)
    assert found["pitch"][0]["measured"] == pytest.approx(1.19349, abs=1e-4)  # arctan(1/48), degrees


def test_too_long_fails(tmp_path, capsys):
    # 27 ft over the roof and back is no route, but its length is what is asked here: 8 + 4 x 5 ft and the runs.
    text = drawn("roof", 'toward = "up"\nlength = "8 ft"\nthrough = ["roof hole"]', 'toward = "east"\nlength = "9 ft"',
                 'toward = "up"\nlength = "6 ft"', 'toward = "east"\nlength = "2 ft"', 'toward = "up"\nlength = "3 ft"')  # fmt: skip
    status, found = check(tmp_path, text, capsys)
    assert status == 1
    assert "length.max" in fails(found)
    assert found["length.max"][0]["measured"] == pytest.approx((28 + 4 * 5) * 0.3048)


@pytest.mark.parametrize("rise", ['"-1 in"', "0", '"1 in"'])
def test_downhill_level_and_too_little_rise_fail(rise, tmp_path, capsys):
    status, found = check(
        tmp_path, EAST.replace('length = "13 ft 8 in"', f'length = "13 ft 8 in"\nrise = {rise}'), capsys
    )
    assert status == 1
    assert "pitch" in fails(found)


def test_a_joint_in_a_wall_fails(tmp_path, capsys):
    # The corner stands in the middle of the wall, 12 ft 9 in east of the collar.
    text = drawn("roof", 'toward = "up"\nlength = "20 13/16 in"', 'toward = "east"\nlength = "12 ft 9 in"\nthrough = ["wall hole"]',
                 'toward = "up"\nlength = "6 ft"')  # fmt: skip
    status, found = check(tmp_path, text, capsys)
    assert status == 1
    assert {"hole.joint", "gap"} <= fails(found)


@pytest.mark.parametrize(("z", "turn"), [(1, 45.0), (0.577350269, 60.0), (0.84, 49.97)])
def test_a_turn_that_no_fitting_makes_fails(z, turn, tmp_path, capsys):
    # From upright to a slope of this rise over run: the turn is 90 degrees less arctan(z).
    text = drawn("wall", 'toward = "up"\nlength = "20 in"', f'toward = [1, 0, {z}]\nlength = "3 ft"')
    status, found = check(tmp_path, text, capsys)
    assert status == 1  # neither ends outdoors
    assert ("route.turn" in fails(found)) == (turn != 45.0)
    assert f"turns {turn:.2f} deg" in found["route.turn"][0]["note"]


def test_an_angle_without_a_figure_in_the_manual_fails(tmp_path, capsys):
    text = drawn("wall", 'toward = "up"\nlength = "20 in"', 'toward = [0.414213562, 0, 1]\nlength = "3 ft"')
    _, found = check(tmp_path, text, capsys)  # arctan 0.4142 is 22.5 degrees
    assert {"length.angles"} <= fails(found)
    assert "route.turn" not in fails(found)


def test_leaving_the_collar_sideways_fails(tmp_path, capsys):
    text = drawn("wall", 'toward = "east"\nlength = "14 ft"\nthrough = ["wall hole"]')
    status, found = check(tmp_path, text, capsys)
    assert status == 1
    assert "route.collar" in fails(found)


def test_naming_a_hole_that_is_elsewhere_does_not_open_the_wall(tmp_path, capsys):
    # Up through the roof 3 ft beside the hole, by its name.
    text = drawn(
        "roof",
        'toward = "up"\nlength = "2 ft"',
        'toward = "east"\nlength = "3 ft"',
        'toward = "up"\nlength = "6 ft"\nthrough = ["roof hole"]',
    )
    status, found = check(tmp_path, text, capsys)
    assert status == 1
    assert "gap" in fails(found)


def test_going_through_the_wall_without_a_hole_fails(tmp_path, capsys):
    text = drawn("wall", 'toward = "up"\nlength = "2 ft"', 'toward = "south"\nlength = "6 ft 6 in"')
    status, found = check(tmp_path, text, capsys)
    assert status == 1
    assert "gap" in fails(found)


def test_through_the_cupboard_fails(tmp_path, capsys):
    text = EAST.replace(
        'toward = "up"\nlength = "20 13/16 in"',
        'toward = "up"\nlength = "20 13/16 in"\n[[run]]\ntoward = "south"\nlength = "3 ft"',
        1,
    )
    status, found = check(tmp_path, text, capsys)
    assert status == 1
    assert any("cupboard" in f["subject"] for f in found["gap"] if f["verdict"] == "fail")


def test_ending_indoors_fails(tmp_path, capsys):
    status, found = check(tmp_path, UP.replace('"8 ft"\nthrough = ["roof hole"]', '"3 ft"'), capsys)
    assert status == 1
    assert "terminal.outdoors" in fails(found)


def test_too_low_over_the_roof_fails(tmp_path, capsys):
    # The roof's surface is at 9 ft, the collar at 3 ft: 6 ft 6 in ends 6 in over it, and 12 in are asked.
    status, found = check(tmp_path, UP.replace('"8 ft"', '"6 ft 6 in"'), capsys)
    assert status == 1
    assert "roof.practice" in fails(found)


def test_people_read_the_verdict_the_findings_and_the_cautions(tmp_path, capsys):
    (tmp_path / "route.toml").write_text(EAST.replace('"13 ft 8 in"', '"13 ft 8 in"\nrise = "-1 in"'), encoding="utf-8")
    assert run(["check", str(SHED), str(tmp_path / "route.toml")]) == 1
    said = capsys.readouterr().out
    assert "Route drawn: 2 in PVC to the wall: fail" in said
    assert "FAIL pitch, run 2" in said
    assert "carbon monoxide" in said


def test_quiet_says_nothing_but_the_status(tmp_path, capsys):
    (tmp_path / "route.toml").write_text(UP, encoding="utf-8")
    assert run(["check", str(SHED), str(tmp_path / "route.toml"), "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")
