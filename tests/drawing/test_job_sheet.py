"""The job sheet as a reader of PDF sees it."""

from __future__ import annotations

import re
from dataclasses import replace

import pypdfium2
import pytest

from tests.drawing import samples
from ventroute.drawing.sheet import sheet_pdf
from ventroute.drawing.sheet_rows import appliance_rows, check_rows, finding_rows, limit_rows, site_rows, source_rows
from ventroute.layout.building import Building, build
from ventroute.model.excess import DryGas
from ventroute.model.plan import Plan, Verdict
from ventroute.model.source import Source
from ventroute.units import format_length

HOUSE = samples.house()
HEADINGS = (
    "Read first",
    "The appliance, as entered",
    "The house, as entered",
    "The route",
    "Findings, worst first",
    "Equivalent length, line by line",
    "Sketches to scale",
    "The exhaust on its way",
    "Shopping list",
    "Cut list",
    "Parts, in the order of the flow",
    "Order of work",
    "Checklist",
    "Other routes of this plan",
    "What does not work here",
    "Sources",
)


@pytest.fixture(scope="module")
def building() -> Building:
    return build(HOUSE)


def sheet(building: Building | None, plan: Plan | None = None, **choices: str) -> bytes:
    return sheet_pdf(
        plan or samples.plan(), HOUSE, building, samples.zones(), samples.CAUTIONS, samples.sources(), **choices
    )


def words(data: bytes) -> str:
    pages = pypdfium2.PdfDocument(data)
    return re.sub(r"\s+", " ", " ".join(page.get_textpage().get_text_range() for page in pages))


def test_the_same_plan_gives_the_same_bytes(building: Building):
    assert sheet(building) == sheet(building)


@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595.28, 841.89))])
def test_paper_sizes(building: Building, paper: str, size: tuple[float, float]):
    # Letter 8.5 x 11 in (ANSI/ASME Y14.1); A4 210 x 297 mm (ISO 216); 72 points an inch.
    pages = pypdfium2.PdfDocument(sheet(building, paper=paper))
    assert all(page.get_size() == pytest.approx(size, abs=0.1) for page in pages)


def test_it_holds_everything_a_job_needs(building: Building):
    text = words(sheet(building))
    for heading in HEADINGS:
        assert heading in text
    assert all(caution in text for caution in samples.CAUTIONS)
    assert "page 1 of" in text


def test_cautions_come_before_anything_else(building: Building):
    text = words(sheet(building))
    assert text.index(samples.CAUTIONS[0]) < text.index("The appliance, as entered") < text.index("The route")


def test_nobody_is_said_to_have_signed_or_approved(building: Building):
    text = words(sheet(building)).lower()
    assert "no approval, licence, permit or certificate" in text
    assert not re.search(r"approved by|certified by|licensed by|inspector:|signature of", text)


def test_signing_columns_are_blank():
    rows = check_rows(samples.roof_route(), HOUSE, "us")
    assert all(row[0] == "□" and row[2:] == ("", "") for row in rows)
    assert any("firestop" in row[1] for row in rows)


def test_unverified_grades_are_shown_and_what_must_be_judged_comes_first():
    rows = finding_rows(samples.roof_route(), "us")
    assert rows[0][0] == "ASK"
    grades = {row[1]: row[5] for row in rows}
    assert grades["material.class"] == "standard-c1 (standard read)"
    assert grades["zone.window"] == "us-2021 row B (memory, unverified)"


def test_a_failed_finding_comes_before_all_others():
    planned = samples.roof_route()
    broken = replace(planned.findings[2], verdict=Verdict.FAIL, margin=-3.0)
    assert finding_rows(replace(planned, findings=(*planned.findings, broken)), "us")[0][0] == "FAIL"


def test_excess_air_is_shown_as_it_was_entered_default_and_all():
    # The contract: defaults are shown in the output; that of excess air is 40 %.
    assert ("Excess air", "40 %") in appliance_rows(samples.appliance(), "us", {})
    read = replace(samples.appliance(), excess_air=DryGas("CO2", 0.09))
    assert ("Excess air", "as 9 % CO2 in dry flue gas tells") in appliance_rows(read, "us", {})


def test_no_elbows_at_all_is_not_any_number_of_them():
    row = replace(samples.appliance().sizes[0], max_elbows=0)
    assert limit_rows(replace(samples.appliance(), sizes=(row,)), "us")[0][3] == "0"


def test_unknown_figures_of_the_vent_table_stay_blank():
    two, three = limit_rows(samples.appliance(), "us")
    assert two[6] == ""  # no 22 1/2 in the 2 in row
    assert three[3] == ""  # no greatest number of elbows in the 3 in row
    assert three[1] == "60 ft"


def test_no_route_still_makes_a_sheet_that_says_why(building: Building):
    none = replace(samples.plan(), routes=())
    text = words(sheet(building, none))
    assert "No route keeps all rules" in text
    assert "7 ft 2 in too much" in text


def test_a_sheet_without_a_route_says_what_would_mend_it(building: Building):
    mend = "a new hole through the north wall: then 3 in PVC fits"
    text = words(sheet(building, replace(samples.plan(), routes=(), mends=(mend,))))
    assert "What would mend it" in text
    assert mend in text


def test_what_a_finding_cites_is_among_the_sources():
    code = Source("code", "The Gas Code, 2021", "2021", "2021", "", "read")
    other = Source("gas", "The Gas", "", "", "", "read")  # a title that another begins with is another source
    cited = replace(samples.roof_route().findings[0], source="The Gas Code, 2021, table, row B")
    planned = replace(samples.roof_route(), findings=(cited,))
    rows = source_rows(planned, samples.appliance(), {"code": code, "gas": other})
    assert [row[0] for row in rows] == ["code"]


def test_everything_entered_can_be_found_with_a_tape():
    # the sample house's own figures, in feet
    rows = dict(site_rows(HOUSE, "us"))
    assert "from (2 ft, 6 in, -1 ft 9 5/8 in); 1 ft 2 3/8 in by 9 ft by 9 5/8 in" in rows["Obstacle: supply duct"]
    assert rows["Obstacle: beam"].startswith("6 in round, (9 ft, 6 in, -1 ft) to (9 ft, 9 ft 6 in, -1 ft)")
    assert rows["Room: closet"].startswith("heated, x 4 ft to 8 ft, y 5 ft to 23 ft 6 in, z 0 in to 8 ft,")
    assert "6 in clear at (6 ft, 7 ft," in rows["Hole: old flue, first floor"]
    assert "window, openable, from (10 ft, 23 ft 10 13/16 in, 3 ft)" in rows["Outdoors: kitchen window"]


def test_another_route_can_be_chosen(building: Building):
    text = words(sheet(building, route_id="2"))
    assert "Route 2: 3 in PVC to the wall" in text
    assert format_length(samples.wall_route().route.equivalent_m) in text


def test_metric_sheets_have_no_feet_in_the_worksheet(building: Building):
    text = words(sheet(building, units="metric"))
    part = text[text.index("Equivalent length, line by line") : text.index("Sketches to scale")]
    assert not re.search(r"\d ft\b", part)


def test_names_are_not_markup(building: Building):
    plan = replace(samples.plan(), site="<b>A & B</b> <para>")
    assert "<b>A & B</b> <para>" in words(sheet(building, plan))


def test_a_sheet_without_a_building_has_no_sketches():
    assert "Sketches to scale" not in words(sheet(None))


def test_nothing_runs_off_the_page(building: Building):
    for page in pypdfium2.PdfDocument(sheet(building, samples.plan(samples.random_route(3)))):
        width, height = page.get_size()
        text = page.get_textpage()
        for k in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(k)
            assert 20 < left < right < width - 20
            assert 15 < bottom < top < height - 20
