"""plan.json: the contract's keys, and a plan that reads back."""

from __future__ import annotations

import copy
import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.shop.small_routes import house, laid, routes, the_shelf
from ventroute.errors import InputError
from ventroute.io.plan_file import plan_dict, plan_json, read_plan
from ventroute.model.plan import Finding, FlueState, Plan, PlannedRoute, Rejected, Station, Verdict
from ventroute.model.route import Crossing, Route
from ventroute.model.shelf import Stock
from ventroute.model.source import Grade
from ventroute.shop.count import shopping

UP = [(0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (4.0, 0.0, 1.0), (4.0, 0.0, 2.0)]
FINDING = Finding("length", "the manual", Grade.INVENTED, "route", 12.3, 30.0, "m", Verdict.PASS, 17.7, "fits")
ASKING = Finding("firestop", "", Grade.MEMORY, "ceiling", None, None, "", Verdict.ASK)
STATION = Station(0.5, 60.0, 58.0, 50.0, 45.0, 12.0, "utility")
FLUE = FlueState(53.1, 0.012, 41.0, 48.2, 0.3, 2.5, 1.1, None, (STATION,), ("wet",))
REJECTED = Rejected("PVC", 2.0, "roof", "length", "7 ft over", None)


def planned(route: Route, name: str = "1") -> PlannedRoute:
    bill = shopping(route, house(), the_shelf(), Stock())
    return PlannedRoute(name, route, 30.0, 5.0, True, 99.5, (FINDING, ASKING), bill.lines, bill.cuts, FLUE, "shortest")


def plan(route: Route | None = None) -> Plan:
    return Plan("Test Row", "us-2021", (planned(route or laid(UP)),), (REJECTED,))


def written(tmp_path: Path, document: object) -> Path:
    path = tmp_path / "plan.json"
    path.write_text(document if isinstance(document, str) else json.dumps(document), encoding="utf-8")
    return path


def same(a: Any, b: Any) -> bool:
    """Equal but for the ninth decimal."""
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=0, abs_tol=6e-10)
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    if hasattr(a, "__dataclass_fields__"):
        return type(a) is type(b) and all(same(getattr(a, f), getattr(b, f)) for f in a.__dataclass_fields__)
    return bool(a == b)


# What the document promises, key by key.
TOP = {"format", "site", "rules", "status", "routes", "rejected"}
ROUTE = {
    "id", "material", "schedule", "size_in", "terminal", "passes", "equivalent_m", "runs_m", "fittings_m", "limit_m",
    "least_possible_m", "proved_optimal", "cost", "elbows", "parts", "findings", "shopping", "cuts", "flue",
}  # fmt: skip
PIPE = {"n", "kind", "item", "start_m", "end_m", "cut_m", "space"}
ELBOW = {"n", "kind", "item", "start_m", "corner_m", "end_m", "angle_deg", "equivalent_m"}
FOUND = {"rule", "source", "subject", "measured", "limit", "unit", "verdict"}
LINE = {"item", "description", "quantity", "unit", "length_m", "price"}
CUT = {"stick", "item", "pieces_m", "waste_m"}
GAS = {"dew_point_degC", "flow_kg_s", "drop_Pa", "outlet_degC", "condensate_kg_h"}
NOT = {"material", "size_in", "terminal", "rule", "because", "nearest_m"}


def test_every_key_that_is_promised_is_there():
    document = plan_dict(plan())
    route = document["routes"][0]
    assert set(document) >= TOP
    assert set(route) >= ROUTE
    assert set(route["terminal"]) == {"kind", "point_m", "direction"}
    by_kind = {part["kind"]: part for part in route["parts"]}
    assert set(by_kind["pipe"]) >= PIPE
    assert set(by_kind["elbow"]) >= ELBOW
    assert "corner_m" not in by_kind["pipe"]
    wanted = {"findings": FOUND, "shopping": LINE, "cuts": CUT}
    assert all(set(entry) >= keys for name, keys in wanted.items() for entry in route[name])
    assert set(route["flue"]) >= GAS
    assert set(document["rejected"][0]) == NOT


def test_status_and_unknown_figures():
    assert plan_dict(plan())["status"] == "ok"
    none = plan_dict(replace(plan(), routes=()))
    assert (none["status"], none["routes"]) == ("none", [])
    assert none["rejected"][0]["nearest_m"] is None
    assert plan_dict(plan())["routes"][0]["shopping"][0]["price"] is None


def test_the_same_plan_gives_the_same_text_and_no_minus_zero():
    assert plan_json(plan()) == plan_json(plan())
    assert "-0.0" not in plan_json(plan(laid([(0.0, -0.0, 0.0), (0.0, 0.0, 1.0)])))


def test_names_in_any_script_stay_readable(tmp_path):
    named = replace(plan(), site="Zwölf Höfe, 十二")
    assert "Zwölf Höfe, 十二" in plan_json(named)
    assert read_plan(written(tmp_path, plan_json(named))).site == named.site


@settings(max_examples=40, deadline=None)
@given(routes())
def test_a_plan_reads_back(route):
    import tempfile

    crossing = Crossing("old flue", False, (0.0, 0.0, 0.5), (0.0, 0.0, 1.0))
    whole = plan(replace(route, crossings=(crossing,)))
    with tempfile.TemporaryDirectory() as folder:
        read = read_plan(written(Path(folder), plan_json(whole)))
    assert same(read, whole)
    assert plan_json(read) == plan_json(whole)


@settings(max_examples=40, deadline=None)
@given(routes())
def test_parts_still_meet_and_add_up_in_the_file(route):
    document = json.loads(plan_json(plan(route)))["routes"][0]
    parts = document["parts"]
    for part, then in zip(parts, parts[1:], strict=False):
        assert math.dist(part["end_m"], then["start_m"]) < 1e-6
    assert math.dist(parts[-1]["end_m"], document["terminal"]["point_m"]) < 1e-6
    cut = sum(part.get("cut_m", 0.0) for part in parts)
    assert cut == pytest.approx(sum(m for c in document["cuts"] for m in c["pieces_m"]), abs=1e-6)
    assert document["equivalent_m"] == pytest.approx(document["runs_m"] + document["fittings_m"], abs=1e-8)


def broken(change: Any) -> dict[str, Any]:
    document = copy.deepcopy(plan_dict(plan()))
    change(document)
    return json.loads(json.dumps(document))


def test_parts_that_do_not_meet_are_refused(tmp_path):
    document = broken(lambda d: d["routes"][0]["parts"][1].__setitem__("start_m", [0, 0, 5]))
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, document))
    assert caught.value.faults[0].key == "routes[1].parts[2].start_m"


WRONG = {
    "format": lambda d: d.__setitem__("format", 2),
    "routes": lambda d: d.__setitem__("routes", {}),
    "routes[1]": lambda d: d["routes"].__setitem__(0, 3),
    "site": lambda d: d.pop("site"),
    "rules": lambda d: d.__setitem__("rules", 7),
    "rejected[1].size_in": lambda d: d["rejected"][0].__setitem__("size_in", "two"),
    "routes[1].id": lambda d: d["routes"][0].__setitem__("id", 1),
    "routes[1].terminal": lambda d: d["routes"][0].__setitem__("terminal", None),
    "routes[1].terminal.point_m": lambda d: d["routes"][0]["terminal"].__setitem__("point_m", [1, 2]),
    "routes[1].parts[1].kind": lambda d: d["routes"][0]["parts"][0].__setitem__("kind", "hose"),
    "routes[1].parts[1].n": lambda d: d["routes"][0]["parts"][0].__setitem__("n", True),
    "routes[1].parts[1].start_m[2]": lambda d: d["routes"][0]["parts"][0]["start_m"].__setitem__(1, None),
    "routes[1].parts[1].cut_m": lambda d: d["routes"][0]["parts"][0].__setitem__("cut_m", 1e99),
    "routes[1].kit.pipe.od_m": lambda d: d["routes"][0]["kit"]["pipe"].pop("od_m"),
    "routes[1].kit": lambda d: d["routes"][0].pop("kit"),
    "routes[1].findings[1].verdict": lambda d: d["routes"][0]["findings"][0].__setitem__("verdict", "maybe"),
    "routes[1].shopping[1].price": lambda d: d["routes"][0]["shopping"][0].__setitem__("price", "cheap"),
    "routes[1].cuts[1].pieces_m": lambda d: d["routes"][0]["cuts"][0].__setitem__("pieces_m", 4),
    "routes[1].proved_optimal": lambda d: d["routes"][0].__setitem__("proved_optimal", 1),
}


TOGETHER = {
    "rules", "rejected[1].size_in", "routes[1].terminal.point_m", "routes[1].parts[1].n", "routes[1].kit.pipe.od_m",
    "routes[1].findings[1].verdict", "routes[1].proved_optimal", "routes[1].cuts[1].pieces_m",
}  # fmt: skip


@pytest.mark.parametrize("key", WRONG)
def test_a_wrong_value_is_named_by_its_key(tmp_path, key):
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, broken(WRONG[key])))
    assert caught.value.faults[0].key == key


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "3", "null", '{"format": 1}', '{"format": 1, "routes": [], "routes": []}', "[" * 200_000,
     '{"format": NaN, "routes": []}', '{"format": 1, "routes": [], "site": "a", "rules": Infinity}',
     '{"format": ' + "9" * 5000 + ', "routes": []}'],
)  # fmt: skip
def test_text_that_is_no_plan_is_refused(tmp_path, text):
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, text))
    assert all(len(str(fault)) < 400 for fault in caught.value.faults)


def test_every_fault_comes_at_once_each_at_its_line(tmp_path):
    document = broken(lambda d: [change(d) for key, change in WRONG.items() if key in TOGETHER])
    text = json.dumps(document, indent=1)
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, text))
    assert {fault.key for fault in caught.value.faults} == TOGETHER
    said = text.splitlines()
    for fault in caught.value.faults:
        name = fault.key.split(".")[-1].split("[")[0]
        assert fault.key == "routes[1].kit.pipe.od_m" or f'"{name}":' in said[fault.line - 1]
        assert "wanted" in fault.what


def test_what_stands_twice_or_is_no_number_is_told_at_its_line_beside_the_rest(tmp_path):
    text = json.dumps(broken(lambda d: d.__setitem__("rules", 7)), indent=1)
    text = text.replace('"site":', '"site": "first",\n "site":').replace('"cost": 99.5', '"cost": NaN', 1)
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, text))
    lines = text.splitlines()
    found = {fault.key: lines[fault.line - 1].split(":")[0].strip() for fault in caught.value.faults}
    assert found == {"site": '"site"', "rules": '"rules"', "routes[1].cost": '"cost"'}
    assert next(fault.line for fault in caught.value.faults if fault.key == "site") == 4  # the second of the two


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("material", "ABS"),
        ("schedule", "80"),
        ("size_in", 4),
        ("passes", ["chimney"]),
        ("equivalent_m", 1.0),
        ("elbows", 0),
    ],
)
def test_what_is_said_of_a_route_and_is_not_so_is_refused(tmp_path, key, said):
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, broken(lambda d: d["routes"][0].__setitem__(key, said))))
    assert [fault.key for fault in caught.value.faults] == [f"routes[1].{key}"]


def test_a_material_changed_in_both_places_is_noticed_by_the_parts_of_the_kit(tmp_path):
    def change(document):
        document["routes"][0]["material"] = document["routes"][0]["kit"]["material"]["name"] = "ABS"

    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, broken(change)))
    assert [fault.key for fault in caught.value.faults] == ["routes[1].kit.material.name"]


def test_broken_json_names_its_line(tmp_path):
    with pytest.raises(InputError) as caught:
        read_plan(written(tmp_path, '{\n"format": 1,\n"routes": [,]}'))
    assert caught.value.faults[0].line == 3


def test_files_that_cannot_be_read_are_refused(tmp_path):
    (tmp_path / "latin.json").write_bytes(b'{"site": "\xe9"}')
    with (tmp_path / "huge.json").open("wb") as file:
        file.truncate(30_000_000)
    for path in (tmp_path / "none.json", tmp_path, tmp_path / "latin.json", tmp_path / "huge.json"):
        with pytest.raises(InputError):
            read_plan(path)


@settings(max_examples=100, deadline=None)
@given(st.recursive(st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(max_size=5),
                    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
                    max_leaves=8), st.sampled_from(sorted(ROUTE)))  # fmt: skip
def test_any_value_anywhere_is_read_or_refused(value, key):
    import contextlib
    import tempfile

    document = broken(lambda d: d["routes"][0].__setitem__(key, value))
    with tempfile.TemporaryDirectory() as folder, contextlib.suppress(InputError):
        assert read_plan(written(Path(folder), document)).routes
