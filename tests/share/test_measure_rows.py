"""What was built, as rows of a file. All is invented."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from roadwatch.records.taxa import taxonomy_of
from roadwatch.share.measure_rows import PUBLIC_MEASURES, WITHHELD, public_measures, team_measures, with_shape_as_text


@pytest.fixture
def measures():
    rows = {
        "record_key": ["m2", "m1"],
        "measure_id": ["m2", "m1"],
        "kind": ["fence", "sign"],
        "built_on": ["2024-11-02", "2025-03-01"],
        "removed_on": None,
        "sides": [2.0, float("nan")],
        "ends_treated": pd.Series([True, None], dtype=object),
        "cost": [1200.0, float("nan")],
        "notes": ["behind the nests of hollowoak", None],
        "other": ['{"wkt": "LINESTRING (0 0, 1 1)", "maker": "county"}', None],
    }
    shapes = [shapely.LineString([(-81.9, 31.7), (-81.89, 31.71)]), None]
    return gpd.GeoDataFrame(rows, geometry=shapes, crs="EPSG:4326")


def test_the_public_gets_what_was_built_and_where_and_no_note_or_cost(measures):
    told = public_measures(measures)
    assert list(told.columns) == [*PUBLIC_MEASURES, "dataGeneralizations", "informationWithheld", "geometry"]
    assert "hollowoak" not in told.to_wkt().to_csv()
    assert "county" not in told.to_wkt().to_csv()
    assert "1200" not in told.to_wkt().to_csv()
    assert set(told["informationWithheld"]) == {WITHHELD}


def test_public_rows_stand_by_name_and_keep_their_own_geometry(measures):
    told = public_measures(measures)
    assert told["measure_id"].tolist() == ["m1", "m2"]
    assert told.geometry.to_wkt().fillna("nowhere").tolist() == ["nowhere", "LINESTRING (-81.9 31.7, -81.89 31.71)"]
    assert told["ends_treated"].tolist()[1] == "true"


def test_the_team_gets_every_column_and_the_place_once(measures):
    told = team_measures(measures, taxonomy=taxonomy_of())
    assert told["notes"].fillna("").tolist() == ["behind the nests of hollowoak", ""]
    assert told["maker"].fillna("").tolist() == ["county", ""]
    assert "wkt" not in told
    assert told.geometry.iloc[0].equals(measures.geometry.iloc[0])


def test_in_a_table_of_text_the_geometry_is_a_column(measures):
    told = with_shape_as_text(team_measures(measures, taxonomy=taxonomy_of()))
    assert told["wkt"].fillna("nowhere").tolist() == ["LINESTRING (-81.9 31.7, -81.89 31.71)", "nowhere"]
    assert "geometry" not in told


def test_no_measure_gives_no_row(measures):
    assert public_measures(measures.iloc[:0]).empty
    assert with_shape_as_text(team_measures(measures.iloc[:0], taxonomy=taxonomy_of())).empty
