"""How fast a scene of a thousand parts is drawn by a browser without a graphics card, and what it weighs.

Run: python tests/bench/bench_scene.py [parts ...]

On two busy cores a few parts turn at 30 frames a second and a thousand (150 000 triangles) at 13. The limit is the
software renderer's work on corners, not the picture's size: that is drawn less sharp while the view turns.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parents[1]

# frames drawn to the end in three seconds, while the view turns; where slow, the picture is drawn less sharp meanwhile
TURN = """() => new Promise((done) => {
  const view = ventroute, began = performance.now(); let n = 0;
  const step = () => {
    view.camera.position.x += 0.02; view.controls.update(); view.drawNow();
    view.renderer.getContext().finish(); n += 1;
    const seconds = (performance.now() - began) / 1000;
    if (seconds < 3) requestAnimationFrame(step); else
      done({fps: n / seconds, coarse: view.coarse, info: view.renderer.info.render});
  };
  requestAnimationFrame(step);
})"""


HEADS = "{:>6} {:>10} {:>8} {:>6} {:>10} {:>7} {:>9} {:>6} {:>9}"
ROW = "{:>6} {:>10} {:>8.2f} {:>6.2f} {:>10.2f} {:>7.2f} {:>9.1f} {:>6} {:>9.2f}"
NAMES = ("parts", "triangles", "scene s", "GLB s", "report MB", "open s", "frames/s", "calls", "sharpness")


def main() -> None:
    """Print one row a size of scene."""
    sys.path[:0] = [str(HERE / "viewer"), str(HERE.parent)]
    print(HEADS.format(*NAMES))
    for count in [int(text) for text in sys.argv[1:]] or [10, 100, 1000]:
        print(ROW.format(*measured(count)))


def measured(count: int) -> tuple[float, ...]:
    """One row: what `NAMES` says."""
    import sample
    from ventroute.viewer.glb import glb
    from ventroute.viewer.report import report_html
    from ventroute.viewer.scene import scene

    from ventroute.layout.building import build

    site, plan = sample.site(), sample.many_parts(count)
    began = time.perf_counter()
    seen = scene(site, build(site), plan, sample.zones())
    made = time.perf_counter()
    glb(seen)
    packed = time.perf_counter()
    html = report_html(plan, site, seen, {}, ())
    opened, turned = turning(html)
    triangles = sum(len(shape.triangles) for shape in seen.shapes)
    drawn = (turned["fps"], turned["info"]["calls"], turned["coarse"])
    return count, triangles, made - began, packed - made, len(html) / 1e6, opened, *drawn


def turning(html: bytes) -> tuple[float, dict]:
    """Seconds until the scene is drawn, and what turning it came to."""
    from browser import browser

    with tempfile.TemporaryDirectory() as folder, browser() as started:
        path = Path(folder) / "report.html"
        path.write_bytes(html)
        page = started.new_page(viewport={"width": 1280, "height": 800})
        began = time.perf_counter()
        page.goto(path.as_uri())
        page.wait_for_selector("body[data-ready='3d']", timeout=60_000)
        return time.perf_counter() - began, page.evaluate(TURN)


if __name__ == "__main__":
    main()
