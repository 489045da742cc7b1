"""A case for every rule that is not about a place: what is just inside its limit, at it, just outside, or says it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from tests.rules.routes import PVC, kit, out_north, site, straight_up
from tests.rules.situations import (
    ASK,
    FAIL,
    OD,
    PASS,
    WHOLE_M,
    across,
    adapted,
    air,
    apart,
    askew,
    beside_itself,
    beside_stud,
    beside_wall,
    between_bends,
    dropped,
    elbows,
    freezing,
    grown,
    high_pressure,
    hole,
    hot,
    joint_in,
    of,
    off_collar,
    opening,
    outdoors,
    own,
    pitched,
    plain,
    pressed,
    raised,
    reach,
    said,
    shifted,
    slid,
    stick,
    table,
    through,
    turned,
    two_floors,
    under_deck,
    viewed,
    warned,
    whole,
)
from tests.rules.yard import appliance, m
from ventroute.constants import MEET_M
from ventroute.model.appliance import SizeLimit
from ventroute.model.plan import Finding, Verdict


@dataclass(frozen=True)
class Limit:
    """A rule with a figure. ``at`` maps how far inside the limit (negative: outside) to the finding of a pack."""

    rule: str
    at: Callable[[str, float], Finding]
    step: float = 1e-3
    kept: Verdict = PASS
    limit: Verdict = PASS  # what the limit itself gets
    broken: Verdict = FAIL


@dataclass(frozen=True)
class Said:
    """A rule without a figure, or what is said beside one: its worst verdict in a pack, None where it says nothing."""

    rule: str
    says: Callable[[str], Verdict | None]
    expected: Verdict | None


FOAM, NAMED = kit(schedule="40 cellular core"), site(appliance(cellular_core=True))
TWO = two_floors()
NATURAL = site(appliance(category="I", vent_style="non-direct"))
NAMELESS = site(appliance(materials=("CPVC",)))
UNMARKED = kit(material=replace(PVC, listing_class="", class_max_degC=None))

LIMITS = [
    # ULC 636, read in the notice: up to and including.
    *(Limit("material.class", hot(*row), 0.1) for row in (("II A", 65.0), ("II B", 90.0), ("II C", 110.0), ("II D", 135.0), ("I", 245.0))),
    Limit("material.service", plain, 0.1),  # pipe is sold for up to its temperature: PVC 140 degF, read
    # What the appliance's manual and the site file set passes at the figure itself: "at most", "at least".
    Limit("length.max", lambda rules, d: of(table(max_length_m=WHOLE_M + d), out_north(table(max_length_m=WHOLE_M + d)), rules, "length.max")),
    Limit("length.min", lambda rules, d: of(table(min_length_m=WHOLE_M - d), out_north(table(min_length_m=WHOLE_M - d)), rules, "length.min")),
    Limit("length.elbows", elbows, 1.0),
    Limit("pitch", pitched, 0.01),
    Limit("terminal.reach", reach),
    Limit("terminal.pipe-outdoors", outdoors),
    Limit("gap", beside_wall),
    Limit("gap.self", beside_itself),
    # Geometry.
    Limit("hole.fit", hole("", 0.0), 1e-4),
    Limit("hole.fit", hole(": room", m("1/16 in")), 1e-4, broken=ASK),  # invented: what an exact fit leaves
    Limit("hole.joint", joint_in),
    Limit("parts.meet", apart, MEET_M / 10),
    Limit("parts.least-pipe", between_bends),
    Limit("parts.stick", stick),
    Limit("parts.whole", whole, 1e-4),
    Limit("route.collar", own("route.collar", "start", off_collar), MEET_M / 10),
    Limit("route.collar", own("route.collar", "run 1", askew), 1e-3),
    Limit("route.turn", own("route.turn", "part 2", turned), 0.01),
    Limit("route.parts", own("route.parts", "all parts", shifted), MEET_M),
    # IRC R502.8.1, second-hand: not more than a third, not nearer than 2 in; a notch not over 1/6 and 1/3.
    Limit("framing.joist", across("joist", "framing.joist", "hole", lambda d: (3 * (OD + d), 1.5 * (OD + d)))),
    Limit("framing.joist", across("joist", "framing.joist", "edge", lambda d: (0.6, OD / 2 + m("2 in") + d))),
    Limit("framing.joist-notch", across("joist", "framing.joist-notch", "depth", lambda d: (0.48, 0.08 - d - OD / 2))),
    Limit("framing.joist-notch", across("joist", "framing.joist-notch", "length", lambda d: (3 * (OD + d), -0.01))),
    # IRC R602.6, read: 40 percent, 60 percent in doubled studs, 5/8 in to the edge.
    Limit("framing.stud", across("stud", "framing.stud", "hole", lambda d: ((OD + d) / 0.4, (OD + d) / 0.8)), broken=ASK),
    Limit("framing.stud", across("stud", "framing.stud", "hole", lambda d: ((OD + d) / 0.6, (OD + d) / 1.2)), kept=ASK, limit=ASK),
    Limit("framing.stud", across("stud", "framing.stud", "edge", lambda d: (0.3, OD / 2 + m("5/8 in") + d))),
    Limit("framing.miss", beside_stud("framing.miss", 0.0)),
    Limit("framing.shield", beside_stud("framing.shield", m("1 1/2 in")), broken=ASK),  # IFGC 502.7, memory: nearer than
    Limit("expansion", grown, broken=ASK),  # UPC table 313.3 as adopted, read: every 30 ft
    Limit("expansion", slid, 1e-4, broken=ASK),  # second-hand: about 10 mm at each socket
    Limit("flue.pressure", pressed, 0.1, broken=ASK),  # CSA B149.1 3.8, read: nonpositive
    Limit("flue.drop", dropped, 0.1, broken=ASK),
    Limit("flue.freezing", freezing, 0.1, broken=ASK),
    Limit("air.indoor", air, 0.01, broken=ASK),  # Wisconsin, read: 50 ft3 per 1000 Btu/h
    Limit("vent.in-view", viewed),  # CSA B149.1 8.9.5, read: the first 0.9 m
    Limit("home.under", raised),
    Limit("deck.beneath", under_deck, limit=FAIL),  # CSA B149.1 8.14.8 h, read: more than
    Limit("regulator.high-pressure", high_pressure),  # row I of 2021, memory
]  # fmt: skip

SAID = [
    Said("terminal.outdoors", said(site(), straight_up(site()), "terminal.outdoors"), PASS),
    Said("terminal.outdoors", said(site(), replace(straight_up(site()), terminal_m=(3.0, 3.0, 3.0)), "terminal.outdoors"), FAIL),
    Said("material.listed", said(site(), straight_up(site()), "material.listed"), PASS),
    Said("material.listed", said(NAMELESS, straight_up(NAMELESS), "material.listed"), FAIL),
    Said("material.class", said(site(), straight_up(site(), parts=UNMARKED), "material.class"), ASK),
    Said("size.listed", said(site(), straight_up(site()), "size.listed"), PASS),
    Said("size.listed", said(site(appliance(sizes=(SizeLimit(2.0, 12.0),))), straight_up(site()), "size.listed"), FAIL),
    Said("material.cellular-core", said(site(), straight_up(site()), "material.cellular-core"), None),
    Said("material.cellular-core", said(site(), straight_up(site(), parts=FOAM), "material.cellular-core"), FAIL),
    Said("parts.one-system", said(site(), straight_up(site()), "parts.one-system"), PASS),
    Said("parts.one-system", said(site(), adapted("CPVC"), "parts.one-system"), PASS),
    Said("parts.joints", said(site(), straight_up(site()), "parts.joints"), PASS),
    Said("parts.joints", said(site(), adapted("PVC"), "parts.joints", "ABS to PVC"), PASS),  # ASTM D3138
    Said("parts.joints", said(site(), adapted("CPVC"), "parts.joints", "ABS to CPVC"), FAIL),  # no standard known
    Said("length.angles", said(site(), out_north(site()), "length.angles"), PASS),
    Said("length.angles", said(table(elbow_90_m=None), out_north(site()), "length.angles"), FAIL),
    Said("hole.firestop", said(*TWO, "hole.firestop"), ASK),
    Said("hole.firestop", said(site(), straight_up(site()), "hole.firestop"), None),
    Said("support.spacing", said(site(), out_north(site()), "support.spacing"), PASS),
    Said("support.spacing", said(site(appliance(exhaust_max_degC=60.0)), out_north(site()), "support.spacing"), PASS),  # its end
    Said("support.spacing", said(site(appliance(exhaust_max_degC=60.1)), out_north(site()), "support.spacing"), ASK),
    Said("framing.joist-notch", lambda _: through("joist", "framing.joist-notch", "place", 0.48, 0.03).verdict, ASK),
    Said("vent.category", said(site(), straight_up(site()), "vent.category"), PASS),
    Said("vent.category", said(NAMELESS, straight_up(NAMELESS), "vent.category"), FAIL),
    Said("vent.category", said(NATURAL, straight_up(NATURAL), "vent.category"), ASK),
    Said("vent.s636", said(site(), straight_up(site()), "vent.s636"), ASK),
    Said("vent.s636", said(site(), straight_up(site(), parts=UNMARKED), "vent.s636"), FAIL),
    Said("vent.cold", said(*TWO, "vent.cold", "loft"), ASK),
    Said("vent.cold", said(site(), straight_up(site()), "vent.cold", "hall"), None),
    Said("vent.ul-1738", warned("vent.ul-1738"), None),
    Said("vent.primer", warned("vent.primer"), None),
    Said("terminal.wall-vent", said(NATURAL, out_north(NATURAL), "terminal.wall-vent"), ASK),
    Said("terminal.wall-vent", said(NATURAL, straight_up(NATURAL), "terminal.wall-vent"), None),
    Said("terminal.wall-vent", said(site(), out_north(site()), "terminal.wall-vent"), None),
    Said("air.tables", said(NATURAL, straight_up(NATURAL), "air.tables"), ASK),
    Said("air.tables", said(site(), straight_up(site()), "air.tables"), None),
    # 1/1000 read (Wisconsin), not under 100 in2 (second-hand); 1/4000 and 1/2000 read (IRC M1703.2); 1/3000 read, not
    # under the vent's own area (second-hand): 3 1/2 in pipe has 9.6 in2.
    Said("air.same-storey", opening("air.same-storey", 120_000, "120"), ASK),
    Said("air.same-storey", opening("air.same-storey", 100_000, "100"), ASK),
    Said("air.same-storey", opening("air.same-storey", 60_000, "100"), ASK),
    Said("air.outdoors-upright", opening("air.outdoors-upright", 120_000, "30"), ASK),
    Said("air.outdoors-level", opening("air.outdoors-level", 120_000, "60"), ASK),
    Said("air.outdoors-one", opening("air.outdoors-one", 120_000, "40"), ASK),
    Said("air.outdoors-one", opening("air.outdoors-one", 20_000, "10"), ASK),
    Said("air.same-storey", opening("air.same-storey", 15_000, "none"), None),  # 750 ft3 of room are enough
    Said("air.outdoors-upright", said(site(), straight_up(site()), "air.outdoors-upright"), None),
]  # fmt: skip
