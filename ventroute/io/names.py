"""Which item a person means: its id, or its description to the letter; anything else is asked back."""

from __future__ import annotations

from collections import defaultdict
from difflib import get_close_matches

from ventroute.model.shelf import Shelf
from ventroute.units import shown

_MOST_HINTS = 12  # to look for what is near takes a while, and nobody reads more
_LONGEST = 80


def folded(text: str) -> str:
    """Text without case, commas, quotes and extra spaces."""
    plain = text.lower().replace('"', " in ").replace("″", " in ").replace(",", " ")
    return " ".join(plain.split())


class Names:
    """The items of a shelf, by id and by description."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        known = {item: goods.description for item, goods in shelf.goods.items()}
        self._known = known | {can.item: can.description for can in shelf.cans}
        self._said: dict[str, list[str]] = defaultdict(list)
        for item, description in self._known.items():
            self._said[folded(description)].append(item)
        self._ids = {item.lower(): item for item in self._known}
        self._hints_left = _MOST_HINTS

    def find(self, text: str) -> str:
        """The item meant.

        Raises
        ------
        KeyError
            None, or more than one; the message asks which.
        """
        if not text:
            raise KeyError("no item is named")
        if text.lower() in self._ids:
            return self._ids[text.lower()]
        same = self._said.get(folded(text), [])
        if len(same) == 1:
            return same[0]
        raise KeyError(self._question(text, same))

    def _question(self, text: str, same: list[str]) -> str:
        self._hints_left -= 1
        near = same or (self._near(text) if self._hints_left >= 0 else [])
        unique = list(dict.fromkeys(near))[:3]
        if not unique:
            return f"no item {shown(text)}; `ventroute catalog` lists what there is"
        ask = " or ".join(f"{item} ({self._known[item]})" for item in unique)
        return f"no item {shown(text)}; did you mean {ask}?"

    def _near(self, text: str) -> list[str]:
        """Items whose description or id looks like a text, the likest first."""
        matches = get_close_matches(folded(text)[:_LONGEST], [*self._said, *self._ids], n=3, cutoff=0.5)
        return [item for match in matches for item in (self._said.get(match) or [self._ids.get(match, match)])]
