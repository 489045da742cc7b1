"""`ventroute check` of a plan.json: the planner's own passes; one that was altered does not."""

from __future__ import annotations

import copy
import json
import math
from pathlib import Path
from typing import Any

import pytest

from tests.check.test_check_drawn import SHED
from ventroute.cli.main import run


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The plan of the shed, as its file holds it."""
    out = tmp_path_factory.mktemp("plan")
    assert run(["plan", str(SHED), "--quiet", "--out", str(out)]) == 0
    document: dict[str, Any] = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    return document


def check(
    tmp_path: Path, document: dict[str, Any], capsys: pytest.CaptureFixture[str], site: Path = SHED
) -> tuple[int, list[set[str]]]:
    """Exit status, and the rules that fail, route by route."""
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    status = run(["check", str(site), str(path), "--json"])
    said = capsys.readouterr()
    assert said.err == ""
    routes = json.loads(said.out)["routes"]
    return status, [{f["rule"] for f in route["findings"] if f["verdict"] == "fail"} for route in routes]


def test_the_planner_s_own_plan_passes(planned, tmp_path, capsys):
    status, fails = check(tmp_path, planned, capsys)
    assert status == 0
    assert fails == [set()] * len(planned["routes"])
    assert {route["terminal"]["kind"] for route in planned["routes"]} == {"roof", "wall"}


def test_a_length_is_counted_afresh(planned, tmp_path, capsys):
    # The file's own total is not believed: the wall's route is 10 ft of runs and more, and one elbow of 5 ft at least.
    lied = copy.deepcopy(planned)
    for route in lied["routes"]:
        route["runs_m"] = route["fittings_m"] = 0.1
        route["equivalent_m"] = 0.2
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(lied), encoding="utf-8")
    run(["check", str(SHED), str(path), "--json"])
    wall = next(n for n, route in enumerate(planned["routes"]) if route["terminal"]["kind"] == "wall")
    findings = json.loads(capsys.readouterr().out)["routes"][wall]["findings"]
    length = next(f for f in findings if f["rule"] == "length.max")
    runs = sum(math.dist(r["start_m"], r["end_m"]) for r in planned["routes"][wall]["runs"])
    bends = {90.0: 5.0, 45.0: 2.5}
    turned = sum(bends[p["nominal_deg"]] for p in planned["routes"][wall]["parts"] if p["kind"] == "elbow")
    assert length["measured"] == pytest.approx(runs + turned * 0.3048, abs=1e-6)


def test_a_plan_of_another_house_fails(planned, tmp_path, capsys):
    # The same shed with the appliance a foot to the north.
    (tmp_path / "site.toml").write_text(
        SHED.read_text(encoding="utf-8").replace("collar = [3, 5, 3]", "collar = [3, 6, 3]")
    )
    status, fails = check(tmp_path, planned, capsys, tmp_path / "site.toml")
    assert status == 1
    assert all("route.collar" in rules for rules in fails)


def test_a_hole_that_was_closed_since_fails(planned, tmp_path, capsys):
    text = SHED.read_text(encoding="utf-8").replace('clear = "4 in"', 'clear = "2 in"')
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    status, fails = check(tmp_path, planned, capsys, tmp_path / "site.toml")
    assert status == 1
    roof = next(n for n, route in enumerate(planned["routes"]) if route["terminal"]["kind"] == "roof")
    assert "hole.fit" in fails[roof]


def test_smaller_hubs_in_the_file_are_not_believed(planned, tmp_path, capsys):
    # A board 2 in beside the axis: pipe of 2 3/8 in stays 13/16 in off it, and 1 in is asked.
    board = '\n[[obstacle]]\nname = "board"\ncorner = ["38 in", 4, 3]\nsize = ["1 in", 2, 4]\n'
    text = SHED.read_text(encoding="utf-8").replace("\n[appliance]", board + "\n[appliance]")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    lied = copy.deepcopy(planned)
    for route in lied["routes"]:
        route["kit"]["pipe"]["od_m"] = 0.01
        for bend in route["kit"]["bends"]:
            bend["hub_od_m"] = 0.01
    status, fails = check(tmp_path, lied, capsys, tmp_path / "site.toml")
    assert status == 1
    assert all("gap" in rules for rules in fails)


def test_an_elbow_counted_as_a_lesser_one_fails(planned, tmp_path, capsys):
    lied = copy.deepcopy(planned)
    elbows = [(n, p) for n, r in enumerate(lied["routes"]) for p in r["parts"] if p["kind"] == "elbow"]
    number, elbow = elbows[0]
    elbow["nominal_deg"] = 45.0 if elbow["nominal_deg"] == 90.0 else 90.0
    status, fails = check(tmp_path, lied, capsys)
    assert status == 1
    assert "route.parts" in fails[number]


def test_a_run_that_is_not_where_its_parts_are_fails(planned, tmp_path, capsys):
    lied = copy.deepcopy(planned)
    wall = next(n for n, route in enumerate(lied["routes"]) if route["terminal"]["kind"] == "wall")
    lied["routes"][wall]["runs"][-1]["start_m"][2] -= 0.05  # a steeper run than was planned
    status, fails = check(tmp_path, lied, capsys)
    assert status == 1
    assert "route.parts" in fails[wall]


@pytest.mark.parametrize(
    ("alter", "key"),
    [
        (lambda d: d["routes"][0].update(parts=[]), "routes[1].parts"),
        (lambda d: d["routes"][0].update(runs=[]), "routes[1].runs"),
        (lambda d: d["routes"][0]["parts"][0].update(end_m=[0, 0, 0]), "routes[1].parts[2].start_m"),
        (lambda d: d.update(format=2), "format"),
        (lambda d: d["routes"][0].update(material="ABS"), "routes[1].material"),
        (lambda d: d["routes"][0]["terminal"].update(kind="chimney"), "routes[1].terminal.kind"),
        (lambda d: renamed(d, "wood"), "routes[1].kit"),
    ],
)
def test_a_damaged_plan_is_wrong_input(alter, key, planned, tmp_path, capsys):
    damaged = copy.deepcopy(planned)
    alter(damaged)
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(damaged), encoding="utf-8")
    assert run(["check", str(SHED), str(path), "--json"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert f"{path}:1: {key}: " in said.err


def renamed(document: dict[str, Any], material: str) -> None:
    """Every word of the first route's material changed, in the kit and above it."""
    route = document["routes"][0]
    kit = route["kit"]
    route["material"] = kit["material"]["name"] = material
    for part in (kit["pipe"], kit["coupling"], *kit["bends"], *kit["terminals"]):
        part["material"] = material


def test_a_route_renamed_to_a_material_that_the_appliance_does_not_name_fails(planned, tmp_path, capsys):
    # The shed's manual names PVC alone; the parts keep the items of PVC.
    lied = copy.deepcopy(planned)
    renamed(lied, "ABS")
    status, fails = check(tmp_path, lied, capsys)
    assert status == 1
    assert {"material.listed", "parts.one-system"} <= fails[0]


def test_a_plan_without_routes_does_not_pass(planned, tmp_path, capsys):
    status, fails = check(tmp_path, {**planned, "routes": []}, capsys)
    assert (status, fails) == (1, [])
