"""`ventroute plan` on files that cannot be planned: status 2, a line for each fault, no traceback, nothing written."""

from __future__ import annotations

import os
import re
import struct
import time
from pathlib import Path

import pytest

from tests.badsites.cases import CASES, DRAIN, GOOD, HOUSES
from ventroute.cli.desk import open_site
from ventroute.cli.main import run


def refused(path: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """The lines that the command says of a file it refuses."""
    out = path.parent / "out"
    before = {child.name for child in path.parent.iterdir()}
    status = run(["plan", str(path), "--out", str(out)])
    said = capsys.readouterr()
    assert (status, said.out) == (2, "")
    assert "Traceback" not in said.err
    assert {child.name for child in path.parent.iterdir()} == before
    lines = said.err.splitlines()
    assert lines
    assert all(re.match(rf"{re.escape(str(path))}:[1-9][0-9]*: [^ :]+: .", line) for line in lines), said.err
    return lines


def test_the_good_file_is_a_house_that_stands(tmp_path):
    (tmp_path / "house.toml").write_text(GOOD, encoding="utf-8")
    desk = open_site(tmp_path / "house.toml")
    assert [passage.name for passage in desk.building.passages] == ["old flue, first floor", "south rim"]


@pytest.mark.parametrize("case", [*CASES, *HOUSES], ids=lambda case: case.name)
def test_a_bad_file_is_refused_at_its_line(case, tmp_path, capsys):
    path = tmp_path / "house.toml"
    path.write_text(case.text, encoding="utf-8")
    found = [line for line in refused(path, capsys) if line.startswith(f"{path}:{case.line}: {case.key}: ")]
    assert any(case.words in line for line in found), found


def meshed(path: Path) -> int:
    """Write a file whose drain is the mesh beside it; the line of that key."""
    text = GOOD.replace(DRAIN, 'mesh = "drain.stl"')
    path.write_text(text, encoding="utf-8")
    return text[: text.index("mesh =")].count("\n") + 1


# One triangle of a binary STL: a normal, three corners, a word; the count stands after 80 bytes of anything.
TRIANGLE = struct.pack("<12fH", 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0)
MESHES = {
    "empty": b"",
    "text": b"no mesh at all",
    "random": bytes((7 * n * n + 3 * n) % 256 for n in range(4000)),
    "count of four thousand million": b" " * 80 + struct.pack("<I", 2**32 - 1) + TRIANGLE,
    "open": b" " * 80 + struct.pack("<I", 1) + TRIANGLE,
    "not finite": b" " * 80
    + struct.pack("<I", 1)
    + struct.pack("<12fH", 0, 0, 1, float("nan"), 0, 0, 1, 0, 0, 0, 1, 0, 0),
}


@pytest.mark.parametrize("content", MESHES.values(), ids=list(MESHES))
def test_a_mesh_that_is_none_is_named_at_its_key(content, tmp_path, capsys):
    (tmp_path / "drain.stl").write_bytes(content)
    line = meshed(tmp_path / "house.toml")
    said = refused(tmp_path / "house.toml", capsys)
    assert len(said) == 1
    assert f":{line}: obstacle[2].mesh: " in said[0]


def test_a_mesh_that_is_a_link_round_in_a_circle_is_no_file(tmp_path, capsys):
    os.symlink("drain.stl", tmp_path / "drain.stl")
    line = meshed(tmp_path / "house.toml")
    assert f":{line}: obstacle[2].mesh: no file" in refused(tmp_path / "house.toml", capsys)[0]


def test_a_mesh_that_is_a_folder_is_no_file(tmp_path, capsys):
    (tmp_path / "drain.stl").mkdir()
    line = meshed(tmp_path / "house.toml")
    assert f":{line}: obstacle[2].mesh: no file" in refused(tmp_path / "house.toml", capsys)[0]


def test_fifty_megabytes_of_tables_are_refused_at_once(tmp_path, capsys):
    table = b'[[keep_out]]\nname = "x"\ncorner = [0, 0, 0]\nsize = [1, 1, 1]\n'
    (tmp_path / "house.toml").write_bytes(table * (50_000_000 // len(table)))
    start = time.process_time()
    said = refused(tmp_path / "house.toml", capsys)
    assert time.process_time() - start < 10  # it is not read: a slow machine takes a fraction of this
    assert "larger than 2 MB" in said[0]


@pytest.mark.parametrize(
    "text", ["x = " + "[" * 999_999, "a." * 999_999 + "b = 1", "[[" * 500_000, "x = {a = " * 200_000, '"' * 1_999_999,
             "x = [" + "1," * 900_000 + "]", "x = '" + "y" * 1_900_000 + "'", "\\" * 1_900_000, "#" + "z" * 1_900_000,
             '"""' + "\\\n" * 900_000],
    ids=["lists", "keys", "headers", "inline", "quotes", "long list", "long text", "backslashes", "comment", "folds"],
)  # fmt: skip
def test_two_megabytes_of_anything_are_refused_within_seconds(text, tmp_path, capsys):
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    start = time.process_time()
    said = refused(tmp_path / "house.toml", capsys)
    assert time.process_time() - start < 60  # what grows with the square of the length takes hours
    assert all(len(line) < 1000 for line in said)


def test_check_and_sizes_refuse_the_same_way(tmp_path, capsys):
    (tmp_path / "house.toml").write_text(GOOD.replace("grade = 0", "grade = nan"), encoding="utf-8")
    line = GOOD[: GOOD.index("grade = 0")].count("\n") + 1
    for command in (["sizes"], ["check"]):
        arguments = [str(tmp_path / "house.toml"), *(["route.toml"] if command == ["check"] else [])]
        assert run([*command, *arguments]) == 2
        assert f"house.toml:{line}: place.grade: " in capsys.readouterr().err
