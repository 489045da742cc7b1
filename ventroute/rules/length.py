"""Lengths against the manual's table: equivalent, least, elbows, pitch of every run, cut pipes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from ventroute.constants import MEET_M
from ventroute.layout.lengths import FITS_M
from ventroute.model.appliance import Appliance, SizeLimit, Vec3
from ventroute.model.parts import Kit
from ventroute.model.plan import Finding, Verdict
from ventroute.model.route import CHANGES, Part, PartKind, Route, Run, bend_equivalent_m
from ventroute.model.source import Evidence
from ventroute.rules.fittings import beside, label
from ventroute.rules.manual import manual_evidence
from ventroute.rules.materials import joint
from ventroute.rules.pack import Pack
from ventroute.rules.verdict import at_least, at_most, stated, tightest
from ventroute.sentences import note_length

SOLVENT = ("PVC", "CPVC", "ABS")  # plastics that are cemented
UPRIGHT_DEG = 0.01  # a run this near to upright drains whichever way it leans
STEEP = 1.0  # rise over run from which a rising run counts as a riser where condensate drains to the terminal


def length_findings(appliance: Appliance, pack: Pack, route: Route) -> Iterator[Finding]:
    """Everything the appliance's manual says about how long, how many bends, and how steep."""
    rows = [row for kit in route.kits if (row := appliance.limit(kit.size_in)) is not None]
    if len(rows) < len(route.kits):
        note = "the appliance's table has no such size"
        known = [row.size_in for row in rows]
        missing = ", ".join(f"{kit.size_in:g} in" for kit in route.kits if kit.size_in not in known)
        yield from stated(pack, "size.listed", missing, Verdict.FAIL, note=note)
        return
    yield from _angles(appliance, rows, pack, route)
    if len(rows) > 1:
        yield from _by_share(appliance, rows[0], rows[1], pack, route)
    else:
        yield from _lengths(appliance, rows[0], pack, route)
    yield from pitch_findings(appliance, pack, route.runs)


def part_findings(pack: Pack, route: Route) -> Iterator[Finding]:
    """Whether the parts of a drawn route are the kit's, meet, and can be sawn."""
    strange = sorted({part.item for part in route.parts if not any(kit.holds(part.item) for kit in route.kits)})
    note = f"not of this system: {', '.join(strange)}" if strange else ""
    yield from stated(pack, "parts.one-system", "all parts", Verdict.FAIL if strange else Verdict.PASS, note=note)
    gaps = [math.dist(a.end_m, b.start_m) for a, b in pairwise(route.parts)]
    yield from at_most(pack, "parts.meet", "all parts", max(gaps, default=0.0), MEET_M, "m")
    yield from _pipes(pack, route)
    yield from _joints(pack, route)


def equivalent_m(appliance: Appliance, row: SizeLimit, route: Route) -> float:
    """Equivalent length [m] counted afresh from the parts: runs, and each fitting's figure of the table.

    Bends without a figure count as the route has them; they are a finding of their own.
    """
    fittings = row.terminal_m
    for part in route.parts:
        if part.kind is PartKind.ELBOW:
            figure = bend_equivalent_m(row, route.kit, part)
            fittings += part.equivalent_m if figure is None else figure
        elif part.kind in (PartKind.REDUCER, PartKind.INCREASER):
            fittings += row.reducer_m if part.kind is PartKind.REDUCER else row.increaser_m
    if appliance.count == "pipe":
        return fittings + sum(part.cut_m or 0.0 for part in route.parts)
    return fittings + sum(math.dist(run.start_m, run.end_m) for run in route.runs)


def shares(appliance: Appliance, smaller: SizeLimit, larger: SizeLimit, route: Route) -> tuple[float, float]:
    """What the parts of either size use of that size's greatest length, as shares of 1, counted afresh.

    A change of size counts in the size that makes it the greater share. A bend without a figure counts as the route
    has it.
    """
    found = [0.0, 0.0]
    for part in route.parts:
        small = route.smaller is not None and route.kit_of(part) is route.smaller
        row = smaller if small else larger
        along = _axis_m(part) if appliance.count != "pipe" else part.cut_m or 0.0
        if part.kind in CHANGES:
            each = [(_axis_m(part) + _change_m(part, row)) / row.max_length_m for row in (smaller, larger)]
            found[0] += max(each)
            continue
        if part.kind is PartKind.ELBOW:
            figure = bend_equivalent_m(row, route.kit_of(part), part)
            along += part.equivalent_m if figure is None else figure
        found[not small] += along / row.max_length_m
    return found[0], found[1] + larger.terminal_m / larger.max_length_m


def _change_m(part: Part, row: SizeLimit) -> float:
    return {PartKind.REDUCER: row.reducer_m, PartKind.INCREASER: row.increaser_m}.get(part.kind, 0.0)


def _axis_m(part: Part) -> float:
    """Along the axis, from start over the corner to end [m]."""
    through = [part.start_m, *([part.corner_m] if part.corner_m else []), part.end_m]
    return sum(math.dist(p, q) for p, q in pairwise(through))


def _by_share(
    appliance: Appliance, smaller: SizeLimit, larger: SizeLimit, pack: Pack, route: Route
) -> Iterator[Finding]:
    """Two sizes: shares together at most 1, shown in metres of the larger size; the stricter of all other limits."""
    each, rows = shares(appliance, smaller, larger, route), (smaller, larger)
    subject = f"{smaller.size_in:g} in, then {larger.size_in:g} in, {route.elbows} elbows"
    said = " and ".join(
        f"{share:.3f} of the {name} size's" for share, name in zip(each, ("smaller", "larger"), strict=True)
    )
    note = f"by share: {said}, together {sum(each):.3f} of 1; shown in lengths of the larger"
    evidence, most = _manual(appliance, pack, "length.max"), larger.max_length_m
    yield from at_most(pack, "length.max", subject, sum(each) * most, most, "m", note=note, evidence=evidence)
    least = max(row.min_length_m for row in rows)
    if least > 0:
        plain = sum(share * row.max_length_m for share, row in zip(each, rows, strict=True))
        evidence = _manual(appliance, pack, "length.min")
        yield from at_least(pack, "length.min", subject, plain, least, "m", evidence=evidence)
    elbows = [row.max_elbows for row in rows if row.max_elbows is not None]
    if elbows:
        evidence = _manual(appliance, pack, "length.elbows")
        counted = float(route.elbows)
        yield from at_most(pack, "length.elbows", "elbows", counted, float(min(elbows)), "count", evidence=evidence)


def pitch_findings(appliance: Appliance, pack: Pack, runs: tuple[Run, ...]) -> Iterator[Finding]:
    """Slope of every run that is not upright, as an angle [deg], the way the condensate must go.

    The first run leaves a level collar level: pitch starts at its first joint.
    """
    evidence = _manual(appliance, pack, "pitch")
    wanted = math.degrees(math.atan(appliance.pitch))
    collar_level = abs(appliance.faces[2]) < 1e-6
    for n, run in enumerate(runs, 1):
        slope = slope_deg(run.start_m, run.end_m)
        if abs(slope) >= 90 - UPRIGHT_DEG and (slope > 0 or appliance.falls_to == "terminal"):
            continue
        first = n == 1 and collar_level and abs(slope) < 1e-4
        limit = 0.0 if first else wanted
        note = f"{pitch_text(appliance.pitch)} towards the {appliance.falls_to}" + (", level at the collar" * first)
        if appliance.falls_to == "terminal":
            if slope >= math.degrees(math.atan(STEEP)) - 1e-6:
                continue
            slope = -slope
        slack = 1e-6 if not first else 1e-4
        measured = limit if abs(slope - limit) < slack else slope
        yield from at_least(pack, "pitch", f"run {n}", measured, limit, "deg", note=note, evidence=evidence)


def slope_deg(start: Vec3, end: Vec3) -> float:
    """Angle of a run over the level [deg], negative where it falls."""
    level = math.hypot(end[0] - start[0], end[1] - start[1])
    return math.degrees(math.atan2(end[2] - start[2], level))


def rise_m(level_m: float, pitch: float) -> float:
    """What a run of this level length [m] rises at a pitch (rise over run) [m]."""
    return level_m * pitch


def pitch_text(pitch: float) -> str:
    """A pitch as the trade says it."""
    return f"{pitch * 12:.3g} in per ft"


def _angles(appliance: Appliance, rows: Sequence[SizeLimit], pack: Pack, route: Route) -> Iterator[Finding]:
    known = {kit.size_in: row for kit, row in zip(route.kits, rows, strict=True)}
    bends = [(part, route.kit_of(part)) for part in route.parts if part.kind is PartKind.ELBOW]
    without = [part for part, kit in bends if bend_equivalent_m(known[kit.size_in], kit, part) is None]
    strange = sorted({f"{part.nominal_deg or 0.0:g} deg ({part.item})" for part in without})
    note = f"no figure for {', '.join(strange)}" if strange else ""
    verdict = Verdict.FAIL if strange else Verdict.PASS
    evidence = _manual(appliance, pack, "length.angles")
    yield from stated(pack, "length.angles", "all bends", verdict, note=note, evidence=evidence)


def _lengths(appliance: Appliance, row: SizeLimit, pack: Pack, route: Route) -> Iterator[Finding]:
    total, subject = equivalent_m(appliance, row, route), f"{row.size_in:g} in, {route.elbows} elbows"
    evidence = _manual(appliance, pack, "length.max")
    yield from at_most(pack, "length.max", subject, total, row.max_length_m, "m", evidence=evidence)
    if row.min_length_m > 0:
        evidence = _manual(appliance, pack, "length.min")
        yield from at_least(pack, "length.min", subject, total, row.min_length_m, "m", evidence=evidence)
    if row.max_elbows is not None:
        evidence, most = _manual(appliance, pack, "length.elbows"), float(row.max_elbows)
        yield from at_most(pack, "length.elbows", "elbows", float(route.elbows), most, "count", evidence=evidence)


def _pipes(pack: Pack, route: Route) -> Iterator[Finding]:
    """The pipe with the least to spare in its sockets, and the longest; every one that fails."""
    pipes = [(i, p, math.dist(p.start_m, p.end_m)) for i, p in enumerate(route.parts) if p.kind is PartKind.PIPE]
    least = [
        finding
        for i, p, long in pipes
        for finding in at_least(
            pack, "parts.least-pipe", label(p), long, beside(route, i, -1) + beside(route, i, 1), "m"
        )
    ]
    sold = [
        finding
        for _, p, long in pipes
        for finding in at_most(pack, "parts.stick", label(p), long, max(route.kit_of(p).pipe.stick_m), "m")
    ]
    whole = [
        finding
        for _, p, long in pipes
        if not route.kit_of(p).pipe.can_be_cut
        for finding in at_most(
            pack, "parts.whole", label(p), _off_m(route.kit_of(p), p, long), FITS_M, "m", note=_on_sale(route.kit_of(p))
        )
    ]
    yield from (*tightest(least), *tightest(sold), *tightest(whole))


def _on_sale(kit: Kit) -> str:
    """The lengths that are sold, for a note, and how much the ranges are worth."""
    sold = f"sold: {', '.join(map(note_length, sorted(kit.pipe.stick_m)))}"
    if not kit.adjustables:
        return sold
    ranges = ", ".join(f"{note_length(row.least_m)} to {note_length(row.most_m)}" for row in kit.adjustables)
    grades = " and ".join(sorted({row.evidence.grade.value for row in kit.adjustables}))
    return f"{sold}; set: {ranges} ({grades})"


def _off_m(kit: Kit, part: Part, length_m: float) -> float:
    """How far a piece is from a length that is sold, or from what an adjustable one can be set to [m]."""
    for row in kit.adjustables:
        if row.item == part.item:
            return max(0.0, row.least_m - length_m, length_m - row.most_m)
    return min(abs(length_m - sold) for sold in kit.pipe.stick_m)


def _joints(pack: Pack, route: Route) -> Iterator[Finding]:
    """Cement and primer of every pair of materials that is cemented together."""
    kit = route.kit
    used = {part.item for part in route.parts}
    changes = [change for each in route.kits for change in each.start if change.item in used]
    pairs = {(c.from_material, c.to_material) for c in changes} | {(kit.material.name,) * 2}
    glued = sorted(pair for pair in pairs if kit.material.joint == "cemented" and set(pair) <= set(SOLVENT))
    for first, second in glued:
        found = joint(pack, first, second)
        subject = first if first == second else f"{first} to {second}"
        if found is None:
            note = "no standard of the pack has a cement for this pair"
            yield from stated(pack, "parts.joints", subject, Verdict.FAIL, note=note)
        else:
            words = f"cement to {found.cement}" + (f", primer to {found.primer}" if found.primer else ", no primer")
            yield from stated(pack, "parts.joints", subject, Verdict.PASS, note=words, evidence=found.evidence)


def _manual(appliance: Appliance, pack: Pack, rule_id: str) -> Evidence | None:
    rule = pack.rule(rule_id)
    return manual_evidence(appliance, rule) if rule else None
