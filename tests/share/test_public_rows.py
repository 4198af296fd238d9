"""Rows of a public file say what they are and what was taken from them."""

from datetime import date

import pytest
from share.names_for_sharing import KNOWN, SENSITIVE

from roadwatch.share.masking import show_places
from roadwatch.share.public_rows import COLUMNS, public_rows

NEAR = [(-82.301, 29.601), (-82.302, 29.602), (-82.303, 29.603)]


@pytest.fixture
def rows(crossings, nests):
    """Public rows of crossings and nests at the given places."""

    def make(animals=(), clutches=(), **changes):
        records = crossings(list(animals), **changes), nests(list(clutches))
        told = {"audience": "public", "today": date(2025, 7, 1), "sensitive": SENSITIVE, "known": KNOWN}
        shown = show_places(*records, None, **told).release.shown
        standing = shown.assign(number=range(1, len(shown) + 1), first_released_at="2025-07-01")
        return public_rows(show_places(*records, None, **told, standing=standing), season="invented")

    return make


def test_crossings_come_first_as_points_and_squares_after_as_polygons(rows):
    table = rows(NEAR, NEAR)
    assert list(table.columns) == [*COLUMNS, "geometry"]
    assert table["what"].tolist() == ["crossing"] * 3 + ["square"]
    assert table.geometry.geom_type.tolist() == ["Point"] * 3 + ["Polygon"]


def test_a_square_tells_a_number_and_nothing_of_its_records(rows):
    square = rows([], NEAR).iloc[0]
    assert (square["counted"], square["records"]) == ("nests", 3)
    assert square[["day", "taxon", "id_confidence", "count", "condition"]].isna().all()
    assert "10 km by 10 km" in square["dataGeneralizations"]
    assert "hatching days" in square["informationWithheld"]


def test_the_error_of_a_square_reaches_its_corners(rows):
    # half the diagonal of a square of 10 km is 7,071 m; at 29.6 degrees the grid's squares are nearly upright squares
    assert rows([], NEAR).iloc[0]["position_error_m"] == pytest.approx(7071, rel=0.01)


def test_a_crossing_has_day_and_place_but_no_time_person_or_text(rows):
    table = rows(NEAR[:1])
    crossing = table.iloc[0]
    assert (crossing["day"], crossing["longitude"], crossing["latitude"]) == ("2025-05-12", *NEAR[0])
    assert "Observer" in crossing["informationWithheld"] or "observer" in crossing["informationWithheld"]
    text = table.to_csv()
    assert not [secret for secret in ("Warden", "culvert", "IMG_1", "07:40", "R0") if secret in text]


def test_every_row_has_its_own_id(rows):
    table = rows([NEAR[0]] * 3, NEAR)
    assert table["public_id"].is_unique
    assert table["public_id"].str.startswith("urn:uuid:").all()


def test_nothing_to_show_gives_no_row(rows):
    assert rows().empty
    assert list(rows().columns) == [*COLUMNS, "geometry"]
