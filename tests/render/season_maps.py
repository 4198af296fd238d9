"""Maps of the invented season with everything on them: answers with curves, and saved results."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import shapely

from roadwatch.hotspots.road_curve import RoadCurve
from roadwatch.share.map_parts import DrawnResult, HotspotAnswer

if TYPE_CHECKING:
    from collections.abc import Callable

    from roadwatch.render.content import MapContent
    from roadwatch.share.masking import Audience

NOT_ENOUGH = "12 records: not enough for an answer"


def invented_curve(from_m: float, to_m: float, road: str = "County Road 12") -> RoadCurve:
    """A bell over a level of 3; the first ten stretches were never searched."""
    road_m = np.arange(from_m - 1500, to_m + 1500, 50.0)
    expected = np.where(np.arange(len(road_m)) < 10, np.nan, 3.0)
    return RoadCurve(
        road=road,
        road_part=0,
        road_m=road_m,
        density=20 * np.exp(-(((road_m - (from_m + to_m) / 2) / 300) ** 2)) + 1,
        expected=expected,
        band_low=expected * 0.3,
        band_high=expected * 2.2,
        from_m=from_m,
        to_m=to_m,
        half_width_m=300.0,
        n_draws=199,
    )


def saved_fences(content: MapContent, text: str = "") -> DrawnResult:
    road = content.roads.geometry.iloc[0]
    lines = [shapely.ops.substring(road, *span, normalized=True) for span in ((0.31, 0.37), (0.66, 0.74))]
    table = gpd.GeoDataFrame(
        {"run": [1, 2], "road" + text: ["County Road 12" + text] * 2, "averted_per_year": [3.5, 2.7]},
        geometry=lines,
        crs="EPSG:4326",
    )
    return DrawnResult(kind="fence runs", table=table, source=f"fences{text}.csv", notes=("A plan, no permit." + text,))


def saved_signs(text: str = "") -> DrawnResult:
    table = gpd.GeoDataFrame(
        {"sign": ["A" + text, "B" + text], "why": ["before the dip", None]},
        geometry=[shapely.Point(-82.38, 29.64), shapely.Point(-82.2, 29.66)],
        crs="EPSG:4326",
    )
    return DrawnResult(kind="signs", table=table, source=f"signs{text}.geojson", notes=())


def saved_rounds(content: MapContent, text: str = "") -> DrawnResult:
    """Nests 0, 3 and 2 in this order on one day, nest 4 on the next; the file holds the second stop first."""
    nests = content.places.nests.geometry
    table = gpd.GeoDataFrame(
        {
            "date": ["2025-08-04", "2025-08-04", "2025-08-04", "2025-08-05"],
            "observer": ["A. Warden" + text] * 4,
            "nest_id": ["N3", "N0", "N2", "N4"],
            "order": [2, 1, 3, 1],
        },
        geometry=[nests.iloc[row] for row in (3, 0, 2, 4)],
        crs="EPSG:4326",
    )
    return DrawnResult(kind="rounds", table=table, source=f"rounds_team_only{text}.csv", notes=())


def answers_of(make: Callable[..., MapContent], content: MapContent, audience: Audience) -> tuple[HotspotAnswer, ...]:
    """All records; 2025 with one hotspot; one taxon with none found; the same in 2025 without an answer."""
    table = content.hotspots.table
    curves = tuple(invented_curve(row.from_m, row.to_m) for row in table.itertuples())
    one, none = (make(audience, n_hotspots=n).hotspots for n in (1, 0))
    return (
        HotspotAnswer(year=None, taxon=None, shown=content.hotspots, curves=curves, note=""),
        HotspotAnswer(year="2025", taxon=None, shown=one, curves=(None,) * len(one.table), note=""),
        HotspotAnswer(year=None, taxon="Trachemys scripta", shown=none, curves=(), note=""),
        HotspotAnswer(year="2025", taxon="Trachemys scripta", shown=none, curves=(), note=NOT_ENOUGH),
    )


def full_map(
    make: Callable[..., MapContent], audience: Audience = "team", *, text: str = "", n: int = 120, **changes: Any
) -> Any:
    """Content with answers and saved results; ``make`` is the fixture ``season``."""
    content = make(audience, text=text, n=n)
    drawn = [saved_fences(content, text), saved_signs(text)]
    if audience == "team":
        drawn.append(saved_rounds(content, text))
    parts = {"hotspots": content.hotspots, "answers": answers_of(make, content, audience), "drawn": tuple(drawn)}
    return make(audience, text=text, n=n, **{**parts, **changes})
