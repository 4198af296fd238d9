"""
How large and how fast the map page is, for growing numbers of records.

Run by hand: ``python tests/benchmarks/bench_map.py``. Prints seconds to write, megabytes, and, where a browser is
found, milliseconds until the records are drawn and until they are drawn again after zooming.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import importlib.util
import os
import shutil
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from roadwatch.render.page import season_map

if TYPE_CHECKING:
    from types import ModuleType

READY = "document.querySelector('canvas.records') && document.querySelector('canvas.records').width > 300"
REDRAW = """new Promise(done => {
  const start = performance.now();
  const after = step => () => requestAnimationFrame(step);
  map_season.once('zoomend', after(after(() => done(performance.now() - start))));
  map_season.setZoom(map_season.getZoom() + 1, { animate: false });
})"""


def invented_season() -> ModuleType:
    """The factories of the tests of pages."""
    place = Path(__file__).parents[1] / "render" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_season", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def in_browser(page_text: str, chromium: str) -> tuple[float, float]:
    """Milliseconds to open the page, and to draw it again after one step of zoom."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.html"
        path.write_text(page_text, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 800}, bypass_csp=True)  # to be able to ask it
        start = time.perf_counter()
        page.goto(path.as_uri())
        page.wait_for_function(READY)
        opened = (time.perf_counter() - start) * 1000
        again = float(page.evaluate(REDRAW))
        browser.close()
    return opened, again


def main() -> None:
    """Print one line a size."""
    make = invented_season().content_factory()
    chromium = os.environ.get("ROADWATCH_CHROMIUM") or shutil.which("chromium")
    print("records  write s     MB  open ms  zoom ms")
    for n in (1_000, 10_000, 100_000):
        content = make("team", n=n)
        start = time.perf_counter()
        page_text = season_map(content)
        seconds = time.perf_counter() - start
        shown = in_browser(page_text, chromium) if chromium else (float("nan"), float("nan"))
        print(f"{n:7d} {seconds:8.2f} {len(page_text.encode()) / 1e6:6.2f} {shown[0]:8.0f} {shown[1]:8.0f}")


if __name__ == "__main__":
    main()
