"""Rows of the tiny invented county with a fence: searches in four years, deaths before and after. All invented."""

import json

from tiny_county import CENTRE, County

FENCE_EAST = (0.012, 0.018)
"""Degrees east of the crossroads between which the invented fence runs along the east road, about 570 m."""
BUILT_ON = "2024-03-01"
YEARS = (2022, 2023, 2024, 2025)
SEARCHES = 6
"""Searches of both roads in each year, one a week from 5 May."""


def search_rows() -> list[dict]:
    return [
        {
            "search_id": f"S{year}-{week}",
            "started_at": f"{year}-05-{5 + 4 * week:02d}T07:00:00-04:00",
            "ended_at": f"{year}-05-{5 + 4 * week:02d}T09:00:00-04:00",
            "observer": "A",
            "method": "bicycle",
            "sides": 2,
            "roads": "Invented East Road;Invented North Road",
            "distance_km": 20.5,
        }
        for year in YEARS
        for week in range(SEARCHES)
    ]


def death(year: int, number: int, east: float, *, found_on_search: bool = True) -> dict:
    week = number % SEARCHES
    return {
        "record_id": f"D{year}-{number}-{east:.4f}",
        "observed_at": f"{year}-05-{5 + 4 * week:02d}T08:{number % 60:02d}:00-04:00",
        "longitude": CENTRE[0] + east,
        "latitude": CENTRE[1],
        "taxon": "slider",
        "condition": "dead",
        "position_error_m": 5,
        "observer": "AB"[number % 2],
        "search_id": f"S{year}-{week}" if found_on_search else "",
    }


def death_rows(inside: dict[int, int], elsewhere: int = 8) -> list[dict]:
    """Deaths by year on the fenced road, 60 m from each other, and elsewhere on it, 400 m from each other."""
    own = [
        death(year, k, FENCE_EAST[0] + 0.0005 + 0.00063 * (k % 9))
        for year, count in inside.items()
        for k in range(count)
    ]
    return own + [death(year, k, -0.04 + 0.0043 * k) for year in YEARS for k in range(elsewhere)]


def fence_layer(**changes) -> str:
    properties = {"measure_id": "F1", "kind": "fence", "built_on": BUILT_ON, "sides": 2, "notes": "invented"} | changes
    line = [[CENTRE[0] + east, CENTRE[1] + 0.00005] for east in FENCE_EAST]
    feature = {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": "LineString", "coordinates": line},
    }
    return json.dumps({"type": "FeatureCollection", "features": [feature]})


def add_measures(county: County, text: str) -> None:
    result = county.run("layer", county.season, county.write("fence.geojson", text), "--as", "measures")
    assert result.exit_code == 0, result.output


def fill(county: County, *, inside: dict[int, int], elsewhere: int = 8) -> County:
    """Give the county its searches, deaths and fence."""
    for name, rows in (("searches.csv", search_rows()), ("crossings.csv", death_rows(inside, elsewhere))):
        result = county.ingest(name, rows)
        assert result.exit_code == 0, result.output
    add_measures(county, fence_layer())
    return county
