"""A smaller version of the large invented house that the benchmark plans."""

from __future__ import annotations

import json

from tests.bench.large_site import written
from ventroute.cli.main import run


def test_every_route_of_a_crowded_house_passes_check(tmp_path, capsys):
    site = written(tmp_path, obstacles=60, triangles=2_000)
    assert run(["plan", str(site), "--json"]) == 0
    said = capsys.readouterr()
    plan = json.loads(said.out)
    assert {route["terminal"]["kind"] for route in plan["routes"]} == {"roof", "wall"}
    (tmp_path / "plan.json").write_text(said.out, encoding="utf-8")
    assert run(["check", str(site), str(tmp_path / "plan.json"), "--json"]) == 0
    checked = json.loads(capsys.readouterr().out)["routes"]
    assert len(checked) == len(plan["routes"])
    assert not [f for route in checked for f in route["findings"] if f["verdict"] == "fail"]
