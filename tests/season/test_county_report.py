"""A whole report: its numbers against counts of the input by hand, and its answers where data are missing."""

from datetime import date

import pandas as pd
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.records.taxa import taxonomy_of
from roadwatch.season.county_report import county_report
from roadwatch.season.report_words import poisson_interval

DAY = date(2026, 6, 1)
KEYS = ["seen", "taxa", "when", "where", "predicts", "averted", "nests", "years", "method"]


def report(county, audience="team", **options):
    return county_report(county.season, audience=audience, as_of=DAY, **options)


def by_key(found):
    return {one.key: one for one in found.sections}


def records(crossing):
    """2024: 4 dead; 2025: 6 dead and 2 alive, a kilometre and a day apart so that none is a double."""
    rows = [
        crossing(0.005 * k - 0.02, record_id=f"a{k}", observed_at=f"2024-05-{2 * k + 1:02d}", search_id="s24")
        for k in range(4)
    ]
    rows += [
        crossing(0.005 * k - 0.02, record_id=f"b{k}", observed_at=f"2025-05-{2 * k + 1:02d}", search_id="s25")
        for k in range(6)
    ]
    return rows + [
        crossing(
            0.03 + 0.005 * k, record_id=f"v{k}", observed_at=f"2025-06-{k + 1:02d}T08:00:00-04:00", condition="alive"
        )
        for k in range(2)
    ]


def searches():
    return [
        {
            "search_id": f"s{year - 2000}",
            "started_at": f"{year}-05-01T07:00:00-04:00",
            "ended_at": f"{year}-05-01T09:00:00-04:00",
            "roads": "Invented East Road",
            "method": "car",
            "observer": "A",
        }
        for year in (2024, 2025)
    ]


@pytest.fixture
def told(county, crossing):
    county.ingest("c.csv", records(crossing))
    return county


def test_nothing_at_all_is_not_enough_for_a_report(county):
    with pytest.raises(NotEnoughDataError, match="no crossing, search or nest"):
        report(county)


def test_every_question_has_its_section_in_order(told):
    assert [one.key for one in report(told).sections] == KEYS


def test_animals_are_those_counted_in_the_input(told, crossing):
    table = pd.DataFrame(records(crossing))
    own = table[table["observed_at"].str.startswith("2025")]["condition"].value_counts()
    seen = by_key(report(told))["seen"]
    total, dead, alive = own.sum(), own["dead"], own["alive"]
    words = f"In 2025 people recorded {total} turtles on or beside roads: {dead} dead and {alive} alive."
    assert seen.sentences[0] == words
    assert f"They stand in {total} records, none of them" in seen.sentences[1]


def test_without_searches_it_says_that_effort_is_unknown_and_years_do_not_compare(told):
    found = by_key(report(told))
    assert "where people looked is unknown" in " ".join(found["seen"].sentences)
    assert "cannot be compared" in " ".join(found["years"].sentences)
    assert not found["years"].figures


def test_with_searches_rates_are_deaths_for_each_kilometre_of_road_searched(told):
    told.ingest("s.csv", searches())
    rows = by_key(report(told))["years"].tables[0].rows.set_index("Year")
    # The road runs 0.1 degree along latitude 31.7: 9.48 km on WGS 84.
    assert rows["Km searched"].to_list() == pytest.approx([9.48, 9.48], abs=0.1)
    assert rows["Dead on searches"].to_list() == [4, 6]
    assert rows.loc[2025, "Dead per km searched"] == pytest.approx(6 / 9.48, rel=0.02)
    assert rows.loc[2025, "to"] == pytest.approx(poisson_interval(6)[1] / 9.48, rel=0.02)


def test_too_few_records_for_a_ratio_are_not_called_a_difference(told):
    told.ingest("s.csv", searches())
    words = by_key(report(told))["years"].sentences[0]
    assert "2025 had 1.50 times the dead turtles of 2024" in words
    assert words.endswith("not clearly different from before.")


def test_a_year_may_be_asked_for(told):
    found = report(told, year=2024)
    assert found.year == 2024
    assert by_key(found)["seen"].sentences[0].startswith("In 2024 people recorded 4 turtles")
    assert "first year on file" in by_key(found)["years"].lacking


def test_one_section_without_data_leaves_the_others_standing(county, crossing):
    county.ingest("c.csv", [crossing(record_id="only", observed_at="2025-05-02")])
    found = by_key(report(county))
    assert found["seen"].sentences[0] == "In 2025 people recorded 1 turtle on or beside roads: 1 dead."
    assert all(found[key].lacking for key in ("where", "predicts", "averted", "nests", "years"))


def test_nests_alone_make_a_report(county, nest):
    county.ingest("n.csv", [nest(nest_id=f"n{k}") for k in range(6)])
    found = by_key(report(county, "public"))
    assert found["nests"].sentences[0].startswith("At least 5 nests are on record")


def test_the_public_is_told_what_the_open_records_tell_and_nothing_of_sensitive_ones(told, crossing):
    before = report(told, "public").tables()["seen"]
    told.ingest("x.csv", [crossing(0.04, record_id="x", taxon="Terrapene carolina", observed_at="2025-05-30")])
    assert report(told, "public").tables()["seen"].equals(before)


def test_the_same_seed_gives_the_same_report(told):
    assert repr(report(told, seed=3).sections) == repr(report(told, seed=3).sections)


def test_the_public_is_told_that_masked_records_are_not_counted(told):
    assert "masked records are in no number" in by_key(report(told, "public"))["seen"].sentences[0]
    assert "masked" not in by_key(report(told))["seen"].sentences[0]


def test_the_public_sees_no_sensitive_taxon_of_fewer_than_three(told):
    team, public = (report(told, who).tables()["taxa"] for who in ("team", "public"))
    names = taxonomy_of().taxa
    few = public[public["Turtles to expect"] < 3]["Scientific name"]
    assert not [name for name in few if name in names and names[name].sensitive]
    assert len(team) >= len(public) > 0


def test_a_search_after_the_day_adds_no_kilometres_to_the_rate(county, crossing):
    county.ingest("c.csv", records(crossing))
    searches = [
        {"search_id": name, "started_at": day, "method": "car", "roads": "Invented East Road", "observer": "A"}
        for name, day in (("s24", "2024-05-01T06:00"), ("s25", "2025-05-01T06:00"), ("late", "2025-11-01T06:00"))
    ]
    county.ingest("s.csv", searches, "--as", "searches")
    early = county_report(county.season, audience="team", as_of=date(2025, 7, 1))
    late = county_report(county.season, audience="team", as_of=date(2025, 12, 1))
    told = [by_key(one)["years"].tables[0].rows.set_index("Year")["Km searched"][2025] for one in (early, late)]
    assert told == pytest.approx([9.48, 2 * 9.48], rel=0.01), "the road is 9.48 km long, by hand"
