"""A plan as plan.json, and back."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from ventroute.constants import MEET_M
from ventroute.errors import Fault, InputError
from ventroute.io.json_lines import json_lines
from ventroute.io.plan_shape import Faults, ShapeError, as_type, named, rounded, to_plain, wanted
from ventroute.io.site_lines import line_of, path_of, spelt
from ventroute.model.appliance import Vec3
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


def _told(route: Route) -> dict[str, Any]:
    """What a reader of the document looks for first, all of which follows from the route itself."""
    return {
        "material": route.kit.material.name,
        "schedule": route.kit.schedule,
        "size_in": route.kit.size_in,
        "passes": [crossing.name for crossing in route.crossings],
        "equivalent_m": rounded(route.equivalent_m),
        "elbows": route.elbows,
    }


def _route_dict(planned: PlannedRoute) -> dict[str, Any]:
    route = planned.route
    told = _told(route)
    return {
        "id": planned.id,
        **{key: told[key] for key in ("material", "schedule", "size_in")},
        "terminal": {
            "kind": route.terminal_kind,
            "point_m": to_plain(route.terminal_m),
            "direction": to_plain(route.terminal_direction),
        },
        **{key: told[key] for key in ("passes", "equivalent_m")},
        "runs_m": rounded(route.runs_m),
        "fittings_m": rounded(route.fittings_m),
        "limit_m": rounded(planned.limit_m),
        "least_possible_m": rounded(planned.least_possible_m),
        "proved_optimal": planned.proved_optimal,
        "least_in_steps_m": rounded(planned.least_in_steps_m),
        "cost": rounded(planned.cost),
        "elbows": told["elbows"],
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
        It cannot be read, is no plan, its parts do not meet, or what it says of a route is not what the route is:
        every fault, each with its line and key.
    """
    file = str(path)
    text = _text(path, file)
    document = _parse(text, file)
    odd = [Fault(file, line, spelt(at), what) for at, line, what in json_lines(text).odd] if document.odd else []
    try:
        plan = _plan(document.value)
    except ShapeError as problem:
        raise InputError([*odd, *_placed(text, file, problem.faults)]) from problem
    if odd:
        raise InputError(odd)
    return plan


def plan_faults(path: Path, faults: Iterable[tuple[str, str]]) -> InputError:
    """Faults found in a plan that was read, by key, with the lines of its file: the error to raise."""
    return InputError(_placed(_text(path, str(path)), str(path), faults))


def _placed(text: str, file: str, faults: Iterable[tuple[str, str]]) -> list[Fault]:
    lines = json_lines(text).lines
    return [Fault(file, line_of(lines, path_of(key)), key, what) for key, what in faults]


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


@dataclass(slots=True)
class _Document:
    """What the parser made of a text, and whether it let pass what is no JSON, or is there twice."""

    value: object = None
    odd: bool = False

    def once(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        """An object whose keys should stand once each: of two prices, neither may win in silence."""
        made = dict(pairs)
        self.odd |= len(made) != len(pairs)
        return made

    def constant(self, text: str) -> float:
        """A number that is none."""
        self.odd = True
        return float(text)


def _parse(text: str, file: str) -> _Document:
    document = _Document()
    try:
        document.value = json.loads(text, object_pairs_hook=document.once, parse_constant=document.constant)
    except json.JSONDecodeError as problem:
        named = re.findall(r'"([A-Za-z_]{1,40})"\s*:', text[: problem.pos])
        what = f"not JSON: {problem.msg}; wanted a plan.json"
        raise InputError([Fault(file, problem.lineno, named[-1] if named else "", what)]) from problem
    except (RecursionError, ValueError) as problem:
        raise InputError([Fault(file, 1, "", "nested or numbered beyond any plan; wanted a plan.json")]) from problem
    return document


def _plan(document: object) -> Plan:
    if not isinstance(document, dict) or "routes" not in document:
        raise ShapeError(("", "not a plan; wanted the plan.json that `ventroute plan --out DIR` writes"))
    if document.get("format") != FORMAT:
        raise ShapeError(("format", f"{named(document.get('format'))} is not read; wanted {FORMAT}"))
    faults = Faults()
    routes = faults.read(_list, document, "routes") or []
    plan = Plan(
        site=faults.read(_get, document, "site", str, ""),
        rules=faults.read(_get, document, "rules", str, ""),
        routes=tuple(faults.read(_route, route, f"routes[{n}]") for n, route in enumerate(routes, start=1)),
        rejected=faults.read(_get, document, "rejected", tuple[Rejected, ...], ""),
        mends=faults.read(_get, document, "mends", tuple[str, ...], "") if "mends" in document else (),
    )
    first: dict[str, int] = {}
    for n, route in enumerate(plan.routes, start=1):
        if route is not None and first.setdefault(route.id, n) != n:
            what = f"{named(route.id)} is the id of routes[{first[route.id]}] too; wanted one of its own"
            faults.note(f"routes[{n}].id", what)
    faults.settle()
    return plan


def _get(document: dict[str, Any], name: str, hint: Any, key: str) -> Any:
    path = f"{key}.{name}" if key else name
    if name not in document:
        raise ShapeError((path, f"missing; wanted {wanted(hint)}"))
    return as_type(hint, document[name], path)


def _list(document: dict[str, Any], name: str) -> list[Any]:
    value = document.get(name)
    if not isinstance(value, list):
        raise ShapeError((name, f"wanted a list, not {named(value)}"))
    return value


def _route(document: object, key: str) -> PlannedRoute:
    if not isinstance(document, dict):
        raise ShapeError((key, f"wanted an object, not {named(document)}"))
    faults = Faults()

    def get(name: str, hint: Any) -> Any:
        return faults.read(_get, document, name, hint, key)

    end: Any = faults.read(_terminal, document.get("terminal"), f"{key}.terminal") or (None, None, None)
    route = Route(
        kit=get("kit", Kit),
        terminal_kind=end[0],
        terminal_m=end[1],
        terminal_direction=end[2],
        runs=get("runs", tuple[Run, ...]),
        parts=get("parts", tuple[Part, ...]),
        crossings=get("crossings", tuple[Crossing, ...]),
        runs_m=get("runs_m", float),
        fittings_m=get("fittings_m", float),
        smaller=get("smaller", Kit) if "smaller" in document else None,
    )
    about = {name: get(name, hint) for name, hint in _PLANNED.items()}
    faults.settle()
    for name, what in _strange(route, document):
        faults.note(f"{key}.{name}", what)
    faults.settle()
    return PlannedRoute(route=route, **about)


def _terminal(document: object, key: str) -> tuple[str, Vec3, Vec3]:
    if not isinstance(document, dict):
        raise ShapeError((key, f"wanted an object, not {named(document)}"))
    faults = Faults()
    kind = faults.read(_get, document, "kind", str, key)
    if kind is not None and kind not in _ENDS:
        faults.note(f"{key}.kind", f"{named(kind)} is not known; wanted one of {', '.join(_ENDS)}")
    point, direction = (faults.read(_get, document, name, Vec3, key) for name in ("point_m", "direction"))
    faults.settle()
    return kind, point, direction


_ENDS = ("roof", "wall")
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


def _strange(route: Route, document: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """What a route that was damaged or changed by hand says and is not: nothing may be built from it."""
    empty = [key for key, parts in (("runs", route.runs), ("parts", route.parts)) if not parts]
    if empty:
        yield from ((key, "empty; wanted at least one") for key in empty)
        return
    for key, made in _told(route).items():
        if key not in document:
            yield key, f"missing; wanted {_said(made)}, which is what the route is"
        elif not _same(document[key], made):
            yield key, f"{_said(document[key])}, but the route as it stands below is {_said(made)}; wanted one in both"
    for name, kit in (("kit", route.kit), ("smaller", route.smaller)):
        yield from _mixed(name, kit) if kit is not None else ()
    for n, (part, then) in enumerate(pairwise(route.parts), start=2):
        if max(abs(a - b) for a, b in zip(part.end_m, then.start_m, strict=True)) > MEET_M:
            yield f"parts[{n}].start_m", f"does not meet the end of the part before it; wanted {_said(part.end_m)}"


def _mixed(key: str, kit: Kit) -> Iterator[tuple[str, str]]:
    """A kit with parts of another material."""
    own = kit.material.name
    others = {kit.pipe.material, kit.coupling.material, *(bend.material for bend in kit.bends)}
    others = (others | {end.material for end in kit.terminals}) - {own}
    if others:
        of = ", ".join(named(other) for other in sorted(others))
        yield f"{key}.material.name", f"{named(own)}, in a kit with parts of {of}; wanted one material"


def _said(value: object) -> str:
    """A value in a message, lists written out."""
    return f"[{', '.join(map(_said, value))}]" if isinstance(value, list | tuple) else named(value)


def _same(said: object, made: Any) -> bool:
    if isinstance(said, bool) or not isinstance(said, int | float) or not isinstance(made, int | float):
        return bool(said == made)
    return abs(said - made) <= MEET_M
