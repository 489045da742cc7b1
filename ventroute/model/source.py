"""Where a figure comes from and how far it can be trusted."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Grade(StrEnum):
    """How a figure was obtained, best first."""

    STANDARD = "standard read"
    SECOND_HAND = "second-hand"
    MEMORY = "memory"
    PRACTICE = "common practice"
    INVENTED = "invented"
    SITE = "set by the site file"  # a wish, not a figure from outside

    @property
    def verified(self) -> bool:
        """Whether the figure was read in the text that sets it."""
        return self in (Grade.STANDARD, Grade.SITE)


@dataclass(frozen=True, slots=True)
class Evidence:
    """A citation: a key of ``catalogs/sources.toml``, the page or clause, and the grade."""

    source: str
    grade: Grade
    page: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A row of ``catalogs/sources.toml``."""

    key: str
    title: str
    edition: str
    date: str
    licence: str
    reader: str
