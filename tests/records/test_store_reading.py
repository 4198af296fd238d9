"""Reading a kind back: its types, its places, and its corrections."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from records.store_cases import LATER, crossing, different_crossings, new_season, put
from shapely.geometry import LineString, Point

from roadwatch.errors import UsageError
from roadwatch.records.fields import RECORD_KINDS, fields_of
from roadwatch.records.store_reading import points, tracks
from roadwatch.records.store_schema import GEOMETRY_TYPES, STORED_KINDS


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def amend(season, key, field, new, kind="crossings"):
    season.add_changes(kind, key, {field: new}, who="Ana", when=LATER, why="seen again on the photograph")


@pytest.mark.parametrize("kind", STORED_KINDS)
def test_an_empty_kind_has_its_columns_and_reference_system(season, kind):
    table = season.read(kind)
    assert len(table) == 0
    assert isinstance(table, gpd.GeoDataFrame) == (kind in GEOMETRY_TYPES)
    if kind in GEOMETRY_TYPES:
        assert table.crs == "EPSG:4326"
    if kind in RECORD_KINDS:
        assert {"record_key", "other", *fields_of(kind)} <= set(table.columns)


def test_columns_have_the_types_promised(season):
    put(season, [crossing(gravid=True), crossing(observer=None, count=None, gravid=False), crossing()])
    table = season.read("crossings")
    for name in ("taxon", "observer", "observed_at", "photo", "gravid"):
        assert table[name].dtype == object
    for name in ("latitude", "count", "carapace_mm", "id_confidence"):
        assert table[name].dtype == np.float64
    assert table["observer"].tolist() == ["Ana", None, "Ana"]
    assert table["gravid"].tolist() == [True, False, None]
    assert table["count"].isna().tolist() == [False, True, False]


def test_records_come_in_the_order_of_storing(season):
    rows = different_crossings(5)
    put(season, rows[3:])
    put(season, rows[:3], file="b.csv")
    assert season.read("crossings")["latitude"].tolist() == [29.003, 29.004, 29.0, 29.001, 29.002]


def test_only_the_columns_asked_for_are_read_with_the_place(season):
    put(season, [crossing()])
    table = season.read("crossings", columns=["taxon", "count"])
    assert list(table.columns) == ["taxon", "count", "geometry"]
    assert table.geometry.iloc[0] == Point(-82.3725, 29.6512)


def test_a_table_without_places_has_only_the_columns_asked_for(season):
    put(season, [{"nest_id": "n1", "checked_at": "2025-06-01", "outcome": "intact"}], kind="checks")
    assert list(season.read("checks", columns=["outcome"]).columns) == ["outcome"]


def test_a_kind_that_does_not_exist_is_refused(season):
    with pytest.raises(UsageError, match="a season holds no 'x; DROP TABLE crossings'; ask for one of crossings"):
        season.read("x; DROP TABLE crossings")


def test_a_column_that_does_not_exist_is_refused(season):
    with pytest.raises(UsageError, match="crossings have no column colour; there are record_key"):
        season.read("crossings", columns=["taxon", "colour"])


def test_a_person_without_a_starting_place_has_no_point(season):
    people = [{"observer": "Ana", "start_longitude": -82.0, "start_latitude": 29.0}, {"observer": "Ben"}]
    put(season, people, kind="people")
    assert season.read("people").geometry.tolist() == [Point(-82, 29), None]


def test_a_measure_has_the_geometry_that_its_reader_kept_as_text(season):
    rows = [{"measure_id": "m1", "other": '{"wkt": "LINESTRING (0 0, 1 1)"}'}, {"measure_id": "m2", "other": "[1"}]
    put(season, rows, kind="measures")
    assert season.read("measures").geometry.tolist() == [LineString([(0, 0), (1, 1)]), None]


@pytest.mark.parametrize("track", ["LINESTRING (0 0, 1 1)", "MULTILINESTRING ((0 0, 1 1), (2 2, 3 3))"])
def test_a_search_has_the_track_it_was_given(season, track):
    put(season, [{"search_id": "s1", "track": track}, {"search_id": "s2", "track": None}], kind="searches")
    found = season.read("searches").geometry
    assert found.iloc[0].wkt == track
    assert found.iloc[1] is None


def test_a_track_given_as_a_geometry_is_kept_as_text_too(season):
    put(season, [{"search_id": "s1", "geometry": LineString([(0, 0), (1, 1)])}], kind="searches")
    table = season.read("searches")
    assert table["track"].tolist() == ["LINESTRING (0 0, 1 1)"]
    assert table.geometry.tolist() == [LineString([(0, 0), (1, 1)])]


def test_a_measure_has_the_geometry_it_was_given(season):
    line = LineString([(-82.4, 29.6), (-82.3, 29.6)])
    put(season, [{"measure_id": "m1", "geometry": line}, {"measure_id": "m2", "geometry": None}], kind="measures")
    assert season.read("measures").geometry.tolist() == [line, None]


def test_the_latest_correction_of_a_field_holds(season):
    put(season, [crossing(record_id="c1"), crossing(record_id="c2")])
    for name in ("Chelydra serpentina", "Trachemys scripta"):
        amend(season, "c1", "taxon", name)
    assert season.read("crossings")["taxon"].tolist() == ["Trachemys scripta", "Terrapene carolina"]


def test_a_corrected_place_moves_the_point(season):
    put(season, [crossing(record_id="c1")])
    amend(season, "c1", "latitude", "29.7")
    table = season.read("crossings", columns=["latitude"])
    assert table["latitude"].tolist() == [29.7]
    assert table.geometry.tolist() == [Point(-82.3725, 29.7)]


def test_a_corrected_track_moves_the_line(season):
    put(season, [{"search_id": "s1", "track": "LINESTRING (0 0, 1 1)"}], kind="searches")
    amend(season, "s1", "track", "LINESTRING (0 0, 2 2)", kind="searches")
    assert season.read("searches").geometry.tolist() == [LineString([(0, 0), (2, 2)])]


@pytest.mark.parametrize(
    ("field", "new", "expected"),
    [
        ("count", "3", 3.0),
        ("gravid", "true", True),
        ("gravid", "False", False),
        ("notes", "", None),
        ("notes", "x", "x"),
    ],
)
def test_a_correction_has_the_type_of_its_field(season, field, new, expected):
    put(season, [crossing(record_id="c1")])
    amend(season, "c1", field, new or None)
    assert season.read("crossings")[field].tolist() == [expected]


def test_a_number_can_be_made_blank(season):
    put(season, [crossing(record_id="c1")])
    amend(season, "c1", "count", None)
    assert season.read("crossings")["count"].isna().all()


def test_a_correction_of_a_kind_leaves_the_same_name_of_another_kind_alone(season):
    put(season, [crossing(record_id="1")])
    put(season, [crossing(nest_id="1", found_at="2025-05-12")], kind="nests", file="nests.csv")
    amend(season, "1", "latitude", "29.7", kind="nests")
    assert season.read("crossings")["latitude"].tolist() == [29.6512]


def test_corrections_keep_text_columns_objects(season):
    put(season, [crossing(record_id="c1")])
    amend(season, "c1", "observer", "Ben")
    assert season.read("crossings")["observer"].dtype == object


def test_points_need_both_coordinates():
    assert points(np.array([1.0, np.nan, 2.0]), np.array([3.0, 4.0, np.nan])).tolist() == [Point(1, 3), None, None]


def test_a_track_that_is_no_geometry_is_none():
    assert tracks(pd.Series(["nonsense", None, np.nan], dtype=object)).tolist() == [None, None, None]
