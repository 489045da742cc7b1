"""The report page: one HTML file that needs nothing else, works from a stick, and lets no request out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ventroute.drawing.words import money, proof_words, route_title
from ventroute.model.plan import Plan, PlannedRoute
from ventroute.model.site import Site
from ventroute.units import format_length as length
from ventroute.units import format_power, format_size

from . import report_lists as lists
from .glb import glb_text
from .markup import Markup, data_block, digest, picture, policy, script, static, table, tag, text, text_block
from .page_data import scene_data
from .shape import Scene

NOT_A_PERMIT = (
    "This page is a planning aid. It is not a permit, an approval or an inspection, and nobody has signed it. "
    "The appliance's own manual and the code adopted where you are come first."
)


def report_html(
    plan: Plan,
    site: Site | None,
    scene: Scene,
    drawings: Mapping[str, bytes] | None = None,
    cautions: Sequence[str] = (),
    units: str = "us",
) -> bytes:
    """The whole report as one HTML file, UTF-8.

    Parameters
    ----------
    drawings : SVG by name; a name that begins with ``route-ID`` stands with that route, the others with the house
    cautions : shown once, at the top
    units : ``us`` or ``metric``
    """
    drawn = dict(drawings or {})
    body = tag(
        "body",
        tag("a", "Skip to the findings", href="#detail", class_="skip"),
        _header(plan, cautions, units),
        tag("main", _scene(scene, plan, drawn, units), _details(plan, drawn, units), _house(plan, site, drawn, units)),
        tag("footer", tag("p", NOT_A_PERMIT)),
        data_block("scene-data", scene_data(scene)),
        text_block("scene-glb", glb_text(scene)),
        Markup(f"<script>{(code := script())}</script>"),
        data_page="report",
    )
    return f"<!doctype html>\n{tag('html', _head(plan, code), body, lang='en')}\n".encode()


def _head(plan: Plan, code: str) -> Markup:
    meta = (
        f'<meta charset="utf-8"><meta http-equiv="Content-Security-Policy" content="{text(policy(_quoted(code)))}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta name="referrer" content="no-referrer">'
    )
    style = Markup(f"<style>{static('page.css')}</style>")
    return tag("head", Markup(meta), tag("title", f"Exhaust vent: {plan.site}"), style)


def _quoted(code: str) -> str:
    return f"'{digest(code)}'"


def _header(plan: Plan, cautions: Sequence[str], units: str) -> Markup:
    if plan.routes:
        best = plan.routes[0]
        used = f"{length(best.route.equivalent_m, units)} of {length(best.limit_m, units)} allowed"
        said = f"{route_title(best.route, units)}: {used}."
        state = tag("p", tag("strong", "✓ A compliant route. "), said, class_="state ok")
    else:
        state = tag(
            "p",
            tag("strong", "✗ No compliant route. "),
            "See below what came nearest, and what would mend it.",
            class_="state none",
        )
    warned = tag("ul", *(tag("li", line) for line in cautions)) if cautions else ""
    block = tag("section", tag("h2", "Before anything else"), warned, class_="cautions") if cautions else ""
    return tag("header", tag("h1", plan.site), tag("p", f"Rules: {plan.rules}", class_="rules"), state, block)


def _chooser(plan: Plan, units: str) -> Markup:
    choices = []
    for n, planned in enumerate(plan.routes):
        mark = Markup(
            f'<input type="radio" name="route" id="choose-{n}" value="{text(planned.id)}"{" checked" if not n else ""}>'
        )
        said = (
            f"{length(planned.route.equivalent_m, units)} of {length(planned.limit_m, units)}, "
            f"{planned.route.elbows} elbows, cost {money(planned.cost)}"
        )
        why = tag("small", planned.reason) if planned.reason else ""
        name = tag("span", tag("b", route_title(planned.route, units)), tag("span", said), why)
        choices.append(tag("label", mark, name, for_=f"choose-{n}"))
    return tag("fieldset", tag("legend", "Route"), *choices, class_="chooser") if choices else Markup("")


def _scene(scene: Scene, plan: Plan, drawings: Mapping[str, bytes], units: str) -> Markup:
    views = [tag("button", name, type="button", data_view=name) for name in scene.views]
    bar = tag("div", tag("span", "View from "), *views, class_="bar", role="group", aria_label="View")
    first = next(iter(drawings.items()), None)
    instead = picture(first[1], f"Drawing: {titled(first[0])}") if first else ""
    fallback = tag(
        "div",
        tag("p", "This browser cannot draw in 3D. The drawings below show the same."),
        instead,
        class_="no-3d",
        hidden="hidden",
    )
    holder = tag("div", tag("p", "", class_="tip", role="status", aria_live="polite"), class_="view3d", id="view3d")
    side = tag("div", _chooser(plan, units), tag("fieldset", tag("legend", "Show"), class_="key", id="key"))
    return tag(
        "section",
        tag("h2", "In 3D"),
        tag("div", tag("div", bar, holder, fallback), side, class_="stage"),
        class_="scene",
    )


def _details(plan: Plan, drawings: Mapping[str, bytes], units: str) -> Markup:
    return tag("div", *(_route(planned, drawings, units) for planned in plan.routes), id="detail", tabindex="-1")


def _route(planned: PlannedRoute, drawings: Mapping[str, bytes], units: str) -> Markup:
    own = [(name, svg) for name, svg in drawings.items() if _belongs(name, planned.id)]
    proof = proof_words(planned, units)
    blocks = [
        tag("h2", f"Route {planned.id}: {route_title(planned.route, units)}"),
        tag(
            "p",
            f"{planned.reason[:1].upper()}{planned.reason[1:]}. " if planned.reason else "",
            f"{proof[0].upper()}{proof[1:]}.",
            f" {planned.scarcity[:1].upper()}{planned.scarcity[1:]}." if planned.scarcity else "",
        ),
        *(
            tag("figure", picture(svg, f"Drawing: {titled(name)}"), tag("figcaption", titled(name)))
            for name, svg in own
        ),
        lists.findings_table(planned.findings, units),
        _unverified(planned),
        lists.worksheet(planned, units),
        lists.parts_table(planned, units),
        lists.shopping_table(planned, units),
        lists.cuts_table(planned, units),
        lists.flue_block(planned.flue, units) if planned.flue else "",
    ]
    return tag("article", *blocks, data_route=planned.id)


def titled(name: str) -> str:
    """A drawing's name as people read it: ``route-1-flue.svg`` is "route 1 flue"."""
    return name.removesuffix(".svg").replace("-", " ").replace("_", " ")


def _belongs(name: str, route_id: str) -> bool:
    stem = f"route-{route_id}"
    return name == stem or any(name.startswith(stem + mark) for mark in ".- _:")


def _unverified(planned: PlannedRoute) -> Markup:
    count = sum(not finding.grade.verified for finding in planned.findings)
    if not count:
        return Markup("")
    said = f"{count} of {len(planned.findings)} figures above are unverified: "
    said += "confirm them against the code adopted where you are."
    return tag("p", said, class_="unverified")


def _house(plan: Plan, site: Site | None, drawings: Mapping[str, bytes], units: str) -> Markup:
    ids = [planned.id for planned in plan.routes]
    general = [(name, svg) for name, svg in drawings.items() if not any(_belongs(name, route) for route in ids)]
    figures = [
        tag("figure", picture(svg, f"Drawing: {titled(name)}"), tag("figcaption", titled(name)))
        for name, svg in general
    ]
    rejected = [tag("h2", "Not possible"), lists.rejected_table(plan.rejected, units)] if plan.rejected else []
    mends = [tag("h2", "What would mend it"), lists.mends_list(plan.mends)] if plan.mends else []
    entered = [tag("h2", "As entered"), _appliance(site, units)] if site is not None else []
    return tag("section", *rejected, *mends, *([tag("h2", "The house"), *figures] if figures else []), *entered)


def _appliance(site: Site, units: str) -> Markup:
    unit = site.appliance
    rows: list[tuple[str, object]] = [
        ("Appliance", unit.name or unit.model),
        ("Input", format_power(unit.input_W, units)),
        ("Category", unit.category),
        ("Materials it allows", ", ".join(unit.materials)),
        ("Limits come from", unit.source),
    ]
    rows += [
        (f"{format_size(row.size_in)}: most equivalent length", length(row.max_length_m, units)) for row in unit.sizes
    ]
    return table("The appliance and its own limits", ("What", "Value"), [row for row in rows if row[1]])
