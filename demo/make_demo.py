"""
Make the invented county and its four invented seasons, the same bytes every time.

Run ``python demo/make_demo.py`` to write ``layers/`` and ``demo/`` again, or give another folder to write both there.
"""

from __future__ import annotations

import sys
from pathlib import Path

from make_animals import make_reports
from make_county import write_layer
from make_nests import EXPOSURE_C, TRUE_WARMER_C, make_nests, write_checks, write_nests
from make_readme import write_readme
from make_records import write_crossings
from make_road_layer import road_features
from make_roads import make_roads
from make_search_files import write_searches, write_tracks
from make_seasons import make_meetings, make_searches
from make_team import measure_features, write_people
from make_water import make_creeks, make_ponds, protected_features, water_features
from make_weather import LOGGER_NEST, make_weather, write_logger, write_station


def make_demo(folder: Path) -> None:
    """Write every file of the demo below a folder that will hold ``demo`` and ``layers``."""
    demo, layers = folder / "demo", folder / "layers"
    for place in (demo, layers):
        place.mkdir(parents=True, exist_ok=True)
    roads, hotspots = make_roads()
    creeks, ponds = make_creeks(), make_ponds(roads, hotspots)
    write_layer(layers / "roads.geojson", road_features(roads))
    write_layer(layers / "water.geojson", water_features(creeks, ponds))
    write_layer(layers / "protected.geojson", protected_features(ponds))

    searches = make_searches(roads)
    meetings = make_meetings(roads, hotspots, searches)
    reports = make_reports(meetings, roads)
    planted = write_crossings(demo, reports)
    write_searches(demo, searches, meetings)
    write_tracks(demo, roads, hotspots, searches)

    weather = make_weather()
    write_station(demo / "station.dly", *weather)
    nests = make_nests(roads, creeks, ponds, weather)
    with_logger = next(nest for nest in nests if nest.nest_id == LOGGER_NEST)
    warmer_c = TRUE_WARMER_C + EXPOSURE_C[with_logger.exposure]
    write_logger(demo / "logger_L07.csv", *weather, first_day=with_logger.found, warmer_c=warmer_c)
    faults = planted.faults + write_nests(demo, nests) + write_checks(demo, nests)
    write_people(demo)
    write_layer(demo / "measures.geojson", measure_features(roads, hotspots))
    write_readme(demo, hotspots, planted, faults)


if __name__ == "__main__":
    make_demo(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[1])
