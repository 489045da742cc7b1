"""The wheel holds everything that a checkout does, and works from a place of its own."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(out), str(TOP)], check=True, capture_output=True
    )
    return next(out.glob("*.whl"))


def names(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


def test_the_wheel_is_typed_and_has_catalogs_and_viewer(wheel):
    found = names(wheel)
    assert "ventroute/py.typed" in found
    for folder in ("catalogs", "viewer"):
        files = {
            f"ventroute/{p.relative_to(TOP).as_posix()}"
            for p in (TOP / folder).rglob("*")
            if p.is_file() and "__pycache__" not in p.parts and "node_modules" not in p.parts
        }
        assert files <= found
    assert any(name.startswith("ventroute/drawing/fonts/") for name in found)


def test_the_wheel_has_no_tests(wheel):
    assert not any(name.split("/")[0] == "tests" for name in names(wheel))


def test_a_demo_plans_from_the_unpacked_wheel(wheel, tmp_path):
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path)
    code = (
        f"import sys; sys.path.insert(0, {str(tmp_path)!r})\n"
        "import ventroute, ventroute.viewer.scene\n"
        f"assert ventroute.__file__.startswith({str(tmp_path)!r})\n"
        "from ventroute.catalog.paths import catalogs_folder\n"
        f"assert str(catalogs_folder()).startswith({str(tmp_path)!r})\n"
        "from ventroute.cli.main import run\n"
        "sys.exit(run(['demo', 'mill-row', '--quiet']))"
    )
    done = subprocess.run([sys.executable, "-I", "-c", code], capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
