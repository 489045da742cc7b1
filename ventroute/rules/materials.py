"""May this appliance be vented in this material and size at all? Asked before any way is searched."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ventroute.model.appliance import Appliance, Want
from ventroute.model.parts import Material
from ventroute.model.plan import Finding, Verdict
from ventroute.model.source import Evidence
from ventroute.rules.manual import manual_evidence
from ventroute.rules.pack import Line, Pack
from ventroute.rules.verdict import at_most, stated

PLASTICS = ("PVC", "CPVC", "ABS", "PP")
# What the tables of vent types call a material; anything else is a special vent, allowed as listed.
VENT_TYPES = {"Type B": "type B", "chimney": "chimney", "single-wall metal": "single-wall"}


@dataclass(frozen=True, slots=True)
class Joint:
    """How two materials are joined: standards of cement and primer, "" where none is used."""

    cement: str
    primer: str
    evidence: Evidence


def gate(
    appliance: Appliance, material: Material, size_in: float, pack: Pack, want: Want, schedule: str = "40"
) -> tuple[Finding, ...]:
    """Findings about material, temperature, category and size; any fail shuts the material or size out.

    Parameters
    ----------
    size_in : nominal size [in]
    schedule : how the pipe is made, as the catalog has it; ``cellular`` in it means a cellular core
    """
    used = pack.applying(appliance, material.name)
    return (
        *_wanted(material, size_in, used, want),
        *_listed(appliance, material, used),
        *_category(appliance, material, used),
        *_size(appliance, size_in, used),
        *_temperature(appliance, material, used),
        *_service(appliance, material, used),
        *_core(appliance, schedule, used),
        *_certified(material, used),
    )


def joint(pack: Pack, first: str, second: str) -> Joint | None:
    """Cement and primer for a pair of materials, None where no standard of the pack allows the joint."""
    for rule in pack.of("joints"):
        for line in rule.table:
            if {line.text["from"], line.text["to"]} == {first, second}:
                return Joint(line.text["cement"], line.text["primer"], line.evidence)
    return None


def _wanted(material: Material, size_in: float, pack: Pack, want: Want) -> Iterator[Finding]:
    if want.materials and material.name not in want.materials:
        yield from stated(pack, "material.listed", material.name, Verdict.FAIL, note="not among the materials wanted")
    if want.sizes_in and not any(abs(size_in - size) < 1e-6 for size in want.sizes_in):
        yield from stated(pack, "size.listed", f"{size_in:g} in", Verdict.FAIL, note="not among the sizes wanted")


def _types(appliance: Appliance, pack: Pack) -> Line | None:
    lines = (line for rule in pack.of("vent types") for line in rule.table)
    return next((line for line in lines if line.text["category"] == appliance.category), None)


def _by_table(appliance: Appliance, material: Material, pack: Pack) -> bool:
    """Whether the code's own table names the vent for this category, without the manual."""
    line, kind = _types(appliance, pack), VENT_TYPES.get(material.name)
    return line is not None and kind is not None and kind in line.text["types"]


def _listed(appliance: Appliance, material: Material, pack: Pack) -> Iterator[Finding]:
    named = material.name in appliance.materials
    known = ", ".join(appliance.materials) or "none"
    if not named and _by_table(appliance, material, pack):
        note = "not named by the manual; the code's table names it for this category"
        yield from stated(pack, "material.listed", material.name, Verdict.PASS, note=note)
        return
    note = "" if named else f"{material.name} is not among the materials named: {known}"
    evidence = _evidence(appliance, pack, "material.listed")
    verdict = Verdict.PASS if named else Verdict.FAIL
    yield from stated(pack, "material.listed", material.name, verdict, note=note, evidence=evidence)


def _category(appliance: Appliance, material: Material, pack: Pack) -> Iterator[Finding]:
    line = _types(appliance, pack)
    subject = f"{material.name} on category {appliance.category}"
    if line is None or _by_table(appliance, material, pack):
        verdict = Verdict.ASK if line is None else Verdict.PASS
        yield from stated(pack, "vent.category", subject, verdict)
        return
    named, plastic = material.name in appliance.materials, material.name in PLASTICS
    verdict = Verdict.FAIL if not named else Verdict.PASS
    note = f"the table says: {line.text['types']}"
    if named and appliance.category == "I" and plastic:
        verdict, note = Verdict.ASK, "the manual names a plastic for a category I appliance: is its plate read rightly?"
    yield from stated(pack, "vent.category", subject, verdict, note=note, evidence=line.evidence)


def _size(appliance: Appliance, size_in: float, pack: Pack) -> Iterator[Finding]:
    there = appliance.limit(size_in) is not None
    sizes = ", ".join(f"{row.size_in:g} in" for row in appliance.sizes)
    note = "" if there else f"the appliance's table has {sizes}"
    evidence = _evidence(appliance, pack, "size.listed")
    verdict = Verdict.PASS if there else Verdict.FAIL
    yield from stated(pack, "size.listed", f"{size_in:g} in", verdict, note=note, evidence=evidence)


def _temperature(appliance: Appliance, material: Material, pack: Pack) -> Iterator[Finding]:
    hottest = appliance.exhaust_max_degC
    limit, evidence = class_limit(material, pack)
    if limit is None:
        note = f"{material.name} has no listing class on record: the manual must give its highest temperature"
        yield from stated(pack, "material.class", material.name, Verdict.ASK, note=note)
        return
    subject = f"{material.name}, class {material.listing_class or 'not lettered'}"
    yield from at_most(pack, "material.class", subject, hottest, limit, "degC", evidence=evidence)


def class_limit(material: Material, pack: Pack) -> tuple[float | None, Evidence | None]:
    """Highest temperature [degC] of the material's listing class: the lower of pack and catalog, None if unknown."""
    known: list[tuple[float, Evidence]] = []
    if material.class_max_degC is not None:
        known.append((material.class_max_degC, material.evidence_of("class_max_degC")))
    for line in (line for rule in pack.of("classes") for line in rule.table):
        if line.text["class"] == material.listing_class:
            known.insert(0, (line.figures["limit"].value, line.evidence))
    return min(known, key=lambda pair: pair[0]) if known else (None, None)


def _service(appliance: Appliance, material: Material, pack: Pack) -> Iterator[Finding]:
    """Plain pipe's own limit: decides where there is no class, else a person is told of it."""
    if material.service_max_degC is None:
        return
    classed = class_limit(material, pack)[0] is not None
    note = "a listed vent of its class may still be allowed: use one, not plain pipe" if classed else ""
    yield from at_most(
        pack, "material.service", f"plain {material.name} pipe", appliance.exhaust_max_degC,
        material.service_max_degC, "degC", note=note,
        evidence=material.evidence_of("service_max_degC"), ask=classed,
    )  # fmt: skip


def _core(appliance: Appliance, schedule: str, pack: Pack) -> Iterator[Finding]:
    if "cellular" in schedule.lower():
        certified = pack.rule("vent.s636") is not None  # certified vents are solid: the manual cannot allow it there
        allowed = appliance.cellular_core and not certified
        yield from stated(pack, "material.cellular-core", schedule, Verdict.PASS if allowed else Verdict.FAIL)


def _certified(material: Material, pack: Pack) -> Iterator[Finding]:
    rule = pack.rule("vent.s636")
    if rule is not None:
        verdict = Verdict.ASK if material.listing_class else Verdict.FAIL
        note = "" if material.listing_class else "plain drain or water pipe carries no such mark"
        yield from stated(pack, rule.id, material.name, verdict, note=note)


def _evidence(appliance: Appliance, pack: Pack, rule_id: str) -> Evidence | None:
    rule = pack.rule(rule_id)
    return manual_evidence(appliance, rule) if rule else None
