"""A plan's sentences in the units that a person reads.

A plan keeps its sentences in one form, whoever reads them. They are told again here, once, before anything is printed
or drawn; names, item numbers and what a source is called stay as they are.
"""

from __future__ import annotations

from dataclasses import replace

from ventroute.model.plan import Finding, Plan, PlannedRoute, Rejected
from ventroute.model.route import Route
from ventroute.sentences import size_in_words, told_in


def retold(plan: Plan, units: str) -> Plan:
    """The plan as it is shown: the same figures, its sentences in "us" or "metric"."""
    return replace(
        plan,
        routes=tuple(retold_route(planned, units) for planned in plan.routes),
        rejected=tuple(_rejected(row, units) for row in plan.rejected),
        mends=tuple(told_in(mend, units) for mend in plan.mends),
    )


def retold_route(planned: PlannedRoute, units: str) -> PlannedRoute:
    """One route of a plan as it is shown."""
    shopping = (
        replace(line, description=told_in(line.description, units), why=told_in(line.why, units))
        for line in planned.shopping
    )
    flue = planned.flue
    return replace(
        planned,
        reason=told_in(planned.reason, units),
        scarcity=told_in(planned.scarcity, units),
        findings=retold_findings(planned.findings, planned.route, units),
        shopping=tuple(shopping),
        flue=None if flue is None else replace(flue, notes=tuple(told_in(note, units) for note in flue.notes)),
    )


def retold_findings(findings: tuple[Finding, ...], route: Route, units: str) -> tuple[Finding, ...]:
    """Findings about a route as they are shown."""

    def subject(text: str) -> str:
        for kit in route.kits:
            text = size_in_words(text, kit.size_in, kit.material.name, units)
        return text

    return tuple(
        replace(finding, subject=subject(finding.subject), note=told_in(finding.note, units)) for finding in findings
    )


def _rejected(row: Rejected, units: str) -> Rejected:
    return replace(row, because=told_in(row.because, units))
