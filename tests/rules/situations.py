"""Situations just so far inside a rule's limit, or (negative) outside it: what the rule finds there in a pack."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from tests.rules.garden import THINGS, yard
from tests.rules.routes import PVC, ROOF_HOLE, kit, out_north, route, site, straight_up
from tests.rules.yard import RADIUS_M, appliance, built, house, judged, m, pack
from ventroute.catalog.lookup import load_catalog
from ventroute.constants import INCH_M, MEET_M
from ventroute.model.appliance import SizeLimit, Want
from ventroute.model.parts import Change
from ventroute.model.plan import Finding, FlueState, Station, Verdict
from ventroute.model.route import Route
from ventroute.model.site import Framing, Site
from ventroute.rules.cautions import cautions
from ventroute.rules.check import judge
from ventroute.whole_route import whole_findings

PASS, FAIL, ASK = Verdict.PASS, Verdict.FAIL, Verdict.ASK
BTU_H = 0.29307107017
OD = 0.0889  # of 3 in pipe, ASTM D1785


def of(where: Site, made: Route, rules: str, rule: str, about: str = "", flue: FlueState | None = None) -> Finding:
    """The one finding of a rule about something."""
    found = [f for f in judge(where, built(where), pack(rules), made, flue) if f.rule == rule and about in f.subject]
    assert len(found) == 1, (rule, about, [f.subject for f in found])
    return found[0]


def said(where: Site, made: Route, rule: str, about: str = "", flue: FlueState | None = None):
    """The worst verdict of a rule about something, None where it says nothing."""

    def verdict(rules: str) -> Verdict | None:
        found = judge(where, built(where), pack(rules), made, flue)
        verdicts = [f.verdict for f in found if f.rule == rule and about in f.subject]
        return min(verdicts, key=[FAIL, ASK, PASS].index, default=None)

    return verdict


def hot(letter: str, limit_degC: float) -> Callable[[str, float], Finding]:
    """Exhaust this much cooler than the limit of a class."""
    stuff = replace(PVC, listing_class=letter, class_max_degC=None, service_max_degC=None)

    def at(rules: str, inside: float) -> Finding:
        where = site(appliance(exhaust_max_degC=limit_degC - inside))
        return of(where, straight_up(where, parts=kit(material=stuff)), rules, "material.class")

    return at


def plain(rules: str, inside: float) -> Finding:
    """Plain pipe without a class, sold for 60 degC (PVC, 140 degF: read)."""
    stuff = replace(PVC, listing_class="", class_max_degC=None)
    where = site(appliance(exhaust_max_degC=60.0 - inside))
    return of(where, straight_up(where, parts=kit(material=stuff)), rules, "material.service")


def table(**changes: object) -> Site:
    return site(appliance(sizes=(replace(SizeLimit(3.0, 30.0, elbow_90_m=1.5), **changes),)))


WHOLE_M = 2.0 + 5.3 * math.hypot(1.0, 1 / 48) + 1.5  # of `out_north`, worked out in test_judge


def elbows(rules: str, inside: float) -> Finding:
    where = table(max_elbows=round(1 + inside))
    return of(where, out_north(where), rules, "length.elbows")


def pitched(rules: str, inside: float) -> Finding:
    wanted = math.degrees(math.atan(1 / 48))
    return of(site(), out_north(site(), math.tan(math.radians(wanted + inside))), rules, "pitch")


def hole(about: str, least: float) -> Callable[[str, float], Finding]:
    def at(rules: str, inside: float) -> Finding:
        where = site(holes=(replace(ROOF_HOLE, clear_m=OD + least + inside),))
        findings = judge(where, built(where), pack(rules), straight_up(where))
        return next(f for f in findings if f.rule == "hole.fit" and f.subject == f"roof hole{about}")

    return at


def joint_in(rules: str, inside: float) -> Finding:
    """The coupling's lower hub ends this far below the roof's underside (z = 5.7)."""
    made = straight_up(site())
    lower, joint, upper = made.parts[:3]
    up = 5.7 - inside - (joint.end_m[2] + 0.038)
    shifted = (
        replace(lower, end_m=(3.0, 3.0, lower.end_m[2] + up)),
        replace(joint, start_m=(3.0, 3.0, joint.start_m[2] + up), end_m=(3.0, 3.0, joint.end_m[2] + up)),
        replace(upper, start_m=(3.0, 3.0, upper.start_m[2] + up)),
    )
    return of(site(), replace(made, parts=(*shifted, *made.parts[3:])), rules, "hole.joint")


def beside_wall(rules: str, inside: float) -> Finding:
    """The hub (radius 50 mm) this much more than an inch from the west wall (x = 0.2)."""
    x = 0.2 + 0.05 + INCH_M + inside
    where = site(appliance(collar_m=(x, 3.0, 1.0)), holes=(replace(ROOF_HOLE, at=(x, 3.0, 5.85)),))
    made = route(where, "roof", [(x, 3.0, 1.0), (x, 3.0, 6.6)], [("roof hole", 0)])
    findings = judge(where, built(where), pack(rules), made)
    return next(f for f in findings if f.rule == "gap" and "west wall" in f.subject)


def beside_itself(rules: str, inside: float) -> Finding:
    """Two pipes, one over the other, whose gap at the turn is what was asked, or that much less."""
    corners = [
        (3.0, 3.0, 1.0), (3.0, 3.0, 3.0), (5.0, 3.0, 3.05), (5.0, 3.0, 3.26), (2.9, 3.0, 3.32), (2.9, 8.3, 3.45),
    ]  # fmt: skip
    small = kit(bends=(replace(kit().bends[0], laying_m=0.03), kit().bends[1]))
    made = route(site(), "wall", corners, [("north cut", 4)], [90.0] * 4, small)
    first = of(site(), made, rules, "gap.self")
    where = replace(site(), want=Want(gap_m=first.measured - inside))
    return of(where, made, rules, "gap.self")


def apart(rules: str, inside: float) -> Finding:
    made = straight_up(site())
    first = replace(made.parts[0], end_m=(3.0, 3.0, made.parts[1].start_m[2] - (MEET_M - inside)))
    return of(site(), replace(made, parts=(first, *made.parts[1:])), rules, "parts.meet")


def between_bends(rules: str, inside: float) -> Finding:
    """Pipe between two 90s (laying 78 mm, sockets 38 mm): it must fill both sockets, 76 mm."""
    up = 2 * 0.078 + 2 * 0.038 + inside
    corners = [(3.0, 3.0, 1.0), (3.0, 3.0, 3.0), (3.0, 4.0, 3.03), (3.0, 4.0, 3.03 + up), (3.0, 8.3, 3.2 + up)]
    made = route(site(), "wall", corners, [("north cut", 3)], [90.0, 90.0, 90.0])
    findings = judge(site(), built(site()), pack(rules), made)
    return next(f for f in findings if f.rule == "parts.least-pipe")


def stick(rules: str, inside: float) -> Finding:
    made = out_north(site(), parts=kit(pipe=replace(kit().pipe, stick_m=(10.0,))))
    longest = max(math.dist(p.start_m, p.end_m) for p in made.parts if p.kind == "pipe")
    sold = kit(pipe=replace(kit().pipe, stick_m=(longest + inside,)))
    return of(site(), replace(made, kit=sold), rules, "parts.stick")


def whole(rules: str, inside: float) -> Finding:
    """Pipe that may not be sawn, 1 mm off the length that is sold: joints take up that much (our own reading)."""
    made = out_north(site(), parts=kit(pipe=replace(kit().pipe, stick_m=(10.0,))))
    lengths = sorted(math.dist(p.start_m, p.end_m) for p in made.parts if p.kind == "pipe")
    sold = tuple(length + (0.001 - inside) * (n == 0) for n, length in enumerate(lengths))
    return of(
        site(), replace(made, kit=kit(pipe=replace(kit().pipe, stick_m=sold, can_be_cut=False))), rules, "parts.whole"
    )


def reach(rules: str, inside: float) -> Finding:
    made = out_north(site(), end=8.0 + m("6 in") + inside)
    return of(site(), made, rules, "terminal.reach")


def outdoors(rules: str, inside: float) -> Finding:
    """Level pipe, so that its length outdoors is what it reaches out."""
    made = out_north(site(), 0.0, 8.0 + m("2 ft") - inside)
    return of(site(), made, rules, "terminal.pipe-outdoors")


def viewed(rules: str, inside: float) -> Finding:
    """The collar this much more than 0.9 m below the roof's underside, z = 5.7 (CSA B149.1 8.9.5, read)."""
    z = 5.7 - 0.9 - inside
    where = site(appliance(collar_m=(3.0, 3.0, z)))
    made = route(where, "roof", [(3.0, 3.0, z), (3.0, 3.0, 6.6)], [("roof hole", 0)])
    return of(where, made, rules, "vent.in-view")


def grown(rules: str, inside: float) -> Finding:
    """A run of 30 ft (Minnesota Rules 4714.0313, read)."""
    top = 1.0 + m("30 ft") - inside
    return of(site(), straight_up(site(), top), rules, "expansion")


def slid(rules: str, inside: float) -> Finding:
    """A gasketed pipe of 1 m whose growth is 10 mm (one clamp length's gap: second-hand)."""
    made = straight_up(site())
    longest = max(p.cut_m or 0.0 for p in made.parts)
    per_K = (0.010 - inside) / (longest * (60.0 - 15.555555555555555))
    gasketed = replace(PVC, joint="gasketed", expansion_per_K=per_K)
    return of(site(), replace(made, kit=kit(material=gasketed)), rules, "expansion")


STATION = Station(1.0, 50.0, 50.0, 30.0, 20.0, 0.0, "hall")


def flue(pressure: float = 0.0, drop: float = 30.0, wall: float = 20.0) -> FlueState:
    station = replace(STATION, pressure_Pa=pressure, wall_degC=wall)
    return FlueState(55.0, 0.02, drop, 45.0, 0.5, reference_drop_Pa=60.0, stations=(station,))


def pressed(rules: str, inside: float) -> Finding:
    where = site(appliance(category="I"))
    return of(where, straight_up(where), rules, "flue.pressure", flue=flue(pressure=-inside))


def dropped(rules: str, inside: float) -> Finding:
    return of(site(), straight_up(site()), rules, "flue.drop", flue=flue(drop=60.0 - inside))


def freezing(rules: str, inside: float) -> Finding:
    return of(site(), straight_up(site()), rules, "flue.freezing", flue=flue(wall=inside))


ROOM_M3 = 9.6 * 7.6 * 5.5


def air(rules: str, inside: float) -> Finding:
    """Input for which 50 ft3 per 1000 Btu/h (Wisconsin, read) is the hall's volume and this much less [m3]."""
    volume = ROOM_M3 - inside
    heater = appliance(vent_style="non-direct", input_W=volume / (50 * 0.3048**3) * 1000 * BTU_H)
    return of(site(heater), straight_up(site(heater)), rules, "air.indoor")


def opening(rule: str, btu_h: float, square_inches: str):
    """What an opening's rule says in a closet of 22 m3, and whether it names this area."""
    closet = replace(house().rooms[0], floor=((2.0, 2.0), (4.0, 2.0), (4.0, 4.0), (2.0, 4.0)))
    where = site(appliance(vent_style="non-direct", input_W=btu_h * BTU_H), rooms=(closet,), cuts=())

    def says(rules: str) -> Verdict | None:
        found = [f for f in judge(where, built(where), pack(rules), straight_up(where)) if f.rule == rule]
        assert all(f"{square_inches} in2" in f.note for f in found), [f.note for f in found]
        return found[0].verdict if found else None

    return says


def studs(offset: float) -> Framing:
    """Upright studs in the north wall; the pipe (x = 3) goes between them."""
    return Framing("studs", "stud", (2.0, 7.8, 0.0), (4.0, 0.2, 5.0), (0.0, 0.0, 1.0), 0.4, offset, 0.038, 0.2)


def beside_stud(rule: str, least: float) -> Callable[[str, float], Finding]:
    """Studs so placed that the pipe's side is this far from the face of the nearest."""

    def at(rules: str, inside: float) -> Finding:
        offset = 1.0 - OD / 2 - 0.019 - least - inside  # from x = 2: the member's centre west of the pipe's
        where = site(framing=(replace(studs(offset), spacing_m=2.5),))
        return of(where, out_north(where), rules, rule)

    return at


def through(kind: str, rule: str, about: str, depth: float, centre: float) -> Finding:
    """A level pipe across members of this depth, its axis this far over their lower edge."""
    box = Framing("members", kind, (1.0, 7.0, 3.0 - centre), (4.0, 1.0, depth), (1.0, 0.0, 0.0), 0.4, 0.2, 0.038, depth)
    where = site(framing=(box,))
    return of(where, out_north(where, 0.0), "us-2021", rule, about)


def across(kind: str, rule: str, about: str, depth_centre: Callable[[float], tuple[float, float]]):
    """The same, depth and centre told by how far inside the limit. Framing rules are common to all packs."""

    def at(rules: str, inside: float) -> Finding:
        assert pack(rules).rule(rule) == pack("us-2021").rule(rule)
        return through(kind, rule, about, *depth_centre(inside))

    return at


def raised(rules: str, inside: float) -> Finding:
    """Beneath a home 0.9 m up, or this much clear of its wall (24 CFR 3280.710(c), read: not beneath)."""
    up = replace(house().building, bottom_m=0.9)
    where = house(
        (), appliance(collar_m=(3.0, 3.0, 2.0)), building=up, rooms=(replace(house().rooms[0], bottom_m=1.1),)
    )
    (finding,) = judged(where, rules, "home.under", (5.0, 8.0 + RADIUS_M + inside, 0.5))
    return finding


def under_deck(rules: str, inside: float) -> Finding:
    (finding,) = (
        f for f in judged(yard({"deck": THINGS["deck"]}), rules, "deck.beneath", (7.0, 9.0, 2.4 - m("12 in") - RADIUS_M - inside))
    )  # fmt: skip
    return finding


def high_pressure(rules: str, inside: float) -> Finding:
    regulator = replace(THINGS["regulator"], pressure_Pa=20_000.0)
    at = (2.05 + RADIUS_M + m("10 ft") + inside, 8.02, 0.62)
    (finding,) = judged(yard({"regulator": regulator}), rules, "regulator.high-pressure", at)
    return finding


def two_floors() -> tuple[Site, Route]:
    """Through a loft."""
    hall = replace(house().rooms[0], top_m=3.0)
    loft = replace(hall, name="loft", bottom_m=3.2, top_m=5.7, heated=False)
    floor = replace(ROOF_HOLE, name="floor", at=(3.0, 3.0, 3.1), through=("hall", "loft"))
    top = replace(ROOF_HOLE, through=("loft", "outdoors"))
    where = site(rooms=(hall, loft), holes=(floor, top), cuts=())
    made = route(where, "roof", [(3.0, 3.0, 1.0), (3.0, 3.0, 6.6)], [("floor", 0), ("roof hole", 0)])
    return where, made


def warned(rule: str):
    """A caution is told once with every plan of the packs that hold it."""

    def says(rules: str) -> Verdict | None:
        title = pack(rules).rule(rule).title
        assert sum(title in line for line in cautions(pack(rules))) == 1
        return None

    return says


def own(rule: str, about: str, change: Callable[[Route, float], Route]) -> Callable[[str, float], Finding]:
    """A demand on every route, whatever pack: a route changed, and held against the catalog."""

    def at(rules: str, inside: float) -> Finding:
        made = change(out_north(site()), inside)
        found = [f for f in whole_findings(site(), load_catalog(), made) if f.rule == rule and f.subject == about]
        assert len(found) == 1
        return found[0]

    return at


def off_collar(made: Route, inside: float) -> Route:
    first = replace(made.runs[0], start_m=(3.0 + MEET_M - inside, 3.0, 1.0))
    return replace(made, runs=(first, *made.runs[1:]))


def askew(made: Route, inside: float) -> Route:
    lean = math.tan(math.radians(0.01 - inside))
    first = replace(made.runs[0], end_m=(3.0 + 2.0 * lean, 3.0, 3.0))
    return replace(made, runs=(first, *made.runs[1:]))


def turned(made: Route, inside: float) -> Route:
    """A bend of 90 that turns by its give of 3 degrees less."""
    parts = tuple(replace(p, angle_deg=90.0 - 3.0 - 1e-4 + inside) if p.kind == "elbow" else p for p in made.parts)
    return replace(made, parts=parts)


def shifted(made: Route, inside: float) -> Route:
    x, y, z = made.terminal_m
    return replace(made, terminal_m=(x + 10 * MEET_M - inside, y, z))


def adapted(to: str) -> Route:
    change = Change("ADAPT", "adapter", "ABS", 3.0, to, 3.0, 0.05, 0.038, 0.1, PVC.evidence)
    made = straight_up(site())
    first = replace(made.parts[0], item="ADAPT")
    stuff = replace(PVC, name=to)
    return replace(made, kit=kit(start=(change,), material=stuff), parts=(first, *made.parts[1:]))
