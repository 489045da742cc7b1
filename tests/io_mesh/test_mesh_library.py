"""The library of meshes is loaded light, in a fresh interpreter, and leaves that interpreter as it was."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

from ventroute.io.mesh_library import LEFT_OUT, mesh_library

TOP = Path(__file__).resolve().parents[2]
LOAD = "from ventroute.io.mesh_library import mesh_library\n"


def said(code: str) -> str:
    env = {**os.environ, "PYTHONPATH": str(TOP)}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, check=True)
    return done.stdout.strip()


@pytest.mark.parametrize("kind", ["glb", "obj", "ply", "stl"])
def test_a_mesh_is_read_without_what_is_left_out(tmp_path: Path, kind: str) -> None:
    path = tmp_path / f"box.{kind}"
    trimesh.creation.box().export(path)
    code = (
        "import sys\nfrom pathlib import Path\nfrom ventroute.io.mesh_file import read_mesh\n"
        f"print(len(read_mesh(Path({str(path)!r}), 1.0, (0.0, 0.0, 0.0))), sorted({set(LEFT_OUT)!r} & set(sys.modules)))"
    )
    assert said(code) == "12 []"  # a box has twelve triangles


def test_who_loads_the_library_afterwards_has_all_of_it() -> None:
    # the hull of the eight corners of a box is the box, and takes scipy
    code = (
        f"{LOAD}with mesh_library() as light:\n    box = light.creation.box()\n"
        "import trimesh\nprint(trimesh is light, round(trimesh.creation.box().convex_hull.volume, 9))"
    )
    assert said(code) == "False 1.0"


def test_a_library_that_is_loaded_is_taken_as_it_is() -> None:
    with mesh_library() as found:
        assert found is trimesh


def test_it_is_loaded_once() -> None:
    code = f"{LOAD}with mesh_library() as a:\n    pass\nwith mesh_library() as b:\n    print(a is b)"
    assert said(code) == "True"


def test_other_threads_miss_nothing_meanwhile() -> None:
    code = (
        "import threading\n" + LOAD + "def other():\n    import scipy.spatial\n    print(scipy.spatial.__name__)\n"
        "with mesh_library():\n    thread = threading.Thread(target=other)\n    thread.start()\n    thread.join()"
    )
    assert said(code) == "scipy.spatial"


def test_what_is_left_out_comes_back_after_a_fault() -> None:
    code = (
        f"{LOAD}try:\n    with mesh_library():\n        raise ValueError\nexcept ValueError:\n"
        "    import scipy\n    print(scipy.__name__)"
    )
    assert said(code) == "scipy"
