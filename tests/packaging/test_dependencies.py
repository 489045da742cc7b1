"""What is declared to be needed is needed, and is enough."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import tomllib
from importlib.metadata import PackageNotFoundError, packages_distributions, requires
from pathlib import Path

import pytest
import trimesh
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

TOP = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
CODE = """
import sys
from importlib.abc import MetaPathFinder
left_out = set(sys.argv[1].split(","))
class NotInstalled(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in left_out:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
sys.meta_path.insert(0, NotInstalled())
from ventroute.cli.main import run
sys.exit(run(sys.argv[2:]))
"""


def declared(*lists: list[str]) -> set[str]:
    return {canonicalize_name(Requirement(line).name) for lines in lists for line in lines}


def with_theirs(names: set[str]) -> set[str]:
    """Distributions, and what they need in their turn."""
    found: set[str] = set()
    todo = sorted(names)
    while todo:
        name = todo.pop()
        if name not in found:
            found.add(name)
            try:
                wanted = [Requirement(line) for line in requires(name) or ()]
            except PackageNotFoundError:  # the view extra may not be here
                continue
            todo += [canonicalize_name(r.name) for r in wanted if not r.marker or r.marker.evaluate({"extra": ""})]
    return found


def imported() -> set[str]:
    """Top-level modules that the product imports, early or late."""
    found: set[str] = set()
    for path in (*(TOP / "ventroute").rglob("*.py"), *(TOP / "viewer").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                found |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
                found.add(node.module.split(".")[0])
    return found - set(sys.stdlib_module_names) - {"ventroute", "viewer"}


def sellers() -> dict[str, set[str]]:
    """The distributions of each top-level module."""
    return {module: {canonicalize_name(n) for n in names} for module, names in packages_distributions().items()}


def test_the_product_imports_what_it_declares_and_declares_what_it_imports():
    needed = declared(PROJECT["dependencies"])
    viewing = declared(PROJECT["optional-dependencies"]["view"])
    sold = sellers()
    used = {name for module in imported() for name in sold.get(module, {module})}
    assert needed <= used
    assert used <= with_theirs(needed | viewing)


@pytest.fixture(scope="module")
def house(tmp_path_factory) -> Path:
    """The second demo with a mesh of each kind in its loft."""
    folder = tmp_path_factory.mktemp("meshes")
    text = (TOP / "catalogs" / "sites" / "mill-row.toml").read_text()
    for k, kind in enumerate(("glb", "obj", "ply", "stl")):
        trimesh.creation.box(bounds=[[5 + k, 4, 3], [5.5 + k, 4.5, 3.5]]).export(folder / f"box.{kind}")
        text += f'\n[[obstacle]]\nname = "box {k}"\nmesh = "box.{kind}"\nscale = "1 m"\n'
    (folder / "site.toml").write_text(text)
    return folder / "site.toml"


def test_run_time_dependencies_alone_plan_a_house_with_meshes_and_write_every_file(house, tmp_path):
    alone = with_theirs(declared(PROJECT["dependencies"])) | {"ventroute"}
    left_out = sorted(module for module, names in sellers().items() if not names & alone)
    assert {"networkx", "shapely"} <= set(left_out)
    env = {**os.environ, "PYTHONPATH": str(TOP)}
    asked = [sys.executable, "-c", CODE, ",".join(left_out), "plan", str(house), "--quiet", "--out", str(tmp_path)]
    done = subprocess.run(asked, capture_output=True, text=True, env=env, timeout=300)
    assert done.returncode == 0, done.stderr
    assert {path.suffix for path in tmp_path.iterdir()} == {
        ".csv", ".dxf", ".glb", ".html", ".json", ".pdf", ".svg", ".toml", ".xlsx",
    }  # fmt: skip
