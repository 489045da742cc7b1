"""Figures that the appliance's manual sets, as the person or the catalog entered them."""

from __future__ import annotations

from ventroute.model.appliance import Appliance
from ventroute.model.source import Evidence, Grade
from ventroute.rules.pack import Rule


def manual_evidence(appliance: Appliance, rule: Rule) -> Evidence:
    """Who vouches for a figure of the appliance: a catalog row is made up, what a person entered is second-hand."""
    grade = Grade.INVENTED if appliance.model else Grade.SECOND_HAND
    return Evidence(appliance.source or rule.evidence.source, grade, rule.evidence.page)
