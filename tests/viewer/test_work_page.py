"""The work page in a real browser: draw, change, see the answer, save, reopen, undo."""

import re
import socket
import threading
import time
import tomllib

import fake
import pytest
import uvicorn
from browser import Watched, browser, needs_browser, serious
from ventroute.viewer.server import make_app

FT = 0.3048
pytestmark = needs_browser


@pytest.fixture
def site_file(tmp_path):
    path = tmp_path / "birch.toml"
    path.write_text(fake.SITE, encoding="utf-8")
    return path


@pytest.fixture
def address(site_file):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = make_app(site_file, fake.plan_text, look_text=fake.look_text, token="tok")
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{port}/tok/"
    server.should_exit = True
    thread.join()


@pytest.fixture(scope="module")
def started():
    with browser() as run:
        yield run


@pytest.fixture
def watched(started, address):
    seen = Watched(started.new_context(viewport={"width": 1500, "height": 950}), (address, "data:", "blob:"))
    seen.page.goto(address)
    seen.page.wait_for_selector("body[data-answers='1']", timeout=30_000)
    yield seen
    seen.check()
    seen.page.context.close()


def answered(page, count):
    page.wait_for_selector(f"body[data-answers='{count}'][data-state='done']", timeout=20_000)


def text(page):
    return page.evaluate("() => ventroute.state.text")


def tables(page):
    return tomllib.loads(text(page))


def spot(page, x_ft, y_ft):
    """Where a point of the plan is on the screen."""
    found = page.evaluate(
        "([x, y]) => { const p = new DOMPoint(x, -y).matrixTransform(ventroute.plan.svg.getScreenCTM());"
        " return [p.x, p.y]; }",
        [x_ft * FT, y_ft * FT],
    )
    return found[0], found[1]


def drag(page, start, end):
    page.mouse.move(*spot(page, *start))
    page.mouse.down()
    page.mouse.move(*spot(page, *[(a + b) / 2 for a, b in zip(start, end, strict=True)]))
    page.mouse.move(*spot(page, *end))
    page.mouse.up()


def test_a_room_is_drawn_with_the_pointer_and_sized_by_typing(watched):
    page = watched.page
    page.get_by_role("button", name="Room", exact=True).click()
    drag(page, (15, 3), (20, 9))
    answered(page, 2)
    room = tables(page)["room"][-1]
    assert room["name"] == "room 3"
    assert room["corner"][:2] == pytest.approx([15, 3], abs=1 / 12)  # snaps to a whole inch
    assert room["size"][:2] == pytest.approx([5, 6], abs=2 / 12)
    page.get_by_label("width (x)").fill("7 ft 6 1/2 in")
    page.get_by_label("width (x)").press("Enter")
    answered(page, 3)
    assert tables(page)["room"][-1]["size"][0] == "7 ft 6 1/2 in"
    assert page.locator("#plan svg").get_by_text("7 ft 6 1/2 in ×").is_visible()


def test_a_hole_placed_in_a_room_leads_to_the_space_above(watched):
    page = watched.page
    page.get_by_role("button", name="Hole", exact=True).click()
    page.mouse.click(*spot(page, 8, 4))
    answered(page, 2)
    hole = tables(page)["hole"][-1]
    assert hole["through"] == ["utility", "closet"]
    assert hole["axis"] == "up"
    assert hole["at"][:2] == pytest.approx([8, 4], abs=1 / 12)


def test_a_cut_drawn_across_a_wall_leads_outdoors(watched):
    page = watched.page
    page.get_by_role("button", name="Cut", exact=True).click()
    drag(page, (2, 0), (8, 0.45))
    answered(page, 2)
    cut = tables(page)["cut"][-1]
    assert cut["through"] == ["utility", "outdoors"]
    assert cut["axis"] == "south"


def test_two_inch_changed_to_three_changes_the_length_and_the_bill(watched):
    page = watched.page
    before = page.locator("#routes .equivalent").inner_text()
    assert before.endswith("of 40 ft")
    page.get_by_role("checkbox", name="3 in").check()
    answered(page, 2)
    page.get_by_role("checkbox", name="2 in").uncheck()
    answered(page, 3)
    assert tables(page)["want"]["sizes"] == ["3 in"]
    after = page.locator("#routes .equivalent").inner_text()
    assert after.endswith("of 100 ft")
    assert after != before
    page.get_by_role("button", name="Bill and cuts").click()
    assert page.locator("#about").get_by_text("3 in pipe").is_visible()
    assert page.locator("#about").get_by_text("21.50").is_visible()


def test_a_gable_is_drawn_over_the_house_and_its_slopes_fall_away_from_the_ridge(watched):
    page = watched.page
    page.get_by_role("button", name="Gable roof").click()
    drag(page, (0, 0), (30, 24))
    page.wait_for_function("() => ventroute.state.document.roof?.length === 1")
    (roof,) = tables(page)["roof"]
    assert roof["gable"]["over"] == [[0, 0], [30, 24]]
    assert roof["gable"]["ridge"] == "east"  # along the longer side
    # two slopes of one roof in the file; the ridge lies over the middle, 12 ft north
    slopes = page.evaluate("() => ventroute.state.site.roofs_written[0].slopes")
    assert len(slopes) == 2
    highest = max(point[2] for slope in slopes for point in slope)
    assert {round(p[1], 6) for s in slopes for p in s if p[2] == highest} == {round(12 * FT, 6)}
    page.get_by_label("pitch").fill("8/12")
    page.get_by_label("pitch").press("Enter")
    page.wait_for_function("() => ventroute.state.document.roof[0].gable.pitch === '8/12'")
    page.wait_for_selector("body[data-state='done']")
    page.get_by_role("button", name="Remove").click()
    page.wait_for_function("() => !ventroute.state.document.roof")
    assert text(page).rstrip() == fake.SITE.rstrip()


def test_framing_is_drawn_with_a_member_at_every_spacing(watched):
    page = watched.page
    page.get_by_role("button", name="Framing", exact=True).click()
    drag(page, (1, 1), (11, 5))
    answered(page, 2)
    (joists,) = tables(page)["framing"]
    assert joists["runs"] == "north"  # across the longer side
    # 10 ft wide, first member at 16 in and one every 16 in: 16, 32 .. 112 in
    assert page.locator("#plan [data-pick='framing:0'] polygon").count() == 1 + 7
    page.get_by_label("spacing").fill("2 ft")
    page.get_by_label("spacing").press("Enter")
    answered(page, 3)
    assert page.locator("#plan [data-pick='framing:0'] polygon").count() == 1 + 5  # 16, 40, 64, 88, 112 in


def test_nothing_is_called_out_of_date_before_there_is_an_answer(started, address):
    page = started.new_context().new_page()
    page.add_init_script(
        "window.fetch = new Proxy(fetch, { apply: (f, me, [where, ...rest]) =>"
        " (where === 'plan' ? new Promise(() => {}) : f.apply(me, [where, ...rest])) })"
    )
    page.goto(address)
    page.wait_for_selector("body[data-state='planning']")
    assert page.locator(".stale").count() == 0
    page.context.close()


def test_save_keeps_comments_and_a_reopened_page_shows_the_same(watched, address, site_file):
    page = watched.page
    page.get_by_role("button", name="hole: old flue, first floor").click()
    page.get_by_label("clear").fill("5 in")
    page.get_by_label("clear").press("Enter")
    answered(page, 2)
    assert page.get_by_role("button", name="Save").is_enabled()
    page.get_by_role("button", name="Save").click()
    page.wait_for_selector("body[data-saved='1']")
    assert site_file.read_text() == fake.SITE.replace('clear = "6 in" ', 'clear = "5 in" ')
    page.goto(address)
    page.wait_for_selector("body[data-answers='1']")
    assert tables(page)["hole"][0]["clear"] == "5 in"
    assert page.get_by_role("button", name="Save").is_disabled()


def test_undo_and_redo_walk_through_the_changes(watched):
    page = watched.page
    page.get_by_role("button", name="obstacle: supply duct").click()
    page.locator("#plan svg").focus()
    page.keyboard.press("ArrowUp")
    answered(page, 2)
    moved = text(page)
    assert tables(page)["obstacle"][0]["corner"][1] == "7 ft 1 in"
    page.get_by_role("button", name="Undo").click()
    answered(page, 3)
    assert text(page) == fake.SITE
    page.get_by_role("button", name="Redo").click()
    answered(page, 4)
    assert text(page) == moved


def test_dragging_moves_a_thing_by_whole_inches(watched):
    page = watched.page
    drag(page, (3, 7.6), (3, 6.6))
    answered(page, 2)
    assert tables(page)["obstacle"][0]["corner"] == [1, pytest.approx(6.0, abs=1e-6), -1.8]


def test_the_appliance_goes_where_one_clicks(watched):
    page = watched.page
    page.get_by_role("button", name="Place appliance").click()
    page.mouse.click(*spot(page, 9, 3))
    answered(page, 2)
    assert page.evaluate("() => ventroute.state.site.appliance.collar_m.slice(0, 2)") == pytest.approx(
        [9 * FT, 3 * FT], abs=0.026
    )


def test_a_fault_is_told_with_its_line_and_the_last_answer_stays(watched):
    page = watched.page
    page.get_by_role("button", name="hole: old flue, first floor").click()
    page.get_by_label("clear").fill("6 inn")
    page.get_by_label("clear").press("Enter")
    page.wait_for_selector("#faults p")
    assert re.search(r"Line \d+: hole\[1\]\.clear", page.locator("#faults").inner_text())
    page.wait_for_selector("body[data-state='done']")
    assert page.locator("#routes .equivalent").is_visible()
    assert "last good answer" in page.locator("#progress").inner_text()
    page.get_by_role("button", name="Undo").click()
    answered(page, 2)
    assert page.locator("#faults p").count() == 0


def test_names_that_look_like_markup_stay_words(watched):
    page = watched.page
    page.get_by_role("button", name="room: utility").click()
    page.get_by_role("textbox", name="name").fill("<img src=x onerror=alert(1)>")
    page.get_by_role("textbox", name="name").press("Enter")
    answered(page, 2)
    assert page.locator("img").count() == 0
    assert tables(page)["hole"][0]["through"][0] == "<img src=x onerror=alert(1)>"


def test_what_is_being_typed_outlives_an_answer_that_comes_in(watched):
    page = watched.page
    page.get_by_role("button", name="hole: old flue, first floor").click()
    page.get_by_role("checkbox", name="ABS").check()
    page.get_by_label("clear").fill("5 i")  # not finished
    answered(page, 2)
    assert page.get_by_label("clear").input_value() == "5 i"
    assert page.evaluate("() => document.activeElement.dataset.path") == "hole.0.clear"


def test_after_a_change_the_keyboard_stays_where_it_was(watched):
    page = watched.page
    page.get_by_role("button", name="hole: old flue, first floor").click()
    page.get_by_label("clear").fill("5 in")
    page.get_by_label("clear").press("Enter")
    answered(page, 2)
    assert page.evaluate("() => document.activeElement.dataset.path") == "hole.0.clear"


def test_the_page_is_soon_usable(started, address):
    page = started.new_context().new_page()
    began = time.perf_counter()
    page.goto(address)
    page.wait_for_selector("body[data-answers='1']", timeout=30_000)
    assert time.perf_counter() - began < 20.0  # 2 s on a quiet machine


def test_the_accessibility_scan_finds_nothing_serious(started, address):
    page = started.new_context(bypass_csp=True, viewport={"width": 1500, "height": 950}).new_page()
    page.goto(address)
    page.wait_for_selector("body[data-answers='1']", timeout=30_000)
    page.get_by_role("button", name="room: utility").click()
    assert serious(page) == []
