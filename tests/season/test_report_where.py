"""Where they die, whether other years would have told, and what a fence averts: the sentences of the sections."""

from datetime import date

import pytest

from roadwatch.season.county_report import county_report

DAY = date(2026, 6, 1)


@pytest.fixture
def sections(county, crossing):
    """40 dead at one place, two a day apart in time over two years, and 40 spread along the road."""
    rows = []
    for year in (2024, 2025):
        days = [f"{year}-{month:02d}-{day:02d}" for month in (5, 6) for day in (1, 4, 7, 10, 13, 16, 19, 22, 25, 28)]
        for k, day in enumerate(days):
            rows.append(crossing(0.02, record_id=f"h{year}{k}", observed_at=day, observer="AB"[k % 2]))
            rows.append(crossing(-0.048 + 0.0045 * k, record_id=f"s{year}{k}", observed_at=day, observer="CD"[k % 2]))
    county.ingest("c.csv", rows)
    found = county_report(county.season, audience="team", as_of=DAY, fence_m=600.0)
    return {one.key: one for one in found.sections}


def test_the_planted_place_is_told_with_its_interval_and_its_road_is_drawn(sections):
    where = sections["where"]
    words = next(one for one in where.sentences if one.startswith("Hotspot 1, Invented East Road"))
    assert "95 %)" in words
    # The road starts at -0.05 degree; the place lies at +0.02: 0.07 degree of 94.8 km each (latitude 31.7, WGS 84).
    top = where.figures[0]
    assert top.mark[0] < 0.07 * 94_800 < top.mark[1]
    assert {"road_m", "density", "expected", "band_low", "band_high"} <= set(top.table)


def test_the_statistics_say_that_they_do_not_tell_why(sections):
    assert "They do not show why" in " ".join(sections["where"].sentences)


def test_other_years_are_asked_beside_simple_rules(sections):
    predicts = sections["predicts"]
    assert not predicts.lacking
    assert [words[:8] for words in predicts.sentences] == ["The 1 % ", "The 2 % ", "The 5 % "]
    assert "count per km" in set(predicts.tables[0].rows["Rule"])


def test_a_fence_averts_no_more_than_die_and_more_where_it_is_longer(sections):
    averted = sections["averted"]
    assert not averted.lacking
    curve = averted.figures[0].table
    assert curve["averted_per_year"].is_monotonic_increasing
    assert (curve["low"] <= curve["high"]).all()
    assert curve["averted_per_year"].max() <= 40  # 40 deaths a year are on file
    assert "600 m of fence" in averted.sentences[0]
