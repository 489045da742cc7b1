"""A real browser for the tests, with the network watched."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
)
QUIET = [
    "--no-sandbox", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
SOFT_3D = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist"]

needs_browser = pytest.mark.skipif(
    CHROMIUM is None and not os.environ.get("CI"),
    reason="no chromium here (apt-get install chromium); in CI this is a failure",
)


@contextmanager
def browser(*, soft_3d: bool = True) -> Iterator:
    from playwright.sync_api import sync_playwright

    flags = [*QUIET, *(SOFT_3D if soft_3d else ["--disable-3d-apis"])]
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=CHROMIUM, args=flags)
        try:
            yield started
        finally:
            started.close()


class Watched:
    """A page that remembers what went wrong and what it asked for."""

    def __init__(self, context, allowed: tuple[str, ...]) -> None:
        self.page, self.problems, self.asked = context.new_page(), [], []
        self.page.on("pageerror", lambda error: self.problems.append(str(error)))
        self.page.on("console", lambda said: self.problems.append(said.text) if said.type == "error" else None)
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.allowed = allowed

    def check(self) -> None:
        """No error on the console, and no request beyond what is allowed."""
        assert self.problems == []
        assert [url for url in self.asked if not url.startswith(self.allowed)] == []


def axe_source() -> str:
    """The accessibility scanner's code, fetched once by npm as the lock file pins it; never part of the package."""
    kept = Path(tempfile.gettempdir()) / "ventroute-axe"
    code = kept / "node_modules" / "axe-core" / "axe.min.js"
    if not code.is_file():
        npm = shutil.which("npm")
        if npm is None:
            if os.environ.get("CI"):
                pytest.fail("npm is needed for the accessibility scan")
            pytest.skip("no npm here: the accessibility scanner cannot be fetched")
        kept.mkdir(exist_ok=True)
        source = Path(__file__).parents[2] / "viewer" / "src"
        for name in ("package.json", "package-lock.json", ".npmrc"):
            shutil.copy(source / name, kept)
        subprocess.run([npm, "ci", "--ignore-scripts", "--silent"], cwd=kept, check=True, timeout=300)
    return code.read_text("utf-8")


def serious(context_page) -> list[str]:
    """Serious and critical findings of the accessibility scan, one line each."""
    context_page.evaluate(axe_source())
    found = context_page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{row['id']}: {row['help']}: {node['html'][:200]} {node.get('failureSummary', '')[:300]}"
        for row in found["violations"]
        if row["impact"] in ("serious", "critical")
        for node in row["nodes"]
    ]
