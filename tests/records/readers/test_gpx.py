"""GPX files: the check values are the coordinates and times written by hand below; form after the GPX 1.1 schema."""

import json

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file

NAMESPACE = 'xmlns="http://www.topografix.com/GPX/1/1"'
WAYPOINT = (
    '<wpt lat="29.6512" lon="-82.3725"><ele>24.1</ele><time>2025-05-12T11:40:00Z</time><name>001</name>'
    "<cmt>box turtle dead</cmt><desc>fresh &amp; flat</desc><sym>Flag</sym></wpt>"
)
FIRST = '<trkpt lat="29.65" lon="-82.37"><time>2025-05-12T11:00:00Z</time></trkpt>'
SECOND = '<trkpt lat="29.66" lon="-82.38"><time>2025-05-12T11:30:00Z</time></trkpt>'
TRACK = f"<trk><name>Monday</name><desc>by foot</desc><trkseg>{FIRST}{SECOND}</trkseg></trk>"


@pytest.fixture
def gpx(make_file):
    def read(body, *, root=f'<gpx version="1.1" creator="test" {NAMESPACE}>', name="walk.gpx"):
        return read_file(make_file(name, f'<?xml version="1.0" encoding="UTF-8"?>\n{root}{body}</gpx>'))

    return read


def test_a_waypoint_is_a_crossing_with_place_time_and_texts(gpx):
    (table,) = gpx(WAYPOINT)
    assert table.kind == "crossings"
    assert table.rows.to_dict("records") == [
        {
            "longitude": "-82.3725",
            "latitude": "29.6512",
            "time": "2025-05-12T11:40:00Z",
            "name": "001",
            "cmt": "box turtle dead",
            "desc": "fresh & flat",
            "sym": "Flag",
            "ele": "24.1",
        }
    ]


def test_waypoints_are_counted_from_one_and_kept_as_json(gpx):
    (table,) = gpx(WAYPOINT + WAYPOINT.replace("001", "002"))
    assert table.lines.tolist() == [1, 2]
    assert json.loads(table.originals[1])["name"] == "002"


def test_columns_that_no_waypoint_fills_are_left_out(gpx):
    (table,) = gpx('<wpt lat="1" lon="2"/>')
    assert list(table.rows) == ["longitude", "latitude"]


def test_a_place_that_cannot_be_stays_as_written_for_the_checks(gpx):
    (table,) = gpx('<wpt lat="95" lon="west"/><wpt/>')
    assert table.rows["latitude"].tolist() == ["95", None]
    assert table.rows["longitude"].tolist() == ["west", None]


def test_a_time_without_offset_is_utc_and_said(gpx):
    (table,) = gpx(WAYPOINT.replace("11:40:00Z", "11:40:00"))
    assert table.rows["time"].tolist() == ["2025-05-12T11:40:00Z"]
    assert "1 time without an offset taken as UTC, as GPX prescribes" in table.notes


def test_a_time_with_another_offset_stays(gpx):
    (table,) = gpx(WAYPOINT.replace("11:40:00Z", "07:40:00-04:00"))
    assert table.rows["time"].tolist() == ["2025-05-12T07:40:00-04:00"]


def test_a_track_is_a_search_with_its_line_and_times(gpx):
    (table,) = gpx(TRACK)
    assert table.kind == "searches"
    assert table.rows.to_dict("records") == [
        {
            "search_id": "Monday",
            "started_at": "2025-05-12T11:00:00Z",
            "ended_at": "2025-05-12T11:30:00Z",
            "method": None,
            "track": "LINESTRING (-82.37 29.65, -82.38 29.66)",
            "notes": "by foot",
        }
    ]


@pytest.mark.parametrize(
    ("written", "method", "notes"),
    [
        ("foot", "foot", "by foot"),
        ("Cycling", "bicycle", "by foot"),
        ("driving", "car", "by foot"),
        ("9", None, "by foot; 9"),
    ],
)
def test_the_method_is_the_tracks_type_where_it_is_a_known_word(gpx, written, method, notes):
    (table,) = gpx(TRACK.replace("<trkseg>", f"<type>{written}</type><trkseg>"))
    assert (table.rows["method"].iloc[0], table.rows["notes"].iloc[0]) == (method, notes)


def test_a_gap_between_segments_was_not_travelled(gpx):
    segment = f"<trkseg>{FIRST}{SECOND}</trkseg>"
    (table,) = gpx(f"<trk>{segment}{segment}</trk>")
    assert table.rows["track"].iloc[0].startswith("MULTILINESTRING ((-82.37 29.65, -82.38 29.66), (")


def test_a_track_without_name_is_called_after_the_file_and_its_number(gpx):
    (table,) = gpx(f"<trk><trkseg>{FIRST}{SECOND}</trkseg></trk>", name="may, day 12.gpx")
    assert table.rows["search_id"].tolist() == ["may, day 12 1"]


def test_tracks_of_one_name_are_told_apart(gpx):
    (table,) = gpx(TRACK + TRACK)
    assert table.rows["search_id"].tolist() == ["Monday", "Monday (2)"]


def test_a_track_of_one_point_is_held_back(gpx):
    (table,) = gpx(TRACK + f"<trk><name>Lost</name><trkseg>{FIRST}</trkseg></trk>")
    assert len(table.rows) == 1
    assert "track 'Lost' has fewer than two usable points" in table.faults[0].reason
    assert table.faults[0].line == 2


def test_waypoints_and_tracks_of_one_file_are_two_tables(gpx):
    waypoints, tracks = gpx(WAYPOINT + TRACK)
    assert (waypoints.source, waypoints.kind) == ("walk.gpx, waypoints", "crossings")
    assert (tracks.source, tracks.kind) == ("walk.gpx, tracks", "searches")


def test_a_planned_route_is_left_out_and_said(gpx):
    (table,) = gpx(WAYPOINT + '<rte><rtept lat="1" lon="2"/></rte>')
    assert "1 route left out: a route is planned, not travelled" in table.notes


def test_routes_left_out_are_said_once(gpx):
    tables = gpx(f"{WAYPOINT}<rte/><rte/>{TRACK}")
    assert [note for table in tables for note in table.notes if "left out" in note] == [
        "2 routes left out: a route is planned, not travelled"
    ]


def test_another_root_element_is_refused_even_behind_a_comment_that_names_ours(make_file):
    for text in ("<!-- <gpx> --><rss><wpt lat='1' lon='2'/></rss>", "<rss><gpx/></rss>"):
        with pytest.raises(UnfitFileError, match="found XML with the root element 'rss', expected GPX"):
            read_file(make_file("a.gpx", text))


def test_gpx_1_0_and_files_without_namespace_are_read(gpx):
    assert len(gpx(WAYPOINT, root='<gpx version="1.0">')[0].rows) == 1


def test_utf16_is_read(make_file):
    text = f'<?xml version="1.0" encoding="UTF-16"?><gpx>{WAYPOINT}</gpx>'
    assert len(read_file(make_file("a.gpx", text, encoding="utf-16"))[0].rows) == 1


def test_a_gpx_file_of_nothing_is_refused(gpx):
    with pytest.raises(UnfitFileError, match="without waypoints or tracks"):
        gpx("<metadata/>")


@pytest.mark.parametrize("cut", [40, 150, 300])
def test_a_file_cut_short_is_refused(make_file, cut):
    whole = f'<?xml version="1.0"?><gpx {NAMESPACE}>{WAYPOINT}{TRACK}</gpx>'
    with pytest.raises(UnfitFileError, match=r"broken or cut short|without a root element"):
        read_file(make_file("a.gpx", whole[:cut]))


@pytest.mark.parametrize(
    "declaration",
    [
        '<!DOCTYPE gpx [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>',
        '<!DOCTYPE gpx [<!ENTITY secret SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE gpx SYSTEM "http://example.org/gpx.dtd">',
    ],
)
def test_a_document_type_that_could_fetch_or_multiply_is_refused(make_file, declaration):
    text = f'<?xml version="1.0"?>{declaration}<gpx><wpt lat="1" lon="2"><name>x</name></wpt></gpx>'
    with pytest.raises(UnfitFileError, match="document type declaration"):
        read_file(make_file("a.gpx", text))


def test_deep_nesting_does_no_harm(gpx):
    (table,) = gpx(WAYPOINT + "<extensions>" + "<a>" * 20_000 + "</a>" * 20_000 + "</extensions>")
    assert len(table.rows) == 1
