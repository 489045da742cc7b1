"""What only the appliance's own papers know. Nothing here has a default that could be unsafe."""

from __future__ import annotations

import re
from functools import partial

from ventroute.errors import UnitError
from ventroute.model.excess import parse_excess_air
from ventroute.survey.draft import Value
from ventroute.survey.questions import Questions, as_said, blank_or, one_of, some_name
from ventroute.survey.tape import read_length, read_pattern
from ventroute.units import parse_power_W, parse_size, parse_temperature_degC, shown

Keys = list[tuple[str, Value]]

MATERIALS = ("PVC", "CPVC", "ABS", "PP", "stainless")
_STYLES = ("direct", "non-direct")
_EXCESS = "Excess air, or CO2 or O2 of dry flue gas at full input, if the manual says, as 9 % CO2"
_GROWS = "Does the manual let the size grow along the run, each size counted by its share of its own greatest length"
_PATTERN = (
    "A bend with a figure of its own in the manual, short-turn, long-turn or pressure pattern, as 90 short 8 ft"
    " (blank: no more)"
)
_ELBOWS = (("elbow_90", "90"), ("elbow_45", "45"), ("elbow_22", "22 1/2"))


def manual(put: Questions) -> Keys:
    """Rating plate and vent table."""
    keys: Keys = [
        ("name", put.asker.ask("appliance name", "Name of the appliance", some_name)),
        ("fuel", put.words("fuel", "Fuel", ("natural gas", "propane"))),
        ("input", put.quantity("input", "Input on the rating plate, as 120000 Btu/h", parse_power_W)),
        ("category", put.words("category", "Category", ("I", "II", "III", "IV"))),
        ("vent_style", put.words("vent style", "Air by a pipe of its own: direct; from the room: non-direct", _STYLES)),
        (
            "exhaust_max",
            put.quantity("exhaust max", "Highest exhaust temperature, as 149 degF", parse_temperature_degC),
        ),
        ("materials", _materials(put)),
        ("collar_size", put.quantity("collar size", "Size of the collar, as 2 in", parse_size)),
        ("excess_air", put.quantity("excess air", _EXCESS, parse_excess_air, "40 %")),
    ]
    sizes = _sizes(put)
    if len(sizes) > 1:
        keys.append(("mixed_sizes", put.words("mixed sizes", _GROWS, ("no", "by share"), "no")))
    return [*keys, ("sizes", sizes), ("source", put.asker.ask("source", "Which manual, which page", some_name))]


def _materials(put: Questions) -> list[Value]:
    def read(text: str) -> list[Value]:
        return [one_of(MATERIALS, part) for part in text.split(",")]

    return put.asker.ask("materials", f"Materials the manual allows, with commas ({', '.join(MATERIALS)})", read)


def _sizes(put: Questions) -> list[Value]:
    rows: list[Value] = []
    while True:
        n = len(rows) + 1
        question = "A size of the vent table, as 3 in (blank: no more)"
        size = put.asker.ask(f"size {n}", question, blank_or(partial(as_said, parse_size)))
        if size is not None:
            rows.append(_row(put, n, size))
        elif rows:
            return rows
        else:
            put.asker.again("size", "at least one size is needed, with its greatest length")


def _row(put: Questions, n: int, size: str) -> dict[str, Value]:
    """One row of the table."""
    row: dict[str, Value] = {"size": size}
    row["max_length"] = put.length(f"size {n} max length", "Its greatest equivalent length")
    row["min_length"] = put.length(f"size {n} min length", "Its least length", "0")
    for key, angle in _ELBOWS:
        question = f"Equivalent length of a {angle} degree elbow (blank: not used)"
        read = blank_or(lambda text: read_length(text, put.unit))
        said = put.asker.ask(f"size {n} elbow {angle}", question, read)
        if said is not None:
            row[key] = put.said.length(said)
    row |= _patterns(put, n)
    row["terminal"] = put.length(f"size {n} terminal", "Equivalent length of the terminal", "0")
    most = put.asker.ask(f"size {n} max elbows", "Most elbows (blank: the manual gives no number)", blank_or(_count))
    if most is not None:
        row["max_elbows"] = most
    return row


def _count(text: str) -> int:
    if not re.fullmatch(r"\s*[0-9]{1,2}\s*", text) or int(text) > 50:
        raise UnitError(f"{shown(text)} is not a count; wanted a whole number from 0 to 50")
    return int(text)


def _patterns(put: Questions, n: int) -> dict[str, Value]:
    """Bends of a pattern for which the manual has a figure of its own: no other figure serves a sharper one."""
    found: dict[str, Value] = {}

    def read(text: str) -> tuple[str, str]:
        key, metres = read_pattern(text, put.unit)
        if key in found:
            raise UnitError(f"{shown(text)}: that pattern has its figure already; wanted another, or none")
        return key, put.said.length(metres)

    while answer := put.asker.ask(f"size {n} pattern {len(found) + 1}", _PATTERN, blank_or(read)):
        found[answer[0]] = answer[1]
    return found
