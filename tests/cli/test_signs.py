"""``roadwatch signs`` as its user runs it."""

import csv
import json

import pytest
from measured_county import fill


@pytest.fixture
def hot(county):
    return fill(county, inside={2022: 9, 2023: 9, 2024: 9, 2025: 9}, elsewhere=5)


def test_the_table_the_evidence_and_the_cautions_are_printed(hot):
    result = hot.run("signs", hot.season, "--draws", 99)
    assert result.exit_code == 0
    for phrase in (
        "eastbound",
        "Table 2C-3",
        "Permanent wildlife signs work poorly",
        "licensed engineer",
        "hours_from  hours_to",
    ):
        assert phrase in result.stdout


def test_json_is_one_object_with_a_row_a_sign(hot):
    told = hot.json("signs", hot.season, "--draws", 99)
    promised = (
        "hotspot road approach sign_m longitude latitude distance_m speed_limit_mph milepost route_id agency on_from "
        "on_to hours_from hours_to note"
    )
    assert told["signs"]
    assert all(not set(promised.split()) - set(row) for row in told["signs"])


def test_geojson_has_a_point_where_the_limit_is_known_and_none_where_it_is_not(hot):
    path = hot.folder / "signs.geojson"
    assert hot.run("signs", hot.season, "--draws", 99, "-o", path).exit_code == 0
    features = json.loads(path.read_text("utf-8"))["features"]
    for feature in features:
        assert (feature["geometry"] is None) == (feature["properties"]["sign_m"] is None)
    assert any(feature["geometry"] for feature in features)


def test_csv_has_a_row_a_sign(hot):
    path = hot.folder / "signs.csv"
    assert hot.run("signs", hot.season, "--draws", 99, "-o", path).exit_code == 0
    with path.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(hot.json("signs", hot.season, "--draws", 99)["signs"])


def test_the_same_seed_prints_the_same(hot):
    one, other = (hot.run("signs", hot.season, "--draws", 99, "--seed", 3).stdout for _ in range(2))
    assert one == other


def test_an_empty_season_is_exit_5(county):
    result = county.run("signs", county.season)
    assert result.exit_code == 5
    assert "not enough data" in result.output


def test_a_missing_season_is_exit_2(county):
    assert county.run("signs", county.folder / "none.gpkg").exit_code == 2
