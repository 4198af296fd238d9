import numpy as np
import pytest
from pyproj import Transformer

from roadwatch.records.coordinates_metres import NO_ZONE, NOWHERE, OPEN_LETTER, MetricRows, degrees_of_metres
from roadwatch.records.coordinates_repair import NO_AREA, Area
from roadwatch.records.coordinates_utm import Zone

FLORIDA = Area(-82.7, 29.4, -82.0, 29.9)
PLACE = (-82.3, 29.6)
METRES = Transformer.from_crs(4326, 32617, always_xy=True).transform(*PLACE)


def turn(*rows, area=FLORIDA):
    """Rows of easting, northing, zone and EPSG code."""
    easting, northing, zones, epsg = zip(*rows, strict=True)
    return degrees_of_metres(
        np.array(easting), np.array(northing), zones=list(zones), epsg=np.array(epsg, dtype=np.int64), area=area
    )


def test_each_row_has_its_own_zone_datum_and_system():
    feet = Transformer.from_crs(4326, 2236, always_xy=True).transform(*PLACE)  # Florida East, US survey feet
    nad83 = Transformer.from_crs(4326, 26917, always_xy=True).transform(*PLACE)
    found = turn((*METRES, Zone(17), 4326), (*feet, None, 2236), (*nad83, Zone(17), 4269), (*METRES, None, 32617))
    assert found.longitude == pytest.approx([PLACE[0]] * 4, abs=1e-7)
    assert found.latitude == pytest.approx([PLACE[1]] * 4, abs=1e-7)
    assert found.reasons == {}


def test_an_open_zone_is_the_one_that_fits_the_area():
    found = turn((*METRES, None, 4326), (*METRES, Zone(17, north=None), 4326))
    assert found.longitude == pytest.approx([PLACE[0]] * 2, abs=1e-7)
    assert found.taken == {Zone(17): 2}
    assert found.reasons == {}


def test_an_open_zone_that_fits_nowhere_is_told():
    found = turn((500_000.0, 4_900_000.0, None, 4326), (500_000.0, 4_900_000.0, Zone(17, north=None), 4326))
    assert found.reasons == {0: NO_ZONE, 1: OPEN_LETTER}
    assert np.isnan(found.longitude).all()


def test_an_open_zone_that_fits_in_more_than_one_way_is_told():
    # an area wider than a zone: 17 and 18 both put the place inside
    found = turn((*METRES, None, 4326), area=Area(-83.0, 25.0, -75.0, 32.0))
    assert found.reasons == {0: NO_ZONE}


def test_without_an_area_an_open_zone_is_asked_for():
    assert turn((*METRES, None, 4326), area=NO_AREA).reasons == {0: NO_ZONE}


def test_a_zone_that_its_datum_has_not_is_told():
    assert turn((*METRES, Zone(40), 4267)).reasons == {0: NOWHERE}


def test_a_southern_season_reads_s_as_the_southern_hemisphere():
    metres = Transformer.from_crs(4326, 32756, always_xy=True).transform(151.0, -34.0)
    found = turn((*metres, Zone(56, north=None), 4326), area=Area(150.0, -34.5, 151.5, -33.5))
    assert (found.longitude[0], found.latitude[0]) == pytest.approx((151.0, -34.0), abs=1e-7)


def test_large_numbers_are_metres_only_where_they_can_be():
    rows = MetricRows(4)
    rows.epsg[2:] = 2236
    x, y = np.array([METRES[0], 1_500_000.0, 1_500_000.0, -82.3]), np.array([METRES[1], 200_000.0, 200_000.0, 29.6])
    assert rows.fits(x, y).tolist() == [True, False, True, False]
    assert rows.rows.tolist() == []
