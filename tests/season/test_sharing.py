"""What the team writes can be read in again; what the public gets holds to the standards. All records are invented."""

import csv
import json
import re
from datetime import date
from pathlib import Path

import geopandas as gpd
import icalendar
import pandas as pd
import pytest
import shapely
from dwca.read import DwCAReader
from gpx_schema import assert_valid_gpx

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.records.store import Season
from roadwatch.season.sharing import ENDINGS, FORMATS, share_season

DAY = date(2025, 7, 1)
KINDS = ("crossings", "nests", "checks", "searches", "measures", "temperatures")


@pytest.fixture
def filled(county, crossing, nest):
    """A season with every kind that is shared, awkward cells among them."""
    crossings = [
        crossing(0.01 + k / 1000, record_id=f"c{k}", observed_at=f"2025-05-{k + 10}T07:40:00-04:00") for k in range(5)
    ]
    crossings[0] |= {
        "notes": '=SUM(A1), said "B"; ünïcode \U0001f422',
        "weather": "rain, then sun",
        "search_id": "s1",
        "gravid": "yes",
        "seen_head_side": "thin_stripes_only",
        "heading_deg": 12.5,
    }
    crossings[1] |= {"taxon": "yellow belly slider?", "id_confidence": "likely", "count": 2}
    crossings[2] |= {"taxon": "box turtle", "verified_taxon": "Terrapene carolina", "verified_by": "C"}
    columns = dict.fromkeys(name for row in crossings for name in row)
    county.ingest("s.csv", [{"search_id": "s1", "started_at": "2025-05-10T07:00:00-04:00", "observer": "A",
        "ended_at": "2025-05-10T08:00:00-04:00", "method": "foot", "sides": 2,
        "roads": "Invented East Road", "distance_km": 3.25, "found_none": "no"}])  # fmt: skip
    county.ingest("c.csv", [dict.fromkeys(columns, "") | row for row in crossings])
    county.ingest("n.csv", [nest(nest_id=f"n{k}", longitude=-81.9 + k / 1000, landowner_ok="yes") for k in range(3)])
    county.ingest(
        "k.csv", [{"nest_id": "n1", "checked_at": "2025-06-20T09:00:00-04:00", "outcome": "intact", "observer": "B"}]
    )
    built = {"measure_id": "m1", "kind": "fence", "built_on": "2024-11-02", "sides": 2, "notes": "=2 gaps"}
    line = {"type": "LineString", "coordinates": [[-81.905, 31.7], [-81.9, 31.7]]}
    feature = {"type": "Feature", "properties": built, "geometry": line}
    told = county.run("ingest", county.season, county.write("m.geojson", json.dumps(feature)))
    assert told.exit_code == 0, told.output
    county.ingest("t.csv", [{"series_id": "log7", "kind": "nest", "at": "2025-06-20T09:00:00-04:00", "temp_c": 27.5}])
    county.ingest("p.csv", [{"observer": "A", "days": "Mo;We", "hours_per_day": 2, "start_longitude": -81.9,
        "start_latitude": 31.7}])  # fmt: skip
    assert [len(Season.open(county.season).read(kind)) for kind in (*KINDS, "people")] == [5, 3, 1, 1, 1, 1, 1]
    return county


def share(county, form, *, audience="team", name="out", windows=None):
    to = county.folder / f"{name}{ENDINGS[form][0]}"
    return to, share_season(
        county.season, form=form, to=to, audience=audience, as_of=DAY, released_at="2025-07-01", windows=windows
    )


def windows(*nests):
    days = {"hatch_early": "2025-07-30", "hatch_likely": "2025-08-09", "hatch_late": "2025-08-20"}
    return pd.DataFrame([{"nest_id": name, **days} for name in nests])


@pytest.mark.parametrize("form", ["csv", "geojson", "geopackage"])
def test_what_the_team_writes_is_read_back_field_by_field(filled, form):
    _, shared = share(filled, form)
    empty = filled.folder / "empty.gpkg"
    made = filled.run("new", empty, "--roads", filled.folder / "roads.geojson", "--timezone", "America/New_York")
    assert made.exit_code == 0, made.output
    told = filled.run("ingest", empty, *sorted(shared.files, key=lambda file: "checks" in file.name))
    assert told.exit_code == 0, told.output
    for kind in KINDS:
        before, after = (in_full(Season.open(path).read(kind), kind) for path in (filled.season, empty))
        pd.testing.assert_frame_equal(before, after)


def in_full(records, kind):
    """All cells of a kind, without where they came from; the mark of the team is left out of ``other``."""
    shape = records.geometry.to_wkt(rounding_precision=6) if "geometry" in records else None
    records = records.assign(shape=shape)
    names = [name for name in records.columns if name not in ("batch", "geometry")]
    key = {"checks": ["nest_id", "checked_at"], "temperatures": ["series_id", "at"]}.get(kind, ["record_key"])
    told = pd.DataFrame(records[names]).sort_values(key).reset_index(drop=True)
    told["other"] = [unmarked(text) for text in told["other"]]
    return (
        told.drop(columns="record_key")
        if kind in ("checks", "temperatures")
        else told.reindex(columns=sorted(told.columns))
    )


def unmarked(text):
    entries = {
        k: v for k, v in json.loads(text or "{}").items() if k not in ("access", "wkt")
    }  # wkt: a measure's shape
    return json.dumps(entries, sort_keys=True)


@pytest.mark.parametrize("form", FORMATS)
def test_every_file_of_the_team_says_so_inside(filled, form):
    _, shared = share(filled, form, windows=windows("n0", "n1"))
    for file in shared.files:
        if form == "dwca":
            with DwCAReader(file) as archive:
                assert "Team only" in "".join(archive.metadata.itertext())
                assert {row.data["http://purl.org/dc/terms/accessRights"] for row in archive} == {"team only"}
        else:
            assert b"team only" in file.read_bytes().lower().replace(b"\r\n ", b"")


def test_a_cell_that_a_spreadsheet_would_compute_is_disarmed_in_csv_and_as_it_is_elsewhere(filled):
    (csv_file, _), (json_file, _), (archive_file, _) = (share(filled, form) for form in ("csv", "geojson", "dwca"))
    with csv_file.open(encoding="utf-8", newline="") as file:
        row = next(row for row in csv.DictReader(file) if row["record_id"] == "c0")
    assert row["notes"].startswith("'=SUM")
    assert float(row["longitude"]) == pytest.approx(-81.89)  # a leading minus of a number stays
    assert not row["longitude"].startswith("'")
    features = json.loads(json_file.read_text(encoding="utf-8"))["features"]
    assert any((f["properties"].get("notes") or "").startswith("=SUM") for f in features)
    with DwCAReader(archive_file) as archive:
        remarks = [row.data["http://rs.tdwg.org/dwc/terms/occurrenceRemarks"] for row in archive]
    assert any(remark.startswith("=SUM") and "\U0001f422" in remark for remark in remarks)


@pytest.mark.parametrize("audience", ["team", "public"])
def test_geojson_is_that_of_rfc_7946(filled, audience):
    to, _ = share(filled, "geojson", audience=audience)
    document = json.loads(to.read_text(encoding="utf-8"))
    assert document["type"] == "FeatureCollection"
    assert "crs" not in document  # RFC 7946, section 4
    for feature in document["features"]:
        shape = shapely.from_geojson(json.dumps(feature["geometry"]))
        assert shape.is_valid
        west, south, east, north = shape.bounds
        assert -180 <= west <= east <= 180
        assert -90 <= south <= north <= 90
        if shape.geom_type == "Polygon":
            assert shape.exterior.is_ccw  # section 3.1.6, the right-hand rule


@pytest.mark.parametrize("audience", ["team", "public"])
def test_gpx_is_valid_by_its_published_schema(filled, audience):
    to, shared = share(filled, "gpx", audience=audience)
    text = to.read_text(encoding="utf-8")
    assert_valid_gpx(text)
    rows, _ = share(filled, "csv", audience=audience)
    with rows.open(encoding="utf-8", newline="") as file:
        n_points = sum(row.get("what") != "square" for row in csv.DictReader(file))
    assert text.count("<wpt ") == next(iter(shared.files.values())) == n_points + (3 if audience == "team" else 0)


def test_the_public_geopackage_has_crossings_squares_and_measures_in_layers(filled):
    to, _ = share(filled, "geopackage", audience="public")
    assert sorted(gpd.list_layers(to)["name"]) == ["crossings", "measures", "squares"]
    squares = gpd.read_file(to, layer="squares")
    assert squares[["counted", "records"]].to_numpy().tolist() == [["nests", 3]]
    assert squares.crs == "EPSG:4326"
    assert (squares["dataGeneralizations"].str.contains("10 km by 10 km")).all()
    assert (squares["informationWithheld"].str.contains("masked")).all()  # the share masked stands in the file


def test_a_team_calendar_has_a_window_and_place_for_each_nest(filled):
    to, _ = share(filled, "icalendar", windows=windows("n0", "n2"))
    events = icalendar.Calendar.from_ical(to.read_bytes()).walk("VEVENT")
    assert [str(event["summary"]) for event in events] == [f"Nest {n}: hatch window (team only)" for n in ("n0", "n2")]
    assert events[0].decoded("dtstart") == date(2025, 7, 30)
    assert events[0].decoded("dtend") == date(2025, 8, 21)  # RFC 5545: the end of an all-day event is not in it
    assert events[1]["geo"].to_ical() == "31.701;-81.898"


def test_a_public_calendar_names_months_and_no_nest_day_or_place(filled):
    to, _ = share(filled, "icalendar", audience="public", windows=windows("n0", "n1", "n2"))
    (event,) = icalendar.Calendar.from_ical(to.read_bytes()).walk("VEVENT")
    assert (event.decoded("dtstart"), event.decoded("dtend")) == (date(2025, 7, 1), date(2025, 9, 1))
    assert "geo" not in event
    assert not re.search(r"n[012]|2025-?0[78]-?[23]", to.read_text(encoding="utf-8"))


def test_months_of_two_nests_are_not_told(filled):
    with pytest.raises(NotEnoughDataError, match="at least 3 nests of a year need a window"):
        share(filled, "icalendar", audience="public", windows=windows("n0", "n1"))


def test_people_stay_at_home(filled):
    _, shared = share(filled, "csv")
    assert {file.name for file in shared.files} == {"out.csv", *(f"out-{kind}.csv" for kind in KINDS[1:])}
    assert any("starting points are homes" in note for note in shared.notes)


@pytest.mark.parametrize("form", ["csv", "geojson", "geopackage"])
def test_the_public_gets_what_was_built_without_its_notes(filled, form):
    to, shared = share(filled, form, audience="public")
    beside = to.with_name(f"out-measures{to.suffix}")
    told = {
        "csv": lambda: pd.read_csv(beside),
        "geojson": lambda: gpd.read_file(beside),
        "geopackage": lambda: gpd.read_file(to, layer="measures"),
    }[form]()
    assert told[["measure_id", "kind", "built_on"]].astype(str).to_numpy().tolist() == [["m1", "fence", "2024-11-02"]]
    assert "notes" not in told
    shape = shapely.from_wkt(told["wkt"].iloc[0]) if form == "csv" else told.geometry.iloc[0]
    assert shape.equals(shapely.LineString([(-81.905, 31.7), (-81.9, 31.7)]))
    assert sum(shared.files.values()) == 5  # 3 crossings sure to be of open taxa, a square with the nests, the fence


def test_formats_without_measures_say_so(filled):
    for form in ("gpx", "dwca"):
        _, shared = share(filled, form, audience="public")
        assert any("what was built is in GeoPackage" in note for note in shared.notes)


def test_a_wrong_ending_is_refused_before_anything_is_released(filled):
    with pytest.raises(UsageError, match=r"a file of format 'dwca' ends in \.zip, not '\.csv'"):
        share_season(
            filled.season, form="dwca", to=Path("x.csv"), audience="public", as_of=DAY, released_at="2025-07-01"
        )


def test_a_season_is_not_overwritten_by_what_is_shared_of_it(filled):
    with pytest.raises(UsageError, match="is a season file and is not overwritten"):
        share_season(
            filled.season, form="geopackage", to=filled.season, audience="team", as_of=DAY, released_at="2025-07-01"
        )


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("audience", ["team", "public"])
def test_an_empty_season_has_nothing_to_share_and_says_so(county, form, audience):
    with pytest.raises(NotEnoughDataError, match="not enough data"):
        share(county, form, audience=audience)


@pytest.mark.parametrize("form", [form for form in FORMATS if form != "geopackage"])  # which states when it was written
def test_the_same_season_gives_the_same_bytes(filled, form):
    one, _ = share(filled, form, audience="public", name="one", windows=windows("n0", "n1", "n2"))
    other, _ = share(filled, form, audience="public", name="other", windows=windows("n0", "n1", "n2"))
    assert one.read_bytes() == other.read_bytes()
