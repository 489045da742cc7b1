"""What is said once with every plan, however good."""

from __future__ import annotations

from ventroute.rules.pack import Pack

CAUTIONS = (
    "This is a drafting aid. The appliance's manual and the vent maker's instructions decide; where they and the code "
    "differ, the stricter holds.",
    "Check which edition of the code is adopted where you are, and its amendments. The authority having jurisdiction "
    "has the last word.",
    "Gas venting is licensed work in most places. Have a qualified gas fitter, plumber or engineer check the design.",
    "Get the permit and the inspection, and close nothing up before the vent was inspected.",
    "Flue gas holds carbon monoxide, which kills without warning. Keep working CO alarms on every level and outside "
    "the bedrooms; an alarm does not mend a bad vent.",
    "Do not swap, mix or adapt vent systems, materials, cements or terminals unless the listing says so. No cellular "
    "core, drain or irrigation pipe unless the manual names it.",
    "Only the openings that were entered were checked. Measure on site; count neighbours' windows, meters, decks, snow "
    "and planned changes.",
    "Keep terminal and intake free of snow, plants, nests and ice; look at them each season, and have the appliance "
    "serviced every year.",
    "You smell gas, an alarm sounds or people feel unwell: get out, and call for help from outside.",
)


def cautions(pack: Pack) -> tuple[str, ...]:
    """The cautions, those of the pack, what the pack withdrew, and how much of it was never read in the code."""
    own = tuple(f"{rule.title} ({pack.cite(rule.evidence)}; {rule.evidence.grade})" for rule in pack.of("caution"))
    gone = tuple(f'Rule "{w.id}" is not applied: {w.because} ({pack.cite(w.evidence)}).' for w in pack.withdrawn)
    return (*CAUTIONS, *own, *gone, unread(pack))


def unread(pack: Pack) -> str:
    """How many rules rest on figures that were not read in the text that sets them."""
    doubtful = sum(not rule.evidence.grade.verified for rule in pack.rules)
    return (
        f"{doubtful} of the {len(pack.rules)} rules of {pack.title} rest on second-hand texts, memory, practice or "
        "your own entries, and say so: such a figure is unverified; confirm it against the code adopted where you are."
    )
