"""A plan as plan.json, and back."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from ventroute.constants import MEET_M
from ventroute.errors import Fault, InputError
from ventroute.io.plan_shape import ShapeError, as_type, from_plain, rounded, to_plain
from ventroute.model.parts import Kit
from ventroute.model.plan import CutStick, Finding, FlueState, Plan, PlannedRoute, Rejected, ShoppingLine
from ventroute.model.route import Crossing, Part, Route, Run

FORMAT = 1
_LARGEST = 20_000_000  # bytes; a plan of twelve routes is under one million
_PARTS_UNKNOWN = {"corner_m", "angle_deg", "nominal_deg", "cut_m"}  # left out where they mean nothing


def plan_dict(plan: Plan) -> dict[str, Any]:
    """A plan as the document of plan.json: SI, the unit in the key, floats to nine decimals."""
    return {
        "format": FORMAT,
        "site": plan.site,
        "rules": plan.rules,
        "status": plan.status,
        "routes": [_route_dict(route) for route in plan.routes],
        "rejected": [to_plain(rejected) for rejected in plan.rejected],
        "mends": list(plan.mends),
    }


def plan_json(plan: Plan) -> str:
    """The text of plan.json: the same plan gives the same bytes."""
    return json.dumps(plan_dict(plan), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def _route_dict(planned: PlannedRoute) -> dict[str, Any]:
    route = planned.route
    return {
        "id": planned.id,
        "material": route.kit.material.name,
        "schedule": route.kit.schedule,
        "size_in": route.kit.size_in,
        "terminal": {
            "kind": route.terminal_kind,
            "point_m": to_plain(route.terminal_m),
            "direction": to_plain(route.terminal_direction),
        },
        "passes": [crossing.name for crossing in route.crossings],
        "equivalent_m": rounded(route.equivalent_m),
        "runs_m": rounded(route.runs_m),
        "fittings_m": rounded(route.fittings_m),
        "limit_m": rounded(planned.limit_m),
        "least_possible_m": rounded(planned.least_possible_m),
        "proved_optimal": planned.proved_optimal,
        "least_in_steps_m": rounded(planned.least_in_steps_m),
        "cost": rounded(planned.cost),
        "elbows": route.elbows,
        "reason": planned.reason,
        "scarcity": planned.scarcity,
        "parts": [_part_dict(part) for part in route.parts],
        "findings": [to_plain(finding) for finding in planned.findings],
        "shopping": [to_plain(line) for line in planned.shopping],
        "cuts": [to_plain(cut) for cut in planned.cuts],
        "flue": to_plain(planned.flue),
        "runs": [to_plain(run) for run in route.runs],
        "crossings": [to_plain(crossing) for crossing in route.crossings],
        "kit": to_plain(route.kit),
        **({"smaller": to_plain(route.smaller)} if route.smaller is not None else {}),
    }


def _part_dict(part: Part) -> dict[str, Any]:
    plain: dict[str, Any] = to_plain(part)
    return {key: value for key, value in plain.items() if value is not None or key not in _PARTS_UNKNOWN}


def read_plan(path: Path) -> Plan:
    """Read a plan.json.

    Raises
    ------
    InputError
        It cannot be read, is no plan, or its parts do not meet; JSON has no place to show but a key path, which the
        fault names, with the line where the text itself is broken.
    """
    file = str(path)
    document = _parse(_text(path, file), file)
    try:
        return _plan(document)
    except ShapeError as problem:
        raise InputError([Fault(file, 1, problem.key, problem.what)]) from problem


def _text(path: Path, file: str) -> str:
    try:
        if path.stat().st_size > _LARGEST:
            raise InputError([Fault(file, 1, "", f"more than {_LARGEST // 1_000_000} MB; wanted a plan.json")])
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as problem:
        raise InputError([Fault(file, 1, "", "not UTF-8 text; wanted a plan.json")]) from problem
    except (OSError, ValueError) as problem:
        what = getattr(problem, "strerror", None) or "no file name"
        raise InputError([Fault(file, 1, "", f"cannot be read: {what}")]) from problem


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose keys stand once each: of two prices, neither may win in silence."""
    made = dict(pairs)
    if len(made) != len(pairs):
        names = [key for key, _ in pairs]
        raise ShapeError(next(key for key in names if names.count(key) > 1), "stands twice in one object")
    return made


def _no_constant(text: str) -> float:
    raise ShapeError("", f"{text} is not a number that a plan can hold")


def _parse(text: str, file: str) -> object:
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except json.JSONDecodeError as problem:
        named = re.findall(r'"([A-Za-z_]{1,40})"\s*:', text[: problem.pos])
        what = f"not JSON: {problem.msg}; wanted a plan.json"
        raise InputError([Fault(file, problem.lineno, named[-1] if named else "", what)]) from problem
    except ShapeError as problem:
        raise InputError([Fault(file, 1, problem.key, problem.what)]) from problem
    except (RecursionError, ValueError) as problem:
        raise InputError([Fault(file, 1, "", "nested or numbered beyond any plan; wanted a plan.json")]) from problem


def _plan(document: object) -> Plan:
    if not isinstance(document, dict) or "routes" not in document:
        raise ShapeError("", "not a plan; wanted the plan.json that `ventroute plan --out DIR` writes")
    if document.get("format") != FORMAT:
        raise ShapeError("format", f"wanted {FORMAT}")
    routes = _list(document, "routes", "")
    plan = Plan(
        site=_get(document, "site", str, ""),
        rules=_get(document, "rules", str, ""),
        routes=tuple(_route(route, f"routes[{n}]") for n, route in enumerate(routes, start=1)),
        rejected=_get(document, "rejected", tuple[Rejected, ...], ""),
        mends=_get(document, "mends", tuple[str, ...], "") if "mends" in document else (),
    )
    if len({route.id for route in plan.routes}) != len(plan.routes):
        raise ShapeError("routes", "two routes have one id")
    return plan


def _get(document: dict[str, Any], name: str, hint: Any, key: str) -> Any:
    path = f"{key}.{name}" if key else name
    if name not in document:
        raise ShapeError(path, "missing")
    return as_type(hint, document[name], path)


def _list(document: dict[str, Any], name: str, key: str) -> list[Any]:
    value = document.get(name)
    if not isinstance(value, list):
        raise ShapeError(f"{key}.{name}" if key else name, "wanted a list")
    return value


def _route(document: object, key: str) -> PlannedRoute:
    if not isinstance(document, dict):
        raise ShapeError(key, "wanted an object")
    terminal = document.get("terminal")
    if not isinstance(terminal, dict):
        raise ShapeError(f"{key}.terminal", "wanted an object")
    route = Route(
        kit=from_plain(Kit, document.get("kit"), f"{key}.kit"),
        terminal_kind=_get(terminal, "kind", str, f"{key}.terminal"),
        terminal_m=_get(terminal, "point_m", tuple[float, float, float], f"{key}.terminal"),
        terminal_direction=_get(terminal, "direction", tuple[float, float, float], f"{key}.terminal"),
        runs=_get(document, "runs", tuple[Run, ...], key),
        parts=_get(document, "parts", tuple[Part, ...], key),
        crossings=_get(document, "crossings", tuple[Crossing, ...], key),
        runs_m=_get(document, "runs_m", float, key),
        fittings_m=_get(document, "fittings_m", float, key),
        smaller=from_plain(Kit, document["smaller"], f"{key}.smaller") if "smaller" in document else None,
    )
    _check_meeting(route, key)
    return PlannedRoute(
        route=route,
        **{name: _get(document, name, hint, key) for name, hint in _PLANNED.items()},
    )


_PLANNED: dict[str, Any] = {
    "id": str,
    "limit_m": float,
    "least_possible_m": float,
    "proved_optimal": bool,
    "least_in_steps_m": float,
    "cost": float,
    "findings": tuple[Finding, ...],
    "shopping": tuple[ShoppingLine, ...],
    "cuts": tuple[CutStick, ...],
    "flue": FlueState | None,
    "reason": str,
    "scarcity": str,
}


def _check_meeting(route: Route, key: str) -> None:
    """A route whose parts do not meet was damaged, and nothing may be built from it."""
    for n, (part, then) in enumerate(zip(route.parts, route.parts[1:], strict=False), start=1):
        if max(abs(a - b) for a, b in zip(part.end_m, then.start_m, strict=True)) > MEET_M:
            raise ShapeError(f"{key}.parts[{n + 1}].start_m", "does not meet the end of the part before it")
