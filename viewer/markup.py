"""HTML by small functions: everything that came from outside is escaped here and nowhere else."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

_MANY = 4  # columns beyond which a phone has no room for them side by side


class Markup(str):
    """Text that is HTML already."""

    __slots__ = ()


def text(value: object) -> Markup:
    """Anything as HTML: `Markup` as it stands, all else escaped."""
    return value if isinstance(value, Markup) else Markup(escape(str(value)))


def tag(name: str, *inside: object, **attributes: object) -> Markup:
    """An element; ``class_`` and ``data_route`` become ``class`` and ``data-route``; None leaves an attribute out."""
    said = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{escape(str(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    return Markup(f"<{name}{said}>{''.join(text(part) for part in inside)}</{name}>")


def table(caption: str, heads: Sequence[str], rows: Iterable[Sequence[object]], numbers: Iterable[int] = ()) -> Markup:
    """A table whose first cell of a row is its heading; columns in `numbers` stand to the right."""
    right = set(numbers)
    top = tag("tr", *(tag("th", head, scope="col", class_="n" if k in right else None) for k, head in enumerate(heads)))
    body = []
    for row in rows:
        cells = [
            tag("td", cell, class_="n" if k in right else None, data_head=heads[k]) for k, cell in enumerate(row) if k
        ]
        body.append(tag("tr", tag("th", row[0], scope="row", class_="n" if 0 in right else None), *cells))
    inside = tag("table", tag("caption", caption), tag("thead", top), tag("tbody", *body))
    # a table wider than its box scrolls in it, which the keyboard must reach; one of many columns is told row by row
    box = "scroll wide" if len(heads) > _MANY else "scroll"
    return tag("div", inside, class_=box, tabindex="0", role="region", aria_label=caption)


def picture(svg: bytes, words: str) -> Markup:
    """A drawing as an image: whatever is inside it cannot act on the page."""
    data = base64.b64encode(svg).decode("ascii")
    return Markup(f'<img alt="{escape(words)}" src="data:image/svg+xml;base64,{data}">')


def data_block(ident: str, value: object) -> Markup:
    """JSON for the page's script, safe inside a script element."""
    said = json.dumps(value, ensure_ascii=True, separators=(",", ":"), sort_keys=True).replace("<", "\\u003c")
    return Markup(f'<script type="application/json" id="{ident}">{said}</script>')


def text_block(ident: str, said: str) -> Markup:
    """Plain text (base64) for the page's script."""
    return Markup(f'<script type="text/plain" id="{ident}">{escape(said)}</script>')


def static(name: str) -> str:
    """A file of ``viewer/static`` as text."""
    return files(__package__).joinpath("static", name).read_text("utf-8")


def script() -> str:
    """The bundle, safe inside a script element."""
    return re.sub(r"</(?=script)", r"<\\/", static("app.js"), flags=re.IGNORECASE).replace("<!--", "<\\!--")


def digest(inline: str) -> str:
    """What a content security policy calls an inline script: ``sha256-...``."""
    return "sha256-" + base64.b64encode(hashlib.sha256(inline.encode("utf-8")).digest()).decode("ascii")


def policy(script_source: str, connect: str = "'none'") -> str:
    """A content security policy that lets nothing in or out but the page's own script."""
    return (
        f"default-src 'none'; script-src {script_source}; style-src 'unsafe-inline' 'self'; img-src data: blob:; "
        f"connect-src {connect}; base-uri 'none'; form-action 'none'"
    )
