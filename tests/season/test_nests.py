"""From nests and temperatures to windows, by the season file."""

from datetime import date, timedelta

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.season.nests import season_windows


@pytest.fixture
def summers(county):
    """Ingest invented daily temperatures: 20 equal summers, 18 to 30 degrees C from April to October."""
    rows = []
    for year in range(2005, 2026):
        day = date(year, 1, 1)
        while day <= min(date(year, 12, 31), date(2025, 7, 1)):
            warm = 4 <= day.month <= 10
            rows.append(
                {"series_id": "invented", "date": day, "tmin_c": 18 if warm else 5, "tmax_c": 30 if warm else 15}
            )
            day += timedelta(days=1)
    assert county.ingest("weather.csv", rows).exit_code == 0
    return county


def windows(county, as_of=date(2025, 7, 1)):
    return season_windows(county.season, as_of=as_of, rng=np.random.default_rng(1))


def test_a_nest_gets_its_window(summers, nest):
    summers.ingest("nests.csv", [nest()])
    row = windows(summers).table.iloc[0]
    # by hand: mean 24 + 2 (partial shade) = 26 degrees C; (26 - 15.74) degree-days a day; 804 / 10.26 = 78 days
    likely = (date.fromisoformat(row["hatch_likely"]) - date(2025, 6, 1)).days
    assert likely == pytest.approx(78, abs=3)
    assert row["hatch_early"] < row["hatch_likely"] < row["hatch_late"]


def test_the_window_can_be_put_on_a_map(summers, nest):
    summers.ingest("nests.csv", [nest(), nest(nest_id="n2", taxon="chicken turtle")])
    found = windows(summers)
    assert found.places["nest_id"].tolist() == ["n1", "n2"]
    assert found.places.geometry.notna().all()


def test_a_taxon_that_pauses_has_no_projection_and_the_reason(summers, nest):
    summers.ingest("nests.csv", [nest(taxon="chicken turtle")])
    row = windows(summers).table.iloc[0]
    assert row["basis"] == "none"
    assert "no projection" in row["note"]


@pytest.mark.parametrize("missing", ["nest", "temperature"])
def test_what_is_missing_is_named(county, nest, missing):
    if missing == "temperature":
        county.ingest("nests.csv", [nest()])
    with pytest.raises(NotEnoughDataError, match=f"holds no {missing}"):
        windows(county)


def test_without_a_region_there_is_no_window(folder, nest, summers):
    other = folder.folder / "other.gpkg"
    folder.run("new", other, "--roads", folder.folder / "roads.geojson", "--timezone", "America/New_York")
    folder.run("ingest", other, folder.write_csv("n.csv", [nest()]), folder.folder / "weather.csv")
    result = folder.run("hatch", other, "--as-of", "2025-07-01")
    assert result.exit_code == 5
    assert "region" in result.output
