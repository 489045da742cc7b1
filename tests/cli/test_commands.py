"""Exit statuses, output and files, as the contract promises them. Commands run in processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from ventroute.cli.plan import DEMOS

TOP = Path(__file__).resolve().parents[2]


def call(*arguments: str, cwd: Path | None = None, **environment: str) -> subprocess.CompletedProcess[str]:
    """`ventroute ARGUMENTS` in a new process."""
    env = {**os.environ, "PYTHONPATH": str(TOP), "COLUMNS": "120", **environment}
    code = "from ventroute.cli.main import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, env=env, cwd=cwd or TOP, timeout=120
    )


def loaded(code: str) -> set[str]:
    """Modules in a fresh interpreter after running code."""
    script = f"{code}\nimport sys; print(' '.join(sys.modules))"
    env = {**os.environ, "PYTHONPATH": str(TOP)}
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, env=env, check=True)
    return {name.split(".")[0] for name in done.stdout.split()}


def test_importing_the_package_loads_nothing_heavy():
    heavy = {"pyvista", "trimesh", "scipy", "pint", "pydantic", "rich", "reportlab", "ezdxf", "shapely", "vtkmodules"}
    assert not heavy & loaded("import ventroute")


def test_help_loads_neither_numpy_nor_pydantic():
    assert not {"numpy", "scipy", "pydantic", "trimesh", "pint"} & loaded(
        "import contextlib, io\nfrom ventroute.cli.main import run\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n    run(['--help'])"
    )


@pytest.mark.parametrize("name", DEMOS)
def test_every_demo_has_a_compliant_route(name):
    done = call("demo", name, "--quiet")
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_json_is_the_document_alone():
    done = call("demo", "mill-row", "--json")
    plan = json.loads(done.stdout)
    assert done.stderr == ""
    assert plan["format"] == 1
    assert plan["status"] == "ok"
    assert plan["site"] == "Mill Row pantry"
    first = plan["routes"][0]
    for key in (
        "id", "material", "schedule", "size_in", "terminal", "passes", "equivalent_m", "runs_m", "fittings_m", "limit_m",
        "least_possible_m", "proved_optimal", "cost", "elbows", "parts", "findings", "shopping", "cuts", "flue",
    ):  # fmt: skip
        assert key in first
    assert first["passes"] == ["old flue, pantry ceiling", "old vent, roof"]
    assert {"rule", "source", "subject", "measured", "limit", "unit", "verdict"} <= set(first["findings"][0])
    assert {"dew_point_degC", "flow_kg_s", "drop_Pa", "outlet_degC", "condensate_kg_h"} <= set(first["flue"])
    assert plan["rejected"][0]["material"] == "PVC"
    assert plan["rejected"][0]["size_in"] == 2
    assert "over the 40 ft limit" in plan["rejected"][0]["because"]


def test_the_same_input_gives_the_same_bytes():
    one = call("demo", "harbour-house", "--json", PYTHONHASHSEED="1")
    two = call("demo", "harbour-house", "--json", PYTHONHASHSEED="2")
    assert one.stdout == two.stdout


def test_out_holds_every_file_and_the_plan_reads_back(tmp_path):
    done = call("demo", "mill-row", "--quiet", "--out", str(tmp_path / "out"))
    assert done.returncode == 0
    names = {path.name for path in (tmp_path / "out").iterdir()}
    expected = {
        "plan.json", "shopping.csv", "shopping.xlsx", "cuts.csv", "phone.html", "route-1.svg", "route-1.dxf", "sheet.pdf",
        "report.html", "model.glb", "site.toml",
    }  # fmt: skip
    assert expected <= names
    again = call("check", str(tmp_path / "out" / "site.toml"), str(tmp_path / "out" / "plan.json"), "--quiet")
    assert again.returncode == 0
    shop = call("shop", str(tmp_path / "out" / "plan.json"), "--json")
    listed = json.loads(shop.stdout)
    assert listed["shopping"]
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    assert {r["id"]: r["cost"] for r in listed["routes"]} == {r["id"]: r["cost"] for r in plan["routes"]}
    said = call("shop", str(tmp_path / "out" / "plan.json")).stdout
    assert "What each route costs" in said


def test_out_has_the_same_bytes_twice(tmp_path):
    for name in ("a", "b"):
        assert call("demo", "harbour-house", "--quiet", "--out", str(tmp_path / name)).returncode == 0
    for path in sorted((tmp_path / "a").iterdir()):
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name


def blocked_site(tmp_path: Path) -> Path:
    """The second demo with its roof hole too small for any pipe."""
    text = (TOP / "catalogs" / "sites" / "mill-row.toml").read_text()
    text = text.replace(
        'clear = "5 in"\nthrough = ["loft", "outdoors"]', 'clear = "2 in"\nthrough = ["loft", "outdoors"]'
    )
    site = tmp_path / "blocked.toml"
    site.write_text(text)
    return site


def test_no_route_is_status_1_and_says_what_is_in_the_way(tmp_path):
    done = call("plan", str(blocked_site(tmp_path)))
    assert done.returncode == 1
    assert "old vent, roof" in done.stdout
    assert "2.00 in clear" in done.stdout
    plan = json.loads(call("plan", str(blocked_site(tmp_path)), "--json").stdout)
    assert (plan["status"], plan["routes"]) == ("none", [])
    assert {row["size_in"] for row in plan["rejected"]} == {2, 3}


def test_wrong_input_is_status_2_with_a_line_for_each_fault_and_nothing_written(tmp_path):
    text = (TOP / "catalogs" / "sites" / "mill-row.toml").read_text()
    site = tmp_path / "wrong.toml"
    site.write_text(text.replace('winter = "-8 degF"', 'winter = "cold"').replace("bottom = 9.3", "bottm = 9.3"))
    done = call("plan", str(site), "--out", str(tmp_path / "out"))
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    lines = site.read_text().splitlines()
    winter = 1 + next(n for n, line in enumerate(lines) if line.startswith("winter"))
    bottom = 1 + next(n for n, line in enumerate(lines) if line.startswith("bottm"))
    assert f"{site}:{winter}: place.winter:" in done.stderr
    assert f'{site}:{bottom}: room[2].bottm: unknown key "bottm"; did you mean "bottom"?' in done.stderr
    assert not (tmp_path / "out").exists()


def test_a_missing_file_is_status_2():
    done = call("plan", "no-such-house.toml")
    assert done.returncode == 2
    assert "no-such-house.toml:1:" in done.stderr


def test_sizes_shows_what_fits_and_why_not():
    rows = json.loads(call("sizes", "catalogs/sites/mill-row.toml", "--json").stdout)["sizes"]
    fits = {row["size_in"]: row["fits"] for row in rows}
    assert fits == {2.0: False, 3.0: True}


def test_metric_output_speaks_of_metres():
    done = call("demo", "mill-row", "--units", "metric")
    assert " m of 30.48 m" in done.stdout


def test_cautions_are_printed_once():
    done = call("demo", "mill-row")
    assert done.stdout.count("carbon monoxide, which kills") == 1
