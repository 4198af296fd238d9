"""An invented season of a small county, for the tests of pages: nothing in it was ever observed."""

from __future__ import annotations

import os
import shutil
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from roadwatch.render.content import MapContent
from roadwatch.share.hotspot_view import show_hotspots
from roadwatch.share.masking import Audience, must_mask, show_places

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

SENSITIVE = {"Terrapene carolina"}
KNOWN = {"Trachemys scripta", "Pseudemys nelsoni", "Chelydra serpentina", "Terrapene carolina"}
WEST, SOUTH = -82.5, 29.5


def invented_roads(prefix: str = "") -> gpd.GeoDataFrame:
    east = np.linspace(WEST, WEST + 0.4, 60)
    wave = SOUTH + 0.15 + 0.01 * np.sin(np.linspace(0, 9, 60))
    lines = [
        shapely.LineString(np.column_stack([east, wave])),
        shapely.LineString([(WEST + 0.1, SOUTH), (WEST + 0.13, SOUTH + 0.15), (WEST + 0.12, SOUTH + 0.3)]),
        shapely.LineString([(WEST + 0.3, SOUTH + 0.02), (WEST + 0.28, SOUTH + 0.28)]),
    ]
    names = [prefix + name for name in ("County Road 12", "Heron Lane", "State Road 5")]
    return gpd.GeoDataFrame({"road": names}, geometry=lines, crs="EPSG:4326")


def invented_crossings(n: int = 120, text: str = "", seed: int = 7) -> pd.DataFrame:
    """Crossings along County Road 12, thickest at a third and two thirds of its length."""
    rng = np.random.default_rng(seed)
    along = np.clip(np.concatenate([rng.normal(0.34, 0.01, n // 3), rng.normal(0.7, 0.02, n // 3),
                                    rng.random(n - 2 * (n // 3))]), 0, 1)  # fmt: skip
    road = invented_roads().geometry.iloc[0]
    places = shapely.get_coordinates(shapely.line_interpolate_point(road, along, normalized=True))
    days = pd.to_datetime("2025-04-10") + pd.to_timedelta(rng.integers(0, 120, n), unit="D")
    taxa = rng.choice(sorted(KNOWN), n, p=[0.2, 0.3, 0.05, 0.45])
    return pd.DataFrame(
        {
            "record_id": [f"R{number:05d}{text}" for number in range(n)],
            "observed_at": [f"{day:%Y-%m-%d}T07:{number % 60:02d}:00-04:00" for number, day in enumerate(days)],
            "longitude": places[:, 0],
            "latitude": places[:, 1],
            "position_error_m": 10.0,
            "taxon": [name + text for name in taxa],
            "id_confidence": rng.choice([0.95, 0.8, 0.5], n),
            "count": 1.0,
            "condition": rng.choice(["alive", "injured", "dead", "unknown"], n, p=[0.2, 0.1, 0.6, 0.1]),
            "observer": ["A. Warden" + text] * n,
            "photo": [None] * n,
            "notes": [f"shell on the shoulder{text}" if number % 4 == 0 else None for number in range(n)],
        }
    )


def invented_nests(text: str = "") -> pd.DataFrame:
    return pd.DataFrame(
        {
            "nest_id": [f"N{number}{text}" for number in range(6)],
            "found_at": "2025-05-12",
            "longitude": WEST + 0.13 + 0.006 * np.arange(6),
            "latitude": SOUTH + 0.163 + 0.004 * np.arange(6),
            "taxon": ["Trachemys scripta" + text] * 6,
            "id_confidence": 0.8,
            "laid_from": "2025-05-10",
            "laid_to": "2025-05-12",
            "observer": "B. Keeper" + text,
            "notes": ["near the culvert" + text] * 6,
        }
    )


def invented_windows(text: str = "") -> pd.DataFrame:
    return pd.DataFrame(
        {
            "nest_id": [f"N{number}{text}" for number in range(5)],
            "hatch_early": ["2025-07-20", "2025-08-01", "2025-08-03", "2025-06-20", "2025-08-10"],
            "hatch_likely": ["2025-07-28", "2025-08-09", "2025-08-11", "2025-06-27", "2025-08-19"],
            "hatch_late": ["2025-08-06", "2025-08-20", "2025-08-22", "2025-07-04", "2025-09-02"],
            "p_hatched": [0.55, 0.12, 0.1, 0.97, 0.03],
            "basis": "station_offset",
            "sureness": ["medium", "medium", "low", "medium", "low"],
            "note": [None, None, "four days of weather are missing" + text, None, None],
        }
    )


def invented_hotspots(prefix: str = "") -> gpd.GeoDataFrame:
    road = invented_roads().geometry.iloc[0]
    spans = [(0.32, 0.36), (0.67, 0.73), (0.1, 0.13)]
    lines = [shapely.ops.substring(road, start, end, normalized=True) for start, end in spans]
    return gpd.GeoDataFrame(
        {
            "rank": [1, 2, 3],
            "road": [prefix + "County Road 12"] * 3,
            "from_m": [12540.0, 26100.0, 3900.0],
            "to_m": [14080.0, 28430.0, 5070.0],
            "length_m": [1540.0, 2330.0, 1170.0],
            "deaths": [24.3, 21.0, 1.0],
            "expected": [3.1, 4.4, 0.6],
            "ratio": [7.6, 4.6, 1.7],
            "ratio_low": [4.9, 2.9, 0.4],
            "ratio_high": [11.2, 6.9, 4.1],
            "p_value": [0.001, 0.002, 0.049],
            "basis": ["search", "search", "unknown"],
            "years_present": [3, 2, 1],
            "years_searched": [3.0, 3.0, np.nan],
            "share_of_deaths": [0.33, 0.29, 0.01],
            "route_id": ["CR 12", None, None],
            "milepost_from": [7.791, np.nan, np.nan],
            "milepost_to": [8.748, np.nan, np.nan],
            "agency": ["County", None, None],
        },
        geometry=lines,
        crs="EPSG:4326",
    )


def named_areas(names: list[str], shapes: list[shapely.Geometry]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame({"name": names}, geometry=shapes, crs="EPSG:4326")


def content_factory() -> Callable[..., MapContent]:
    """Content of a map; ``text`` is hung on every text a stranger could have written."""

    def make(
        audience: Audience = "team", *, text: str = "", n: int = 120, n_hotspots: int = 3, **changes: Any
    ) -> MapContent:
        crossings = invented_crossings(n, text)
        known = {name + text for name in KNOWN} | KNOWN
        pond = shapely.Point(WEST + 0.16, SOUTH + 0.17).buffer(0.012)
        creek = shapely.LineString([(WEST + 0.02, SOUTH + 0.28), (WEST + 0.16, SOUTH + 0.17), (WEST + 0.36, SOUTH)])
        fence = shapely.LineString([(WEST + 0.268, SOUTH + 0.152), (WEST + 0.29, SOUTH + 0.146)])
        parts: dict[str, Any] = {
            "title": f"Invented county, season 2025{text}",
            "subtitle": f"120 crossings and 6 nests, invented for a test{text}",
            "places": show_places(
                crossings,
                invented_nests(text),
                invented_windows(text),
                audience=audience,
                today=date(2025, 8, 4),
                sensitive=SENSITIVE,
                known=known,
            ),
            "hotspots": show_hotspots(
                invented_hotspots(text).iloc[:n_hotspots],
                crossings[~must_mask(crossings, sensitive=SENSITIVE, known=known) | (audience == "team")],
                audience=audience,
                sensitive=SENSITIVE,
                known=known,
            ),
            "roads": invented_roads(text),
            "water": named_areas([f"Mill Pond{text}", f"Otter Creek{text}"], [pond, creek]),
            "protected": named_areas([f"Heron Preserve{text}"], [shapely.box(-82.48, 29.7, -82.36, 29.78)]),
            "measures": gpd.GeoDataFrame(
                {"kind": ["fence", "sign"], "built_on": ["2024-11-02", "2025-03-01"], "sides": [2.0, np.nan]},
                geometry=[fence, shapely.Point(WEST + 0.2, SOUTH + 0.152)],
                crs="EPSG:4326",
            ),
            "notes": (f"Search effort is unknown for Heron Lane; its dead are counts, not rates.{text}", "Seed 1."),
        }
        return MapContent(audience=audience, **{**parts, **changes})

    return make


@pytest.fixture
def season() -> Callable[..., MapContent]:
    """Makes the content of a map of the invented season."""
    return content_factory()


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Debian's browser; where tests must be complete (CI is set) its absence is a failure."""
    path = os.environ.get("ROADWATCH_CHROMIUM") or shutil.which("chromium")
    if path is None and os.environ.get("CI"):
        pytest.fail("no chromium found: install it or set ROADWATCH_CHROMIUM; in CI the pages must be opened")
    if path is None:
        pytest.skip("no chromium found: install it or set ROADWATCH_CHROMIUM to open the pages in a browser")
    return path


@pytest.fixture(scope="session")
def browser(chromium_path: str) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium_path, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser: Any, tmp_path: Path) -> Callable[..., Any]:
    """Opens a map page; at the end it must have asked for nothing and complained of nothing."""
    from render.map_pages import opened_map

    return partial(opened_map, browser, tmp_path / "map.html")
