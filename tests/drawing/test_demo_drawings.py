"""The drawings of the demonstrations, as the files have them."""

from functools import cache

import numpy as np
import pytest
from ezdxf.bbox import extents

from tests.drawing.reading import dxf_document, dxf_faults, dxf_texts, overlapping, said_m, svg_texts
from tests.drawing.test_isometric_drawing import HALF, wanted
from tests.plan.houses import workshop
from ventroute.catalog.lookup import load_catalog
from ventroute.catalog.paths import catalogs_folder
from ventroute.cli.plan import DEMOS
from ventroute.drawing.board import hits, strokes_of
from ventroute.drawing.dxf import to_dxf
from ventroute.drawing.graph import flue_graph
from ventroute.drawing.isometric import isometric
from ventroute.drawing.outside import outside_sketch
from ventroute.drawing.sheet import sheet_pdf
from ventroute.drawing.sketches import room_sketches
from ventroute.drawing.svg import to_svg
from ventroute.io.site_file import read_site
from ventroute.layout.building import build
from ventroute.planner import plan
from ventroute.rules.cautions import cautions
from ventroute.rules.zones import terminal_zones


@cache
def demo(name):
    site = read_site(catalogs_folder() / "sites" / f"{name}.toml", load_catalog().appliances)
    building = build(site)
    shop = workshop(site)
    return site, building, shop, plan(site, building, shop)


def zones(name):
    site, building, shop, result = demo(name)
    route = result.routes[0].route
    return terminal_zones(site, building, shop.pack, route.terminal_kind, route.kit.pipe.od_m / 2)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("name", DEMOS)
def test_no_texts_overlap_on_any_drawing(name, units):
    site, building, _, result = demo(name)
    for planned in result.routes:
        drawings = [
            isometric(planned, site, units),
            flue_graph(planned, units),
            *room_sketches(planned, building, units),
        ]
        for drawing in drawings:
            assert drawing is None or overlapping(svg_texts(to_svg(drawing))) == []
    outside = outside_sketch(result.routes[0], building, zones(name), units)
    assert overlapping(svg_texts(to_svg(outside))) == []


def across_walls(drawing):
    """Texts that stand on both sides of a wall's line."""
    walls = [line for item in drawing.items if getattr(item, "layer", "") == "wall" for line in strokes_of(item)]
    strokes = np.array([(*a, *b) for a, b in walls]).reshape(-1, 4)
    return [text.text for text in drawing.texts if hits(strokes, np.array([text.box])).any()]


@pytest.mark.parametrize("name", DEMOS)
def test_a_dxf_opens_on_the_whole_drawing_and_nothing_lies_outside(name):
    site, _, _, result = demo(name)
    document = dxf_document(to_dxf(isometric(result.routes[0], site, "us")))
    drawn = extents(document.modelspace())
    low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
    assert all(low[k] <= drawn.extmin[k] and drawn.extmax[k] <= high[k] for k in (0, 1))
    (opened,) = document.viewports.get("*ACTIVE")
    assert opened.dxf.height >= drawn.size.y
    assert opened.dxf.center.y == pytest.approx((low[1] + high[1]) / 2)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("name", DEMOS)
def test_no_lettering_stands_across_a_wall(name, units):
    _, building, _, result = demo(name)
    for planned in result.routes:
        for drawing in room_sketches(planned, building, units):
            assert across_walls(drawing) == []
    assert across_walls(outside_sketch(result.routes[0], building, zones(name), units)) == []


def test_every_opening_on_the_wall_has_its_distance_and_the_rules():
    # The two windows and the door of the third demo, as the plan's findings have them.
    site, building, _, result = demo("harbour-house")
    drawing = outside_sketch(result.routes[0], building, zones("harbour-house"), "us")
    said = {text.about: text for text in drawing.dimensions}
    for feature in site.features:
        if feature.kind in ("window, openable", "door"):
            found = [f.measured for f in result.routes[0].findings if f.subject.startswith(f"{feature.name} (")]
            text = said[f"terminal to {feature.name}"]
            assert text.value_m in found
            assert said_m(text.text.split(" (rule")[0]) == pytest.approx(text.value_m, abs=HALF)


@pytest.mark.parametrize("name", DEMOS)
def test_every_dimension_is_the_plans_within_a_sixteenth(name):
    site, _, _, result = demo(name)
    for planned in result.routes:
        drawing = isometric(planned, site, "us")
        dxf = to_dxf(drawing)
        for texts in (svg_texts(to_svg(drawing)), dxf_texts(dxf)):
            said = {t.about: t for t in texts if t.value_m is not None}
            assert said.keys() == wanted(planned).keys()
            for about, length in wanted(planned).items():
                assert said_m(said[about].text) == pytest.approx(length, abs=HALF)
        auditor = dxf_faults(dxf)
        assert not auditor.errors
        assert not auditor.fixes


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", DEMOS)
def test_the_job_sheet_has_pages_that_render_with_ink(name, paper):
    import pypdfium2

    site, building, shop, result = demo(name)
    sources = {**shop.catalog.sources, **shop.pack.sources}
    data = sheet_pdf(result, site, building, zones(name), cautions(shop.pack), sources, paper)
    document = pypdfium2.PdfDocument(data)
    assert len(document) >= 5
    for page in document:
        pixels = page.render(scale=0.5).to_numpy()
        assert (pixels < 128).any()
