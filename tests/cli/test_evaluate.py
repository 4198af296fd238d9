"""``roadwatch evaluate`` as its user runs it."""

import csv

import pytest
from measured_county import fill

FALL = {2022: 9, 2023: 9, 2024: 2, 2025: 1}


@pytest.fixture
def measured(county):
    return fill(county, inside=FALL)


def test_the_table_the_verdict_and_the_cautions_are_printed(measured):
    result = measured.run("evaluate", measured.season)
    assert result.exit_code == 0
    assert "ratio_corrected" in result.stdout
    assert "F1: " in result.stdout
    assert "Regression to the mean" in result.stdout
    assert "licensed engineers" in result.stdout
    assert "it works" not in result.stdout


def test_json_is_one_object_with_a_row_a_measure(measured):
    told = measured.json("evaluate", measured.season)
    (row,) = told["measures"]
    promised = (
        "measure_id kind built_on deaths_before km_before deaths_after km_after control_deaths_before "
        "control_deaths_after ratio ratio_low ratio_high p_value ratio_corrected smallest_fall_seen ends_ratio "
        "ends_low ends_high verdict note"
    )
    assert not set(promised.split()) - set(row)
    assert told["seed"] == 1


def test_csv_holds_the_same_row(measured):
    path = measured.folder / "evaluation.csv"
    assert measured.run("evaluate", measured.season, "-o", path).exit_code == 0
    with path.open(encoding="utf-8") as file:
        (row,) = csv.DictReader(file)
    (told,) = measured.json("evaluate", measured.season)["measures"]
    assert float(row["ratio"]) == pytest.approx(told["ratio"])
    assert "Regression to the mean" in path.with_suffix(".txt").read_text("utf-8")


def test_the_same_seed_prints_the_same(measured):
    one, other = (measured.run("evaluate", measured.season, "--seed", 7).stdout for _ in range(2))
    assert one == other


def test_no_measure_is_exit_5_with_what_is_missing(county):
    result = county.run("evaluate", county.season)
    assert result.exit_code == 5
    assert "no measure on file" in result.output
    assert "Traceback" not in result.output


def test_a_missing_season_is_exit_2(county):
    assert county.run("evaluate", county.folder / "none.gpkg").exit_code == 2


def test_every_promised_ending_can_be_written(measured):
    for ending in ("csv", "geojson", "gpkg", "html"):
        path = measured.folder / f"evaluation.{ending}"
        assert measured.run("evaluate", measured.season, "-o", path).exit_code == 0
        assert path.stat().st_size > 0
