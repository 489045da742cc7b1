"""Ways of asking: one answer at a time, read as it is given, and walls round a room until they close."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Protocol, TypeVar

from ventroute.errors import GeometryError, UnitError
from ventroute.survey.closure import SLIP_RAD, Closure, Diagonal, Wall, close_walls
from ventroute.survey.draft import Said, Value
from ventroute.survey.tape import read_diagonal, read_length, read_lengths, read_wall
from ventroute.units import shown

T = TypeVar("T")
Vec2 = tuple[float, float]

OUTDOORS = "outdoors"
_MOST = 200  # answers to one question that repeats


class Asker(Protocol):
    """Puts questions, one after another."""

    def ask(self, key: str, question: str, read: Callable[[str], T]) -> T:
        """The answer that `read` makes of what the person says; `read` raises `UnitError` for what will not do."""

    def tell(self, text: str) -> None:
        """Say something that needs no answer."""

    def again(self, key: str, trouble: str) -> None:
        """Say that the answers to the last questions contradict each other; return to have them asked anew."""


def blank_or(read: Callable[[str], T]) -> Callable[[str], T | None]:
    """A reader that takes a blank answer for None."""
    return lambda text: read(text) if text.strip() else None


def or_else(read: Callable[[str], T], answer: str) -> Callable[[str], T]:
    """A reader that takes a blank answer for this one."""
    return lambda text: read(text if text.strip() else answer)


def some_name(text: str) -> str:
    """A name on one line. Raises `UnitError`."""
    name = text.strip()
    if not name or not name.isprintable() or len(name) > 100:
        raise UnitError(f"{shown(text)} is not a name; wanted a few words on one line")
    return name


def one_of(words: Sequence[str], text: str) -> str:
    """One of a few words, capitals or not. Raises `UnitError`."""
    found = [word for word in words if word.lower() == text.strip().lower()]
    if not found:
        raise UnitError(f"{shown(text)} is not one of {', '.join(words)}")
    return found[0]


def as_said(parse: Callable[[object], object], text: str) -> str:
    """The text itself, once it reads."""
    parse(text.strip())
    return text.strip()


@dataclass(slots=True)
class Questions:
    """Puts questions and reads answers; remembers the unit of bare numbers and the rooms named so far."""

    asker: Asker
    unit: str = "ft"
    rooms: list[str] = field(default_factory=list)

    @property
    def said(self) -> Said:
        """Lengths as text."""
        return Said(self.unit)

    # Ways of asking

    def words(self, key: str, question: str, words: Sequence[str], default: str | None = None) -> str:
        """One of a few words."""
        read = partial(one_of, words)
        hint = f" ({' | '.join(words)}{f'; default {default}' if default else ''})" if len(words) < 8 else ""
        return self.asker.ask(key, question + hint, or_else(read, default) if default else read)

    def length(self, key: str, question: str, default: str | None = None) -> str:
        """A length, as text."""

        def read(text: str) -> str:
            return self.said.length(read_length(text, self.unit))

        hint = f" (default {default})" if default else ""
        return self.asker.ask(key, question + hint, or_else(read, default) if default else read)

    def point(self, key: str, question: str, count: int = 3) -> list[Value]:
        """A point or a size."""
        return self.asker.ask(key, question, lambda text: self.said.point(read_lengths(text, self.unit, count)))

    def quantity(self, key: str, question: str, parse: Callable[[object], object], default: str | None = None) -> str:
        """A quantity with its unit, kept as it was said."""
        read = partial(as_said, parse)
        hint = f" (default {default})" if default else ""
        return self.asker.ask(key, question + hint, or_else(read, default) if default else read)

    def more(self, key: str, question: str, taken: Sequence[str] = ()) -> str | None:
        """The name of one more thing, None when there are no more."""

        def read(text: str) -> str:
            if (name := some_name(text)) in taken:
                raise UnitError(f"{shown(name)} is named already; wanted a name of its own")
            return name

        return self.asker.ask(key, f"{question} (blank: no more)", blank_or(read))

    def space(self, key: str, question: str) -> str:
        """The name of a space that is known."""
        names = [*self.rooms, OUTDOORS]
        return self.asker.ask(key, f"{question} ({', '.join(names)})", partial(one_of, names))

    # Walls

    def outline(self, key: str) -> tuple[Vec2, ...]:
        """Corners from walls that were measured one after another, the first at (0, 0), counter-clockwise."""
        while True:
            walls = self.repeat(f"{key} wall", 'Next wall, as "east 12 ft 3 in" (blank: back at the start)', read_wall)
            diagonals = self.repeat(
                f"{key} diagonal", 'A diagonal between corners, as "1-3 15 ft 2 in" (blank: none)', read_diagonal
            )
            closure = self.closed(key, walls, diagonals)
            if closure is not None:
                corners = closure.corners_m
                return corners if _area_m2(corners) > 0 else (corners[0], *reversed(corners[1:]))

    def repeat(self, key: str, question: str, read: Callable[[str, str], T]) -> list[T]:
        """Answers until a blank one."""
        found: list[T] = []
        while len(found) < _MOST:
            answer = self.asker.ask(f"{key} {len(found) + 1}", question, blank_or(lambda text: read(text, self.unit)))
            if answer is None:
                break
            found.append(answer)
        return found

    def closed(self, key: str, walls: Sequence[Wall], diagonals: Sequence[Diagonal]) -> Closure | None:
        """The room of the readings, with the misfit told; None where they must be taken again."""
        try:
            closure = close_walls(walls, diagonals)
        except GeometryError as error:
            self.asker.again(key, str(error))
            return None
        off, around = self.said.length(closure.off_m), self.said.length(closure.perimeter_m)
        if closure.slip:
            self.asker.again(key, f"{_slip(closure, walls, off, around)}; measure again")
            return None
        worst = self.said.length(max(map(abs, closure.corrections_m)))
        self.asker.tell(f"The readings close to {off} in {around}; shared out, no wall changes by more than {worst}.")
        return closure


def _area_m2(corners: Sequence[Vec2]) -> float:
    ahead = [*corners[1:], corners[0]]
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in zip(corners, ahead, strict=True)) / 2


def _slip(closure: Closure, walls: Sequence[Wall], off: str, around: str) -> str:
    """What a slip looks like."""
    if closure.lean_rad > SLIP_RAD:
        return f"a diagonal would put a corner {math.degrees(closure.lean_rad):.1f} degrees off its angle"
    if any(abs(part) > closure.off_m for part in closure.diagonals_off_m):
        return "the diagonals do not agree with the walls"
    return f"the readings miss by {off} in {around}{_whose(closure, walls)}"


def _whose(closure: Closure, walls: Sequence[Wall]) -> str:
    """Which walls could be to blame."""
    suspects = closure.suspects(walls)
    if not suspects:
        return ""
    return f" (one of walls {', '.join(str(n + 1) for n in suspects)} could be to blame)"
