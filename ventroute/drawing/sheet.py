"""The job sheet: everything about one route on paper, for the person on the ladder and the one who inspects."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ventroute.drawing import sheet_rows as rows
from ventroute.drawing.assembly import part_rows, steps
from ventroute.drawing.graph import flue_graph, flue_lines
from ventroute.drawing.isometric import isometric
from ventroute.drawing.outside import outside_sketch
from ventroute.drawing.sketches import room_sketches
from ventroute.drawing.words import route_title
from ventroute.drawing.worksheet import worksheet
from ventroute.layout.building import Building
from ventroute.layout.zone import Zone
from ventroute.model.plan import Plan, PlannedRoute
from ventroute.model.site import Site
from ventroute.model.source import Source
from ventroute.units import format_length

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

FOOT = "Drafting aid. The appliance's manual, the vent maker's instructions and the authority decide."
MENDED = "Each was tried by planning with that change alone. It is a drawing: see on the site whether it can be done."
CHECKLIST_PT = 170.0  # less room than this: the checklist starts a new page
SIGNING = (
    "A name in this table says who looked and when, nothing more. It is no approval, licence, permit or certificate, "
    "and no one has approved this sheet."
)


def sheet_pdf(plan: Plan, site: Site, building: Building | None, zones: tuple[Zone, ...], cautions: tuple[str, ...],
              sources: Mapping[str, Source], paper: str = "letter", units: str = "us",
              route_id: str | None = None) -> bytes:  # fmt: skip
    """The job sheet of a plan's best route (or of `route_id`) as PDF; the same input gives the same bytes.

    Parameters
    ----------
    building : for the sketches; None leaves them out
    zones : forbidden zones of the terminal, for its sketch
    sources : rows of the source catalog by key
    paper : ``letter`` or ``a4``
    units : ``us`` or ``metric``
    """
    from ventroute.drawing import page
    from ventroute.drawing.pdf import register_fonts

    register_fonts()
    chosen = next((r for r in plan.routes if route_id in (None, r.id)), None)
    width, height = page.frame_size(paper)
    story = _opening(plan, site, chosen, cautions, sources, width, units)
    if chosen is None:
        story += _rejected(plan, width, units)
    else:
        story += _route(chosen, site, width, height, units)
        story += _sketches(chosen, building, zones, width, height, units)
        story += _flue(chosen, width, height, units)
        story += _work(chosen, site, width, units)
        story += _others(plan, chosen, width, units)
    story += _sources(chosen, site, sources, width)
    title = f"Job sheet: {plan.site}"
    return page.bound(story, paper, title, f"{plan.site}. {FOOT}")


def _opening(plan: Plan, site: Site, chosen: PlannedRoute | None, cautions: tuple[str, ...],
             sources: Mapping[str, Source], width: float, units: str) -> list[Flowable]:  # fmt: skip
    from ventroute.drawing import page

    what = f"Route {chosen.id}: {route_title(chosen.route, units)}" if chosen else "No route keeps all rules"
    head = ("size", "greatest length", "least", "elbows", "90", "45", "22 1/2", "terminal")
    pair = (1.0, 2.9)
    patterns = rows.pattern_rows(site.appliance, units)
    return [
        page.text_block(f"Vent job sheet: {plan.site}", page.TITLE),
        page.text_block(what, page.SUB),
        *page.section("Read first", page.bullets(cautions, numbered=True)),
        *page.section(
            "The appliance, as entered", page.grid((), rows.appliance_rows(site.appliance, units, sources), pair, width)
        ),
        page.text_block("Its vent table, in equivalent lengths. Blank: the table has no figure.", page.SMALL),
        page.grid(head, rows.limit_rows(site.appliance, units), (1, 1.4, 1, 0.8, 1, 1, 1, 1), width),
        *((page.grid((), patterns, pair, width),) if patterns else ()),
        *page.section("The house, as entered", page.grid((), rows.site_rows(site, units), pair, width)),
    ]


def _route(chosen: PlannedRoute, site: Site, width: float, height: float, units: str) -> list[Flowable]:
    from reportlab.platypus import PageBreak

    from ventroute.drawing import page

    head = ("", "rule", "about", "measured", "limit", "source and grade")
    findings = page.grid(head, rows.finding_rows(chosen, units),
                         (0.6, 2.6, 1.8, 1.1, 1.1, 2.4), width)  # fmt: skip
    return [
        *page.section("The route", page.grid((), rows.route_rows(chosen, units), (1.0, 2.9), width)),
        *page.section("Findings, worst first", findings),
        page.text_block(
            "ASK: a person must judge. Unverified: the figure was not read in the text that sets it.", page.SMALL
        ),
        *_length(chosen, site, width, units),
        PageBreak(),
        page.DrawingBox(isometric(chosen, site, units), width, height - 30),
        PageBreak(),
    ]


def _sketches(chosen: PlannedRoute, building: Building | None, zones: tuple[Zone, ...], width: float, height: float,
              units: str) -> list[Flowable]:  # fmt: skip
    from ventroute.drawing import page

    if building is None:
        return []
    drawings = [*room_sketches(chosen, building, units), outside_sketch(chosen, building, zones, units)]
    boxes = [page.DrawingBox(drawing, width, height * 0.62, "LEFT") for drawing in drawings]
    first, *rest = boxes
    return page.section("Sketches to scale", first, *(flow for box in rest for flow in (page.gap(8), box)))


def _length(chosen: PlannedRoute, site: Site, width: float, units: str) -> list[Flowable]:
    """The worksheet, its sum, and what is left of the limit."""
    from ventroute.drawing import page

    def length(value: float) -> str:
        return format_length(value, units)

    lines = [(line.what, line.basis, length(line.length_m), length(line.total_m))
             for line in worksheet(chosen, site.appliance, units)]  # fmt: skip
    total, limit = chosen.route.equivalent_m, chosen.limit_m
    lines.append(("Equivalent length", f"limit {length(limit)}", "", length(total)))
    over = f"Left over: {length(limit - total)}" if total <= limit else f"TOO LONG by {length(total - limit)}"
    table = page.grid(("what", "from", "length", "sum"), lines, (2.2, 2.4, 1.2, 1.2), width)
    note = f"{over}. Each line is rounded by itself; the sums are not of rounded lines."
    return [*page.section("Equivalent length, line by line", table), page.text_block(note, page.SMALL)]


def _flue(chosen: PlannedRoute, width: float, height: float, units: str) -> list[Flowable]:
    from ventroute.drawing import page

    graph = flue_graph(chosen, units)
    if chosen.flue is None:
        return []
    content = [page.DrawingBox(graph, width * 0.8, height * 0.5)] if graph is not None else []
    content.append(page.bullets(flue_lines(chosen.flue, units)))
    note = page.text_block("Calculated. It stands beside the manual's limit and never replaces it.", page.SMALL)
    return [*page.section("The exhaust on its way", *content), note]


def _work(chosen: PlannedRoute, site: Site, width: float, units: str) -> list[Flowable]:
    from reportlab.platypus import CondPageBreak

    from ventroute.drawing import page

    route = chosen.route
    buy = page.grid(
        ("quantity", "what", "for", "price", "cost"), rows.shopping_rows(chosen, units), (1.2, 3.4, 2, 0.8, 0.8), width
    )
    cut = page.grid(("stick", "of", "[part] length", "tape at each mark", "left"), rows.cut_rows(chosen, units),
                    (0.5, 1.9, 3.0, 1.8, 1.0), width)  # fmt: skip
    parts = page.grid(("part", "what", "item", "where"), part_rows(route, units), (0.5, 2.2, 2.2, 1.6), width)
    story = [
        *page.section("Shopping list", buy),
        page.text_block("A blank price is not known.", page.SMALL),
        *page.section("Cut list", cut),
        *page.section("Parts, in the order of the flow", parts),
    ]
    ordered: list[Flowable] = []
    for number, step in enumerate(steps(route, units), 1):
        ordered += [page.text_block(f"{number}. {step.title}", page.SUB), page.bullets(step.lines)]
    story += page.section("Order of work", *ordered)
    checks = page.grid(
        ("", "to be checked on the site", "by", "date"),
        rows.check_rows(chosen, site, units),
        (0.25, 4, 1.4, 1),
        width,
        7.0,
    )
    return [
        *story,
        CondPageBreak(CHECKLIST_PT),
        *page.section("Checklist", page.text_block(SIGNING, page.SMALL), page.gap(2), checks),
    ]


def _others(plan: Plan, chosen: PlannedRoute, width: float, units: str) -> list[Flowable]:
    from ventroute.drawing import page

    others = rows.other_routes(plan, chosen, units)
    table = page.grid(
        ("route", "what", "equivalent", "elbows", "new holes", "why"), others, (0.6, 2.2, 2.4, 0.7, 0.9, 1.6), width
    )
    return [*(page.section("Other routes of this plan", table) if others else []), *_rejected(plan, width, units)]


def _rejected(plan: Plan, width: float, units: str) -> list[Flowable]:
    from ventroute.drawing import page

    found = rows.rejected_rows(plan, units)
    table = page.grid(("choice", "why not", "nearest found"), found, (1.5, 4, 1.2), width)
    story = page.section("What does not work here", table) if found else []
    if plan.mends:
        story += page.section("What would mend it", page.bullets(plan.mends), page.text_block(MENDED, page.SMALL))
    return story


def _sources(chosen: PlannedRoute | None, site: Site, sources: Mapping[str, Source], width: float) -> list[Flowable]:
    from ventroute.drawing import page

    found = rows.source_rows(chosen, site.appliance, sources)
    table = page.grid(("key", "title", "edition, date", "read by"), found, (1.2, 3.4, 1.4, 1.4), width)
    return page.section("Sources", table) if found else []
