"""Every rule about a place against its forbidden set written out afresh, at 10 000 random terminals each.

The sets below are written from the texts (figures as literals, closest points by clamping, plans by shapely), not from
the packs or the code under test.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import shapely

from tests.rules.garden import CHIMNEY, FT, PLAY, SNOW, THINGS, yard
from tests.rules.yard import PACKS, RADIUS_M, built, found, pack, power
from ventroute.geometry.surface import surrounds
from ventroute.layout.zone import zone_mesh
from ventroute.model.site import Feature, KeepOut, Obstacle
from ventroute.rules.clause import Clause
from ventroute.rules.zones import MAKERS, clauses, terminal_zones

TERMINALS = 10_000


def ends(thing: Feature | KeepOut | Obstacle):
    return np.array(thing.corner), np.add(thing.corner, thing.size)


def straight(thing, p):
    low, high = ends(thing)
    return np.linalg.norm(p - np.clip(p, low, high), axis=1)


def level(thing, p):
    low, high = ends(thing)
    return np.linalg.norm((p - np.clip(p, low, high))[:, :2], axis=1)


def within(low_high, p, r):
    """Whether the plan of the end overlaps a box's plan."""
    low, high = low_high
    return np.linalg.norm((p - np.clip(p, low, high))[:, :2], axis=1) < r


def slope_z(p):
    return 6.0 + (p[:, 1] + 0.5) * 0.5


def over_slope(height, r, up):
    """Nearer over the slope than a height, at the pipe's upslope edge; not what is under it or beside it."""

    def forbidden(p):
        plan = shapely.box(-0.5, -0.5, 10.5, 8.5)
        on = shapely.distance(plan, shapely.points(p[:, :2])) < r
        return on & (p[:, 2] - up < slope_z(p) + 0.5 * r + SNOW + height) & (p[:, 2] + up > slope_z(p) - 0.5 * r)

    return forbidden


def up_and_away(thing, within_m, above_m, r, up):
    return lambda p: (level(thing, p) - r < within_m) & (p[:, 2] - up < ends(thing)[1][2] + above_m)


def opening(thing, r, up):
    """4 ft below, 4 ft beside or 1 ft above."""
    low, high = ends(thing)
    return lambda p: (level(thing, p) - r < 4 * FT) & (p[:, 2] + up > low[2] - 4 * FT) & (p[:, 2] - up < high[2] + FT)


def column(thing, r, up):
    low, high = ends(thing)
    middle = (low + high) / 2
    return lambda p: (
        (np.hypot(*(p - middle)[:, :2].T) - r < 3 * FT) & (p[:, 2] + up > low[2]) & (p[:, 2] - up < high[2] + 15 * FT)
    )


def beneath(thing, gap, r, up):
    low, high = ends(thing)
    bottom = -np.inf if gap is None else low[2] - gap
    return lambda p: within((low, high), p, r) & (p[:, 2] + up > bottom) & (p[:, 2] - up < high[2])


def neighbour(r, up):
    low, high = ends(THINGS["next door"])
    return lambda p: (
        (level(THINGS["next door"], p) - r < 10 * FT)
        & (p[:, 2] - up < high[2] + 2 * FT)
        & (p[:, 2] + up > low[2] - 25 * FT)
        & (p[:, 1] - r < high[1])
    )


def hollow_corner(r):
    return lambda p: np.hypot(p[:, 0] - 6.0, p[:, 1] - 7.0) - r < 3 * FT


def chimney(within_m, above_m, r, up):
    return up_and_away(CHIMNEY, within_m, above_m, r, up)


def oracles(r: float, up: float) -> dict[tuple[str, str], Callable]:
    """Forbidden set by pack and rule, "*" for any pack, with the subject's first word where a rule has several."""
    wide = "opening."
    deck, porch = THINGS["deck"], THINGS["porch"]
    return {
        ("*", "terminal.keep-out"): lambda p: straight(PLAY, p) < r,
        ("*", "grade.practice"): lambda p: p[:, 2] - up < SNOW + FT,
        ("*", "grade.manual"): lambda p: p[:, 2] - up < SNOW + 0.5,
        ("*", "roof.practice"): over_slope(FT, r, up),
        ("*", "roof.manual"): over_slope(0.6, r, up),
        ("us", wide + "direct.50k"): lambda p: straight(THINGS["window"], p) - r < 0.75 * FT,
        ("us", wide + "non-direct"): opening(THINGS["window"], r, up),
        ("ca", wide + "100k"): lambda p: straight(THINGS["window"], p) - r < FT,
        ("*", wide + "fixed"): lambda p: straight(THINGS["pane"], p) - r < FT,
        ("us", "inlet.forced"): up_and_away(THINGS["supply"], 10 * FT, 3 * FT, r, up),
        ("ca", "inlet.forced"): lambda p: straight(THINGS["supply"], p) - r < 6 * FT,
        ("us-2018", "regulator.harm"): lambda p: straight(THINGS["regulator"], p) - r < 3 * FT,
        ("*", "regulator.column"): column(THINGS["regulator"], r, up),
        ("us-2021", "regulator.low-pressure"): lambda p: straight(THINGS["regulator"], p) - r < 3 * FT,
        ("ca", "regulator.around"): lambda p: straight(THINGS["regulator"], p) - r < 3 * FT,
        ("ca", "regulator.older"): lambda p: straight(THINGS["regulator"], p) - r < 6 * FT,
        ("*", "meter.near"): lambda p: straight(THINGS["meter"], p) - r < 3 * FT,
        ("*", "meter.electric"): lambda p: straight(THINGS["power"], p) - r < 10 * FT,
        ("*", "vent.rise"): lambda p: p[:, 2] - up < 1.0 + 5 * FT,
        ("us", "walkway.height"): up_and_away(THINGS["path"], 4 * FT, 7 * FT, r, up),
        ("us", "walkway.adjacent"): up_and_away(THINGS["path"], 10 * FT, 7 * FT, r, up),
        ("ca", "walkway.height"): up_and_away(THINGS["path"], FT / 12, 7 * FT, r, up),
        ("ca", "walkway.driveway"): up_and_away(THINGS["drive"], FT / 12, 7 * FT, r, up),
        ("us", "walkway.over"): lambda p: within(ends(THINGS["path"]), p, r),
        ("ca", "walkway.between"): lambda p: within(ends(THINGS["path"]), p, r),
        ("us", "floor.above"): lambda p: within(ends(deck), p, r) & (p[:, 2] - up < 2.6 + SNOW + FT) & (
            p[:, 2] + up > 2.6
        ),
        ("us", "deck.beneath", "deck"): beneath(deck, FT, r, up),
        ("us", "deck.beneath", "porch"): beneath(porch, None, r, up),
        ("ca", "deck.beneath", "deck"): beneath(deck, FT, r, up),
        ("ca", "deck.beneath", "porch"): beneath(porch, None, r, up),
        ("us", "neighbour.facing"): neighbour(r, up),
        ("*", "corner.inside"): hollow_corner(r),
        ("*", "soffit.near", "soffit"): lambda p: (level(THINGS["soffit"], p) < 2 * FT) & (p[:, 2] < 5.8),
        ("us", "lot-line.near"): lambda p: straight(THINGS["line"], p) - r < 10 * FT,
        ("ca", "lot-line.frost"): lambda p: straight(THINGS["line"], p) - r < 10 * FT,
        ("ca", "roof.special-vent"): over_slope(1.5 * FT, r, up),
        ("ca", "roof.special-vent-things", "chimney"): chimney(1.5 * FT, 1.5 * FT, r, up),
        ("ca", "roof.natural-draft"): over_slope(2 * FT, r, up),
        ("ca", "roof.natural-draft-parts", "chimney"): chimney(10 * FT, 2 * FT, r, up),
        ("us", "roof.by-pitch"): over_slope(FT, r, up),
        ("us", "roof.large"): over_slope(2 * FT, r, up),
        ("us", "roof.large-parts", "chimney"): chimney(10 * FT, 2 * FT, r, up),
    }  # fmt: skip


def cases():
    """Pack, terminal kind, heater and radius of every set of rules."""
    for rules in PACKS:
        for kind in ("wall", "roof"):
            yield rules, kind, {"input_W": power("40000 Btu/h")}, RADIUS_M
            yield rules, kind, {"vent_style": "non-direct", "category": "I"}, RADIUS_M
        yield rules, "roof", {"vent_style": "non-direct", "category": "I"}, 7 * FT / 12


CASES = list(cases())


def about(clause: Clause, rng: np.random.Generator) -> np.ndarray:
    """Random terminals in and round a clause's region."""
    low = np.min([body.low for body in clause.cover], axis=0) - 0.5
    high = np.max([body.high for body in clause.cover], axis=0) + 0.5
    return rng.uniform(low, high, (TERMINALS, 3))


def oracle(clause: Clause, rules: str, table: dict) -> Callable | None:
    for scope in (rules, rules[:2], "*"):
        for key in ((scope, clause.rule.id, clause.subject.split(" (")[0]), (scope, clause.rule.id)):
            if key in table:
                return table[key]
    return None


@pytest.mark.parametrize(("rules", "kind", "changes", "radius"), CASES)
def test_margins_have_the_sign_of_the_texts(rules, kind, changes, radius):
    site, rng, met = yard(**changes), np.random.default_rng(4), 0
    table = oracles(radius, radius if kind == "wall" else 0.0)
    for clause in found(site, rules, "", kind, radius):
        forbidden = oracle(clause, rules, table)
        own = clause.subject.split(" (")[0] in ("next door", "eaves of slope", "slope", "drive", "soffit", "porch")
        if forbidden is None or (own and len(clause.rule.features) > 1 and not _named(clause, table)):
            continue
        points = about(clause, rng)
        margins = clause.margins(points)
        clear = np.abs(margins) > 2e-6
        assert np.array_equal((margins < 0)[clear], forbidden(points)[clear]), (clause.rule.id, clause.subject)
        met += 1
    assert met >= 8


def _named(clause: Clause, table: dict) -> bool:
    return any(len(key) == 3 and key[1:] == (clause.rule.id, clause.subject.split(" (")[0]) for key in table)


def test_every_rule_about_a_place_has_its_set_written_out():
    seen, wanted = set(), set()
    for rules, kind, changes, radius in CASES:
        table = oracles(radius, radius if kind == "wall" else 0.0)
        for clause in found(yard(**changes), rules, "", kind, radius):
            wanted.add((rules[:2], clause.rule.id))
            if oracle(clause, rules, table) is not None:
                seen.add((rules[:2], clause.rule.id))
    # These speak of pairs of things and have cases of their own.
    assert wanted - seen == {("us", "roof.walls"), ("us", "roof.near-wall")}
    placed = {r.id for rules in PACKS for r in pack(rules).rules if r.kind in MAKERS}
    bands = {rule for rule in placed if rule.startswith("opening.")}  # of other inputs: the same shapes
    assert placed - bands - {rule for _, rule in wanted} == {"regulator.high-pressure"}


@pytest.mark.parametrize(("rules", "kind", "changes", "radius"), CASES)
def test_margins_grow_no_faster_than_the_terminal_moves(rules, kind, changes, radius):
    rng = np.random.default_rng(5)
    for clause in found(yard(**changes), rules, "", kind, radius):
        sloping = clause.subject.startswith("slope") or clause.subject.startswith("eaves")
        steepest = np.hypot(1.0, 0.5) if sloping else 1.0  # heights over a 6/12 roof are measured upright
        first = about(clause, rng)[:2000]
        second = first + rng.normal(0.0, 0.3, first.shape)
        moved = np.linalg.norm(second - first, axis=1)
        grown = np.abs(clause.margins(first) - clause.margins(second))
        assert np.all(grown <= moved * steepest + 1e-9), clause.rule.id


@pytest.mark.parametrize(("rules", "kind", "changes", "radius"), CASES)
def test_covers_enclose_what_is_forbidden_and_little_more(rules, kind, changes, radius):
    site, rng = yard(**changes), np.random.default_rng(6)
    outdoors = built(site).outdoors.container
    for clause in found(site, rules, "", kind, radius):
        points = rng.uniform(outdoors.low, outdoors.high, (TERMINALS, 3))
        points = np.vstack([points, about(clause, rng)])
        points = points[outdoors.contains(points)]
        margins, covered = clause.margins(points), np.zeros(len(points), dtype=bool)
        for body in clause.cover:
            covered |= body.contains(points)
        assert not np.any((margins < -1e-6) & ~covered), (clause.rule.id, clause.subject)
        reach = max((way.limit_m for way in clause.ways if way.limit_m < 5), default=1.0) + radius
        if clause.rule.kind not in ("roof walls", "roof parts"):  # these bound a slope from above
            assert np.all(margins[covered] <= 0.25 * reach + 0.01), (clause.rule.id, clause.subject)


@pytest.mark.parametrize(("rules", "kind", "changes", "radius"), [CASES[2], CASES[7], CASES[-1]])
def test_the_mesh_that_is_drawn_agrees_with_the_margin(rules, kind, changes, radius):
    site, rng, met = yard(**changes), np.random.default_rng(7), 0
    for clause in found(site, rules, "", kind, radius):
        zone = clause.zone()
        if clause.rule.kind in ("roof walls", "roof parts", "under eaves"):  # these bound a slope from above
            continue
        triangles = zone_mesh(zone)
        points = about(clause, rng)[:1000]
        margins = zone.margin(points)
        reach = max(way.limit_m for way in clause.ways if way.limit_m < 5) + radius
        sag = 0.01 + 0.025 * reach  # flat faces stand for round ones
        low, high = (np.array([getattr(body, end) for body in zone.cover]) for end in ("low", "high"))
        clear = (np.abs(margins) > sag) & np.all(points < high.max(axis=0) - 0.05 - sag, axis=1)
        clear &= np.all(points > low.min(axis=0) + 0.05 + sag, axis=1)  # where endless zones are cut off
        inside = surrounds(triangles, points[clear])
        assert np.array_equal(inside, margins[clear] < 0), (clause.rule.id, clause.subject)
        met += 1
    assert met > 5


def test_what_a_person_must_judge_is_no_zone():
    site = yard(input_W=power("40000 Btu/h"))
    asked = {c.rule.id for c in clauses(site, built(site), pack("us-2021"), "wall", RADIUS_M) if c.rule.ask}
    zones = {zone.rule for zone in terminal_zones(site, built(site), pack("us-2021"), "wall", RADIUS_M)}
    assert asked
    assert not asked & zones
