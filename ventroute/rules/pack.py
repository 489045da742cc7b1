"""Rule packs: rows with figures, sources and grades, and how one pack is laid over another.

A pack is a TOML file. ``[[add]]`` rows are new rules, ``[[change]]`` rows replace keys of a rule of the pack it
``extends``, ``[[withdraw]]`` rows take one away and must say why; nothing disappears without a word.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from ventroute.errors import CatalogError, Fault
from ventroute.model.appliance import Appliance
from ventroute.model.source import Evidence, Source
from ventroute.rules.kinds import KINDS, Kind

_NEAR = 1e-9  # relative: a limit written in Btu/h and an input written in kW meet only to rounding


@dataclass(frozen=True, slots=True)
class Figure:
    """A limit in SI, as it was written, and where it comes from."""

    value: float
    unit: str
    text: str
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a rule's table."""

    text: Mapping[str, str]
    figures: Mapping[str, Figure]
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class When:
    """What a rule applies to. Empty and None: everything. ``over`` excludes its bound, ``to`` includes it."""

    vent_style: tuple[str, ...] = ()
    category: tuple[str, ...] = ()
    fuel: tuple[str, ...] = ()
    terminal: tuple[str, ...] = ()
    material: tuple[str, ...] = ()
    input_W: tuple[float | None, float | None] = (None, None)
    diameter_m: tuple[float | None, float | None] = (None, None)
    pressure_Pa: tuple[float | None, float | None] = (None, None)

    def appliance(self, appliance: Appliance) -> bool:
        """Whether the appliance is one that the rule is about."""
        return (
            _among(appliance.vent_style, self.vent_style)
            and _among(appliance.category, self.category)
            and _among(appliance.fuel, self.fuel)
            and in_band(appliance.input_W, self.input_W)
        )

    def end(self, kind: str, diameter_m: float) -> bool:
        """Whether a roof or wall terminal of this diameter [m] is one that the rule is about."""
        return _among(kind, self.terminal) and in_band(diameter_m, self.diameter_m)


@dataclass(frozen=True, slots=True)
class Rule:
    """One row."""

    id: str
    title: str
    kind: str
    evidence: Evidence
    figures: Mapping[str, Figure] = field(default_factory=dict)
    table: tuple[Line, ...] = ()
    features: tuple[str, ...] = ()
    when: When = When()
    ask: bool = False  # a breach is put to a person instead of refused
    strict: bool = False  # the limit itself does not pass
    centre: bool = False  # measured from the centre of the terminal's end, not its nearest edge
    note: str = ""

    @property
    def shape(self) -> Kind:
        """What rows of this kind hold."""
        return KINDS[self.kind]


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A rule that a pack takes away from the one it extends, and why."""

    id: str
    because: str
    evidence: Evidence


@dataclass(frozen=True, slots=True)
class Pack:
    """All rules in force, with the sources they cite."""

    name: str
    title: str
    rules: tuple[Rule, ...]
    withdrawn: tuple[Withdrawn, ...]
    sources: Mapping[str, Source]
    chain: tuple[str, ...]  # this pack, then what it extends

    def of(self, *kinds: str) -> tuple[Rule, ...]:
        """Rules of these kinds, in order."""
        return tuple(rule for rule in self.rules if rule.kind in kinds)

    def rule(self, rule_id: str) -> Rule | None:
        """The rule with this id, None where the pack has none."""
        return next((rule for rule in self.rules if rule.id == rule_id), None)

    def applying(self, appliance: Appliance, material: str | None = None) -> Pack:
        """The pack with only the rules that are about this appliance, and about this material where it is given."""
        kept = (
            rule
            for rule in self.rules
            if rule.when.appliance(appliance) and (material is None or _among(material, rule.when.material))
        )
        return replace(self, rules=tuple(kept))

    def cite(self, evidence: Evidence) -> str:
        """Title and clause of a citation, for people."""
        source = self.sources.get(evidence.source)
        title = source.title if source else evidence.source
        return f"{title}, {evidence.page}" if evidence.page else title


def in_band(value: float, band: tuple[float | None, float | None]) -> bool:
    """Whether a value exceeds the first bound and does not exceed the second."""
    over, to = band
    above = over is None or value > over * (1 + _NEAR)
    return above and (to is None or value <= to * (1 + _NEAR))


def load_pack(name: str, folder: Path) -> Pack:
    """The rule pack ``name`` of a folder that holds ``NAME.toml`` files and their ``sources.toml``.

    Raises
    ------
    CatalogError
        No such pack, an unknown key, a figure without a unit, a rule without a source, a change of a rule that is
        not there: every fault, as ``FILE:LINE: KEY: what``.
    """
    from ventroute.rules.rows import Reader  # the reader needs the nouns above

    sources = _sources(folder)
    chain = _chain(name, folder)
    reader = Reader(sources)
    for part in reversed(chain):
        reader.lay(part.document, part.text, str(part.path))
    if reader.faults:
        raise CatalogError("\n".join(str(fault) for fault in sorted(reader.faults)))
    title = str(chain[0].document.get("title", name))
    names = tuple(part.path.stem for part in chain)
    return Pack(name, title, tuple(reader.rules.values()), tuple(reader.withdrawn), sources, names)


def pack_names(folder: Path) -> tuple[str, ...]:
    """Names of the packs in a folder that a site may choose."""
    return tuple(sorted(path.stem for path in folder.glob("*.toml") if path.stem not in ("sources", "common")))


@dataclass(frozen=True, slots=True)
class _Part:
    path: Path
    text: str
    document: Mapping[str, Any]


def _chain(name: str, folder: Path) -> list[_Part]:
    parts: list[_Part] = []
    wanted: object = name
    while wanted is not None:
        if not isinstance(wanted, str) or wanted in {part.path.stem for part in parts}:
            raise CatalogError(str(Fault(str(parts[-1].path), 1, "extends", f"{wanted!r} cannot be extended here")))
        parts.append(_read(wanted, folder))
        wanted = parts[-1].document.get("extends")
    return parts


def _read(name: str, folder: Path) -> _Part:
    path = folder / f"{name}.toml"
    if Path(name).name != name or not path.is_file():
        raise CatalogError(f"no rule pack {name!r}; there are {', '.join(pack_names(folder)) or 'none'}")
    text = path.read_text(encoding="utf-8")
    return _Part(path, text, _toml(text, path))


def _toml(text: str, path: Path) -> Mapping[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CatalogError(str(Fault(str(path), 1, "", f"not TOML: {error}"))) from None


def _sources(folder: Path) -> dict[str, Source]:
    """The folder's own sources, over those of the catalog beside it, whose figures some findings weigh."""
    path, catalog = folder / "sources.toml", folder.parent / "sources.toml"
    if not path.is_file():
        raise CatalogError(f"{path} is missing: rules without sources are not used")
    return {
        key: source
        for one in (catalog, path)
        if one.is_file()
        for key, source in _source_rows(_toml(one.read_text(encoding="utf-8"), one), one)
    }


def _source_rows(document: Mapping[str, Any], path: Path) -> Iterator[tuple[str, Source]]:
    wanted = ("title", "edition", "date", "licence", "reader")
    for key, row in document.items():
        if not isinstance(row, dict) or set(row) != set(wanted):
            raise CatalogError(str(Fault(str(path), 1, key, f"a source has exactly {', '.join(wanted)}")))
        yield key, Source(key, *(str(row[part]) for part in wanted))


def _among(value: str, wanted: tuple[str, ...]) -> bool:
    return not wanted or value in wanted
