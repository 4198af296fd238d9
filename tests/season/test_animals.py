"""The merged view: which records are one animal, by a trace, and what is left undecided."""

import shutil
import sqlite3
from dataclasses import replace
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from simulators.carcasses import World, simulate

from roadwatch.records.doubles import propose_doubles
from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.season.animals import animals_of_season, count_doubles, find_animals
from roadwatch.season.mortality import dead_on_roads


def lonely(crossing, n=12):
    """Dead animals far from all others, so that the season knows what is usual."""
    return [
        crossing(-0.045 + 0.002 * k, record_id=f"l{k}", observed_at=f"2025-0{4 + k % 5}-{3 + k:02d}") for k in range(n)
    ]


@pytest.fixture
def twice(county, crossing):
    """A season in which Ann and Bea record one carcass, and one more turtle dies a month later at the same place."""
    rows = [
        crossing(
            0.03,
            record_id="a1",
            observed_at="2025-05-12",
            observer="Ann",
            carcass_age="fresh",
            count=1,
            carapace_mm=203,
        ),
        crossing(
            0.03005,
            record_id="b1",
            observed_at="2025-05-13",
            observer="Bea",
            carcass_age="recent",
            count=2,
            carapace_mm=205,
        ),
        crossing(
            0.03002,
            record_id="a2",
            observed_at="2025-06-20",
            observer="Ann",
            carcass_age="fresh",
            count=1,
            carapace_mm=150,
        ),
    ]
    county.ingest("lonely.csv", lonely(crossing))
    county.ingest("c.csv", rows)
    return county


def test_two_records_of_one_carcass_are_one_row_of_the_merged_view(twice):
    view = animals_of_season(twice.season).merged_view().set_index("record_key")
    assert "b1" not in view.index
    assert view.loc["a1", "merged_records"] == "b1"
    assert view.loc["a1", "count"] == 2, "the greatest count stands for all"
    assert view.loc["a2", "merged_records"] == ""


def test_no_record_is_lost_and_nothing_stored_changes(twice):
    before = twice.season.read_bytes()
    animals = animals_of_season(twice.season)
    assert len(animals.records) == 15
    merged = animals.merged_view()
    named = [*merged["record_key"], *(name for names in merged["merged_records"] for name in names.split(";") if name)]
    assert sorted(named) == sorted(animals.records["record_key"])
    assert twice.season.read_bytes() == before


def test_a_record_found_on_a_search_stands_for_the_animal(county, crossing):
    county.ingest("s.csv", [{"search_id": "s1", "started_at": "2025-05-13", "roads": "Invented East Road"}])
    rows = [
        crossing(0.03, record_id="chance", observed_at="2025-05-12", observer="Ann", search_id=""),
        crossing(0.03002, record_id="searched", observed_at="2025-05-13", observer="Bea", search_id="s1"),
    ]
    county.ingest("lonely.csv", lonely(crossing))
    county.ingest("c.csv", rows)
    view = animals_of_season(county.season).merged_view().set_index("record_key")
    assert view.loc["searched", "merged_records"] == "chance"


def test_proposals_name_both_records_with_probability_and_reasons(twice):
    proposals = animals_of_season(twice.season).proposals()
    assert proposals.columns.tolist() == ["double_id", "record_a", "record_b", "p", "reasons", "merged", "decided"]
    first = proposals.iloc[0]
    assert (first["record_a"], first["record_b"]) == ("a1", "b1")
    assert first["p"] >= 0.95
    assert first["merged"]
    assert "1 day apart" in first["reasons"]
    assert proposals["p"].between(0.2, 1).all()
    assert proposals["p"].is_monotonic_decreasing


def test_the_name_of_a_double_stays_when_records_are_added(twice, crossing):
    before = animals_of_season(twice.season).proposals().set_index("record_a")["double_id"]["a1"]
    twice.ingest("more.csv", [crossing(-0.01, record_id="late", observed_at="2025-08-01")])
    after = animals_of_season(twice.season).proposals().set_index("record_a")["double_id"]["a1"]
    assert before == after


def test_records_that_would_join_a_contradiction_are_kept_apart_and_it_is_said(twice):
    animals = animals_of_season(twice.season)
    # a2 fits b1 as well as a1 does, but a1 and a2 cannot be one: three rows of pairs made by hand
    row = animals.records.reset_index().set_index("record_key")["index"]
    pair = animals.doubles.pairs.iloc[[0]]
    pairs = pd.concat(
        [pair.assign(a=row["a1"], b=row["b1"], p=0.99), pair.assign(a=row["b1"], b=row["a2"], p=0.97)],
        ignore_index=True,
    )
    told = replace(animals, doubles=replace(animals.doubles, pairs=pairs)).proposals().set_index("record_a")
    assert told["merged"].to_dict() == {"a1": True, "b1": False}
    assert told.loc["b1", "reasons"].endswith("kept apart: it would join records that contradict each other")
    assert "kept apart" not in told.loc["a1", "reasons"]


def test_notes_count_merged_and_undecided(twice):
    merged, undecided = animals_of_season(twice.season).notes()
    assert merged.startswith("1 record merged as doubles into 1 animal (probability 0.93 or more")
    assert "counted as separate animals" in undecided


def test_hotspots_count_the_merged_view_and_say_so(twice):
    season = Season.open(twice.season)
    found = dead_on_roads(season, build_network(season.read("roads")), years=None)
    assert len(found.table) == 14
    assert found.notes[1].startswith("1 record merged as doubles")
    assert "undecided" in found.notes[2]


def test_living_records_are_not_merged_into_the_dead(county, crossing):
    rows = [crossing(0.03, record_id="dead"), crossing(0.03, record_id="alive", condition="alive", observer="B")]
    county.ingest("c.csv", rows)
    assert len(animals_of_season(county.season).merged_view()) == 2


def test_an_empty_season_has_no_animal(county):
    animals = animals_of_season(county.season)
    assert animals.merged_view().empty
    assert animals.proposals().empty
    assert animals.notes()[0].startswith("0 records merged")


def test_a_file_sent_again_without_names_is_merged_record_by_record(county):
    season = simulate_on_the_road(county, seed=4)
    again = season.drop(columns="record_id").round({"longitude": 5, "latitude": 5}).astype(object)
    county.ingest("again.csv", again.where(again.notna(), "").to_dict("records"))
    stored = Season.open(county.season)
    animals = find_animals(stored, build_network(stored.read("roads")))
    assert len(animals.records) == 2 * len(season)
    kept = animals.records.groupby("animal")["record_key"].agg(list)
    named = set(season["record_id"])
    # each record of the first file lies with at least one of the second, which has no name of its own
    assert all(named & set(keys) and set(keys) - named for keys in kept)


def simulate_on_the_road(county, seed):
    """Records of a simulated season laid along the county's east-west road, each with a time of day."""
    made = simulate(np.random.default_rng(seed), World(roads=1, road_m=9000, deaths=60, culverts=1, crossings=10))
    table = made.records.assign(
        record_id=[f"r{k}" for k in range(len(made.x_m))],
        observed_at=[
            text if len(text) > 10 else f"{text}T12:{k % 60:02d}" for k, text in enumerate(made.records["observed_at"])
        ],
        longitude=-81.9 - 0.047 + np.clip(made.x_m, 0, 9000) / 94_900,
        latitude=31.7 + np.round(made.y_m / 110_900, 6),
        search_id=None,
    )
    table["position_error_m"] = table["position_error_m"].fillna(30)
    plain = table.astype(object).where(table.notna(), "")
    told = county.ingest("c.csv", plain.to_dict("records"))
    assert told.exit_code == 0, told.output
    assert len(Season.open(county.season).read("crossings")) == len(table)
    return pd.DataFrame(table)


def test_the_countys_own_tree_of_taxa_tells_which_names_fit(county, crossing, monkeypatch):
    asked = []

    def propose(*args, taxa, **options):
        asked.append(taxa)
        return propose_doubles(*args, taxa=taxa, **options)

    monkeypatch.setattr("roadwatch.season.animals.propose_doubles", propose)
    folder = county.season.with_suffix(".tables")
    folder.mkdir()
    shutil.copy(files("roadwatch") / "data" / "taxa.csv", folder / "taxa.csv")
    text = (folder / "taxa.csv").read_text("utf-8") + "Invented countyi,species,Testudines\n"
    (folder / "taxa.csv").write_text(text, "utf-8")
    with sqlite3.connect(county.season) as connection:
        connection.execute("INSERT INTO settings (name, value) VALUES ('own_tables', ?)", (folder.name,))
    connection.close()
    animals_of_season(county.season)
    season = Season.open(county.season)
    count_doubles(season, build_network(season.read("roads")))
    assert all("Invented countyi" in tree for tree in asked)
    assert len(asked) == 2


def test_counting_doubles_at_intake_finds_what_the_list_shows(twice, crossing):
    twice.ingest(
        "more.csv", [crossing(0.0301, record_id="c9", observed_at="2025-05-14", observer="Cy", taxon="turtle")]
    )
    season = Season.open(twice.season)
    network = build_network(season.read("roads"))
    listed = find_animals(season, network).proposals()
    assert count_doubles(season, network) == (int(listed["merged"].sum()), int((~listed["merged"]).sum()))
    assert len(listed) > 1


def test_an_empty_season_has_no_double_to_count(county):
    season = Season.open(county.season)
    assert count_doubles(season, build_network(season.read("roads"))) == (0, 0)
