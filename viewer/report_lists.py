"""The tables of the report: findings, worksheet, shopping, cuts, flue, what was rejected."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ventroute.drawing.graph import speed_words, water_words
from ventroute.drawing.words import margin, measure, money, sized
from ventroute.model.plan import Finding, FlueState, PlannedRoute, Rejected, Verdict
from ventroute.model.route import PartKind, Route
from ventroute.model.source import Grade
from ventroute.units import format_length as length

from .markup import Markup, table, tag
from .pipework import part_text
from .shape import ident

MARKS = {Verdict.PASS: "✓ pass", Verdict.FAIL: "✗ FAIL", Verdict.ASK: "? ask"}
ORDER = {Verdict.FAIL: 0, Verdict.ASK: 1, Verdict.PASS: 2}


def findings_table(findings: Iterable[Finding], units: str) -> Markup:
    """What was checked, worst first, then by how close to the limit."""
    ranked = sorted(findings, key=_rank)
    heads = ("Verdict", "What", "Rule", "Measured", "Limit", "To spare", "Source", "Figure is")
    return table("Findings: fails first, then questions for you, then the closest passes", heads, [
        (tag("span", MARKS[f.verdict], class_=f"verdict {f.verdict}"), _subject(f), f.rule,
         measure(f.measured, f.unit, units), measure(f.limit, f.unit, units), margin(f.margin, f.unit, units),
         f.source, grade_mark(f.grade))
        for f in ranked], numbers=(3, 4, 5))  # fmt: skip


def grade_mark(grade: Grade) -> Markup:
    """How far a figure can be trusted, in words and with a mark."""
    return tag(
        "span", f"{grade}" if grade.verified else f"{grade} (unverified)", class_="sure" if grade.verified else "unsure"
    )


def worksheet(planned: PlannedRoute, units: str) -> Markup:
    """Equivalent length line by line, as one would add it up by hand."""
    route = planned.route
    rows: list[Sequence[object]] = [(name, "", length(metres, units)) for name, metres in _runs(route, units)]
    rows += [(f"part {p.n}: {p.kind}", p.item, length(p.equivalent_m, units)) for p in route.parts if p.equivalent_m]
    rows.append((tag("b", "Equivalent length"), "", tag("b", length(route.equivalent_m, units))))
    rows.append(("Most the appliance allows", "", length(planned.limit_m, units)))
    rows.append(("Left over", "", length(planned.limit_m - route.equivalent_m, units)))
    return table("Equivalent length, line by line", ("Line", "Item", "Counts as"), rows, numbers=(2,))


def parts_table(planned: PlannedRoute, units: str) -> Markup:
    """Every part in flow order; its button shows it in the 3D view."""
    rows = [
        (tag("button", f"{part.n}", type="button", class_="show", data_shape=ident("part", part.n, planned.id),
             aria_label=f"show part {part.n} in the 3D view"), str(part.kind), part_text(part, planned.route, units),
         part.item)
        for part in planned.route.parts
    ]  # fmt: skip
    return table("Parts in flow order from the collar", ("Part", "Kind", "What", "Item"), rows)


def shopping_table(planned: PlannedRoute, units: str) -> Markup:
    """The shopping list; a price that is not known stays blank."""
    rows = [
        (line.description, line.item, f"{line.quantity:g} {line.unit}",
         length(line.length_m, units) if line.length_m else "", money(line.price),
         f"{line.have:g}" if line.have else "", line.why)
        for line in planned.shopping
    ]  # fmt: skip
    heads = ("What", "Item", "How many", "Length", "Price each", "Have", "Why")
    return table("Shopping list", heads, rows, numbers=(2, 3, 4, 5))


def cuts_table(planned: PlannedRoute, units: str) -> Markup:
    """What is sawn from which stick."""
    rows = [
        (f"stick {cut.stick}", cut.item, length(cut.stick_m, units),
         "; ".join(f"{length(m, units)} (part {label})" for m, label in zip(cut.pieces_m, cut.labels, strict=False)),
         length(cut.waste_m, units))
        for cut in planned.cuts
    ]  # fmt: skip
    return table("Cut list: pipe from socket stop to socket stop", ("Stick", "Item", "Long", "Pieces", "Left"), rows)


def flue_block(flue: FlueState, units: str) -> Markup:
    """What the exhaust does on its way, beside the manual's limit and never instead of it."""
    rows = [
        ("Pressure the run costs", measure(flue.drop_Pa, "Pa", units)),
        ("What the manual's greatest length would cost", measure(flue.reference_drop_Pa, "Pa", units)),
        ("Gas leaves at", measure(flue.outlet_degC, "degC", units)),
        ("Dew point", measure(flue.dew_point_degC, "degC", units)),
        ("Condensate in the vent", water_words(flue.condensate_kg_h, units)),
        ("Mean speed", speed_words(flue.velocity_m_s, units) if flue.velocity_m_s else ""),
    ]
    notes = [tag("p", note) for note in flue.notes]
    shown = [row for row in rows if row[1]]
    title = "The flue at full input and winter design temperature (calculated; the manual's limit governs)"
    return Markup("".join([table(title, ("Quantity", "Value"), shown, numbers=(1,)), *notes]))


def rejected_table(rejected: Sequence[Rejected], units: str) -> Markup:
    """What has no compliant route, and what came nearest."""
    heads = ("Choice", "Rule", "Why not", "Least equivalent found")
    return table("What does not work, and why", heads, [
        (f"{sized(row.material, row.size_in, units)} to the {row.terminal}", row.rule, row.because,
         length(row.nearest_m, units) if row.nearest_m is not None else "no way found")
        for row in rejected], numbers=(3,))  # fmt: skip


def mends_list(mends: Sequence[str]) -> Markup:
    """What would open a route, where there is none."""
    said = "Each was tried by planning with that change alone. See on the site whether it can be done."
    return Markup("".join([tag("ul", *(tag("li", mend) for mend in mends)), tag("p", said)]))


def _rank(finding: Finding) -> tuple[int, float]:
    share = float("inf")
    if finding.margin is not None:
        share = finding.margin / abs(finding.limit) if finding.limit else finding.margin
    return ORDER[finding.verdict], share


def _subject(finding: Finding) -> Markup:
    return tag("span", finding.subject, *([tag("small", finding.note)] if finding.note else []))


def _runs(route: Route, units: str) -> list[tuple[str, float]]:
    """The pipe's lines: run by run, or piece by piece, whichever the appliance's way of counting adds up to."""
    runs = [(f"run {n}, corner to corner", run.length_m) for n, run in enumerate(route.runs, 1)]
    pipes = [(f"part {p.n}: pipe", p.cut_m or 0.0) for p in route.parts if p.kind is PartKind.PIPE]
    for lines in (runs, pipes):
        if abs(sum(metres for _, metres in lines) - route.runs_m) < 1e-6:
            return lines
    return [("pipe, as the appliance counts it", route.runs_m)]
