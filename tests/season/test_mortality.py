"""From crossings to hotspots: only the dead count, doubles once, a taxon by its probability."""

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.season.mortality import mortality_of, season_hotspots
from roadwatch.season.road_records import dead_on_roads


def scattered(crossing, n, **changes):
    """Dead animals 130 m apart or more, all on different days: no doubles."""
    return [
        crossing(
            0.0015 * (k - n // 2), record_id=f"s{k}", observed_at=f"2025-{4 + k // 28:02d}-{1 + k % 28:02d}", **changes
        )
        for k in range(n)
    ]


def records_of(county, **options):
    season = Season.open(county.season)
    return dead_on_roads(season, build_network(season.read("roads")), years=options.get("years"))


def test_only_the_dead_count(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.02, condition="alive"), crossing(0.03, condition="unknown")])
    found = records_of(county)
    assert found.table["record_id"].tolist() == ["c0.010000"]
    assert "1 dead records used; 2 others" in found.notes[0]


def test_one_carcass_by_two_people_counts_once(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.01005, record_id="again", observer="B"), crossing(0.03)])
    found = records_of(county)
    assert len(found.table) == 2
    assert "1 record merged" in found.notes[1]


def test_years_choose_records(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.02, observed_at="2023-05-01")])
    assert records_of(county, years=(2023, 2024)).table["year"].tolist() == [2023]


def test_a_count_of_three_weighs_three(county, crossing):
    county.ingest("c.csv", [crossing(0.01, count=3)])
    assert records_of(county).table["weight"].tolist() == [3.0]


def test_a_taxon_asked_for_counts_by_probability(county, crossing):
    rows = [crossing(0.01, id_confidence=0.9), crossing(0.03, taxon="snapping turtle", id_confidence=1.0)]
    county.ingest("c.csv", rows)
    ready = mortality_of(Season.open(county.season), taxon="slider")
    assert ready.records["weight"].sum() == pytest.approx(0.9)
    assert set(ready.records["record_id"]) == {"c0.010000"}
    assert any("0.9 expected among 2" in note for note in ready.notes)
    drawn = ready.drawn_sets(np.random.default_rng(1))
    assert drawn.shape == (20, len(ready.records))
    assert 10 <= drawn[:, 0].sum() <= 20, "0.9 of 20 sets, give or take: below 10 in fewer than 1 of 100,000 cases"
    assert (drawn == drawn[:, :1]).all(), "all parts of a record are of one animal"


def test_no_dead_record_is_not_enough_data(county, crossing):
    county.ingest("c.csv", [crossing(condition="alive")])
    with pytest.raises(NotEnoughDataError, match="no dead record"):
        season_hotspots(county.season, rng=np.random.default_rng(1))


def test_an_unknown_taxon_is_a_wrong_question(county, crossing):
    county.ingest("c.csv", scattered(crossing, 6))
    with pytest.raises(UsageError, match="is not known"):
        season_hotspots(county.season, rng=np.random.default_rng(1), taxon="dragon")


def test_five_records_in_one_place_are_never_a_confirmed_hotspot(county, crossing):
    rows = [crossing(0.01 + 0.0006 * k, record_id=f"r{k}", observed_at=f"2025-05-{1 + 4 * k:02d}") for k in range(5)]
    county.ingest("c.csv", rows)
    result = season_hotspots(county.season, rng=np.random.default_rng(1), n_draws=99)
    assert result.hotspots.empty
    assert any("not enough for a confirmed hotspot" in note for note in result.notes)


def test_a_heap_of_deaths_among_forty_is_found_where_it_lies(county, crossing):
    heap = [
        crossing(
            0.030 + 0.0001 * k,
            record_id=f"h{k}",
            observed_at=f"2024-0{3 + k // 6}-{1 + 4 * (k % 6):02d}",
            observer="AB"[k % 2],
        )
        for k in range(14)
    ]
    county.ingest("c.csv", [*scattered(crossing, 30), *heap])
    result = season_hotspots(county.season, rng=np.random.default_rng(1), n_draws=199)
    top = result.hotspots.iloc[0]
    assert top["road"] == "Invented East Road"
    assert top["longitude_from"] - 0.003 < -81.87 < top["longitude_to"] + 0.003
    assert top["ratio_low"] <= top["ratio"] <= top["ratio_high"]
    assert top["basis"] == "unknown"
    assert top["deaths"] > 7, "a culvert does not talk its own deaths down to doubles"
    assert any("where people looked is unknown" in note for note in result.notes)


def test_with_searches_only_what_they_found_is_tested(county, crossing):
    county.ingest(
        "s.csv",
        [{"search_id": "s1", "started_at": "2025-05-01", "method": "foot", "roads": "Invented East Road"}],
    )
    found = [dict(row, search_id="s1") for row in scattered(crossing, 12)]
    chance = [crossing(0.0, latitude=31.72 + 0.002 * k, record_id=f"x{k}", search_id="") for k in range(3)]
    county.ingest("c.csv", [*found, *chance])
    result = season_hotspots(county.season, rng=np.random.default_rng(1), n_draws=99)
    assert any("12 of 15 placed dead records were found on them" in note for note in result.notes)
    assert set(result.mortality.records["record_id"]) == {f"s{k}" for k in range(12)}
    assert set(result.mortality.chance_finds["record_id"]) == {"x0", "x1", "x2"}
    north = result.stretches[result.stretches["road"] == "Invented North Road"]
    assert north["effort_km"].isna().all(), "a road never searched is unknown, never zero"


def test_equal_seeds_give_equal_results(county, crossing):
    county.ingest("c.csv", scattered(crossing, 35))
    first, second = (season_hotspots(county.season, rng=np.random.default_rng(5), n_draws=99) for _ in range(2))
    assert first.stretches["p_value"].equals(second.stretches["p_value"])


def test_parts_of_a_record_add_up_to_it_and_lie_within_its_error(county, crossing):
    county.ingest("c.csv", [crossing(0.001, position_error_m=60), crossing(0.03)])
    parts = mortality_of(Season.open(county.season)).records
    by_record = parts.groupby("record_id")["weight"].agg(["sum", "size"])
    assert by_record["sum"].tolist() == pytest.approx([1.0, 1.0])
    assert by_record["size"].tolist()[0] > 2, "60 m near a crossroads reach several stretches"


def test_possible_doubles_count_for_the_chance_that_they_are_new(county, crossing):
    rows = [crossing(0.01), crossing(0.0102, record_id="again", observer="B", observed_at="2025-05-18")]
    county.ingest("c.csv", [*rows, *scattered(crossing, 12)])
    ready = mortality_of(Season.open(county.season))
    weight = ready.records.groupby("record_id")["weight"].sum()
    assert weight["c0.010000"] == pytest.approx(1.0), "the first of a pair is an animal"
    assert 0.05 < weight["again"] < 0.95
    assert any("takes" in note and "from their weights" in note for note in ready.notes)


def test_counts_by_taxon_add_up_to_all_animals_whatever_is_asked(county, crossing):
    county.ingest("c.csv", [*scattered(crossing, 12, count=1), crossing(0.031, taxon="snapping turtle", count=2)])
    for taxon in (None, "slider"):
        result = season_hotspots(county.season, rng=np.random.default_rng(1), n_draws=19, taxon=taxon)
        assert result.counts_by_taxon["expected"].sum() == pytest.approx(14.0)
        assert any(result.tables_version in note for note in result.notes)


def test_the_names_do_not_change_what_all_turtles_show(county, crossing):
    county.ingest("c.csv", scattered(crossing, 35))
    table = season_hotspots(county.season, rng=np.random.default_rng(5), n_draws=99).stretches
    assert table["support"].isna().all(), "support is told only where a taxon is asked for"


def test_a_taxon_that_stands_in_all_sets_is_confirmed_and_says_so(county, crossing):
    heap = [
        crossing(
            0.03 + 0.0003 * k,
            record_id=f"h{k}",
            observed_at=f"{2023 + k % 3}-0{5 + k % 2}-{1 + k:02d}",
            observer="AB"[k % 2],
            id_confidence=0.95,
        )
        for k in range(14)
    ]
    county.ingest("c.csv", [*[dict(row, id_confidence=1.0) for row in scattered(crossing, 30)], *heap])
    result = season_hotspots(county.season, rng=np.random.default_rng(1), n_draws=99, taxon="slider")
    top = result.hotspots.iloc[0]
    assert top["status"] == "confirmed"
    assert top["support"] >= 0.95
    assert result.stretches["support"].max() >= 0.95
    assert top["deaths_low"] < top["deaths"] < top["deaths_high"]
