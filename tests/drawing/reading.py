"""Reads drawings back from the files that people get."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree

import ezdxf
from ezdxf.audit import Auditor
from ezdxf.document import Drawing as Document

from ventroute.units import parse_length

SVG = "{http://www.w3.org/2000/svg}"
ASCENT, DESCENT = 0.76, 0.236  # of DejaVu Sans, from its glyphs "l" (0.760) and "g" (-0.236) in fractions of an em
SIXTEENTH_M = 0.0254 / 16


@dataclass(frozen=True)
class Lettering:
    """A text as a file has it: what it says, its box, and the measure stored with it."""

    text: str
    box: tuple[float, float, float, float]
    value_m: float | None
    about: str


def svg_texts(data: bytes) -> list[Lettering]:
    """Every text of an SVG, boxes from its own attributes."""
    root = ElementTree.fromstring(data)
    out = []
    for element in root.iter(f"{SVG}text"):
        x, y, size = (float(element.get(key, "nan")) for key in ("x", "y", "font-size"))
        width = float(element.get("textLength", "nan"))
        value = element.get("data-m")
        box = (x, y - ASCENT * size, x + width, y + DESCENT * size)
        out.append(
            Lettering(element.text or "", box, None if value is None else float(value), element.get("data-about", ""))
        )
    return out


def dxf_texts(data: bytes) -> list[Lettering]:
    """Every text of a DXF; a dimension's measure and meaning from its extended data."""
    out = []
    for entity in dxf_document(data).modelspace().query("TEXT"):
        stored = entity.get_xdata("VENTROUTE") if entity.has_xdata("VENTROUTE") else []
        found = {tag.code: tag.value for tag in stored}
        out.append(Lettering(entity.dxf.text, (0, 0, 0, 0), found.get(1040), found.get(1000, "")))
    return out


def dxf_document(data: bytes) -> Document:
    """The DXF as ezdxf reads it."""
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def dxf_faults(data: bytes) -> Auditor:
    """What ezdxf's audit finds."""
    return dxf_document(data).audit()


def overlapping(texts: list[Lettering]) -> list[tuple[str, str]]:
    """Pairs of texts whose boxes share area."""
    return [
        (a.text, b.text)
        for a, b in combinations(texts, 2)
        if a.box[0] < b.box[2] and b.box[0] < a.box[2] and a.box[1] < b.box[3] and b.box[1] < a.box[3]
    ]


def said_m(text: str) -> float:
    """The length that a dimension's lettering says, without the word for its direction."""
    return parse_length(re.sub(r" (east|west|north|south|up|down)$| \(rule: .*\)$", "", text), None)
