"""The work page's bones; its script fills them."""

from __future__ import annotations

from .markup import Markup, tag

TOOLS = (
    ("select", "Select and move"),
    ("room", "Room"),
    ("hole", "Hole"),
    ("cut", "Cut"),
    ("roof", "Gable roof"),
    ("framing", "Framing"),
    ("obstacle", "Obstacle"),
    ("feature", "Window, door, meter"),
    ("keep_out", "Keep out"),
    ("appliance", "Place appliance"),
)
CARE = (
    "Carbon monoxide kills. A planning aid: no permit, no approval, no inspection. The appliance's manual and the code "
    "adopted where you are come first; have the vent inspected and fit carbon monoxide alarms."
)
TABS = (("findings", "Findings"), ("bill", "Bill and cuts"), ("length", "Length and parts"), ("flue", "Flue"))


def work_html(file: str, units: str) -> str:
    """The page for one site file; everything else comes through the script."""
    head = (
        '<meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
        '<link rel="stylesheet" href="page.css"><link rel="stylesheet" href="work.css">'
    )
    body = tag(
        "body", _top(file), tag("main", _left(), _middle(), _right(), class_="desk"),
        tag("footer", tag("p", CARE)),
        Markup('<script src="app.js"></script>'), data_page="work", data_units=units,
    )  # fmt: skip
    page = tag("html", tag("head", Markup(head), tag("title", f"ventroute: {file}")), body, lang="en")
    return f"<!doctype html>\n{page}\n"


def _button(ident: str, words: str, **more: object) -> Markup:
    return tag("button", words, type="button", id=ident, **more)


def _top(file: str) -> Markup:
    actions = [
        _button("undo", "Undo", title="Ctrl+Z"),
        _button("redo", "Redo", title="Ctrl+Y"),
        _button("save", "Save", title="Ctrl+S"),
    ]
    return tag(
        "header",
        tag("h1", file),
        tag("div", *actions, class_="bar", role="group", aria_label="File"),
        tag("p", "", id="progress", role="status", aria_live="polite"),
        class_="top",
    )


def _left() -> Markup:
    want = tag("form", tag("h2", "What is wanted"), tag("div", id="want"), autocomplete="off")
    things = tag("nav", tag("h2", "Things"), tag("div", id="things"), aria_label="Things in the house")
    form = tag("form", tag("h2", "Details", id="form-title"), tag("div", id="fields"), autocomplete="off")
    return tag("section", want, form, things, class_="left", aria_label="What is wanted, details and things")


def _middle() -> Markup:
    tools = [
        tag("button", words, type="button", data_tool=name, aria_pressed="true" if name == "select" else "false")
        for name, words in TOOLS
    ]
    levels = tag("label", "Level ", tag("select", id="level"))
    hint = "Drag to draw, to move a thing, or its corner to size it. Arrow keys move by 1 in, with Shift 1 ft."
    zoom = [
        tag("button", sign, type="button", data_zoom=by, aria_label=words)
        for sign, by, words in (
            ("+", 0.8, "+ larger plan"),
            ("−", 1.25, "− smaller plan"),
            ("fit", 0, "fit the whole plan"),
        )
    ]
    plan = tag("div", tag("p", "", class_="tip", id="measure", aria_live="polite"), id="plan", class_="plan")
    faults = tag("div", id="faults", role="alert")
    return tag(
        "section",
        tag("div", *tools, class_="bar", role="group", aria_label="Tools"),
        tag("div", levels, *zoom, tag("span", hint, class_="hint"), class_="bar"),
        plan, faults, class_="middle", aria_label="Plan",
    )  # fmt: skip


def _right() -> Markup:
    tabs = [
        tag("button", words, type="button", data_tab=name, aria_pressed="true" if not n else "false")
        for n, (name, words) in enumerate(TABS)
    ]
    details = tag("details", tag("summary", "Colours and what to show"), tag("div", class_="key", id="key"))
    holder = tag("div", tag("p", "", class_="tip", role="status"), class_="view3d", id="view3d")
    flat = tag("p", "This browser cannot draw in 3D.", class_="no-3d", hidden="hidden")
    return tag(
        "section", holder, flat, details, tag("div", id="routes", aria_live="polite"),
        tag("div", *tabs, class_="bar", role="group", aria_label="About the route"), tag("div", id="about"),
        class_="right", aria_label="Answer",
    )  # fmt: skip
