"""Why a way will not do, in words that a person can act on."""

from __future__ import annotations

import json

from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.main import run

HARBOUR = (catalogs_folder() / "sites" / "harbour-house.toml").read_text(encoding="utf-8")


def sizes(text: str, tmp_path, capsys) -> list[dict[str, object]]:
    (tmp_path / "house.toml").write_text(text, encoding="utf-8")
    run(["sizes", str(tmp_path / "house.toml"), "--json"])
    return json.loads(capsys.readouterr().out)["sizes"]


def test_a_route_too_short_is_told_by_how_much_and_what_would_lengthen_it(tmp_path, capsys):
    table = 'sizes = [{ size = "3 in", max_length = "120 ft", min_length = "100 ft", elbow_90 = "5 ft" }]\n'
    (row,) = sizes(
        HARBOUR.replace('faces = "up"\n\n[want]\nmaterials = ["PVC", "CPVC"]', f'faces = "up"\n{table}\n[want]\nmaterials = ["PVC"]'),
        tmp_path, capsys,
    )  # fmt: skip
    assert not row["fits"]
    assert "short of the 100 ft that the appliance needs at least" in row["because"]
    assert "elbow(s) more at 5 ft each would do" in row["because"]


def test_fewest_fittings_counts_all_but_pipe_and_terminal(tmp_path, capsys):
    (tmp_path / "house.toml").write_text(HARBOUR.replace("[want]", '[want]\nprefer = "fittings"'), encoding="utf-8")
    assert run(["plan", str(tmp_path / "house.toml"), "--json"]) == 0
    routes = json.loads(capsys.readouterr().out)["routes"]
    counts = [sum(part["kind"] not in ("pipe", "terminal") for part in route["parts"]) for route in routes]
    assert len(set(counts)) > 1  # 2 in routes have a reducer more
    assert counts == sorted(counts)
