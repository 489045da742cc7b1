"""Changing one figure of a pack changes the findings of the rule that holds it, and no other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.rules.garden import CHIMNEY, PLAY, THINGS
from tests.rules.routes import out_north, site, straight_up
from tests.rules.yard import PACKS, appliance, built, pack
from ventroute.model.plan import Finding
from ventroute.model.site import Framing, Place
from ventroute.rules.check import judge
from ventroute.rules.pack import Figure, Pack, Rule

# Openings are told in the note of the finding about room air: that finding cites them.
ALSO = dict.fromkeys(
    ("air.same-storey", "air.outdoors-upright", "air.outdoors-level", "air.outdoors-one"), frozenset({"air.indoor"})
)
STUDS = Framing("studs", "stud", (2.0, 7.8, 0.0), (4.0, 0.2, 5.0), (0.0, 0.0, 1.0), 0.4, 0.8, 0.038, 0.2)


def scenes():
    """Houses with a route each: a direct vent at the wall, a category I vent that breathes the room at the roof."""
    natural = appliance(category="I", vent_style="non-direct")
    for heater in (appliance(), natural):
        where = site(
            heater, features=tuple(THINGS.values()), keep_outs=(PLAY,), obstacles=(CHIMNEY,), framing=(STUDS,),
            place=Place(snow_m=0.2),
        )  # fmt: skip
        yield where, out_north(where) if heater is not natural else straight_up(where)


SCENES = list(scenes())


def findings(used: Pack) -> list[frozenset[Finding]]:
    return [frozenset(judge(where, built(where), used, made)) for where, made in SCENES]


def changed_packs(whole: Pack) -> Iterator[tuple[str, float, Pack]]:
    """The pack with one figure a twentieth greater, for every figure of every rule."""
    for rule in whole.rules:
        for name, figure in rule.figures.items():
            yield rule.id, figure.value, _with(whole, replace(rule, figures={**rule.figures, name: _greater(figure)}))
        for n, line in enumerate(rule.table):
            for name, figure in line.figures.items():
                row = replace(line, figures={**line.figures, name: _greater(figure)})
                table = (*rule.table[:n], row, *rule.table[n + 1 :])
                yield rule.id, figure.value, _with(whole, replace(rule, table=table))


def _greater(figure: Figure) -> Figure:
    return replace(figure, value=figure.value * 1.05)


def _with(whole: Pack, rule: Rule) -> Pack:
    return replace(whole, rules=tuple(rule if r.id == rule.id else r for r in whole.rules))


def _alone(rule: Rule | None, value: float) -> bool:
    """Whether no other figure of the rule has the same value: then a finding's limit says which it cites."""
    return rule is not None and [figure.value for figure in rule.figures.values()].count(value) == 1


@pytest.mark.parametrize("name", PACKS)
def test_one_figure_changes_only_what_cites_it(name):
    before, moved = findings(pack(name)), set()
    for rule, figure, used in changed_packs(pack(name)):
        for old, new in zip(before, findings(used), strict=True):
            different = {finding.rule for finding in old ^ new}
            assert different <= {rule} | ALSO.get(rule, frozenset()), rule
            if _alone(pack(name).rule(rule), figure):
                citing = {finding.rule for finding in old if finding.rule == rule and finding.limit == figure}
                assert citing <= different, rule
            if different:
                moved.add(rule)
    # rules whose figures a route out of this house cannot fail to meet
    assert {"grade.practice", "roof.practice", "inlet.forced", "regulator.column"} & moved
    assert len(moved) >= 8
