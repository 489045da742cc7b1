"""Changing one figure of a pack changes findings of the rule that holds it, at least one, and no other's.

Every figure of every pack file is made a twentieth greater and a twentieth less, and the same situations are judged
before and after: terminals all about the garden, and routes that meet every rule about vent and house.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np
import pytest

from tests.rules.garden import CHIMNEY, SNOW, THINGS, yard
from tests.rules.routes import PVC, ROOF_HOLE, kit, out_north, site, straight_up
from tests.rules.test_limits import ROOM, ROWS, WIDE
from tests.rules.yard import RADIUS_M, RULES, appliance, built, house, m, pack
from ventroute.geometry.polytope import Polytope
from ventroute.model.plan import Finding
from ventroute.model.route import Route
from ventroute.model.site import Envelope, Framing, Roof, Site
from ventroute.rules import gaps, heights, places
from ventroute.rules.check import judge
from ventroute.rules.clause import Clause
from ventroute.rules.pack import Figure, Pack, Rule, pack_names
from ventroute.rules.zones import clauses

BTU_H = 0.29307107017
# A twentieth changes none of these: there is nothing between them and the next that a size of pipe could fall in.
NOT_REACHED: dict[tuple[str, str], str] = {}


@dataclass(frozen=True)
class Ends:
    """Terminals about one site."""

    site: Site
    kind: str
    radius_m: float
    points: tuple[tuple[float, float, float], ...]


@lru_cache(maxsize=1)
def ends() -> tuple[Ends, ...]:
    """The points of the rows of limits, by site; roofs of every pitch of the table; and what the rows do not meet."""
    by_site: dict[tuple[str, float, str], tuple[dict, list]] = {}
    for _, rule, _, kind, changes, point, _ in ROWS:
        radius = WIDE if "large" in rule else RADIUS_M
        by_site.setdefault((kind, radius, repr(changes)), (changes, []))[1].append(point)
    made = [
        Ends(yard(**changes), kind, radius, tuple(points)) for (kind, radius, _), (changes, points) in by_site.items()
    ]
    deck = {"deck": replace(THINGS["deck"], open_sides=2)}
    made.append(Ends(yard(deck), "wall", RADIUS_M, ((7.0, 9.0, 1.0),)))
    strong = {"regulator": replace(THINGS["regulator"], pressure_Pa=20_000.0)}
    made.append(Ends(yard(strong), "wall", RADIUS_M, ((4.0, 8.1, 0.6),)))
    tower = replace(CHIMNEY, name="tower", corner=(2.0, 5.0, 5.0), size=(0.6, 0.6, 7.0))
    for changes in (ROOM, {}):
        where = replace(yard(**changes), obstacles=(CHIMNEY, tower))
        made.append(Ends(where, "roof", RADIUS_M, ((6.75, 5.3, 9.0), (4.8, 5.3, 9.0))))
    return (*made, *map(pitched, pitches()))


def pitches() -> list[float]:
    rule = pack("us-2018").rule("roof.by-pitch")
    return [line.figures["pitch_to"].value for line in rule.table]


def pitched(pitch: float) -> Ends:
    """A roof as steep as a row of the table goes."""
    top = 6.0 + 8.0 * pitch
    roof = Roof("slope", ((0.0, 0.0, 6.0), (10.0, 0.0, 6.0), (10.0, 8.0, top), (0.0, 8.0, top)), 0.1)
    heater = appliance(category="I", vent_style="non-direct")
    where = house(heater=heater, roofs=(roof,), building=Envelope(house().building.footprint, 0.0, None))
    return Ends(where, "roof", RADIUS_M, ((5.0, 4.0, 7.0 + 4.0 * pitch + SNOW),))


@lru_cache(maxsize=1)
def routes() -> tuple[tuple[Site, Route], ...]:
    """Routes that meet the figures about vent and house."""
    return (*classes(), *held(), *bored(), *aired(), *grown(), *seen())


def classes() -> Iterator[tuple[Site, Route]]:
    for letter in ("I", "II A", "II B", "II C", "II D"):
        stuff = replace(PVC, listing_class=letter, class_max_degC=None, service_max_degC=None)
        yield site(), straight_up(site(), parts=kit(material=stuff))


def held() -> Iterator[tuple[Site, Route]]:
    """A pipe as large and as hot as each row of the table of supports goes, level and upright."""
    for line in pack("us-2018").rule("support.spacing").table:
        stuff = replace(PVC, name=line.text["material"])
        size_in = line.figures["size_to"].value / 0.0254
        where = site(appliance(exhaust_max_degC=line.figures["temperature_to"].value))
        yield where, replace(out_north(where), kit=kit(material=stuff, size_in=size_in))


def bored() -> Iterator[tuple[Site, Route]]:
    """Joists and studs that a pipe goes through, one behind the other, and studs that it goes between."""

    def box(kind: str, depth: float, centre: float) -> Framing:
        name = f"{kind} {depth}"
        return Framing(name, kind, (1.0, 7.0, 3.0 - centre), (4.0, 1.0, depth), (1.0, 0.0, 0.0), 0.4, 0.2, 0.038, depth)

    deep = [box("joist", 0.6, 0.3), box("joist", 0.5, 0.03), box("stud", 0.3, 0.15), box("stud", 0.17, 0.085)]
    deep += [box("stud", 0.1, 0.05), Framing("between", "stud", (2.0, 7.8, 0.0), (4.0, 0.2, 5.0), (0.0, 0.0, 1.0), 2.5, 0.9, 0.038, 0.2)]  # fmt: skip
    where = site(framing=tuple(deep))
    yield where, out_north(where, 0.0)


def aired() -> Iterator[tuple[Site, Route]]:
    """A closet too small for its heater: large, small, and smaller still."""
    closet = replace(house().rooms[0], floor=((2.0, 2.0), (4.0, 2.0), (4.0, 4.0), (2.0, 4.0)))
    for btu_h in (400_000, 60_000, 20_000):
        where = site(appliance(vent_style="non-direct", input_W=btu_h * BTU_H), rooms=(closet,), cuts=())
        yield where, straight_up(where)


def grown() -> Iterator[tuple[Site, Route]]:
    yield site(), out_north(site())
    yield site(), replace(straight_up(site()), kit=kit(material=replace(PVC, joint="gasketed")))


def seen() -> Iterator[tuple[Site, Route]]:
    where = site(holes=(replace(ROOF_HOLE, clear_m=0.0889 + m("1/16 in")),))
    yield where, straight_up(where)


Told = dict[tuple[object, ...], frozenset[Finding]]  # by situation, and by what it is about


def placed(used: Pack, n: int) -> tuple[Clause, ...]:
    """Clauses about the places of a site."""
    one = ends()[n]
    return tuple(clauses(one.site, built(one.site), used, one.kind, one.radius_m))


@cache
def standing(name: str, n: int) -> tuple[Clause, ...]:
    """Those of a pack as it is."""
    return placed(pack(name), n)


@cache
def said(name: str, n: int, k: int, at: tuple[float, float, float]) -> frozenset[Finding]:
    """What one of them finds."""
    return frozenset({standing(name, n)[k].finding(np.array(at), pack(name))})


@cache
def judged(name: str, n: int) -> frozenset[Finding]:
    """What a pack as it is finds about a route."""
    where, made = routes()[n]
    return frozenset(judge(where, built(where), pack(name), made))


def about_places(name: str, rule_id: str, changed: Pack | None = None) -> Told:
    """Findings of every place rule where the rule in question applies, and at two sites besides.

    The rule in question is judged at every point, the others at two. ``changed``: in place of the pack as it is.
    """
    told: Told = {}
    for n, one in enumerate(ends()):
        if n >= 2 and all(clause.rule.id != rule_id for clause in standing(name, n)):
            continue
        for k, clause in enumerate(placed(changed, n) if changed else standing(name, n)):
            for at in one.points if clause.rule.id == rule_id else one.points[:2]:
                told[n, k, at] = frozenset({clause.finding(np.array(at), changed)}) if changed else said(name, n, k, at)
    return told


def about_vents(name: str, most: int | None, changed: Pack | None = None) -> Told:
    if changed is None:
        return {n: judged(name, n) for n, _ in enumerate(routes()[:most])}
    return {n: frozenset(judge(where, built(where), changed, made)) for n, (where, made) in enumerate(routes()[:most])}


def own_rules(name: str) -> Iterator[Rule]:
    """Rules that a pack's file adds or changes: those that it inherits are tried where they stand."""
    whole = pack(name)
    under = pack(whole.chain[1]).rules if len(whole.chain) > 1 else ()
    return (rule for rule in whole.rules if rule not in under)


def figures(rule: Rule) -> Iterator[tuple[str, Callable[[float], Rule]]]:
    """Every figure of a rule, and the rule with it so many times as great."""
    for name, figure in rule.figures.items():
        yield name, lambda by, name=name, f=figure: replace(rule, figures={**rule.figures, name: times(f, by)})
    for n, line in enumerate(rule.table):
        for name, figure in line.figures.items():

            def changed(by: float, n: int = n, name: str = name, f: Figure = figure) -> Rule:
                row = replace(rule.table[n], figures={**rule.table[n].figures, name: times(f, by)})
                return replace(rule, table=(*rule.table[:n], row, *rule.table[n + 1 :]))

            yield f"row {n + 1} {name}", changed


def times(figure: Figure, by: float) -> Figure:
    return replace(figure, value=figure.value * by)


CASES = [
    pytest.param(name, rule.id, figure, id=f"{name}, {rule.id}, {figure}")
    for name in ("common", *pack_names(RULES))
    for rule in own_rules(name)
    for figure, _ in figures(rule)
]


@pytest.fixture(scope="module", autouse=True)
def geometry_once():
    """How near a route comes to things, and what is common to two solids, is no figure of a pack: measured once."""

    def once(measure, key):
        known: dict[object, tuple] = {}

        def kept(*things):
            if (about := key(*things)) not in known:
                known[about] = (measure(*things), things)  # the things too: their ids stay theirs
            return known[about][0]

        return kept

    def shape(outline, *lengths):
        return np.asarray(outline, dtype=np.float64).tobytes(), *lengths

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(gaps, "clearances", once(gaps.clearances, lambda building, route, gap_m: id(route)))
        patch.setattr(Polytope, "intersect", once(Polytope.intersect, lambda one, other: (id(one), id(other))))
        for module in (heights, places):
            patch.setattr(module, "upright", once(module.upright, shape))
            patch.setattr(module, "convex_parts", once(module.convex_parts, shape))
        yield


@pytest.mark.parametrize(("name", "rule_id", "figure"), CASES)
def test_one_figure_changes_the_findings_that_cite_it_and_no_other(name, rule_id, figure):
    whole = pack(name)
    make = dict(figures(whole.rule(rule_id)))[figure]
    # what a figure of a place is not about is judged at the first two routes only
    vents = 2 if whole.rule(rule_id).shape.zone else None

    def told(changed: Pack | None = None) -> Told:
        return {**about_places(name, rule_id, changed), **about_vents(name, vents, changed)}

    old, moved = told(), False
    for by in (1.05, 0.95):
        changed = make(by)
        new = told(replace(whole, rules=tuple(changed if r.id == rule_id else r for r in whole.rules)))
        assert old.keys() == new.keys()
        for situation in old:
            different = old[situation] ^ new[situation]
            assert {finding.rule for finding in different} <= {rule_id}
            moved |= bool(different)
        if moved:
            break
    assert moved != ((rule_id, figure) in NOT_REACHED), "no situation meets this figure"


def test_figures_are_of_every_pack():
    assert {param.values[0] for param in CASES} >= {"common", "us-2018", "us-2021", "ca-b149-2025"}
    assert len(CASES) > 120
