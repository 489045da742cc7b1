"""Rows of the job sheet's tables: plain words, no layout."""

from __future__ import annotations

from collections.abc import Mapping

from ventroute.constants import FOOT_M
from ventroute.drawing.words import (
    grade_words,
    measure,
    pipe_words,
    proof_words,
    route_title,
    share_words,
    sized,
    worst_first,
)
from ventroute.model.appliance import Appliance, Vec3
from ventroute.model.excess import DryGas
from ventroute.model.plan import Plan, PlannedRoute, Verdict
from ventroute.model.site import Site
from ventroute.model.source import Source
from ventroute.units import format_length, format_pitch, format_power, format_size, format_temperature

Row = tuple[str, ...]
MARKS = {Verdict.PASS: "pass", Verdict.ASK: "ASK", Verdict.FAIL: "FAIL"}


def site_rows(site: Site, units: str) -> list[Row]:
    """The house as entered, places by x east, y north, z up, so that a tape can be held against them."""

    def length(value: float) -> str:
        return format_length(value, units)

    def box(corner: Vec3, size: Vec3) -> str:
        return f"from {point(corner)}; {' by '.join(map(length, size))}"

    def point(at: Vec3) -> str:
        return f"({', '.join(map(length, at))})"

    place, building = site.place, site.building
    metric = units == "metric"
    altitude = f"{round(place.altitude_m)} m" if metric else f"{round(place.altitude_m / FOOT_M)} ft"
    xs, ys = zip(*building.footprint, strict=True)
    rows: list[Row] = [
        ("Place", f"altitude {altitude}, "
                  f"winter {format_temperature(place.winter_degC, units)}, snow {length(place.snow_m)}"),
        ("Rules", place.rules),
        ("Building", f"{length(max(xs) - min(xs))} by {length(max(ys) - min(ys))} outside, "
                     f"lowest {length(building.bottom_m)}, grade {length(place.grade_m)}"),
    ]  # fmt: skip
    for room in site.rooms:
        top = "roof" if room.top_m is None else length(room.top_m)
        air = "heated" if room.heated else "unheated"
        x, y = (f"{length(min(along))} to {length(max(along))}" for along in zip(*room.floor, strict=True))
        ways = f"x {x}, y {y}, z {length(room.bottom_m)} to {top}"
        rows.append((f"Room: {room.name}", f"{air}, {ways}, {len(room.floor)} corners"))
    rows += [
        (f"Hole: {h.name}", f"{length(h.clear_m)} clear at {point(h.at)}, {h.through[0]} to {h.through[1]}")
        for h in site.holes
    ]
    rows += [
        (f"Cut allowed: {c.name}", f"{box(c.corner, c.size)}; {c.through[0]} to {c.through[1]}") for c in site.cuts
    ]
    for o in site.obstacles:
        if o.corner is not None and o.size is not None:
            said = box(o.corner, o.size)
        elif o.ends is not None and o.diameter_m is not None:
            said = f"{length(o.diameter_m)} round, {point(o.ends[0])} to {point(o.ends[1])}"
        else:
            said = f"mesh {o.mesh}"
        rows.append((f"Obstacle: {o.name}", said))
    rows += [(f"Outdoors: {f.name}", f"{f.kind}, {box(f.corner, f.size)}") for f in site.features]
    rows += [
        (f"Framing: {f.name}",
         f"{f.kind} {length(f.width_m)} by {length(f.depth_m)}, {length(f.spacing_m)} apart, {box(f.corner, f.size)}")
        for f in site.framing
    ]  # fmt: skip
    rows += [(f"Keep out: {k.name}", f"{k.applies}, {box(k.corner, k.size)}") for k in site.keep_outs]
    return rows


_MIXED = (("Several sizes", "by share: each length over the greatest of its size, together at most 1"),)


def appliance_rows(appliance: Appliance, units: str, sources: Mapping[str, Source]) -> list[Row]:
    """The appliance's own figures."""
    known = sources.get(appliance.source)
    source = (known.title if known else appliance.source) or "entered in the site file; compare with the manual"
    collar = f"{format_size(appliance.collar_size_in)} {appliance.collar_material or ''}".strip()
    pitch = f"{format_pitch(appliance.pitch, units)}, falling to the {appliance.falls_to}"
    return [
        ("Appliance", appliance.name + (f" ({appliance.model})" if appliance.model else "")),
        ("Limits come from", source),
        ("Input and fuel", f"{format_power(appliance.input_W, units)}, {appliance.fuel}"),
        ("Category", appliance.category),
        ("Vent style, collar", f"{appliance.vent_style} vent, collar {collar}"),
        ("Exhaust", f"at most {format_temperature(appliance.exhaust_max_degC, units)}, "
                    f"usually {format_temperature(appliance.exhaust_usual_degC, units)}"),
        ("Excess air", excess_words(appliance.excess_air)),
        ("Materials allowed", ", ".join(appliance.materials)),
        ("Pitch", pitch),
        ("Counting", "runs from corner to corner" if appliance.count != "pipe" else "pipe alone"),
        *(_MIXED if appliance.mixed_sizes == "by share" else ()),
    ]  # fmt: skip


def excess_words(said: float | DryGas) -> str:
    """Excess air as it was entered."""
    if isinstance(said, DryGas):
        return f"as {said.share * 100:.4g} % {said.gas} in dry flue gas tells"
    return f"{said * 100:.4g} %"


def limit_rows(appliance: Appliance, units: str) -> list[Row]:
    """The appliance's vent table: blank where it has no figure."""

    def length(value: float | None) -> str:
        return "" if value is None else format_length(value, units)

    return [
        (format_size(row.size_in), length(row.max_length_m), length(row.min_length_m),
         "" if row.max_elbows is None else str(row.max_elbows),
         length(row.elbow_90_m), length(row.elbow_45_m), length(row.elbow_22_m), length(row.terminal_m))
        for row in appliance.sizes
    ]  # fmt: skip


def pattern_rows(appliance: Appliance, units: str) -> list[Row]:
    """The figures that the vent table has for one pattern by itself."""
    return [
        (f"{format_size(row.size_in)}, {angle:g} degree bend, {pattern} pattern", format_length(m, units))
        for row in appliance.sizes
        for angle, pattern, m in row.by_pattern
    ]


def route_rows(planned: PlannedRoute, units: str) -> list[Row]:
    """The route in figures."""
    route = planned.route
    margin = planned.limit_m - route.equivalent_m
    rows: list[Row] = [
        ("Pipe", pipe_words(route, units)),
        ("Way", " - ".join(c.name + (" (new hole)" if c.cut else "") for c in route.crossings) or "no hole"),
        ("Equivalent length", f"{format_length(route.equivalent_m, units)} = runs {format_length(route.runs_m, units)} "
                              f"+ fittings {format_length(route.fittings_m, units)}"),
        *([("Counted with", shared)] if (shared := share_words(route, units)) else []),
        ("Appliance's limit", f"{format_length(planned.limit_m, units)}, leaves {format_length(margin, units)}"),
        ("Elbows, new holes", f"{route.elbows}, {route.new_holes}"),
        ("How short it is", proof_words(planned, units)),
    ]  # fmt: skip
    told = (("Why this one", planned.reason), ("What scarcity cost", planned.scarcity))
    return [*rows, *(row for row in told if row[1])]


def finding_rows(planned: PlannedRoute, units: str) -> list[Row]:
    """Findings, worst first."""
    rows: list[Row] = []
    for f in worst_first(planned.findings):
        measured, limit = measure(f.measured, f.unit, units), measure(f.limit, f.unit, units)
        rule = f.rule + (f": {f.note}" if f.note else "")
        rows.append((MARKS[f.verdict], rule, f.subject, measured, limit, f"{f.source} ({grade_words(f.grade)})"))
    return rows


def shopping_rows(planned: PlannedRoute, units: str) -> list[Row]:
    """The shopping list."""
    rows: list[Row] = []
    for line in planned.shopping:
        long = f", {format_length(line.length_m, units)} long" if line.length_m is not None else ""
        have = f" (have {line.have:g})" if line.have else ""
        price = "" if line.price is None else f"{line.price:.2f}"
        cost = "" if line.cost is None else f"{line.cost:.2f}"
        rows.append((f"{line.quantity:g} {line.unit}{have}", line.description + long, line.why, price, cost))
    return rows


def cut_rows(planned: PlannedRoute, units: str) -> list[Row]:
    """The cut list: pieces with their part numbers, in the order of sawing."""
    rows: list[Row] = []
    for cut in planned.cuts:
        pieces = [f"[{n}] {format_length(m, units)}" for n, m in zip(cut.labels, cut.pieces_m, strict=False)]
        marks = ", ".join(format_length(m, units, short=True) for m in cut.marks_m)
        kind = "offcut at home" if cut.offcut else cut.item
        rows.append((str(cut.stick), f"{kind}, {format_length(cut.stick_m, units)}", "; ".join(pieces), marks,
                     format_length(cut.waste_m, units)))  # fmt: skip
    return rows


def other_routes(plan: Plan, chosen: PlannedRoute, units: str) -> list[Row]:
    """The other routes of the plan, one line each."""
    out: list[Row] = []
    for other in plan.routes:
        if other is not chosen:
            route = other.route
            used = f"{format_length(route.equivalent_m, units)} of {format_length(other.limit_m, units)}"
            bends, holes = str(route.elbows), str(route.new_holes)
            out.append((other.id, route_title(route, units), used, bends, holes, other.reason))
    return out


def rejected_rows(plan: Plan, units: str) -> list[Row]:
    """What was rejected and why."""
    return [
        (f"{sized(r.material, r.size_in, units)} to the {r.terminal}", r.because,
         "no way found" if r.nearest_m is None else format_length(r.nearest_m, units))
        for r in plan.rejected
    ]  # fmt: skip


def source_rows(planned: PlannedRoute | None, appliance: Appliance, sources: Mapping[str, Source]) -> list[Row]:
    """The sources that the sheet leans on, as the catalog cites them."""
    named = {appliance.source}
    cited: set[str] = set()
    if planned is not None:
        evidence = []
        for kit in planned.route.kits:
            evidence += [kit.material.evidence, kit.pipe.evidence, kit.coupling.evidence]
            evidence += [bend.evidence for bend in kit.bends] + [change.evidence for change in kit.start]
            evidence += [terminal.evidence for terminal in kit.terminals]
        named |= {known.source for known in evidence}
        cited = {finding.source for finding in planned.findings}
    used = [s for key, s in sorted(sources.items()) if key in named or any(_cites(text, s) for text in cited)]
    return [(s.key, s.title, " ".join(part for part in (s.edition, s.date) if part), s.reader) for s in used]


def _cites(text: str, source: Source) -> bool:
    """Whether a citation, a title with the clause behind it, is of this source."""
    return text == source.title or text.startswith(f"{source.title}, ")


def check_rows(planned: PlannedRoute, site: Site, units: str) -> list[Row]:
    """What a person must look at on the site; the last columns stay blank."""
    route = planned.route
    items = [
        "The appliance's manual was read; its vent table, materials and terminal rules agree with this sheet.",
        f"Collar: size, place and direction measured ({format_size(site.appliance.collar_size_in)}).",
    ]
    items += [
        f'"{c.name}": {"place and construction opened and looked at" if c.cut else "clear opening measured"}.'
        for c in route.crossings
    ]
    items += [
        f"To be judged: {f.subject}: {f.note or f.rule}."
        for f in worst_first(planned.findings)
        if f.verdict is Verdict.ASK
    ]
    items += [f"Terminal to {name}: measured, at least what the rule wants." for name in _features(planned, site)]
    items += [
        f"Pitch on every level run: {format_pitch(site.appliance.pitch, units)} or more, no sag.",
        "Pieces and fittings are one material and listing, and the one on this sheet.",
        "Every joint made to its mark and looked at all round.",
        "Hangers, clearances to what burns, seals at every hole.",
        "Condensate drained and trapped where the manual asks; nothing can freeze shut.",
        "Vent tested as the manual says; appliance run, no leak, no reverse flow.",
        "Carbon monoxide alarms on every level and outside bedrooms, working.",
        "Permit and inspection as the place requires, before anything is covered.",
    ]
    return [("□", item, "", "") for item in items]


def _features(planned: PlannedRoute, site: Site) -> list[str]:
    measured = {f.subject for f in planned.findings if f.unit == "m" and f.measured is not None}
    return [feature.name for feature in site.features if feature.name in measured]
