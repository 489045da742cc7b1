"""Route files that cannot be read or built: status 2, each fault at its line, nothing on stdout."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.check.test_check_drawn import EAST, SHED, UP, drawn
from ventroute.cli.main import run
from ventroute.errors import InputError
from ventroute.io.route_file import read_route_text
from ventroute.io.site_file import read_site

SITE = read_site(SHED)


def refused(tmp_path: Path, text: str | bytes, capsys: pytest.CaptureFixture[str]) -> list[str]:
    path = tmp_path / "route.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    assert run(["check", str(SHED), str(path), "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "Traceback" not in said.err
    lines = [line.removeprefix(f"{tmp_path}/") for line in said.err.splitlines()]
    assert all(line.startswith("route.toml:") for line in lines)
    return lines


@pytest.mark.parametrize(
    ("old", "new", "where", "words"),
    [
        ("format = 1", "format = 2", "1: format", "format = 1 is wanted"),
        ("format = 1", "format = true", "1: format", "format = 1 is wanted"),
        ('"PVC"', '"PVX"', "2: material", 'did you mean "PVC"?'),
        ('material = "PVC"\n', "", "1: material", "is missing"),
        ('size = "2 in"', "size = 2", "3: size", 'as "3 in"'),
        ('size = "2 in"', 'size = "3 in"', "3: size", "no row for 3 in; wanted one of 2 in"),
        ('size = "2 in"', 'size = "9 in"', "3: size", "no 9 in PVC pipe"),
        ('terminal = "roof"', 'terminal = "rof"', "4: terminal", 'did you mean "roof"?'),
        ('terminal = "roof"', 'terminal = "roof"\nunits = "yd"', "5: units", "is not known"),
        ("[[run]]", "[[runs]]", "5: runs", 'unknown key "runs"; did you mean "run"?'),
        ("[[run]]", "[run]", "5: run", "one [[run]] table"),
        ('toward = "up"', 'towards = "up"', "6: run[1].towards", 'did you mean "toward"?'),
        ('toward = "up"\n', "", "5: run[1].toward", "is missing"),
        ('toward = "up"', 'toward = "upp"', "6: run[1].toward", "write up, down"),
        ('toward = "up"', "toward = [0, 0, 0]", "6: run[1].toward", "points nowhere"),
        ('toward = "up"', 'toward = "up"\nrise = "1 in"', "7: run[1].rise", "goes sideways"),
        ('length = "8 ft"\n', "", "5: run[1].length", "is missing"),
        ('"8 ft"', '"8"', "7: run[1].length", "has no unit"),
        ('"8 ft"', "nan", "7: run[1].length", "not a number one can measure"),
        ('"8 ft"', "-8", "7: run[1].length", "above 0"),
        ('"8 ft"', "0", "7: run[1].length", "above 0"),
        ('"8 ft"', '"8 km"', "7: run[1].length", "is not a length"),
        ('["roof hole"]', '["rof hole"]', "8: run[1].through", 'no hole or cut "rof hole"; did you mean "roof hole"?'),
        ('["roof hole"]', '"roof hole"', "8: run[1].through", "a list of names"),
        ('["roof hole"]', "[7]", "8: run[1].through", "a list of names"),
        ('["roof hole"]', '["\\u001b[2J"]', "8: run[1].through", "no hole or cut"),
        ('"8 ft"', '"8 ft', "7", "not TOML"),
        ('["roof hole"]', "[" * 99, "8", "nested more than"),
        ('["roof hole"]', '["wall hole"]', "8: run[1].through", "goes along the mouths"),
    ],
)
def test_a_fault_is_named_at_its_line(old, new, where, words, tmp_path, capsys):
    assert old in UP
    lines = refused(tmp_path, UP.replace(old, new, 1), capsys)
    assert any(line.startswith(f"route.toml:{where}: ") and words in line for line in lines), lines
    assert all(line.isprintable() for line in lines)


def test_all_faults_come_at_once(tmp_path, capsys):
    text = UP.replace('"PVC"', '"PVX"').replace('"8 ft"', "nan").replace('"up"', '"upp"')
    assert [line.split(":")[1] for line in refused(tmp_path, text, capsys)] == ["2", "6", "7"]


def test_a_run_too_short_for_its_elbows_is_named(tmp_path, capsys):
    text = drawn(
        "wall", 'toward = "up"\nlength = "20 in"', 'toward = "east"\nlength = "1 in"', 'toward = "up"\nlength = "2 ft"'
    )
    assert refused(tmp_path, text, capsys)[0].startswith("route.toml:10: run[2].length: too short: the fittings")


def test_two_runs_the_same_way_are_one(tmp_path, capsys):
    text = drawn("roof", 'toward = "up"\nlength = "2 ft"', 'toward = "up"\nlength = "6 ft"\nthrough = ["roof hole"]')
    assert refused(tmp_path, text, capsys) == [
        "route.toml:9: run[2].toward: the same way as run 1; wanted one run for both, or a turn"
    ]


def test_no_runs_at_all(tmp_path, capsys):
    assert "run: one [[run]] table" in refused(tmp_path, UP[: UP.index("[[run]]")], capsys)[0]


def test_more_runs_than_anybody_draws(tmp_path, capsys):
    text = drawn("roof", *['toward = "up"\nlength = "1 ft"'] * 201)
    assert any("201 runs; no more than 200" in line for line in refused(tmp_path, text, capsys))


def test_latin_1_and_no_file(tmp_path, capsys):
    assert "byte 0xe9 is not UTF-8" in refused(tmp_path, UP.encode() + b"# \xe9", capsys)[0]
    assert run(["check", str(SHED), str(tmp_path / "none.toml")]) == 2
    assert "none.toml:1: file: cannot be read" in capsys.readouterr().err


def test_a_level_run_is_given_the_appliance_s_pitch_and_keeps_its_length():
    run_2 = read_route_text(EAST, "route.toml", SITE).runs[1]
    assert run_2.toward[2] / run_2.toward[0] == pytest.approx(1 / 48)
    assert math.hypot(*run_2.toward) == pytest.approx(1)
    assert run_2.length_m == pytest.approx(164 * 0.0254)


@given(st.floats(-1, 1).filter(lambda rise: abs(rise) < 0.999))
def test_a_rise_is_how_much_higher_the_run_ends(rise):
    text = drawn("wall", 'toward = "up"\nlength = "20 in"', f'toward = "north"\nlength = "1 m"\nrise = "{rise:.6f} m"')
    made = read_route_text(text, "route.toml", SITE).runs[1]
    assert made.toward[2] * made.length_m == pytest.approx(float(f"{rise:.6f}"), abs=1e-12)
    assert math.hypot(*made.toward) == pytest.approx(1)


def test_a_level_collar_s_first_run_stays_level(tmp_path):
    text = SHED.read_text(encoding="utf-8").replace('faces = "up"', 'faces = "east"')
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    level = drawn("wall", 'toward = "east"\nlength = "3 ft"', 'toward = "north"\nlength = "3 ft"')
    first, second = read_route_text(level, "route.toml", read_site(tmp_path / "site.toml")).runs
    assert first.toward == (1, 0, 0)
    assert second.toward[2] > 0


@given(st.text(max_size=200))
def test_any_text_is_a_route_or_faults_with_lines(text):
    said = [1]
    try:
        read_route_text(text, "route.toml", SITE)
    except InputError as error:
        said = [fault.line for fault in error.faults]
    assert said
    assert all(1 <= line <= text.count("\n") + 1 for line in said)
