"""`ventroute survey` as it is called: answers from a pipe, a file whole or not at all."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from ventroute.cli.desk import open_site
from ventroute.cli.main import run

ANSWERS = (Path(__file__).parent / "answers.txt").read_text(encoding="utf-8")


@pytest.fixture
def call(monkeypatch, tmp_path):
    """Run `survey house.toml` with these answers; the exit status."""

    def run_with(answers: str, *options: str) -> int:
        monkeypatch.setattr("sys.stdin", io.StringIO(answers))
        return run(["survey", str(tmp_path / "house.toml"), *options])

    return run_with


def test_the_file_that_is_written_can_be_planned(call, tmp_path, capsys):
    assert call(ANSWERS) == 0
    assert "now: ventroute plan" in capsys.readouterr().out
    desk = open_site(tmp_path / "house.toml")
    assert len(desk.building.passages) == 4  # three old holes and a place for a new one


def test_misfits_are_shown_on_stderr(call, capsys):
    call(ANSWERS)
    said = capsys.readouterr().err
    assert "The readings close to 1/2 in in 108 ft 1/2 in; shared out, no wall changes by more than 1/4 in." in said


def test_quiet_says_nothing(call, capsys):
    assert call(ANSWERS, "--quiet") == 0
    assert capsys.readouterr() == ("", "")


def test_a_file_that_is_there_is_left_alone(call, tmp_path, capsys):
    (tmp_path / "house.toml").write_text("mine")
    assert call(ANSWERS) == 2
    assert (tmp_path / "house.toml").read_text() == "mine"
    assert "is there already" in capsys.readouterr().err


@pytest.mark.parametrize("answers", ["", "Test house\n", ANSWERS.replace("5 degF", "cold"), "\x00\x01\n"])
def test_bad_answers_write_nothing(call, tmp_path, capsys, answers):
    assert call(answers) == 2
    assert list(tmp_path.iterdir()) == []
    assert capsys.readouterr().err.splitlines()[-1].startswith("<stdin>:")


def test_a_house_that_cannot_be_is_shown_with_its_faults_and_not_written(call, tmp_path, capsys):
    # The collar is set inside the ground beside the house.
    assert call(ANSWERS.replace("6, 4, -4\nup", "40, 4, -4\nup")) == 2
    assert list(tmp_path.iterdir()) == []
    said = capsys.readouterr()
    assert said.out.startswith("format = 1\n")
    line = said.out[: said.out.index("collar =")].count("\n") + 1
    assert f"house.toml:{line}: appliance.collar: " in said.err


def test_the_file_is_written_into_the_folder_that_is_asked_for(call, tmp_path, capsys):
    assert call(ANSWERS, "--out", str(tmp_path / "site")) == 0
    assert not (tmp_path / "house.toml").exists()
    assert f"ventroute plan {tmp_path / 'site' / 'house.toml'}" in capsys.readouterr().out
    assert open_site(tmp_path / "site" / "house.toml").site.rooms
