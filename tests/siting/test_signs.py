"""The table of signs."""

import numpy as np
import pandas as pd
import pytest
from small_networks import network_of

from roadwatch.siting.signs import COLUMNS, plan_signs, sign_notes

AT_45_M = 360 * 0.3048
"""MUTCD 11th edition, Table 2C-3, column for a stop at 45 mph: 360 ft."""
MAIN = "Main Road"


@pytest.fixture
def network():
    return network_of(
        {MAIN: [(0, 0), (3000, 0)]},
        speed_limit=45.0,
        agency="Invented Roads Office",
        route_id="CR1",
        from_measure=0.0,
        to_measure=3.0,
        measure_unit="km",
    )


@pytest.fixture
def hotspots():
    def make(*places) -> pd.DataFrame:
        rows = [
            {"rank": k + 1, "status": status, "road": MAIN, "road_part": 0, "from_m": from_m, "to_m": to_m}
            for k, (from_m, to_m, status) in enumerate(places)
        ]
        return pd.DataFrame(rows, columns=["rank", "status", "road", "road_part", "from_m", "to_m"])

    return make


@pytest.fixture
def crossings():
    def make(offsets=(1000.0,) * 30, **changes) -> pd.DataFrame:
        table = pd.DataFrame({"edge": 0, "offset_m": list(offsets)})
        moments = [f"2024-05-{1 + k % 28:02d}T09:{k % 60:02d}:00-04:00" for k in range(len(table))]
        return table.assign(observed_at=moments, condition="alive", carcass_age=None).assign(**changes)

    return make


def plan(network, hotspots, crossings):
    return plan_signs(network, hotspots, crossings, rng=np.random.default_rng(1))


def test_a_hotspot_on_a_straight_road_gets_a_sign_for_each_way(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    assert sorted(zip(table["approach"], table["sign_m"].round(), strict=True)) == [
        ("eastbound", round(900 - AT_45_M)),
        ("westbound", round(1200 + AT_45_M)),
    ]


def test_every_row_has_the_promised_columns(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    promised = (
        "hotspot road approach sign_m longitude latitude distance_m speed_limit_mph milepost route_id agency on_from "
        "on_to hours_from hours_to note"
    )
    assert not set(promised.split()) - set(table)
    assert list(table.columns) == [*COLUMNS, "geometry"]


def test_mileposts_are_interpolated_from_the_layers_measures(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    length_m = network.edges["length_m"].iloc[0]
    assert table["milepost"].tolist() == pytest.approx((table["sign_m"] / length_m * 3.0).tolist())
    assert set(table["milepost_unit"]) == {"km"}
    assert set(table["agency"]) == {"Invented Roads Office"}


def test_the_point_is_where_longitude_and_latitude_say(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    assert table.crs == "EPSG:4326"
    assert table.geometry.x.tolist() == table["longitude"].tolist()
    assert table.geometry.y.tolist() == table["latitude"].tolist()


def test_a_place_of_the_watch_list_is_marked(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "watch list")), crossings()).table
    assert set(table["status"]) == {"watch list"}
    assert table["note"].str.contains("not a confirmed hotspot").all()


def test_a_provisional_hotspot_is_marked(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "provisional")), crossings()).table
    assert table["note"].str.contains("provisional: few animals").all()


def test_an_unknown_limit_leaves_the_place_blank_and_tells_several_speeds(hotspots, crossings):
    network = network_of({MAIN: [(0, 0), (3000, 0)]})
    found = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings())
    assert found.table[["sign_m", "longitude", "latitude", "distance_m", "speed_limit_mph"]].isna().all(axis=None)
    assert found.table["note"].str.contains("110 m at 45 mph").all()
    assert any("2 of 2 approaches have no speed limit" in note for note in found.notes)


def test_a_limit_beyond_the_table_is_left_to_an_engineer(hotspots, crossings):
    network = network_of({MAIN: [(0, 0), (3000, 0)]}, speed_limit=95.0)
    table = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    assert table["note"].str.contains("beyond the table").all()
    assert table["sign_m"].isna().all()


def test_a_road_that_ends_too_early_is_said(network, hotspots, crossings):
    table = plan(network, hotspots((40.0, 300.0, "confirmed")), crossings()).table
    assert table["note"].str.contains("the road ends 40 m from the hotspot, short of 110 m").sum() == 1


def test_a_hotspot_of_more_than_a_mile_asks_for_repeats(network, hotspots, crossings):
    table = plan(network, hotspots((500.0, 2400.0, "confirmed")), crossings()).table
    assert table["note"].str.contains("1.2 miles long").all()  # 1,900 m / 1,609.344 m = 1.18


def test_a_sign_inside_another_hotspot_says_which(network, hotspots, crossings):
    table = plan(network, hotspots((900.0, 1200.0, "confirmed"), (1250.0, 1500.0, "confirmed")), crossings()).table
    inside = table[table["note"].str.contains("stands inside hotspot 2")]
    assert inside["hotspot"].tolist() == [1]


def test_days_come_from_crossings_near_and_else_from_the_county_and_it_is_said(network, hotspots, crossings):
    near = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    far = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings(offsets=(2800.0,) * 30)).table
    assert set(near["days_basis"]) == {"near"}
    assert not near["note"].str.contains("county").any()
    assert set(far["days_basis"]) == {"county"}
    assert far["note"].str.contains("days are the county's").all()


def test_no_hotspot_makes_an_empty_table_with_its_columns(network, hotspots, crossings):
    found = plan(network, hotspots(), crossings())
    assert found.table.empty
    assert list(found.table.columns) == [*COLUMNS, "geometry"]


def test_the_notes_name_table_and_edition_evidence_and_cautions(network, hotspots, crossings):
    text = " ".join(sign_notes(plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table))
    for phrase in (
        "11th edition (2023), Table 2C-3",
        "check against the edition in force",
        "Permanent wildlife signs work poorly",
        "no saving is claimed",
        "road authority's leave",
        "licensed engineer",
        "local codes",
    ):
        assert phrase in text


def test_the_same_seed_gives_the_same_table(network, hotspots, crossings):
    places = hotspots((900.0, 1200.0, "confirmed"))
    one, other = (plan(network, places, crossings()).table for _ in range(2))
    pd.testing.assert_frame_equal(pd.DataFrame(one), pd.DataFrame(other))


ROUND_THE_COMPASS = {
    (0, 1): ("northbound", "southbound"),
    (1, 1): ("north-eastbound", "south-westbound"),
    (1, 0): ("eastbound", "westbound"),
    (1, -1): ("south-eastbound", "north-westbound"),
}


@pytest.mark.parametrize(("way", "words"), ROUND_THE_COMPASS.items())
@pytest.mark.parametrize("turned", [False, True])
def test_drivers_on_each_side_are_named_by_the_way_they_go(hotspots, crossings, way, words, turned):
    ends = [(0, 0), (2100 * way[0], 2100 * way[1])]
    network = network_of({MAIN: ends[::-1] if turned else ends}, speed_limit=45.0)
    table = plan(network, hotspots((900.0, 1200.0, "confirmed")), crossings()).table
    assert sorted(table["approach"]) == sorted(words)
    # who drives north or east passes the sign that lies further south or west
    toward = dict(zip(table["approach"], table.geometry, strict=True))
    first, second = toward[words[0]], toward[words[1]]
    assert (second.x - first.x) * way[0] + (second.y - first.y) * way[1] > 0.0
