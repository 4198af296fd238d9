"""A feature that is no point is told by its shape (RFC 7946, section 1.4: the names of geometry types)."""

import pandas as pd
import pytest

from roadwatch.records.complaints import Complaint
from roadwatch.records.shapes import named_shapes


def missing(row, column):
    return Complaint(row, column, "", f"{column} is missing; write decimal degrees")


@pytest.mark.parametrize(
    ("wkt", "name"),
    [
        ("MULTIPOINT ((-81 31), (-82 31))", "MultiPoint"),
        ("LINESTRING (0 0, 1 1)", "LineString"),
        ("polygon ((0 0, 1 1, 1 0, 0 0))", "Polygon"),
        ("GEOMETRYCOLLECTION EMPTY", "GeometryCollection"),
    ],
)
def test_a_missing_place_is_told_by_the_shape_that_was_found(wkt, name):
    (told,) = named_shapes([missing(0, "longitude"), missing(0, "latitude")], pd.Series([wkt]))
    assert (told.row, told.column, told.found, told.severity) == (0, "geometry", name, "hold back")
    assert told.reason.startswith(f"the geometry: found {name}, expected Point")


@pytest.mark.parametrize("wkt", [None, "by the bridge", "POINT (1 2)", "12"])
def test_without_another_shape_the_place_stays_missing(wkt):
    complaints = [missing(0, "longitude"), missing(0, "latitude")]
    assert named_shapes(complaints, pd.Series([wkt], dtype=object)) == complaints


def test_other_complaints_of_the_row_stay():
    other = Complaint(0, "taxon", "x", "taxon 'x' is not known")
    written = Complaint(0, "longitude", "here", "longitude 'here' is not a coordinate")
    assert named_shapes([other, written], pd.Series(["MULTIPOINT ((1 2), (3 4))"])) == [other, written]
