"""Kilometres searched per stretch and year: small logs added up by hand. Unknown is never zero."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from roadwatch.roads.effort import search_effort
from roadwatch.roads.stretches import cut_stretches

BAD_TRACKS = [
    "POINT (-82.3 29.6)",
    "LINESTRING (",
    "along the road",
    "LINESTRING EMPTY",
    "LINESTRING (-82.3 29.6, -82.3 29.6)",
    "LINESTRING (-82.3 129.6, -82.3 130)",
    "LINESTRING (370000 3280000, 371000 3280000)",
    "LINESTRING (nan nan, -82.3 29.6)",
]


@pytest.fixture
def county(network):
    """Main Road of 1 km, Side Road of 400 m, and Far Road of 300 m apart from both."""
    lines = [[(-500, 0), (0, 0), (500, 0)], [(0, 0), (0, 400)], [(-500, 900), (-200, 900)]]
    return network(lines, road=["Main Road", "Side Road", "Far Road"], route_id=["SR 5", None, None])


@pytest.fixture
def search():
    """Make one row of a search log."""

    def make(**changes):
        blank = {
            "search_id": "s1",
            "started_at": "2025-05-12T07:40:00-04:00",
            "roads": None,
            "track": None,
            "distance_km": np.nan,
        }
        return {**blank, **changes}

    return make


def counted(county, *rows):
    """The effort, and kilometres by road and year."""
    stretches = cut_stretches(county)
    effort = search_effort(county, stretches, pd.DataFrame(list(rows)))
    road = county.edges["road"].to_numpy()[stretches.edge]
    by_road = {
        year: {name: float(km[road == name].sum()) for name in sorted(set(road))}
        for year, km in effort.km_by_year.items()
    }
    return effort, by_road


def test_each_road_named_counts_in_whole_and_once(county, search):
    effort, km = counted(county, search(roads="Main Road; Side Road"))
    assert km[2025] == {
        "Far Road": pytest.approx(np.nan, nan_ok=True),
        "Main Road": pytest.approx(1.0),
        "Side Road": pytest.approx(0.4),
    }
    assert effort.total_km == pytest.approx(1.4)
    assert effort.notes == ()


def test_a_stretch_no_search_went_to_is_unknown_in_every_year_and_one_searched_in_another_year_is_zero(county, search):
    effort, km = counted(
        county, search(roads="Main Road"), search(search_id="s2", started_at="2024-06-01", roads="Side Road")
    )
    assert list(km) == [2024, 2025]
    assert (km[2024]["Main Road"], km[2025]["Side Road"]) == (0.0, 0.0)
    assert np.isnan([km[2024]["Far Road"], km[2025]["Far Road"]]).all()
    assert effort.n_counted == 2


def test_repeated_searches_add_up(county, search):
    effort, km = counted(county, *[search(search_id=f"s{i}", roads="Side Road") for i in range(5)])
    assert km[2025]["Side Road"] == pytest.approx(2.0)
    assert effort.total_km == pytest.approx(2.0)


@pytest.mark.parametrize("written", ["main road", " MAIN  ROAD ;", "Main Road;main road", "sr 5"])
def test_names_are_found_without_regard_to_case_gaps_or_repeats_and_by_route_number(county, search, written):
    effort, km = counted(county, search(roads=written))
    assert km[2025]["Main Road"] == pytest.approx(1.0)
    assert effort.unmatched == ()


def test_a_road_called_so_goes_before_a_route_numbered_so(network, search):
    built = network([[(0, 0), (500, 0)], [(0, 90), (200, 90)]], road=["Main Road", "SR 5"], route_id=["SR 5", None])
    assert counted(built, search(roads="SR 5"))[1][2025]["SR 5"] == pytest.approx(0.2)


def test_names_that_the_layer_lacks_are_listed_as_written_and_the_rest_is_counted(county, search):
    effort, km = counted(county, search(roads="Mian Road;Side Road"), search(search_id="s2", roads="Mian Road"))
    assert effort.unmatched == ("Mian Road",)
    assert km[2025]["Side Road"] == pytest.approx(0.4)
    assert effort.notes == (
        "roads named in searches that the layer does not have, not counted: Mian Road",
        "search s2: not counted: no track or road name that lies on these roads, or no date",
    )


def test_a_shorter_distance_scales_the_roads_named(county, search):
    """By hand: 0.7 km of 1.4 km is half of each road."""
    effort, km = counted(county, search(roads="Main Road;Side Road", distance_km=0.7))
    assert (km[2025]["Main Road"], km[2025]["Side Road"]) == (pytest.approx(0.5), pytest.approx(0.2))
    assert effort.notes == (
        "search s1: the stated distance is shorter than the roads named; their kilometres are scaled to it",
    )


def test_a_longer_distance_counts_each_road_once_and_says_so(county, search):
    effort, _ = counted(county, search(roads="Side Road", distance_km=3.0))
    assert effort.total_km == pytest.approx(0.4)
    assert effort.notes == ("search s1: the stated distance is longer than the roads named; each road is counted once",)


def test_a_distance_that_agrees_within_the_odometer_is_not_scaled(county, search):
    effort, _ = counted(county, search(roads="Main Road", distance_km=0.99))
    assert effort.total_km == pytest.approx(1.0)
    assert effort.notes == ()


def wkt_in_degrees(county, *corners):
    node = county.nodes.geometry[county.nodes["degree"].idxmax()]
    text = ", ".join(f"{node.x + x} {node.y + y}" for x, y in corners)
    return gpd.GeoSeries.from_wkt([f"LINESTRING ({text})"], crs=county.crs).to_crs("EPSG:4326").to_wkt()[0]


def test_a_track_counts_where_it_ran_and_goes_before_the_names(county, search):
    track = wkt_in_degrees(county, (-500, 3), (0, 3))
    effort, km = counted(county, search(track=track, roads="Far Road"))
    assert km[2025]["Main Road"] == pytest.approx(np.nan, nan_ok=True)
    assert effort.total_km == pytest.approx(0.5, abs=0.01)
    assert np.isfinite(effort.km_by_year[2025]).sum() == 10


def test_a_track_that_leaves_the_roads_says_for_how_long(county, search):
    track = wkt_in_degrees(county, (-500, 0), (-300, 0), (-300, 300))
    effort, _ = counted(county, search(track=track))
    assert effort.total_km == pytest.approx(0.2, abs=0.01)
    assert effort.notes == ("search s1: 0.27 km of track lie more than 30 m from any road and are not counted",)


@pytest.mark.parametrize("track", BAD_TRACKS)
def test_a_track_that_cannot_be_read_is_told_and_the_names_are_used(county, search, track):
    effort, km = counted(county, search(track=track, roads="Side Road"))
    assert km[2025]["Side Road"] == pytest.approx(0.4)
    assert len(effort.notes) == 1
    assert effort.notes[0].startswith("search s1: the track is not a line of longitudes and latitudes in WKT, such as")


@pytest.mark.parametrize("fault", [{"roads": None}, {"roads": " "}, {"started_at": None}])
def test_a_search_that_cannot_be_counted_is_named(county, search, fault):
    effort, km = counted(county, search(**{"roads": "Main Road", **fault}))
    assert km == {}
    assert effort.total_km == 0.0
    assert effort.notes == ("search s1: not counted: no track or road name that lies on these roads, or no date",)


def test_notes_name_five_searches_and_count_the_rest(county, search):
    effort, _ = counted(county, *[search(search_id=f"s{i}") for i in range(8)])
    assert effort.notes[0].startswith("search s0, s1, s2, s3, s4 and 3 more: not counted")


def test_an_empty_log_leaves_every_stretch_unknown(county):
    effort = search_effort(county, cut_stretches(county), pd.DataFrame({"search_id": [], "started_at": []}))
    assert (effort.km_by_year, effort.total_km, effort.n_counted) == ({}, 0.0, 0)


def test_order_and_index_of_the_log_do_not_matter(county, search):
    rows = pd.DataFrame(
        [search(search_id=f"s{i}", roads=road) for i, road in enumerate(["Main Road", "Side Road", "Main Road"])]
    )
    stretches = cut_stretches(county)
    one = search_effort(county, stretches, rows)
    other = search_effort(county, stretches, rows.iloc[::-1].set_index(pd.Index([7, 7, 9])))
    np.testing.assert_allclose(one.km_by_year[2025], other.km_by_year[2025])


def test_effort_on_one_road_does_not_hang_on_other_roads(network, county, search):
    alone = network([[(-500, 0), (0, 0), (500, 0)]], road=["Main Road"])
    assert counted(alone, search(roads="Main Road"))[0].total_km == pytest.approx(
        counted(county, search(roads="Main Road"))[0].total_km
    )
