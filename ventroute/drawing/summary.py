"""What `ventroute plan` says in the terminal: plain lines, no colour needed to read them."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from ventroute.drawing.assembly import part_rows
from ventroute.drawing.graph import flue_lines
from ventroute.drawing.sheet_rows import MARKS
from ventroute.drawing.words import grade_words, measure, proof_words, route_title, share_words, sized, worst_first
from ventroute.model.plan import Finding, Plan, PlannedRoute, Rejected, Verdict
from ventroute.units import format_length

WIDTH = 100


def terminal_summary(plan: Plan, units: str, cautions: tuple[str, ...] = ()) -> list[str]:
    """Lines for the terminal: the best route in full, the others in brief; what was rejected; cautions last."""
    lines = [f"{plan.site}: {_count(len(plan.routes))}, rules {plan.rules}"]
    for number, planned in enumerate(plan.routes):
        lines += ["", *(_full(planned, units) if number == 0 else _brief(planned, units))]
    if plan.rejected:
        lines += ["", "What does not work here"]
        for rejected in plan.rejected:
            lines += _wrapped(_rejected(rejected, units), "  ")
    if plan.mends:
        lines += ["", "What would mend it (each tried by planning with that change alone)"]
        for mend in plan.mends:
            lines += _wrapped(mend, "  ")
    if cautions:
        lines += ["", "Cautions"]
        for number, caution in enumerate(cautions, 1):
            lines += _wrapped(caution, f"  {number:>2}. ")
    return lines


def _count(routes: int) -> str:
    return "no route keeps all rules" if not routes else "1 route" if routes == 1 else f"{routes} routes"


def _head(planned: PlannedRoute, units: str) -> list[str]:
    route = planned.route
    left = planned.limit_m - route.equivalent_m
    verdict = f"{format_length(left, units)} left" if left >= 0 else f"{format_length(-left, units)} TOO LONG"
    why = f" ({planned.reason})" if planned.reason else ""
    holes = " > ".join(c.name + (" (new)" if c.cut else "") for c in route.crossings) or "no hole"
    used = f"{format_length(route.equivalent_m, units)} of {format_length(planned.limit_m, units)}"
    return [
        f"Route {planned.id}: {route_title(route, units)}{why}",
        f"  equivalent {used}: {verdict}; elbows {route.elbows}, new holes {route.new_holes}",
        *(_wrapped(f"counted with {shared}", "  ") if (shared := share_words(route, units)) else ()),
        *_wrapped(f"through {holes}", "  "),
        *(_wrapped(planned.scarcity, "  ") if planned.scarcity else ()),
    ]


def _brief(planned: PlannedRoute, units: str) -> list[str]:
    worst = [f for f in worst_first(planned.findings) if f.verdict is not Verdict.PASS]
    return [*_head(planned, units), *(line for f in worst for line in _finding(f, units))]


def _full(planned: PlannedRoute, units: str) -> list[str]:
    lines = [*_head(planned, units), *_wrapped(proof_words(planned, units), "  ")]
    lines += ["", "  Findings, worst first (unverified: not read in the text that sets the figure)"]
    lines += findings_lines(planned.findings, units)
    lines += ["", "  Parts", *_table(part_rows(planned.route, units))]
    lines += ["", *shopping_lines(planned, units)]
    if planned.flue is not None:
        lines += ["", "  The exhaust on its way (calculated; the manual's limit governs)"]
        lines += [part for line in flue_lines(planned.flue, units) for part in _wrapped(line, "    ")]
    return lines


def shopping_lines(planned: PlannedRoute, units: str) -> list[str]:
    """The cut list and the shopping list."""
    lines = ["  Cuts"]
    for cut in planned.cuts:
        pieces = ", ".join(f"[{n}] {format_length(m, units)}" for n, m in zip(cut.labels, cut.pieces_m, strict=False))
        stick, left = format_length(cut.stick_m, units), format_length(cut.waste_m, units)
        lines += _wrapped(f"stick {cut.stick}, {stick}: {pieces}; left {left}", "    ")
    total = sum(line.cost or 0.0 for line in planned.shopping)
    made_up = any(line.shop == "invented" for line in planned.shopping)
    invented = " (prices invented for demonstration)" if made_up else ""
    lines += ["", "  Shopping", *_table(_shopping(planned, units))]
    return [*lines, f"    together {total:.2f}{_without_price(planned.unpriced)}{invented}, new holes not counted"]


def _without_price(lines: int) -> str:
    return f" and {lines} without a price" if lines else ""


def cost_lines(routes: Sequence[PlannedRoute], units: str) -> list[str]:
    """The routes of a plan by what they cost in all, cheapest first; those with unknown prices after the others."""
    ranked = sorted(routes, key=lambda planned: (planned.unpriced, planned.cost, planned.id))
    rows = [
        (f"route {p.id}", route_title(p.route, units), f"{p.cost:.2f}" + _without_price(p.unpriced)) for p in ranked
    ]
    return ["  What each route costs, new holes counted", *_table(rows)]


def findings_lines(findings: tuple[Finding, ...], units: str) -> list[str]:
    """What fails, what a person must judge, and the tightest passing finding of every rule, worst first."""
    shown: list[Finding] = []
    seen: set[str] = set()
    for finding in worst_first(findings):
        if finding.verdict is not Verdict.PASS or finding.rule not in seen:
            shown.append(finding)
        seen.add(finding.rule)
    lines = [line for finding in shown for line in _finding(finding, units)]
    more = len(findings) - len(shown)
    return [*lines, f"    and {more} more that pass with more room"] if more else lines


def _finding(finding: Finding, units: str) -> list[str]:
    figures = ""
    if finding.measured is not None:
        figures = f": {measure(finding.measured, finding.unit, units)}"
        if finding.limit is not None:
            figures += f", limit {measure(finding.limit, finding.unit, units)}"
    note = f"{'' if figures.endswith('.') else '.'} {finding.note}" if finding.note else ""
    source = f" [{finding.source}; {grade_words(finding.grade)}]"
    return _wrapped(f"{finding.rule}, {finding.subject}{figures}{note}{source}", f"    {MARKS[finding.verdict]:<5}")


def _shopping(planned: PlannedRoute, units: str) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for line in planned.shopping:
        long = f", {format_length(line.length_m, units)}" if line.length_m is not None else ""
        price = "price not known" if line.cost is None else f"{line.cost:.2f}"
        have = f"have {line.have:g}" if line.have else ""
        rows.append((f"{line.quantity:g} {line.unit}", line.description + long, price, have))
    return rows


def _rejected(rejected: Rejected, units: str) -> str:
    choice = f"{sized(rejected.material, rejected.size_in, units)} to the {rejected.terminal}: {rejected.because}"
    if rejected.nearest_m is None:
        return choice
    return f"{choice} (nearest found: {format_length(rejected.nearest_m, units)} equivalent)"


def _table(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns as wide as their longest entry."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return [("    " + "  ".join(f"{c:<{w}}" for c, w in zip(row, widths, strict=True))).rstrip() for row in rows]


def _wrapped(text: str, lead: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead) + " ")
