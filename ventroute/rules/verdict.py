"""Findings of rules that are not about a place: a measure against a limit, a statement, or a question."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventroute.model.plan import Finding, Verdict
from ventroute.model.source import Evidence
from ventroute.rules.clause import ROUNDING
from ventroute.rules.pack import Pack


def at_most(
    pack: Pack, rule_id: str, subject: str, measured: float, limit: float, unit: str, *,
    note: str = "", evidence: Evidence | None = None, ask: bool = False,
) -> Iterator[Finding]:  # fmt: skip
    """The measure must not exceed the limit, which itself passes. ``ask``: a breach is put to a person."""
    yield from _measured(pack, rule_id, subject, measured, limit, unit, limit - measured, note, evidence, ask)


def at_least(
    pack: Pack, rule_id: str, subject: str, measured: float, limit: float, unit: str, *,
    note: str = "", evidence: Evidence | None = None, ask: bool = False,
) -> Iterator[Finding]:  # fmt: skip
    """The measure must reach the limit. ``ask``: a breach is put to a person."""
    yield from _measured(pack, rule_id, subject, measured, limit, unit, measured - limit, note, evidence, ask)


def stated(
    pack: Pack, rule_id: str, subject: str, verdict: Verdict, *, note: str = "", evidence: Evidence | None = None
) -> Iterator[Finding]:
    """Nothing to measure: it holds, it does not, or a person must say."""
    rule = pack.rule(rule_id)
    if rule is not None:
        cited = evidence or rule.evidence
        text = "; ".join(part for part in (rule.title, note) if part)
        outcome = Verdict.ASK if rule.ask and verdict is Verdict.FAIL else verdict
        yield Finding(rule_id, pack.cite(cited), cited.grade, subject, None, None, "", outcome, None, text)


def tightest(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings of one rule about many things: those that do not pass, or else the one with the least margin."""
    wrong = tuple(finding for finding in findings if finding.verdict is not Verdict.PASS)
    nearest = sorted(findings, key=lambda finding: (finding.margin is None, finding.margin))[:1]
    return wrong or tuple(nearest)


def _measured(
    pack: Pack, rule_id: str, subject: str, measured: float, limit: float, unit: str, margin: float, note: str,
    evidence: Evidence | None, ask: bool,
) -> Iterator[Finding]:  # fmt: skip
    rule = pack.rule(rule_id)
    if rule is None:  # a pack may withdraw a rule, with its reason
        return
    cited = evidence or rule.evidence
    broken = Verdict.ASK if ask or rule.ask else Verdict.FAIL
    verdict = Verdict.PASS if margin >= -ROUNDING else broken
    text = "; ".join(part for part in (rule.title, note) if part)
    yield Finding(rule_id, pack.cite(cited), cited.grade, subject, measured, limit, unit, verdict, margin, text)
