import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Transformer
from records.record_cases import TIMEZONE, context

from roadwatch.records.checks import accept_rows
from roadwatch.records.coordinates import angle_of
from roadwatch.records.tables import RawTable

# The area of these tests: 82.7 to 82.0 degrees west, 29.4 to 29.9 degrees north; all records are invented.
# 29 36.0 N, 82 18.0 W is 29.6, -82.3, worked by hand (36/60 = 0.6, 18/60 = 0.3).
PLACE = (-82.3, 29.6)
EASTING, NORTHING = Transformer.from_crs(4326, 32617, always_xy=True).transform(*PLACE)
METRES = (f"{EASTING:.2f}", f"{NORTHING:.2f}")


def take(columns, kind="crossings", *, surroundings=None, **options):
    """Rows of these columns of a place, each with a day and an animal."""
    n = len(next(iter(columns.values())))
    table = RawTable.of_columns(
        "club.csv", {"date": ["2025-05-12"] * n, "species": ["slider"] * n, **columns}, **options
    )
    return accept_rows(table, kind, timezone=TIMEZONE, context=context(**(surroundings or {})))


def places(accepted):
    return accepted.table[["longitude", "latitude"]].to_numpy()


def assert_placed(accepted, n=1):
    assert accepted.held_back == []
    assert places(accepted) == pytest.approx(np.array([PLACE] * n), abs=2e-7)


@pytest.mark.parametrize(
    ("lat", "lon"),
    [
        ("29.6", "-82.3"),
        ("29 36.0 N", "82 18.0 W"),
        ("29° 36′ 00″", "-82° 18′ 00″"),
        ("29°36’00”N", "82°18’00”W"),
        ("29d36m00s N", "82d18m00s W"),
        ("29.6 north", "82.3 west"),
        ("29,6", "-82,3"),
        ("293600N", "0821800W"),
    ],
)
def test_two_columns_in_any_way_of_writing(lat, lon):
    assert_placed(take({"lat": [lat], "lon": [lon]}))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("lat/lon", "29.6, -82.3"),
        ("coordinates", "29 36.0 N 82 18.0 W"),
        ("position", "29.6,-82.3"),
        ("lon/lat", "-82.3 29.6"),
        ("location", "POINT (-82.3 29.6)"),
        ("gps", "N29 36.0 W82 18.0"),
        ("gps", f"17R {METRES[0]} {METRES[1]}"),
        ("verbatimCoordinates", "82.3W, 29.6N"),
    ],
)
def test_one_column_in_any_way_of_writing(name, text):
    assert_placed(take({name: [text]}))


@pytest.mark.parametrize(
    "columns",
    [
        {"easting": METRES[0], "northing": METRES[1], "zone": "17N"},
        {"easting": METRES[0], "northing": METRES[1], "zone": "17", "band": "R"},
        {"UTM_E_17N": METRES[0], "UTM_N_17N": METRES[1]},
        {"easting": f"{METRES[0]} mE", "northing": f"{METRES[1]} mN", "zone": "17 R"},
        {"easting": METRES[0].replace(".", ","), "northing": METRES[1].replace(".", ","), "zone": "17N"},
        {"x": METRES[0], "y": METRES[1], "zone": "17N"},
        {"x (UTM 17N)": METRES[0], "y (UTM 17N)": METRES[1]},
        {"easting": METRES[0], "northing": METRES[1], "crs": "EPSG:32617"},
        {"easting": METRES[0], "northing": METRES[1], "zone": "17N", "datum": "NAD83"},
        {"lat_deg": "29", "lat_min": "36.0", "N/S": "N", "lon_deg": "82", "lon_min": "18.0", "E/W": "W"},
        {"lat_d": "29", "lat_m": "36", "lat_s": "00", "lon_d": "-82", "lon_m": "18", "lon_s": "0"},
    ],
)
def test_a_place_in_several_columns(columns):
    assert_placed(take({name: [cell] for name, cell in columns.items()}))


def test_metres_that_are_turned_are_said():
    accepted = take({"easting": [METRES[0]], "northing": [METRES[1]], "zone": ["17N"]})
    assert "places are turned from metres to degrees" in accepted.notes


def test_a_zone_that_nobody_wrote_is_the_only_one_that_fits_the_season_or_is_asked_for():
    accepted = take({"easting": [METRES[0]], "northing": [METRES[1]]})
    assert_placed(accepted)
    assert "UTM zone 17N is taken: no other puts the places inside the season's area" in accepted.notes
    nowhere = dict.fromkeys(("west", "south", "east", "north"), np.nan)
    (fault,) = take({"easting": [METRES[0]], "northing": [METRES[1]]}, surroundings=nowhere).held_back
    assert "is in metres without a UTM zone; write the zone in a column zone, such as 17N" in fault.reason
    assert fault.found == f"{METRES[0]} {METRES[1]}"


def test_the_letter_s_behind_a_zone_is_read_by_the_season():
    # Raleigh is in band S of zone 17: 32 to 40 degrees north
    easting, northing = Transformer.from_crs(4326, 32617, always_xy=True).transform(-78.6, 35.8)
    columns = {"easting": [f"{easting:.2f}"], "northing": [f"{northing:.2f}"], "zone": ["17S"]}
    carolina = {"west": -79.0, "south": 35.0, "east": -78.0, "north": 36.0}
    accepted = take(columns, surroundings=carolina)
    assert places(accepted) == pytest.approx(np.array([[-78.6, 35.8]]), abs=2e-7)
    (fault,) = take(columns).held_back  # the season of these tests holds neither reading
    assert "latitude band S or the southern hemisphere" in fault.reason


def test_old_datums_are_brought_to_wgs84_and_said():
    # pyproj itself is the check; NAD27 and WGS 84 differ by some tens of metres here
    expected = Transformer.from_crs(4267, 4326, always_xy=True).transform(*PLACE)
    accepted = take({"lat": ["29.6"], "lon": ["-82.3"], "geodeticDatum": ["NAD27"]})
    assert places(accepted) == pytest.approx(np.array([expected]), abs=1e-9)
    assert abs(places(accepted)[0, 1] - 29.6) > 1e-5
    assert any("turned from NAD27 to WGS 84" in note for note in accepted.notes)
    assert_placed(take({"lat": ["29.6"] * 3, "lon": ["-82.3"] * 3, "datum": ["WGS84", "NAD83", "unknown"]}), 3)


def test_columns_changed_over_on_an_old_datum_are_mended_before_they_are_turned():
    expected = Transformer.from_crs(4267, 4326, always_xy=True).transform(*PLACE)
    accepted = take({"lat": ["-82.3"], "lon": ["29.6"], "datum": ["NAD27"]})
    assert places(accepted) == pytest.approx(np.array([expected]), abs=1e-9)
    assert [one.new for one in accepted.repairs] == ["-82.3", "29.6"]


@pytest.mark.parametrize(
    ("epsg", "names"), [(2236, ("x", "y")), (26917, ("easting", "northing")), (3857, ("easting", "northing"))]
)
def test_coordinates_of_any_projected_system_are_turned_by_its_code(epsg, names):
    # Florida East in US survey feet, UTM 17 on NAD83, web maps; to and from by pyproj itself
    x, y = Transformer.from_crs(4326, epsg, always_xy=True).transform(*PLACE)
    accepted = take({names[0]: [f"{x:.3f}"], names[1]: [f"{y:.3f}"], "crs": [f"EPSG:{epsg}"]})
    assert_placed(accepted)


def test_a_geographic_system_of_another_part_of_the_world_leaves_no_row_without_a_place():
    accepted = take({"lat": ["29.6"], "lon": ["-82.3"], "epsg": ["EPSG:4258"]})  # ETRS89
    assert len(accepted.table) + len(accepted.held_back) == 1
    assert not np.isnan(places(accepted)).any()


def test_a_datum_that_is_not_known_is_taken_as_wgs84_and_noted():
    accepted = take({"lat": ["29.6"], "lon": ["-82.3"], "datum": ["local grid"]})
    assert_placed(accepted)
    (fault,) = accepted.faults
    assert (fault.severity, "WGS 84 is taken" in fault.reason) == ("note", True)


def test_columns_changed_over_are_told_by_their_letters():
    accepted = take({"lat": ["82 18.0 W", "29.6", "W 82.3"], "lon": ["29 36.0 N", "-82.3", "29.6"]})
    assert_placed(accepted, 3)
    assert "longitude and latitude are told by their letters, not by their columns" in accepted.notes
    assert accepted.repairs == ()


def test_two_latitudes_are_no_place():
    (fault,) = take({"lat": ["29.6 N"], "lon": ["29.7 N"]}).held_back
    assert "'29.7 N, 29.6 N' are two longitudes or two latitudes by their letters" in fault.reason


def test_repairs_that_are_certain_are_applied_and_recorded():
    accepted = take({"lat": ["29.6", "-82.3", "29 36 N"], "lon": ["82.3", "29.6", "82 18 E"]})
    assert_placed(accepted, 3)
    assert [(one.line, one.column, one.old, one.new) for one in accepted.repairs] == [
        (2, "longitude", "82.3", "-82.3"),
        (3, "longitude", "29.6", "-82.3"),
        (3, "latitude", "-82.3", "29.6"),
        (4, "longitude", "82 18 E", "-82.3"),
    ]
    assert accepted.repairs[0].original == "2025-05-12,slider,29.6,82.3"
    assert accepted.repairs[0].why == (
        "longitude has the wrong sign: longitude -82.3, latitude 29.6 lies inside the season's area, "
        "and no other repair brings it there"
    )


def test_a_repair_within_the_margin_is_held_back_with_its_proposal():
    accepted = take({"lat": ["29.6"], "lon": ["82.05"]}, surroundings={"margin_deg": 0.1})
    (fault,) = accepted.held_back
    assert fault.proposal == {"longitude": "-82.05", "latitude": "29.6"}
    assert accepted.repairs == ()


def test_a_row_held_back_for_another_reason_has_no_repair():
    accepted = take({"lat": ["29.6"], "lon": ["82.3"], "count": ["many"]})
    assert (len(accepted.held_back), accepted.repairs) == (1, ())


def test_swapped_columns_beyond_ninety_degrees_are_mended_too():
    japan = {"west": 139.0, "south": 35.0, "east": 140.0, "north": 36.0, "margin_deg": 0.1}
    accepted = take({"lat": ["139.7", "139.05"], "lon": ["35.7", "35.7"]}, surroundings=japan)
    assert places(accepted).tolist() == [[139.7, 35.7]]
    (fault,) = accepted.held_back
    assert fault.reason.startswith("latitude '139.05' lies outside what latitude can be (from -90 to 90)")
    assert fault.proposal == {"longitude": "139.05", "latitude": "35.7"}


def test_a_row_takes_its_place_from_whatever_column_is_filled():
    accepted = take(
        {
            "lat": ["29.6", None, None],
            "lon": ["-82.3", None, ""],
            "lat/lon": [None, "29.6, -82.3", None],
            "easting": [None, None, METRES[0]],
            "northing": [None, None, METRES[1]],
        }
    )
    assert_placed(accepted, 3)


def test_a_place_that_is_nowhere_or_half_is_missing():
    accepted = take({"lat": [None, "29.6", "NA"], "lon": ["-82.3", None, "n/a"], "lat/lon": [None, None, None]})
    reasons = [fault.reason.split(";")[0] for fault in accepted.held_back]
    assert reasons[:2] == ["latitude is missing", "longitude is missing"]
    assert reasons[2].startswith("longitude is missing")
    assert "Also: latitude is missing" in accepted.held_back[2].reason


@pytest.mark.parametrize(
    ("columns", "reason"),
    [
        ({"lat/lon": "County Road 12"}, "longitude 'County Road 12' is not a place that can be read"),
        ({"easting": "4147", "northing": "3507652", "zone": "17N"}, "are no UTM easting and northing"),
        ({"easting": METRES[0], "northing": METRES[1], "zone": "99"}, "longitude '99' is not a UTM zone"),
        ({"lat": "95", "lon": "-82.3"}, "latitude '95' lies outside what latitude can be (from -90 to 90)"),
        ({"lat": "29.6", "lon": "1" * 400}, "is longer than 300 characters"),
        ({"lat/lon": "17RLP7369076543"}, "military grid"),
    ],
)
def test_what_cannot_be_read_is_held_back_once_with_its_reason(columns, reason):
    accepted = take({name: [cell] for name, cell in columns.items()})
    (fault,) = accepted.held_back
    assert reason in fault.reason
    assert "Also: " not in fault.reason
    assert len(fault.reason) < 300


def test_a_weather_station_far_away_keeps_its_place():
    table = RawTable.of_columns(
        "t.csv", {"station": ["T"], "date": ["2025-05-12"], "tmax": ["30"], "lat": ["45 30 N"], "lon": ["75.7"]}
    )
    accepted = accept_rows(table, "temperatures", timezone=TIMEZONE, context=context())
    assert accepted.table[["longitude", "latitude"]].to_numpy().tolist() == [[75.7, 45.5]]


def test_a_single_coordinate_of_another_kind_is_read_the_same_way():
    assert angle_of("82 18.0 W") == -82.3
    person = {"name": ["Ada"], "hours": ["3"], "days": ["Mo"]}
    start = {"start_longitude": ["82 18 W"], "start_latitude": ["29°36'"]}
    table = RawTable.of_columns("p.csv", person | start)
    accepted = accept_rows(table, "people", timezone=TIMEZONE, context=context())
    assert accepted.table[["start_longitude", "start_latitude"]].to_numpy().tolist() == [[-82.3, 29.6]]
    far = {"name": ["Ada"], "hours": ["3"], "days": ["Mo"], "start_latitude": ["95 N"]}
    held = accept_rows(RawTable.of_columns("p.csv", far), "people", timezone=TIMEZONE, context=context()).held_back
    assert "lies outside what start_latitude can be" in held[0].reason


def test_rows_keep_their_places_whatever_their_index():
    rows = pd.DataFrame(
        {"date": ["2025-05-12"] * 2, "species": ["slider"] * 2, "lat": ["29.6", "29 36 N"]}, index=[7, 2]
    )
    rows["lon"] = ["-82.3", "82.3"]
    raw = RawTable("a.csv", rows, np.array([2, 3]), ["one", "two"])
    accepted = accept_rows(raw, "crossings", timezone=TIMEZONE, context=context())
    assert_placed(accepted, 2)
    assert [(one.line, one.original) for one in accepted.repairs] == [(3, "two")]


ODD = st.sampled_from(
    [
        None,
        "",
        "NA",
        "29.6",
        "-82.3",
        "82.3",
        "29 36 N",
        "82 18 W",
        "29,6",
        "414765",
        "3507652",
        "17N",
        "17S",
        "x",
        "1e9",
    ]
)


@given(
    st.lists(
        st.fixed_dictionaries(dict.fromkeys(("lat", "lon", "gps", "easting", "northing", "zone", "datum"), ODD)),
        max_size=5,
    )
)
@settings(max_examples=40, deadline=None)
def test_every_row_is_placed_inside_or_held_back(rows):
    columns = {
        name: [row[name] for row in rows] for name in ("lat", "lon", "gps", "easting", "northing", "zone", "datum")
    }
    accepted = take(columns)
    held = [fault.line for fault in accepted.held_back]
    assert sorted([*accepted.table["line"], *held]) == list(range(2, len(rows) + 2))
    found = places(accepted)
    assert ((found[:, 0] >= -82.7) & (found[:, 0] <= -82.0) & (found[:, 1] >= 29.4) & (found[:, 1] <= 29.9)).all()
    assert {one.line for one in accepted.repairs} <= set(accepted.table["line"])
