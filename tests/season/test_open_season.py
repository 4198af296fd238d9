"""What the public's hotspots are found from. All records are invented."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import RoadwatchError, UsageError
from roadwatch.records.store import Season
from roadwatch.season.animals import find_animals
from roadwatch.season.mortality import mortality_of, season_hotspots
from roadwatch.season.open_season import open_season
from roadwatch.season.public_view import season_view

JULY = date(2025, 7, 1)


def snappers(crossing, n, *, at=0.01, prefix="s", **changes):
    return [
        crossing(
            at + k / 20_000,
            record_id=f"{prefix}{k}",
            taxon="Chelydra serpentina",
            id_confidence=0.99,
            condition="dead",
            observed_at=f"2025-05-{k % 28 + 1:02d}T07:40:00-04:00",
            **changes,
        )
        for k in range(n)
    ]


def opened(county):
    view = season_view(county.season, audience="public", today=JULY)
    return view.opened


def told(season):
    """All that a reading of crossings holds, as text."""
    return season.read("crossings").drop(columns="batch", errors="ignore").to_csv(index=False)


def test_it_holds_the_open_crossings_alone(county, crossing, nest):
    county.ingest("c.csv", [*snappers(crossing, 4), crossing(0.03, record_id="box", taxon="box turtle")])
    county.ingest("n.csv", [nest()])
    season = opened(county)
    assert sorted(season.read("crossings")["record_key"]) == ["s0", "s1", "s2", "s3"]
    assert season.read("nests").empty
    assert len(Season.open(county.season).read("nests")) == 1


@pytest.mark.parametrize("kind", ["nests", "checks", "people"])
def test_kinds_for_the_team_keep_their_columns_and_no_row(county, crossing, nest, kind):
    county.ingest("c.csv", snappers(crossing, 3))
    county.ingest("n.csv", [nest()])
    whole = Season.open(county.season).read(kind)
    assert list(opened(county).read(kind).columns) == list(whole.columns)
    assert opened(county).read(kind).empty


def test_temperatures_at_nests_are_left_out(county, crossing):
    county.ingest("c.csv", snappers(crossing, 3))
    rows = [
        {"series_id": f"{kind} logger", "kind": kind, "at": "2025-06-20T09:00:00-04:00", "temp_c": 27.5}
        for kind in ("air", "nest", "soil", "")
    ]
    county.ingest("t.csv", rows)
    assert len(Season.open(county.season).read("temperatures")) == 4
    season = opened(county)
    assert season.read("temperatures")["series_id"].tolist() == ["air logger", "logger"]
    assert season.read("temperatures", columns=["temp_c"])["temp_c"].tolist() == [27.5, 27.5]


def test_roads_stay_as_they_are(county, crossing):
    county.ingest("c.csv", snappers(crossing, 3))
    assert opened(county).read("roads").equals(Season.open(county.season).read("roads"))


def test_columns_and_types_are_those_of_the_season(county, crossing):
    county.ingest("c.csv", snappers(crossing, 4))
    whole, open_rows = Season.open(county.season).read("crossings"), opened(county).read("crossings")
    assert open_rows.drop(columns="is_public").dtypes.to_dict() == whole.dtypes.to_dict()
    assert open_rows.crs == whole.crs
    wanted = opened(county).read("crossings", columns=["taxon"], keys=["s2", "nobody"])
    assert wanted.drop(columns="geometry").values.tolist() == [["Chelydra serpentina"]]


def test_what_the_public_reads_and_what_tells_doubles_is_as_stored(county, crossing):
    county.ingest("c.csv", snappers(crossing, 4, sex="female", observer="A. Warden"))
    told_of_it = "record_key observed_at longitude latitude taxon id_confidence condition observer sex"
    names = told_of_it.split()
    whole = Season.open(county.season).read("crossings")[names]
    pd.testing.assert_frame_equal(opened(county).read("crossings")[names], whole, check_exact=False, atol=1e-6)


def test_a_masked_record_that_comes_changes_nothing(county, crossing):
    county.ingest("c.csv", snappers(crossing, 6))
    before = told(opened(county))
    county.ingest("b.csv", [crossing(0.0102, record_id="box", taxon="Terrapene carolina", condition="dead")])
    assert told(opened(county)) == before


def test_a_record_renamed_to_a_sensitive_taxon_changes_nothing(county, crossing):
    county.ingest("c.csv", snappers(crossing, 6))
    before = told(opened(county))
    told_now = county.run("amend", county.season, "s2", "taxon=Terrapene carolina", "--why", "photograph")
    assert told_now.exit_code == 0, told_now.output
    told_now = county.run("amend", county.season, "s2", "verified_taxon=Terrapene carolina", "--why", "photograph")
    assert told_now.exit_code == 0, told_now.output
    assert told(opened(county)) == before


def test_one_or_two_open_records_taken_out_change_nothing_yet(county, crossing):
    county.ingest("c.csv", snappers(crossing, 6))
    county.ingest("d.csv", snappers(crossing, 2, at=0.02, prefix="d"))
    before = told(opened(county))
    undone = county.run("undo", county.season, 2, "--why", "read twice")
    assert undone.exit_code == 0, undone.output
    assert len(Season.open(county.season).read("crossings")) == 6
    assert told(opened(county)) == before


def test_doubles_are_told_among_open_records_alone(county, crossing):
    # the same animal, seen by two; the second could not name it, so that its place is masked
    one = snappers(crossing, 1)[0]
    far = [row for k in range(3) for row in snappers(crossing, 1, at=0.02 + k / 100, prefix=f"far{k}-")]
    county.ingest("c.csv", [one, *far])
    county.ingest("d.csv", [{**one, "record_id": "unnamed", "taxon": "turtle", "observer": "B. Second"}])
    whole, season = Season.open(county.season), opened(county)
    network = mortality_of(season).network
    assert len(find_animals(whole, network).records) == 5
    assert find_animals(season, network).records["animal"].is_unique


def hotspots_of(season, **options):
    found = season_hotspots(season, rng=np.random.default_rng(1), n_draws=99, **options)
    return found.hotspots.to_wkt().to_csv(index=False), found.notes, found.stretches.to_wkt().to_csv(index=False)


@pytest.mark.parametrize("options", [{}, {"years": (2025, 2025)}, {"taxon": "snapping turtle"}])
def test_hotspots_and_their_notes_follow_no_masked_record(county, crossing, options):
    around = [crossing(-0.04 + k / 300, record_id=f"w{k}", taxon="slider", condition="dead") for k in range(6)]
    county.ingest("c.csv", [*snappers(crossing, 12), *around])
    before = hotspots_of(opened(county), **options)
    whole_before = hotspots_of(county.season, **options)
    boxes = [crossing(0.0104, record_id=f"b{k}", taxon="box turtle", condition="dead") for k in range(2)]
    county.ingest("b.csv", boxes)
    assert hotspots_of(opened(county), **options) == before
    assert hotspots_of(county.season, **options) != whole_before  # from all records they do, so the test can fail


def test_places_for_the_team_make_no_open_season(county, crossing):
    county.ingest("c.csv", snappers(crossing, 3))
    places = season_view(county.season, audience="team", today=JULY).places
    with pytest.raises(RoadwatchError, match="made from places for the public"):
        open_season(county.season, places)


def test_a_kind_that_does_not_exist_is_refused_as_ever(county, crossing):
    county.ingest("c.csv", snappers(crossing, 3))
    with pytest.raises(UsageError, match="holds no 'dragons'"):
        opened(county).read("dragons")


def test_a_season_without_a_crossing_is_an_empty_open_season(county):
    assert opened(county).read("crossings").empty


def test_what_is_found_from_all_records_is_for_the_team_and_says_so(county, crossing):
    county.ingest("c.csv", [*snappers(crossing, 4), crossing(0.03, record_id="box", taxon="box turtle")])
    words = "also those whose places the public must not see"
    assert any(words in note for note in mortality_of(Season.open(county.season)).notes)
    assert not any(words in note for note in mortality_of(opened(county)).notes)
