"""Files are written whole or not at all."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ventroute.io.whole import write_folder, write_whole

TOP = Path(__file__).resolve().parents[2]


def test_a_file_is_replaced_in_one_step(tmp_path):
    path = tmp_path / "plan.json"
    write_whole(path, b"old")
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["plan.json"]


def test_a_failed_write_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    path = tmp_path / "plan.json"
    write_whole(path, b"old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["plan.json"]


def test_killed_while_writing_leaves_the_old_file(tmp_path):
    path = tmp_path / "plan.json"
    path.write_bytes(b"old")
    code = (
        "import os, sys, time\n"
        "from ventroute.io import whole\n"
        "real = os.fsync\n"
        "def slow(fd):\n    print('writing', flush=True); time.sleep(60)\n"
        "whole.os.fsync = slow\n"
        "from pathlib import Path\n"
        "whole.write_whole(Path(sys.argv[1]), b'new' * 1000)\n"
    )
    env = {**os.environ, "PYTHONPATH": str(TOP)}
    child = subprocess.Popen([sys.executable, "-c", code, str(path)], env=env, stdout=subprocess.PIPE)
    assert child.stdout is not None
    assert child.stdout.readline() == b"writing\n"
    child.kill()
    child.wait()
    time.sleep(0.01)
    assert path.read_bytes() == b"old"


def test_a_folder_is_made_and_filled(tmp_path):
    write_folder(tmp_path / "a" / "b", {"x": b"1", "y": b"2"})
    assert (tmp_path / "a" / "b" / "x").read_bytes() == b"1"
    assert (tmp_path / "a" / "b" / "y").read_bytes() == b"2"
