import geopandas as gpd
import pytest
import shapely
from share.names_for_sharing import KNOWN, SENSITIVE

from roadwatch.errors import RoadwatchError
from roadwatch.share.hotspot_view import OPEN_WORDS, ShownHotspots, show_hotspots

ROAD = 29.6  # a straight road along this parallel
FIRST, SECOND = (-82.30, -82.29), (-82.20, -82.19)


def hotspots(*spans):
    n = len(spans)
    return gpd.GeoDataFrame(
        {
            "rank": range(1, n + 1),
            "road": "County Road 12",
            "deaths": 7.4,
            "expected": 1.3,
            "ratio": 4.6,
            "ratio_low": 2.4,
            "ratio_high": 8.8,
            "p_value": 0.002,
            "share_of_deaths": 0.4,
        },
        geometry=[shapely.LineString([(west, ROAD), (east, ROAD)]) for west, east in spans],
        index=range(n),
        crs="EPSG:4326",
    )


def inside(span, n):
    return [(span[0] + (span[1] - span[0]) * (k + 0.5) / n, ROAD) for k in range(n)]


def show(table, records, audience="public"):
    return show_hotspots(table, records, audience=audience, sensitive=SENSITIVE, known=KNOWN)


def test_the_team_sees_all_hotspots_with_all_numbers(crossings):
    table = hotspots(FIRST, SECOND)
    shown = show(table, crossings([]), "team")
    assert shown.table.equals(table)
    assert shown.statements == ()


@pytest.mark.parametrize(("n", "kept"), [(0, 0), (2, 0), (3, 1)])
def test_the_public_sees_a_hotspot_from_three_records_on(crossings, n, kept):
    shown = show(hotspots(FIRST), crossings(inside(FIRST, n)))
    assert len(shown.table) == kept
    hidden = [text for text in shown.statements if text.startswith("Hotspots not shown to the public: 1 of 1, because")]
    assert len(hidden) == 1 - kept


@pytest.mark.parametrize("n_masked", [1, 9])
def test_hotspots_found_from_masked_records_too_are_refused_for_the_public(crossings, n_masked):
    taxa = ["Terrapene carolina"] * n_masked + ["Trachemys scripta"] * (10 - n_masked)
    with pytest.raises(RoadwatchError, match=f"found from {n_masked} records that must be masked"):
        show(hotspots(FIRST), crossings(inside(FIRST, 10), taxon=taxa))


def test_a_record_shown_before_it_was_renamed_is_no_masked_record(crossings):
    records = crossings(inside(FIRST, 4), taxon="Terrapene carolina", is_public=True)  # as an open season tells it
    assert len(show(hotspots(FIRST), records).table) == 1


def test_a_hidden_hotspot_leaves_the_ranks_of_the_others(crossings):
    shown = show(hotspots(FIRST, SECOND), crossings(inside(SECOND, 4)))
    assert shown.table["rank"].tolist() == [2]


def test_numbers_stay_and_the_reason_is_told(crossings):
    shown = show(hotspots(FIRST), crossings(inside(FIRST, 4)))
    assert shown.table[["deaths", "expected", "ratio", "p_value"]].values.tolist() == [[7.4, 1.3, 4.6, 0.002]]
    assert shown.statements == (OPEN_WORDS,)


def test_a_record_lies_in_a_hotspot_within_its_position_error_and_30_m(crossings):
    # One degree of latitude at 29.6 degrees is 110.85 km (WGS 84 meridian arc; from memory, +- 0.01 km).
    def north(metres):
        return [(-82.295, ROAD + metres / 110_850)] * 3

    assert len(show(hotspots(FIRST), crossings(north(38), position_error_m=10.0)).table) == 1
    assert len(show(hotspots(FIRST), crossings(north(43), position_error_m=10.0)).table) == 0
    assert len(show(hotspots(FIRST), crossings(north(58), position_error_m=float("nan"))).table) == 1  # blank is 30 m


def test_hotspots_in_metres_are_turned_into_degrees(crossings):
    metric = hotspots(FIRST).to_crs("EPSG:32617")
    shown = show(metric, crossings(inside(FIRST, 3)))
    assert shown.table.crs == "EPSG:4326"
    assert shown.table.total_bounds == pytest.approx([FIRST[0], ROAD, FIRST[1], ROAD], abs=1e-7)


def test_a_season_without_hotspots_can_be_shown(crossings):
    assert show(hotspots(), crossings([])).table.empty


def test_hotspots_cannot_be_built_by_hand():
    with pytest.raises(RoadwatchError, match="only be shown through show_hotspots"):
        ShownHotspots("public", hotspots(FIRST), ())


def test_columns_nobody_decided_on_do_not_reach_the_public(crossings):
    table = hotspots(FIRST).assign(taxa="Terrapene carolina", record_ids="R1;R2")
    shown = show(table, crossings(inside(FIRST, 4)))
    assert list(shown.table.columns) == list(hotspots(FIRST).columns)
    assert "taxa" in show(table, crossings([]), "team").table.columns
