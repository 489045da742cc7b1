"""Just inside, exactly at and just outside the limit of every rule about a place.

The points are worked out by hand from the figures of the texts and the garden's measures. A limit itself passes, but
where the text says "more than".
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.rules.garden import FT, SNOW, THINGS, yard
from tests.rules.yard import RADIUS_M as R
from tests.rules.yard import appliance, found, house, pack, power
from ventroute.model.plan import Verdict
from ventroute.rules.zones import MAKERS

STEP_M = 1e-3
EAST, WEST, NORTH, SOUTH = (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, -1.0, 0.0)
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
SMALL, MIDDLE, LARGE = power("9000 Btu/h"), power("40000 Btu/h"), power("100000 Btu/h")
HUGE = power("160000 Btu/h")
ROOM = {"vent_style": "non-direct", "category": "I"}
WIDE = 7 * FT / 12  # radius of a 14 in vent


def over(height: float, radius: float = R) -> tuple[float, float, float]:
    """An end this high over the 6/12 slope at y = 4, at the pipe's upslope edge, and over the snow."""
    return (5.0, 4.0, 6.0 + 4.5 * 0.5 + 0.5 * radius + SNOW + height)


# pack, rule, thing, terminal kind, appliance, point at the limit, the way out
ROWS = [
    ("us-2021", "terminal.keep-out", "play area", "wall", {}, (-1.0 + R, 10.0, 1.0), EAST),
    ("us-2021", "grade.practice", "finished", "wall", {}, (5.0, 9.0, SNOW + FT + R), UP),
    ("us-2021", "grade.practice", "finished", "roof", {}, (5.0, 9.0, SNOW + FT), UP),
    ("us-2021", "grade.manual", "finished", "wall", {}, (5.0, 9.0, SNOW + 0.5 + R), UP),
    ("us-2021", "roof.practice", "slope", "roof", {}, over(FT), UP),
    ("us-2021", "roof.manual", "slope", "roof", {}, over(0.6), UP),
    ("us-2018", "opening.direct.10k", "window", "wall", {"input_W": SMALL}, (5 + R + 0.5 * FT, 7.95, 2.5), EAST),
    ("us-2018", "opening.direct.50k", "window", "wall", {"input_W": MIDDLE}, (5 + R + 0.75 * FT, 7.95, 2.5), EAST),
    ("us-2018", "opening.direct.150k", "window", "wall", {"input_W": LARGE}, (4.5, 7.95, 3 + R + FT), UP),
    ("us-2018", "opening.direct.over-150k", "window", "wall", {"input_W": HUGE}, (5 + R + 4 * FT, 7.95, 2.5), EAST),
    ("us-2018", "opening.direct.over-150k", "window", "wall", {"input_W": HUGE}, (4.5, 7.95, 2 - R - 4 * FT), DOWN),
    ("us-2018", "opening.direct.over-150k", "window", "wall", {"input_W": HUGE}, (4.5, 7.95, 3 + R + FT), UP),
    ("us-2018", "opening.non-direct", "window", "wall", ROOM, (5 + R + 4 * FT, 7.95, 2.5), EAST),
    ("us-2018", "opening.non-direct", "window", "wall", ROOM, (4.5, 7.95, 2 - R - 4 * FT), DOWN),
    ("us-2018", "opening.non-direct", "window", "wall", ROOM, (4.5, 7.95, 3 + R + FT), UP),
    ("ca-b149-2025", "opening.10k", "window", "wall", {"input_W": SMALL}, (5 + R + 0.5 * FT, 7.95, 2.5), EAST),
    ("ca-b149-2025", "opening.100k", "window", "wall", {"input_W": LARGE}, (5 + R + FT, 7.95, 2.5), EAST),
    ("ca-b149-2025", "opening.over-100k", "window", "wall", {"input_W": HUGE}, (5 + R + 3 * FT, 7.95, 2.5), EAST),
    ("us-2021", "opening.fixed", "pane", "wall", {}, (1.8 + R + FT, 7.95, 2.5), EAST),
    ("us-2021", "inlet.forced", "supply", "wall", {}, (10 + R + 10 * FT, 3.1, 1.1), EAST),
    ("us-2021", "inlet.forced", "supply", "wall", {}, (9.95, 3.1, 1.3 + R + 3 * FT), UP),
    ("ca-b149-2025", "inlet.forced", "supply", "wall", {}, (10 + R + 6 * FT, 3.1, 1.1), EAST),
    ("us-2018", "regulator.harm", "regulator", "wall", {}, (2.05 + R + 3 * FT, 8.02, 0.62), EAST),
    ("us-2021", "regulator.column", "regulator", "wall", {}, (2.025 + R + 3 * FT, 8.025, 3.0), EAST),
    ("us-2021", "regulator.column", "regulator", "wall", {}, (2.025, 8.025, 0.65 + R + 15 * FT), UP),
    ("us-2021", "regulator.low-pressure", "regulator", "wall", {}, (2.05 + R + 3 * FT, 8.02, 0.62), EAST),
    ("ca-b149-2025", "regulator.around", "regulator", "wall", {}, (2.05 + R + 3 * FT, 8.02, 0.62), EAST),
    ("ca-b149-2025", "regulator.older", "regulator", "wall", {}, (2.05 + R + 6 * FT, 8.02, 0.62), EAST),
    ("us-2021", "meter.near", "meter", "wall", {}, (7.4 + R + 3 * FT, -0.2, 0.5), EAST),
    ("us-2021", "meter.electric", "power", "wall", {}, (9.3 + R + 10 * FT, -0.1, 1.4), EAST),
    ("us-2021", "walkway.height", "path", "wall", {}, (13.5 + R + 4 * FT, 4.0, 1.0), EAST),
    ("us-2018", "walkway.height", "path", "wall", {}, (13.5 + R + 4 * FT, 4.0, 1.0), EAST),
    ("us-2018", "walkway.height", "path", "wall", {}, (12.5, 4.0, 7 * FT + R), UP),
    ("us-2021", "walkway.height", "path", "wall", {}, (12.5, 4.0, 7 * FT + R), UP),
    ("us-2021", "walkway.adjacent", "path", "wall", {}, (13.5 + R + 10 * FT, 4.0, 1.0), EAST),
    ("us-2021", "walkway.over", "path", "wall", {}, (13.5 + R, 4.0, 5.0), EAST),
    ("ca-b149-2025", "walkway.height", "path", "wall", {}, (12.5, 4.0, 7 * FT + R), UP),
    ("ca-b149-2025", "walkway.driveway", "drive", "wall", {}, (-4 - R - FT / 12, 4.0, 1.0), WEST),
    ("ca-b149-2025", "walkway.between", "path", "wall", {}, (13.5 + R, 4.0, 5.0), EAST),
    ("us-2021", "floor.above", "deck", "wall", {}, (7.0, 9.0, 2.6 + SNOW + FT + R), UP),
    ("us-2021", "deck.beneath", "deck", "wall", {}, (7.0, 9.0, 2.4 - FT - R), DOWN),
    ("us-2021", "neighbour.facing", "next door", "wall", {}, (4 + R + 10 * FT, 11.05, 2.5), EAST),
    ("us-2021", "neighbour.facing", "next door", "wall", {}, (3.5, 10.0, 3 + R + 2 * FT), UP),
    ("us-2021", "neighbour.facing", "next door", "wall", {}, (3.5, 10.0, 2 - R - 25 * FT), DOWN),
    ("us-2021", "neighbour.facing", "next door", "wall", {}, (3.5, 11.1 + R, 2.5), NORTH),
    ("us-2021", "corner.inside", "corner", "wall", {}, (6 - R - 3 * FT, 7.0, 2.0), WEST),
    ("us-2021", "soffit.near", "soffit", "wall", {}, (5.0, 8.5 + 2 * FT, 3.0), NORTH),
    ("us-2021", "lot-line.near", "line", "wall", {}, (5.0, 14 - R - 10 * FT, 0.01), SOUTH),
    ("ca-b149-2025", "lot-line.frost", "line", "wall", {}, (5.0, 14 - R - 10 * FT, 0.01), SOUTH),
    ("ca-b149-2025", "roof.special-vent", "slope", "roof", {}, over(1.5 * FT), UP),
    ("ca-b149-2025", "roof.special-vent-things", "chimney", "roof", {}, (7.3, 5.3, 11 + 1.5 * FT), UP),
    ("ca-b149-2025", "roof.special-vent-things", "chimney", "roof", {}, (7.6 + R + 1.5 * FT, 5.3, 9.0), EAST),
    ("ca-b149-2025", "roof.natural-draft", "slope", "roof", ROOM, over(2 * FT), UP),
    ("ca-b149-2025", "roof.natural-draft-parts", "chimney", "roof", ROOM, (7.3, 5.3, 11 + 2 * FT), UP),
    ("us-2021", "roof.by-pitch", "slope", "roof", ROOM, over(FT), UP),
    ("us-2021", "roof.walls", "chimney", "roof", ROOM, (7.3, 5.3, 11 + 2 * FT), UP),
    ("us-2021", "roof.walls", "chimney", "roof", ROOM, (7.6 + R + 8 * FT, 5.3, 9.0), EAST),
    ("us-2021", "roof.near-wall", "chimney", "roof", {}, (7.3, 5.3, 11 + 1.5 * FT), UP),
    ("us-2021", "roof.near-wall", "chimney", "roof", {}, (7.6 + R + 1.5 * FT, 5.3, 9.0), EAST),
    ("us-2021", "vent.rise", "the appliance", "roof", ROOM, (5.0, 4.0, 1.0 + 5 * FT), UP),
    ("ca-b149-2025", "vent.rise", "the appliance", "roof", ROOM, (5.0, 4.0, 1.0 + 5 * FT), UP),
    ("us-2018", "deck.beneath", "deck", "wall", {}, (7.0, 9.0, 2.4 - FT - R), DOWN),
    ("us-2018", "floor.above", "deck", "wall", {}, (7.0, 9.0, 2.6 + SNOW + FT + R), UP),
    ("us-2021", "roof.large", "slope", "roof", ROOM, over(2 * FT, WIDE), UP),
    ("us-2021", "roof.large-parts", "chimney", "roof", ROOM, (7.3, 5.3, 11 + 2 * FT), UP),
    ("us-2021", "roof.large-parts", "chimney", "roof", ROOM, (7.6 + WIDE + 10 * FT, 5.3, 9.0), EAST),
]  # fmt: skip


def radius_of(rule: str) -> float:
    """Radius of the end that a rule's rows are worked out for [m]."""
    return WIDE if "large" in rule else R


def of(rules: str, rule: str, thing: str, kind: str, changes: dict, point: np.ndarray) -> Verdict:
    clauses = [c for c in found(yard(**changes), rules, rule, kind, radius_of(rule)) if c.rule.id == rule]
    verdicts = [c.finding(point, pack(rules)).verdict for c in clauses if c.subject.startswith(thing)]
    assert verdicts
    return min(verdicts, key=[Verdict.FAIL, Verdict.ASK, Verdict.PASS].index)


@pytest.mark.parametrize(("rules", "rule", "thing", "kind", "changes", "limit", "outward"), ROWS)
def test_a_limit_passes_and_a_millimetre_less_does_not(rules, rule, thing, kind, changes, limit, outward):
    at, way = np.array(limit), np.array(outward) * STEP_M
    broken = Verdict.ASK if pack(rules).rule(rule).ask else Verdict.FAIL
    assert of(rules, rule, thing, kind, changes, at) is Verdict.PASS
    assert of(rules, rule, thing, kind, changes, at + way) is Verdict.PASS
    assert of(rules, rule, thing, kind, changes, at - way) is broken


def test_more_than_a_foot_below_a_deck_is_more_than_a_foot():
    # CSA B149.1 8.14.8 h, read: "more than".
    at = np.array((7.0, 9.0, 2.4 - FT - R))
    args = ("ca-b149-2025", "deck.beneath", "deck", "wall", {})
    assert of(*args, at) is Verdict.FAIL
    assert of(*args, at + (0.0, 0.0, STEP_M)) is Verdict.FAIL
    assert of(*args, at - (0.0, 0.0, STEP_M)) is Verdict.PASS


@pytest.mark.parametrize(("pressure_Pa", "asked", "refused"), [(None, 1, 0), (20_000.0, 0, 1), (5_000.0, 0, 0)])
def test_a_regulator_keeps_ten_feet_above_two_psi_and_asks_where_the_pressure_is_unknown(pressure_Pa, asked, refused):
    # Row I of the 2021 table, memory: 3 ft up to 2 psi (13 790 Pa), 10 ft above.
    regulator = replace(THINGS["regulator"], pressure_Pa=pressure_Pa)
    site = yard({"regulator": regulator})
    at = np.array((2.05 + R + 10 * FT - STEP_M, 8.02, 0.62))
    clauses = found(site, "us-2021", "regulator.high-pressure")
    verdicts = [clause.finding(at, pack("us-2021")).verdict for clause in clauses]
    assert (verdicts.count(Verdict.ASK), verdicts.count(Verdict.FAIL)) == (asked, refused)
    at += (STEP_M, 0.0, 0.0)
    assert all(clause.finding(at, pack("us-2021")).verdict is Verdict.PASS for clause in clauses)
    low = found(site, "us-2021", "regulator.low-pressure")
    assert len(low) == (0 if refused else 1)  # unknown pressure keeps the lower figure as a bar


def test_nothing_ends_beneath_a_deck_whose_sides_are_unknown():
    deck = replace(THINGS["deck"], open_sides=None)
    (clause,) = found(yard({"deck": deck}), "us-2021", "deck.beneath")
    finding = clause.finding(np.array((7.0, 9.0, 0.6)), pack("us-2021"))
    assert finding.verdict is Verdict.FAIL
    assert "not given" in finding.note


def test_eaves_are_found_from_the_roof():
    # The slope's eave reaches 0.5 m beyond the south wall (y = 0); 2 ft to its side is clear of it.
    (eave,) = (c for c in found(yard(), "us-2021", "soffit.near") if c.subject == "eaves of slope")
    points = np.array([(5.0, -0.2, 3.0), (5.0, -0.5 - 2 * FT + STEP_M, 3.0), (5.0, -0.5 - 2 * FT, 3.0)])
    assert (eave.margins(points) >= -1e-9).tolist() == [False, False, True]


def test_a_roof_that_ends_at_the_walls_has_no_eaves():
    assert found(house(), "us-2021", "soffit.near") == ()


def test_a_window_round_the_corner_of_the_house_counts():
    # East wall's window from 0.4 m south of the corner; a terminal 0.3 m west of it on the north wall: 0.5 m away.
    around = replace(THINGS["window"], corner=(9.9, 6.6, 2.0), size=(0.1, 1.0, 1.0))
    site = house([around], appliance(vent_style="non-direct"))
    (clause,) = found(site, "us-2021", "opening.non-direct", radius_m=0.0)
    finding = clause.finding(np.array((9.6, 8.0, 2.5)), pack("us-2021"))
    assert finding.verdict is Verdict.FAIL
    assert finding.measured == pytest.approx(0.5)


def test_every_rule_about_a_place_has_a_row():
    placed = {r.id for name in ("us-2018", "us-2021", "ca-b149-2025") for r in pack(name).rules if r.kind in MAKERS}
    assert placed - {row[1] for row in ROWS} == {"regulator.high-pressure"}  # has a test of its own
