"""Hangers by material, size and temperature; how much a run grows, and what to do about it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ventroute.constants import INCH_M
from ventroute.model.appliance import Appliance
from ventroute.model.parts import Material
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import PartKind, Route, Run
from ventroute.model.source import Evidence
from ventroute.rules.length import slope_deg
from ventroute.rules.pack import Pack
from ventroute.rules.verdict import at_most, stated

LEVEL_DEG = 45.0  # flatter runs hang, steeper ones stand


@dataclass(frozen=True, slots=True)
class Spacing:
    """Greatest distance between supports [m], level and upright."""

    level_m: float
    upright_m: float
    evidence: Evidence


def spacing(pack: Pack, material: str, size_in: float, exhaust_degC: float) -> Spacing | None:
    """Support spacing of a pipe that carries gas of this temperature [degC], None where no row reaches it."""
    for rule in pack.of("hangers"):
        for line in rule.table:
            fits = line.text["material"] == material and size_in * INCH_M <= line.figures["size_to"].value + 1e-9
            if fits and exhaust_degC <= line.figures["temperature_to"].value + 1e-9:
                return Spacing(line.figures["spacing"].value, line.figures["upright"].value, line.evidence)
    return None


def hangers(length_m: float, spacing_m: float) -> int:
    """Supports of a run with one at each end and none farther apart than the spacing [m]."""
    return math.ceil(length_m / spacing_m - 1e-9) + 1


def growth_m(length_m: float, expansion_per_K: float, from_degC: float, to_degC: float) -> float:
    """How much a run lengthens from one temperature to another [m]."""
    return length_m * expansion_per_K * (to_degC - from_degC)


def support_findings(appliance: Appliance, pack: Pack, route: Route) -> Iterator[Finding]:
    """How many supports, and whether runs have room to grow."""
    kit = route.kit
    found = spacing(pack, kit.material.name, kit.size_in, appliance.exhaust_max_degC)
    subject = f"{kit.size_in:g} in {kit.material.name}"
    if found is None:
        note = "no spacing on record for this material, size and temperature: ask its maker"
        yield from stated(pack, "support.spacing", subject, Verdict.ASK, note=note)
    else:
        count = sum(_count(run, found) for run in route.runs)
        note = f"{count} supports, level runs no farther than {found.level_m / INCH_M:.4g} in apart"
        evidence = found.evidence
        yield from stated(pack, "support.spacing", subject, Verdict.PASS, note=note, evidence=evidence)
    yield from _growth(appliance, pack, route)


def _count(run: Run, found: Spacing) -> int:
    """Supports of a run, that at its far corner left to the next."""
    level = abs(slope_deg(run.start_m, run.end_m)) < LEVEL_DEG
    return hangers(run.length_m, found.level_m if level else found.upright_m) - 1


def _growth(appliance: Appliance, pack: Pack, route: Route) -> Iterator[Finding]:
    for rule in pack.of("expansion"):
        laid = rule.figures["laid_at"].value
        hot, stuff = appliance.exhaust_max_degC, route.kit.material
        if stuff.joint == "gasketed":
            longest = max((p.cut_m or 0.0 for p in route.parts if p.kind is PartKind.PIPE), default=0.0)
            grown, figure = growth_m(longest, stuff.expansion_per_K, laid, hot), rule.figures["socket"]
            note = "leave this much at each socket's stop and let the pipe slide in its clamps"
            yield from at_most(
                pack, rule.id, "longest pipe", grown, figure.value, "m", note=note, evidence=figure.evidence, ask=True
            )
            return
        n, run = max(enumerate(route.runs, 1), key=lambda pair: pair[1].length_m)
        figure = rule.figures["every"]
        note = _what_to_do(stuff, run, laid, hot)
        yield from at_most(
            pack, rule.id, f"run {n}", run.length_m, figure.value, "m", note=note, evidence=figure.evidence, ask=True
        )


def _what_to_do(material: Material, run: Run, laid_degC: float, hot_degC: float) -> str:
    grown = growth_m(run.length_m, material.expansion_per_K, laid_degC, hot_degC)
    return f"grows {grown * 1000:.1f} mm hot: hang it so that it slides, and do not clamp the legs at its ends tightly"
