"""`ventroute catalog` and `ventroute schema`: what the catalogs hold, and what a site file may say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from ventroute.cli.options import Options, refuse_file

if TYPE_CHECKING:
    from ventroute.rules.pack import Line, Rule

_RULES = "rules"
_WIDTH = 170  # characters, where there is no terminal that says how wide it is


def catalog(
    kind: Annotated[str | None, Parameter(help="One table alone, e.g. bends, prices, rules.")] = None,
    /,
    *,
    options: Options | None = None,
) -> int:
    """List what the catalogs hold, each row with its source and how far it can be trusted."""
    from ventroute.catalog.listing import KINDS, listing
    from ventroute.catalog.lookup import load_catalog
    from ventroute.errors import CatalogError
    from ventroute.io.near import did_you_mean, listed

    options = options or Options()
    refuse_file(options.out)
    known = (*KINDS, _RULES)
    if kind is not None and kind not in known:
        near = did_you_mean(kind, known) or f"; there are {listed(known)}"
        raise CatalogError(f"no table {kind!r} in the catalogs{near}")
    held = load_catalog()
    tables = {name: _rules() if name == _RULES else listing(held, name) for name in ([kind] if kind else known)}
    said = _json({"format": 1, "catalog": tables, "incomplete": list(held.incomplete)})
    if options.out:
        from ventroute.io.whole import write_folder

        write_folder(options.out, {"catalog.json": said.encode()})
    if options.json:
        print(said, end="")
    elif not options.quiet:
        _show(tables, options.units)
        if kind in (None, "bends") and held.incomplete:
            print("Left out of every kit, for a measure that is not known: " + ", ".join(held.incomplete))
    return 0


def schema() -> int:
    """Print the JSON Schema of a site file, for an editor to complete and check it."""
    from ventroute.io.site_schema import json_schema

    print(_json(json_schema()), end="")
    return 0


def _json(document: dict[str, Any]) -> str:
    import json

    return json.dumps(document, indent=1, ensure_ascii=False, default=list) + "\n"


def _rules() -> list[dict[str, Any]]:
    """Every row of every rule pack as it stands after what it extends."""
    from ventroute.catalog.paths import catalogs_folder
    from ventroute.rules.pack import load_pack, pack_names

    folder = catalogs_folder() / "rules"
    return [{"pack": name, **_rule_row(rule)} for name in pack_names(folder) for rule in load_pack(name, folder).rules]


def _rule_row(rule: Rule) -> dict[str, Any]:
    from ventroute.catalog.listing import evidence_record

    lines: tuple[Rule | Line, ...] = (rule, *rule.table)
    limits = ["; ".join(f"{key} {figure.text}" for key, figure in line.figures.items()) for line in lines]
    return {
        "rule": rule.id,
        "title": rule.title,
        "limits": [limit for limit in limits if limit],
        **evidence_record(rule.evidence),
    }


def _show(tables: dict[str, list[dict[str, Any]]], units: str) -> None:
    from rich.console import Console

    from ventroute.cli.grid import grid

    console = Console()
    if not console.is_terminal:
        console = Console(width=_WIDTH)
    for name, rows in tables.items():
        table, notes = grid(f"{name} ({len(rows)})", rows, units)
        console.print(table)
        for note in notes:
            console.print(note, markup=False, highlight=False)
