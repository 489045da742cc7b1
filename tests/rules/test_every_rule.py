"""Every rule of every pack, and every rule that the code names: inside its limit, at it, outside; or what it says."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

import ventroute
from tests.rules.every_rule import ASK, LIMITS, PASS, SAID, Limit, Said
from tests.rules.garden import yard
from tests.rules.test_limits import ROWS, STEP_M, radius_of
from tests.rules.yard import RULES, found, pack
from ventroute.model.plan import Verdict
from ventroute.rules.pack import Rule, pack_names

NAMES = pack_names(RULES)
OWN = ("route.collar", "route.turn", "route.parts")  # demands on every route, whatever pack
OF_TWO_SIZES = "route.size"  # has its cases in tests/plan/test_growing_sizes.py


def same(a: Rule | None, b: Rule | None) -> bool:
    """Whether two packs' rules bar the same: a case of one is a case of the other."""
    if a is None or b is None:
        return False
    plain = [
        (r.kind, r.strict, r.centre, r.features, {k: f.value for k, f in r.figures.items()},
         [{k: f.value for k, f in line.figures.items()} for line in r.table])
        for r in (a, b)
    ]  # fmt: skip
    return plain[0] == plain[1]


PLACED = [
    pytest.param(name, row, id=f"{name}, {row[1]}, {n}")
    for name in NAMES
    for n, row in enumerate(ROWS)
    if same(pack(name).rule(row[1]), pack(row[0]).rule(row[1]))
]


@pytest.mark.parametrize(("name", "row"), PLACED)
def test_a_place_is_told_with_how_much_is_left_or_lacking(name, row):
    # Points worked out in test_limits from the texts' figures; the limit itself passes.
    _, rule, thing, kind, changes, limit, outward = row
    clauses = [c for c in found(yard(**changes), name, rule, kind, radius_of(rule)) if c.rule.id == rule]
    about = [c for c in clauses if c.subject.startswith(thing)]
    assert about
    broken = ASK if pack(name).rule(rule).ask else Verdict.FAIL
    for inside, expected in ((STEP_M, PASS), (0.0, PASS), (-STEP_M, broken)):
        at = np.array(limit) + np.array(outward) * inside
        findings = [clause.finding(at, pack(name)) for clause in about]
        worst = min(findings, key=lambda finding: finding.margin)
        assert worst.verdict is expected, inside
        assert worst.margin == pytest.approx(inside, abs=1e-9)


def held(name: str, case: Limit | Said) -> bool:
    """Whether a case is about a rule of this pack, in the form it has there: Canada's deck is told by more than."""
    rule = pack(name).rule(case.rule)
    return case.rule in OWN or (rule is not None and (case.rule != "deck.beneath" or rule.strict))


LIMITED = [pytest.param(n, c, id=f"{n}, {c.rule}") for n in NAMES for c in LIMITS if held(n, c)]
SPOKEN = [pytest.param(n, c, id=f"{n}, {c.rule}") for n in NAMES for c in SAID if held(n, c)]


@pytest.mark.parametrize(("name", "case"), LIMITED)
def test_a_limit_holds_to_the_side_that_its_text_says(name: str, case: Limit):
    slack = 2e-6 if case.limit is Verdict.FAIL else 2e-8  # what counts as more than
    for inside, expected in ((case.step, case.kept), (0.0, case.limit), (-case.step, case.broken)):
        finding = case.at(name, inside)
        assert finding.verdict is expected, inside
        if case.kept is PASS:
            assert finding.margin == pytest.approx(inside, abs=slack + abs(inside) * 1e-3)


@pytest.mark.parametrize(("name", "case"), SPOKEN)
def test_a_rule_without_a_figure_says_what_it_says(name: str, case: Said):
    assert case.says(name) is case.expected


@pytest.mark.parametrize("name", NAMES)
def test_no_rule_is_without_a_case(name):
    cases = {param.values[1][1] for param in PLACED if param.values[0] == name}
    cases |= {param.values[1].rule for param in (*LIMITED, *SPOKEN) if param.values[0] == name}
    assert {rule.id for rule in pack(name).rules} - cases == set()


def test_demands_on_every_route_have_cases():
    assert set(OWN) <= {case.rule for case in LIMITS}


def test_every_rule_that_the_code_names_is_in_every_pack_it_may_be_in():
    # A name that no pack has would be a finding that is never told.
    folder = Path(ventroute.__file__).parent
    text = "\n".join(path.read_text(encoding="utf-8") for path in sorted((folder / "rules").glob("*.py")))
    named = set(re.findall(r'\bpack,\s*"([a-z0-9.-]+)"', text)) | set(re.findall(r'\.rule\("([a-z0-9.-]+)"', text))
    named |= set(re.findall(r'"(framing\.[a-z-]+)"', text))
    assert {"gap", "hole.fit", "pitch", "framing.joist", "framing.stud", "flue.drop"} <= named
    everywhere = set.intersection(*({rule.id for rule in pack(name).rules} for name in NAMES))
    assert named - everywhere == {"vent.s636"}  # Canada's alone
    own = (folder / "whole_route.py").read_text(encoding="utf-8")
    assert set(re.findall(r'"(route\.[a-z]+)"', own)) == {*OWN, OF_TWO_SIZES}
