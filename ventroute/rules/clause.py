"""One rule about one thing: the ways of keeping it, each a measure that must reach a limit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ventroute.geometry.polytope import Polytope
from ventroute.layout.zone import Zone
from ventroute.model.plan import Finding, Verdict
from ventroute.model.source import Evidence
from ventroute.rules.pack import Pack, Rule

FloatArray = NDArray[np.float64]

ROUNDING = 1e-9  # limits are inclusive: what misses one by rounding alone has met it
STRICT_M = 1e-6  # "more than": how far beyond the limit counts as beyond


@dataclass(frozen=True, slots=True)
class Way:
    """One way of keeping a rule. ``measure`` maps the centre of the terminal's end (n, 3) [m] to (n,) [m]."""

    how: str
    measure: Callable[[FloatArray], FloatArray]
    limit_m: float
    evidence: Evidence


@dataclass(frozen=True, slots=True, eq=False)
class Clause:
    """A rule applied to a thing. It is kept where any of its ways is."""

    rule: Rule
    subject: str
    ways: tuple[Way, ...]
    cover: tuple[Polytope, ...]
    ask: bool = False
    note: str = ""

    def margins(self, points: FloatArray) -> FloatArray:
        """Signed margin (n,) [m] of points (n, 3): the best of the ways; negative where the rule is broken."""
        return np.asarray(np.max([self._margin(way, points) for way in self.ways], axis=0))

    def zone(self) -> Zone:
        """Where the rule is broken."""
        return Zone(self.rule.id, self.subject, self.cover, self.margins)

    def finding(self, point: FloatArray, pack: Pack) -> Finding:
        """What the rule says about a terminal whose end is centred here (3,) [m]."""
        at = np.asarray(point, float)[None]
        way = max(self.ways, key=lambda w: float(self._margin(w, at)[0]))
        margin = float(self._margin(way, at)[0])
        failed = Verdict.ASK if self.ask or self.rule.ask else Verdict.FAIL
        return Finding(
            rule=self.rule.id,
            source=pack.cite(way.evidence),
            grade=way.evidence.grade,
            subject=self.subject,
            measured=float(way.measure(at)[0]),
            limit=way.limit_m,
            unit="m",
            verdict=Verdict.PASS if margin >= -ROUNDING else failed,
            margin=margin,
            note="; ".join(part for part in (f"{self.rule.title} ({way.how})", self.rule.note, self.note) if part),
        )

    def _margin(self, way: Way, points: FloatArray) -> FloatArray:
        return np.asarray(way.measure(points) - way.limit_m - (STRICT_M if self.rule.strict else 0.0))
