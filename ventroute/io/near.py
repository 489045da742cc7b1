"""Near misses: what the person may have meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from ventroute.units import shown


def did_you_mean(word: object, known: Iterable[str]) -> str:
    """``; did you mean "utility"?``, or nothing where no known word is near."""
    words = sorted(set(known))
    if not isinstance(word, str) or len(word) > 80:
        return ""
    folded = {name.lower(): name for name in words}
    near = difflib.get_close_matches(word.lower(), list(folded), n=1, cutoff=0.6)
    return f"; did you mean {shown(folded[near[0]])}?" if near else ""


def listed(known: Iterable[str]) -> str:
    """Words in quotes, with commas, at most twelve of them."""
    words = list(known)
    return ", ".join(shown(word) for word in words[:12]) + (", ..." if len(words) > 12 else "")
