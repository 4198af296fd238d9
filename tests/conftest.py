"""Fixtures for every room: rows of the tiny invented county, and a season made of it."""

import pytest
from tiny_county import CENTRE, County, road_layer, road_line


@pytest.fixture
def crossing():
    """Make a crossing on the east-west road of the tiny county, with any column changed."""

    def make(east: float = 0.01, **changes) -> dict:
        row = {
            "record_id": f"c{east:.6f}",
            "observed_at": "2025-05-12",
            "longitude": CENTRE[0] + east,
            "latitude": CENTRE[1],
            "taxon": "slider",
            "condition": "dead",
            "position_error_m": 10,
            "observer": "A",
        }
        return row | changes

    return make


@pytest.fixture
def nest():
    """Make a nest beside the tiny county's crossroads, with any column changed."""

    def make(**changes) -> dict:
        row = {
            "nest_id": "n1",
            "found_at": "2025-06-01",
            "laid_on": "2025-06-01",
            "longitude": CENTRE[0] + 0.001,
            "latitude": CENTRE[1] + 0.001,
            "taxon": "Trachemys scripta",
            "id_confidence": "0.95",
            "exposure": "partial",
        }
        return row | changes

    return make


@pytest.fixture
def folder(tmp_path) -> County:
    """An empty folder, no season yet."""
    return County(tmp_path)


@pytest.fixture
def county(folder) -> County:
    """A season with two invented roads that cross: 9.5 km east-west and 11 km north-south."""
    roads = road_layer(
        road_line("Invented East Road", (-0.05, 0), (0, 0), (0.05, 0), speed_limit=45),
        road_line("Invented North Road", (0, -0.05), (0, 0), (0, 0.05)),
    )
    result = folder.run(
        "new",
        folder.season,
        "--roads",
        folder.write("roads.geojson", roads),
        "--timezone",
        "America/New_York",
        "--region",
        "SC_GA_coastal_plain",
    )
    assert result.exit_code == 0, result.output
    return folder
