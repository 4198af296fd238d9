"""Names on one line, whatever they hold."""

from pathlib import Path

import pytest

from roadwatch.season.shown import shown, word_of_place


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("crossings 2025.csv", "crossings 2025.csv"),
        ("Übersicht 🐢.csv", "Übersicht 🐢.csv"),
        ("a\nb\r\t.csv", "a\\nb\\r\\t.csv"),
        ("\x1b[31mred", "\\x1b[31mred"),
        ("a\u202egpj.csv", "a\\u202egpj.csv"),
        ("\udcff.csv", "\\xff.csv"),
    ],
)
def test_only_what_prints_is_shown_as_it_is(name, expected):
    assert shown(name) == expected
    assert shown(Path(name)) == expected


@pytest.mark.parametrize(
    ("source", "kind", "word"),
    [
        ("a.csv", "crossings", "line"),
        ("a.xlsx, sheet May", "crossings", "row"),
        ("walk.zip, photographs", "crossings", "photograph"),
        ("Walk.GPX", "crossings", "waypoint"),
        ("walk.gpx", "searches", "track"),
        ("walk.gpx, waypoints", "crossings", "waypoint"),
        ("walk.gpx, tracks", "searches", "track"),
        ("a.geojson", "", "feature"),
        ("a.kmz, file doc.kml", "", "feature"),
        ("a.gpkg, layer nests", "nests", "feature"),
        ("a.shp", "", "feature"),
        ("my.gpx.csv", "crossings", "line"),
    ],
)
def test_numbers_of_rows_are_called_by_what_they_count(source, kind, word):
    assert word_of_place(source, kind=kind) == word
