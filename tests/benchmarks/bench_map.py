"""
How large and how fast the map page is, for growing numbers of records.

Run by hand: ``python tests/benchmarks/bench_map.py``. Writes ``results_map.md`` beside itself: seconds to write, bytes,
and in Chromium the time until the controls answer, until a filter or a step of zoom has been drawn, and the memory.
"""

# ruff: noqa: T201  # a benchmark talks to its reader

from __future__ import annotations

import datetime as dt
import importlib.util
import os
import shutil
import tempfile
import time
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from roadwatch.render.offline_figure import FIRST_SCRIPT, SCRIPTS
from roadwatch.render.page import season_map
from roadwatch.render.vendored import leaflet_script, leaflet_style, own_text

if TYPE_CHECKING:
    from types import ModuleType

    from roadwatch.render.content import MapContent

SEED = 7
RESULTS = Path(__file__).with_name("results_map.md")
DRAWN = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))"
READY = "document.getElementById('shown').textContent && document.querySelector('canvas.records').width > 300"
CHOOSE = """([id, value]) => new Promise(done => {
  const control = document.getElementById(id), start = performance.now();
  control.value = value;
  control.dispatchEvent(new Event(control.type === 'range' ? 'input' : 'change'));
  const told = () => done(performance.now() - start);
  requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(told)));
})"""
ZOOM = """new Promise(done => {
  const start = performance.now();
  const after = step => () => requestAnimationFrame(step);
  map_season.once('zoomend', after(after(() => done(performance.now() - start))));
  map_season.setZoom(map_season.getZoom() + 1, { animate: false });
})"""
CHOICES = (
    ("choose-condition", "2"),
    ("choose-taxon", "Trachemys scripta"),
    ("choose-from", "130"),
    ("choose-condition", ""),
)


@dataclass(frozen=True)
class Opened:
    """Milliseconds, and megabytes of the page's memory before and after its rubbish is collected."""

    open_ms: float
    filter_ms: float
    zoom_ms: float
    heap_mb: float
    kept_mb: float


def invented_season() -> ModuleType:
    """The factories of the tests of pages."""
    place = Path(__file__).parents[1] / "render" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_season", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def scattered(content: MapContent) -> MapContent:
    """The same records over the whole county instead of along one road, each with a random UUID for its name."""
    rng = np.random.default_rng(SEED)
    table = content.places.crossings
    west, south, east, north = content.roads.total_bounds
    where = (rng.uniform(west, east, len(table)), rng.uniform(south, north, len(table)))
    table["geometry"] = type(table.geometry).from_xy(*where, crs="EPSG:4326").to_numpy()
    table["record_id"] = [str(uuid.UUID(bytes=rng.bytes(16), version=4)) for _ in range(len(table))]
    return content


def in_browser(page_text: str, chromium: str) -> Opened:
    """Open a page, move its filters and its scale, and ask for its memory."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.html"
        path.write_text(page_text, encoding="utf-8")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1280, "height": 800}, bypass_csp=True)  # to be able to ask it
        start = time.perf_counter()
        page.goto(path.as_uri())
        page.wait_for_function(READY)
        page.evaluate(DRAWN)
        opened = (time.perf_counter() - start) * 1000
        filtered = max(float(page.evaluate(CHOOSE, list(choice))) for choice in CHOICES)
        zoomed = float(page.evaluate(ZOOM))
        session = page.context.new_cdp_session(page)
        heap = heap_mb(session)
        session.send("HeapProfiler.collectGarbage")
        seen = Opened(opened, filtered, zoomed, heap, heap_mb(session))
        browser.close()
    return seen


def heap_mb(session: Any) -> float:
    """Megabytes that the page's code holds, by the browser's own count."""
    session.send("Performance.enable")
    counts = {one["name"]: one["value"] for one in session.send("Performance.getMetrics")["metrics"]}
    return float(counts["JSHeapUsedSize"]) / 1e6


def libraries_bytes() -> int:
    """Bytes of every page that are code and style, whatever it shows."""
    own = [own_text(name) for name in (FIRST_SCRIPT, *SCRIPTS, "page.css", "map_controls.css")]
    return sum(len(text.encode()) for text in (leaflet_script(), leaflet_style(), *own))


def line(name: str, content: MapContent, chromium: str | None) -> str:
    """Write one page, open it, and tell of it in one row of a table."""
    wall, processor = time.perf_counter(), time.process_time()
    page_text = season_map(content)
    wall, processor = time.perf_counter() - wall, time.process_time() - processor
    size = len(page_text.encode())
    nan = float("nan")
    seen = in_browser(page_text, chromium) if chromium else Opened(nan, nan, nan, nan, nan)
    return (
        f"| {name} | {processor:.2f} | {wall:.2f} | {size / 1e6:.2f} | {(size - libraries_bytes()) / 1e3:,.0f} | "
        f"{seen.open_ms:,.0f} | {seen.filter_ms:.0f} | {seen.zoom_ms:.0f} | {seen.heap_mb:.1f} | {seen.kept_mb:.1f} |"
    )


def main() -> None:
    """Write the table, one line a page, and print it."""
    make = invented_season().content_factory()
    chromium = os.environ.get("ROADWATCH_CHROMIUM") or shutil.which("chromium")
    rows = [line(f"{n:,}", make("team", n=n), chromium) for n in (1_000, 10_000, 100_000)]
    rows.append(line("100,000 scattered, each named by a UUID", scattered(make("team", n=100_000)), chromium))
    day = dt.datetime.now(tz=dt.UTC).strftime("%d %B %Y")
    text = HEAD.format(day=day, load=os.getloadavg()[0]) + "\n".join(rows) + "\n" + FOOT
    RESULTS.write_text(text, encoding="utf-8")
    print(text)


HEAD = """# The season's map: size, time and memory

Written by `bench_map.py`; invented records (seed 7), a card each; Chromium headless at 1280 by 800; 2 cores, 24 GiB, other programs at work (load {load:.1f}); {day}.

Asked: 1,000 records under 400 KB beyond the inlined libraries; 100,000 records under 6 MB, written in under 2 s, interactive in under 2 s, a filter drawn in under 200 ms, memory under 100 MB.

| records | write, processor s | write, wall s | MB | KB beyond libraries | open ms | slowest filter ms | zoom ms | heap MB | heap kept MB |
|---|---|---|---|---|---|---|---|---|---|
"""  # noqa: E501  # a table in Markdown
FOOT = """
Open: until the controls answer and the first picture is drawn. Filter: the slowest of four (condition, taxon, first day, condition taken back), until drawn. Heap: JSHeapUsedSize by the browser's own count, before and after its rubbish is collected.
"""  # noqa: E501

if __name__ == "__main__":
    main()
