"""Pictures where the machine can draw; one line and no crash where it cannot."""

import io
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
import sample
from PIL import Image
from ventroute.viewer import paint, probe
from ventroute.viewer.palette import LOOKS
from ventroute.viewer.scene import scene
from ventroute.viewer.shape import Shape

from ventroute.layout.building import build

can_draw = pytest.mark.skipif(bool(probe.why_not()), reason=probe.why_not() or "can draw")


@pytest.fixture(scope="module")
def seen():
    site = sample.site()
    return scene(site, build(site), sample.plan(), sample.zones())


@can_draw
def test_a_picture_has_its_size_and_shows_the_pipe(seen):
    data = paint.picture(seen, size=(640, 480))
    pixels = np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)
    assert pixels.shape == (480, 640, 3)
    assert pixels.reshape(-1, 3).std(axis=0).min() > 5
    blue = (pixels[:, :, 2] - pixels[:, :, 0] > 80).sum()
    assert blue > 100, LOOKS["pipe"]


@can_draw
def test_another_route_is_another_picture(seen):
    assert paint.picture(seen, (320, 240), "south", "1") != paint.picture(seen, (320, 240), "south", "2")


def test_where_nothing_can_draw_there_is_one_line_and_no_picture(seen, monkeypatch):
    monkeypatch.setattr(probe, "_try", lambda window: "")
    probe.backend.cache_clear()
    try:
        assert probe.backend() is None
        assert "OpenGL" in probe.why_not()
        assert "\n" not in probe.why_not()
        assert paint.picture(seen) is None
        assert probe.no_screen() == probe.why_not()
    finally:
        probe.backend.cache_clear()


def test_without_a_screen_a_window_is_refused_in_one_line(monkeypatch):
    monkeypatch.setattr(probe, "why_not", lambda: "")
    monkeypatch.setattr(probe.sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    assert "no screen" in probe.no_screen()
    assert "\n" not in probe.no_screen()
    monkeypatch.setenv("DISPLAY", ":0")
    assert probe.no_screen() == ""


def test_a_child_that_dies_is_no_and_not_a_crash(monkeypatch):
    monkeypatch.setattr(probe, "CODE", "import os; os.abort()")
    assert probe._try("any") == ""
    monkeypatch.setattr(probe, "CODE", "import time; time.sleep(60)")
    monkeypatch.setattr(probe, "PATIENCE_S", 0.2)
    assert probe._try("any") == ""


def test_without_the_extra_the_line_names_it(monkeypatch):
    monkeypatch.setattr(probe.importlib.util, "find_spec", lambda name: None)
    assert "ventroute[view]" in probe.why_not()


def test_asking_for_a_picture_never_ends_the_process_even_with_a_broken_opengl():
    code = (
        "import os, sys; sys.path.insert(0, sys.argv[1])\n"
        "from ventroute.viewer import probe, paint\n"
        "probe.OFF_SCREEN = ('noSuchWindow',)\n"
        "probe.CODE = 'import os; os.abort()'\n"
        "from ventroute.viewer.shape import Scene\n"
        "print(paint.picture(Scene('', ())))"
    )
    here = str(paint.__file__).rsplit("/viewer/", 1)[0]
    done = subprocess.run([sys.executable, "-c", code, here], capture_output=True, text=True)
    assert (done.returncode, done.stdout.strip()) == (0, "None")


def house_on_picture(seen, view):
    """Where the corners of walls, roof and pipe are on a picture of 400 by 300, (n, 2)."""
    plotter = paint._plotter(seen, "1", (400, 300), off_screen=True)
    paint._look(plotter, seen, view)
    plotter.show(auto_close=False)
    at = []
    for point in np.concatenate(
        [s.triangles.reshape(-1, 3) for s in seen.shapes if s.look in ("building", "roof", "pipe")]
    ):
        plotter.renderer.SetWorldPoint(*point, 1.0)
        plotter.renderer.WorldToDisplay()
        at.append(plotter.renderer.GetDisplayPoint()[:2])
    plotter.close()
    return np.array(at)


@can_draw
@pytest.mark.parametrize("view", ["corner", "top", "north"])
def test_the_house_is_all_on_the_picture_and_what_reaches_far_round_it_makes_it_no_smaller(seen, view):
    at = house_on_picture(seen, view)
    assert (at >= 0).all()
    assert (at <= (400, 300)).all()
    snow = Shape("zone_99", "snow", "wide_zone", "", 50.0 * np.array([[[-1, -1, 0], [1, -1, 0], [0, 1, 0.01]]]))
    wide = replace(seen, shapes=(*seen.shapes, snow))
    assert house_on_picture(wide, view) == pytest.approx(at, abs=0.5)
