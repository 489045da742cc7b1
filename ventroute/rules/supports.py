"""Hangers by material, size and temperature; how much a run grows, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ventroute.constants import INCH_M
from ventroute.layout.supports import Supports, supports
from ventroute.model.appliance import Appliance
from ventroute.model.parts import Kit, Material
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import PartKind, Route, Run
from ventroute.model.shelf import Spacing
from ventroute.rules.pack import Figure, Line, Pack
from ventroute.rules.verdict import at_most, stated
from ventroute.sentences import counted, note_length
from ventroute.units import format_temperature


@dataclass(frozen=True, slots=True)
class Held:
    """The row of the pack that says how far apart a pipe is held; ``ends_degC``: hotter than that nobody says."""

    line: Line
    ends_degC: float | None

    @property
    def level(self) -> Figure:
        """Greatest distance between hangers of a level run [m]."""
        return self.line.figures["spacing"]

    @property
    def upright(self) -> Figure | None:
        """Greatest distance between supports of a riser [m], None where nobody says."""
        return self.line.figures.get("upright")

    @property
    def beyond(self) -> str:
        """What a person must ask where the gas is hotter than the table goes."""
        if self.ends_degC is None:
            return ""
        return f"the table ends at {format_temperature(self.ends_degC)}: ask the pipe's maker how far apart"


def held(pack: Pack, material: str, size_in: float, exhaust_degC: float) -> Held | None:
    """The first row that reaches this size and temperature [degC], else the hottest that reaches the size, else None.

    Rows go up to and with their size and temperature, the tighter first.
    """
    sized = [
        line
        for rule in pack.of("hangers")
        for line in rule.table
        if line.text["material"] == material and size_in * INCH_M <= line.figures["size_to"].value + 1e-9
    ]
    for line in sized:
        if exhaust_degC <= line.figures["temperature_to"].value + 1e-9:
            return Held(line, None)
    if not sized:
        return None
    hottest = max(line.figures["temperature_to"].value for line in sized)
    last = [line for line in sized if line.figures["temperature_to"].value == hottest]
    return Held(min(last, key=lambda line: line.figures["spacing"].value), hottest)


def spacing(pack: Pack, appliance: Appliance, kit: Kit) -> Spacing:
    """How far apart the rules let pipe of this kit be held, for the list of what to buy."""
    found = held(pack, kit.material.name, kit.size_in, appliance.exhaust_max_degC)
    if found is None:
        return Spacing()
    upright = found.upright.value if found.upright else None
    why = "; ".join(part for part in (pack.cite(found.level.evidence), found.beyond) if part)
    return Spacing(found.level.value, upright, why)


def growth_m(length_m: float, expansion_per_K: float, from_degC: float, to_degC: float) -> float:
    """How much a run lengthens from one temperature to another [m]."""
    return length_m * expansion_per_K * (to_degC - from_degC)


def support_findings(appliance: Appliance, pack: Pack, route: Route) -> Iterator[Finding]:
    """How many supports hold the level runs and the risers, and whether runs have room to grow."""
    for stretch in route.stretches:
        kit = stretch.kit
        found = held(pack, kit.material.name, kit.size_in, appliance.exhaust_max_degC)
        subject = f"{kit.size_in:g} in {kit.material.name}"
        if found is None:
            note = "no spacing on record for this material and size: ask its maker"
            yield from stated(pack, "support.spacing", subject, Verdict.ASK, note=note)
        else:
            yield from _spaced(pack, subject, found, supports(stretch, spacing(pack, appliance, kit)))
    yield from _growth(appliance, pack, route)


def _spaced(pack: Pack, subject: str, found: Held, count: Supports) -> Iterator[Finding]:
    verdict = Verdict.ASK if found.beyond else Verdict.PASS
    if count.level:
        apart = f"{counted(count.level, 'hanger')}, no farther than {found.level.value / INCH_M:.4g} in apart"
        note = "; ".join(part for part in (apart, found.beyond) if part)
        evidence = found.level.evidence
        yield from stated(pack, "support.spacing", f"{subject}, level runs", verdict, note=note, evidence=evidence)
    if count.feet:
        note = f"{counted(count.feet, 'support')} at feet and where construction is crossed"
        if found.upright is None:
            note += "; nobody says how far apart: ask the pipe's maker"
            yield from stated(pack, "support.spacing", f"{subject}, risers", Verdict.ASK, note=note)
            return
        apart = f"{found.upright.value / 2 / INCH_M:.4g} in apart"
        note += f", {counted(count.guides, 'guide')} between, no farther than {apart}"
        note = "; ".join(part for part in (note, found.beyond) if part)
        evidence = found.upright.evidence
        yield from stated(pack, "support.spacing", f"{subject}, risers", verdict, note=note, evidence=evidence)


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
    grown = note_length(growth_m(run.length_m, material.expansion_per_K, laid_degC, hot_degC), short=True)
    return f"grows {grown} hot: hang it so that it slides, and do not clamp the legs at its ends tightly"
