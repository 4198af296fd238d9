"""Saved results come back with their places: from the file's geometry, or from road, metre and nest."""

import geopandas as gpd
import pytest
import shapely
from tiny_county import CENTRE

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records.store import Season
from roadwatch.season.saved_results import saved_results


def read(county, *paths, audience="team"):
    return saved_results(paths, Season.open(county.season), audience=audience)


def fence(**changes):
    return {"run": 1, "road": "Invented East Road", "road_part": 0, "from_m": 1000, "to_m": 2000} | changes


def test_a_run_lies_on_its_road_between_its_metres(county):
    (found,), notes = read(county, county.write_csv("f.csv", [fence()]))
    line = found.table.geometry.iloc[0]
    # By hand: the road runs west to east from 0.05 degree west of the crossroads; a degree is 94.6 km long here.
    west, south, east, north = line.bounds
    assert west == pytest.approx(CENTRE[0] - 0.05 + 1.0 / 94.7, abs=1e-4)
    assert east - west == pytest.approx(1.0 / 94.7, rel=1e-2)
    assert south == pytest.approx(CENTRE[1], abs=1e-4)
    assert north == pytest.approx(CENTRE[1], abs=1e-4)
    assert not notes


def test_a_sign_lies_at_its_degrees(county):
    row = {"approach": "eastbound", "sign_m": 5, "longitude": CENTRE[0], "latitude": CENTRE[1]}
    (found,), _ = read(county, county.write_csv("s.csv", [row]))
    assert found.kind == "signs"
    assert found.table.geometry.iloc[0].equals(shapely.Point(CENTRE))


def test_a_stop_lies_at_its_nest(county, nest):
    county.ingest("n.csv", [nest(nest_id="7")])
    row = {"date": "2025-07-02", "nest_id": "7", "observer": "B", "order": 1}
    (found,), _ = read(county, county.write_csv("r.csv", [row]))
    place = found.table.geometry.iloc[0]
    assert (place.x, place.y) == pytest.approx((CENTRE[0] + 0.001, CENTRE[1] + 0.001))


def test_the_geometry_of_a_map_file_is_taken_as_it_is(county):
    line = shapely.LineString([CENTRE, (CENTRE[0] + 0.01, CENTRE[1])])
    path = county.folder / "f.geojson"
    gpd.GeoDataFrame([fence(road="of another map")], geometry=[line], crs="EPSG:4326").to_file(path, driver="GeoJSON")
    (found,), _ = read(county, path)
    assert found.table.geometry.iloc[0].equals(line)


@pytest.mark.parametrize("change", [{"road": "No Such Road"}, {"to_m": 99_000}, {"from_m": "x"}, {"road_part": 7}])
def test_a_row_off_the_roads_is_told_and_the_others_are_drawn(county, change):
    (found,), notes = read(county, county.write_csv("f.csv", [fence(), fence(**change)]))
    assert len(found.table) == 1
    assert notes == ("f.csv: 1 of 2 rows lie on no road or nest of this season; not drawn.",)


def test_a_file_of_another_county_is_refused(county):
    with pytest.raises(UnfitFileError, match="no row of it lies on this season's roads"):
        read(county, county.write_csv("f.csv", [fence(road="No Such Road")]))


@pytest.mark.parametrize(("name", "text"), [("a.csv", ""), ("a.gpkg", "no table"), ("a.csv", "a,b\n1,2\n")])
def test_what_is_no_result_is_refused(county, name, text):
    with pytest.raises(UnfitFileError, match="expected a result saved as CSV, GeoJSON or GeoPackage"):
        read(county, county.write(name, text))


def test_a_file_that_is_not_there_is_a_slip_of_the_user(county):
    with pytest.raises(UsageError, match="no such file"):
        read(county, county.folder / "none.csv")


def test_the_public_sees_no_rounds(county, nest):
    county.ingest("n.csv", [nest(nest_id="7")])
    row = {"date": "2025-07-02", "nest_id": "7", "observer": "B", "order": 1}
    drawn, notes = read(county, county.write_csv("r.csv", [row]), audience="public")
    assert drawn == ()
    assert "not drawn on a page for the public" in notes[0]
