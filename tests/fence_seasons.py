"""The tiny county with a planted place of death and searches of one road: for tests of fence plans."""

CROWDED_EAST = 0.030
"""Degrees east of the crossroads of the planted place, about 2.8 km."""


def plant(county, crossing, *, n_spread=30, n_crowded=16, searches=True):
    """Deaths spread over the east road and crowded at one place, found on searches of that road alone."""
    found = {"search_id": "s1"} if searches else {}
    spread = [
        crossing(
            0.0025 * (k - n_spread // 2),
            record_id=f"s{k}",
            observed_at=f"2025-{4 + k // 28:02d}-{1 + k % 28:02d}",
            **found,
        )
        for k in range(n_spread)
    ]
    crowded = [
        crossing(
            CROWDED_EAST + 0.0002 * k,
            record_id=f"h{k}",
            observed_at=f"2025-0{3 + k // 6}-{1 + 4 * (k % 6):02d}",
            observer="AB"[k % 2],
            **found,
        )
        for k in range(n_crowded)
    ]
    if searches:
        search = {"search_id": "s1", "started_at": "2025-05-01", "method": "foot", "roads": "Invented East Road"}
        assert county.ingest("s.csv", [search]).exit_code == 0
    rows = [*spread, *crowded]
    assert county.ingest("c.csv", rows).exit_code in {0, 3}
    return county


def add_layer(county, name, kind, *features):
    import json

    path = county.write(name, json.dumps({"type": "FeatureCollection", "features": list(features)}))
    result = county.run("layer", county.season, path, "--as", kind)
    assert result.exit_code == 0, result.output


def point(longitude, latitude):
    return {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": [longitude, latitude]}}


def span(*points):
    return {
        "type": "Feature",
        "properties": {},
        "geometry": {"type": "LineString", "coordinates": [list(p) for p in points]},
    }
