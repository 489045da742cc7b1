"""The report page in a real browser, opened from disk with the network off."""

import base64
import io
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
import sample
from browser import Watched, browser, needs_browser, serious
from PIL import Image
from ventroute.viewer.palette import LOOKS
from ventroute.viewer.report import report_html
from ventroute.viewer.scene import scene

from ventroute.layout.building import build

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 80"><rect width="200" height="80" fill="#ddd"/></svg>'
LARGEST = 4_000_000  # bytes: fits an e-mail


@pytest.fixture(scope="module")
def html() -> bytes:
    site, plan = sample.site(), sample.plan()
    seen = scene(site, build(site), plan, sample.zones())
    drawings = {"route-1": SVG, "route-2.isometric": SVG, "plan of utility": SVG}
    return report_html(plan, site, seen, drawings, ["Carbon monoxide kills."])


@pytest.fixture(scope="module")
def page_file(html, tmp_path_factory):
    path = tmp_path_factory.mktemp("report") / "report.html"
    path.write_bytes(html)
    return path


@pytest.fixture
def opened(page_file):
    with browser() as started:
        context = started.new_context(viewport={"width": 1200, "height": 900}, bypass_csp=False)
        context.set_offline(True)
        watched = Watched(context, (page_file.as_uri(), "data:", "blob:"))
        watched.page.goto(page_file.as_uri())
        watched.page.wait_for_selector("body[data-ready='3d']", timeout=30_000)
        yield watched
        watched.check()


def pixels(page, selector="#view3d canvas"):
    """The picture of an element, (h, w, 3) as integers."""
    return np.asarray(Image.open(io.BytesIO(page.locator(selector).screenshot())).convert("RGB")).astype(int)


def share(picture, colour: str, near: int = 60) -> float:
    """Fraction of pixels close to a colour."""
    wanted = np.array(list(bytes.fromhex(colour[1:])))
    return float((np.abs(picture - wanted).sum(axis=2) < near).mean())


class Tags(HTMLParser):
    """Every element with its attributes, and how deep the page is when it ends."""

    VOID = frozenset({"meta", "img", "input", "br", "link"})

    def __init__(self):
        super().__init__()
        self.open, self.seen = [], []

    def handle_starttag(self, name, attributes):
        self.seen.append((name, dict(attributes)))
        if name not in self.VOID:
            self.open.append(name)

    def handle_endtag(self, name):
        assert self.open.pop() == name


def test_the_page_is_one_file_under_4_mb_that_names_no_other(html):
    assert len(html) < LARGEST
    parser = Tags()
    parser.feed(html.decode())
    assert parser.open == []
    for name, attributes in parser.seen:
        for key in ("src", "href"):
            target = attributes.get(key)
            assert target is None or target.startswith(("data:", "#")), (name, target)


def test_the_policy_lets_nothing_in_but_the_pages_own_script(html):
    policy = re.search(rb'http-equiv="Content-Security-Policy" content="([^"]+)"', html).group(1).decode()
    assert policy.startswith("default-src &#x27;none&#x27;; script-src &#x27;sha256-")
    assert "unsafe-eval" not in policy
    assert "script-src &#x27;unsafe-inline" not in policy


def test_names_from_the_site_cannot_end_the_script_or_start_an_element(html):
    # the sample's meter is called "meter </script>", its house has <basement> in the name
    text = html.decode()
    assert text.count("</script>") == 3
    assert "<basement>" not in text


def test_same_plan_same_bytes(html):
    site, plan = sample.site(), sample.plan()
    seen = scene(site, build(site), plan, sample.zones())
    drawings = {"route-1": SVG, "route-2.isometric": SVG, "plan of utility": SVG}
    assert report_html(plan, site, seen, drawings, ["Carbon monoxide kills."]) == html


def test_a_plan_without_a_route_says_so_and_why():
    from dataclasses import replace

    plan = replace(sample.plan(), routes=())
    text = report_html(plan, sample.site(), scene(sample.site(), None, plan), {}, []).decode()
    assert "No compliant route" in text
    assert "7 ft 2 in over the limit" in text


def test_unverified_figures_are_counted_and_marked(html):
    text = html.decode()
    assert "4 of 5 figures above are unverified" in text  # the sample has one standard read of five
    assert text.count("memory (unverified)") == 2  # one in each of the two routes


def test_drawings_are_carried_whole(html):
    assert html.count(base64.b64encode(SVG)) == 4  # three figures, and the first again where there is no 3D


@needs_browser
def test_the_3d_scene_is_drawn_and_its_colours_are_on_the_screen(opened):
    picture = pixels(opened.page)
    assert picture.reshape(-1, 3).std(axis=0).min() > 8
    assert share(picture, LOOKS["zone"].colour, 160) > 0.01  # the hatched zones
    assert share(picture, "#f4f6f8", 8) > 0.2  # paper around the house


@needs_browser
def test_another_route_shows_other_pipe_and_its_own_tables(opened):
    page = opened.page
    first = pixels(page)
    page.get_by_label(re.compile("ABS to the wall")).check()
    page.wait_for_selector("body[data-route='2']")
    page.wait_for_timeout(300)
    assert (np.abs(pixels(page) - first).sum(axis=2) > 60).sum() > 200
    assert page.locator("article[data-route='2']").is_visible()
    assert not page.locator("article[data-route='1']").is_visible()


@needs_browser
def test_a_part_is_named_where_the_pointer_rests(opened):
    page = opened.page
    page.locator("#view3d").scroll_into_view_if_needed()
    spot = page.evaluate("() => ventroute.placeOf('route_1_part_5')")
    page.mouse.move(spot["x"], spot["y"])
    page.wait_for_selector("#view3d .tip:has-text('part 5: pipe')")
    assert "cut" in page.locator("#view3d .tip").inner_text()


@needs_browser
def test_keys_turn_the_view_and_parts_can_be_shown_without_a_mouse(opened):
    page = opened.page
    before = pixels(page)
    page.locator("#view3d canvas").focus()
    for _ in range(4):
        page.keyboard.press("ArrowLeft")
    page.wait_for_timeout(300)
    turned = pixels(page)
    assert (np.abs(turned - before).sum(axis=2) > 60).mean() > 0.02
    page.locator("button[data-shape='route_1_part_2']").focus()
    assert "part 2: elbow" in page.locator("#view3d .tip").inner_text()


@needs_browser
def test_ticks_hide_what_they_name(opened):
    page = opened.page
    hatched = share(pixels(page), LOOKS["zone"].colour, 160)
    page.get_by_label("no terminal here").uncheck()
    page.wait_for_timeout(300)
    assert share(pixels(page), LOOKS["zone"].colour, 160) < hatched / 3


@needs_browser
def test_the_accessibility_scan_finds_nothing_serious(page_file):
    with browser() as started:
        page = started.new_context(bypass_csp=True).new_page()
        page.goto(page_file.as_uri())
        page.wait_for_selector("body[data-ready='3d']", timeout=30_000)
        assert serious(page) == []


@needs_browser
def test_without_webgl_the_drawings_are_shown_instead(page_file):
    with browser(soft_3d=False) as started:
        watched = Watched(started.new_context(), (page_file.as_uri(), "data:", "blob:"))
        watched.page.goto(page_file.as_uri())
        watched.page.wait_for_selector("body[data-ready='flat']", timeout=30_000)
        assert watched.page.locator(".no-3d img").is_visible()
        assert watched.page.locator("article[data-route='1']").is_visible()


@needs_browser
def test_a_phone_reads_it_without_scrolling_sideways(page_file):
    with browser() as started:
        page = started.new_context(viewport={"width": 390, "height": 800}, device_scale_factor=2).new_page()
        page.goto(page_file.as_uri())
        page.wait_for_selector("body[data-ready='3d']", timeout=30_000)
        assert page.evaluate("() => document.documentElement.scrollWidth") <= 390


def test_where_there_is_no_route_the_report_says_what_would_mend_it():
    site, plan = sample.site(), sample.plan()
    none = replace(plan, routes=(), mends=("a <new> hole: then 3 in PVC fits",))
    html = report_html(none, site, scene(site, build(site), none, ())).decode()
    assert "What would mend it" in html
    assert "<li>a &lt;new&gt; hole: then 3 in PVC fits</li>" in html


@needs_browser
def test_on_a_phone_every_figure_of_a_finding_is_on_the_screen(page_file):
    with browser() as started:
        page = started.new_context(viewport={"width": 390, "height": 844}).new_page()
        page.goto(page_file.as_uri())
        page.wait_for_selector("body[data-ready]")
        table = page.locator("article[data-route='1'] .wide").first
        for head in ("Measured", "Limit", "Source"):
            box = table.locator(f"tbody td[data-head='{head}']:not(:empty)").first.bounding_box()
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= 390
        assert page.evaluate("() => document.documentElement.scrollWidth") <= 390
