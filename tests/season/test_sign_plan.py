"""From a season file to its signs."""

import numpy as np
import pytest
from fence_seasons import plant
from measured_county import death, fill, search_rows

from roadwatch.errors import NotEnoughDataError
from roadwatch.season.sign_plan import NO_PLACE, NO_SEARCH, season_signs

AT_45_M = 360 * 0.3048
"""MUTCD 11th edition, Table 2C-3, column for a stop at 45 mph: 360 ft."""


def signs(county, **options):
    return season_signs(county.season, rng=np.random.default_rng(1), n_draws=99, **options)


@pytest.fixture
def hot(county):
    return fill(county, inside={2022: 9, 2023: 9, 2024: 9, 2025: 9}, elsewhere=5)


def test_the_hotspot_gets_a_sign_from_both_sides_at_the_distance_for_45_mph(hot):
    table = signs(hot).table
    confirmed = table[(table["status"] == "confirmed") & (table["zone_road"] == "Invented East Road")]
    assert set(confirmed["approach"]) == {"eastbound", "westbound"}
    assert confirmed["distance_m"].tolist() == pytest.approx([AT_45_M] * len(confirmed), abs=0.1)


def test_the_days_are_those_of_the_crossings(hot):
    table = signs(hot).table
    assert (table["on_from"] >= "05-05").all()
    assert (table["on_to"] <= "05-25").all()
    assert (table["hours_basis"] == "none").all()  # nobody was seen alive


def test_without_searches_the_signs_say_that_they_may_follow_the_people(county, crossing):
    assert signs(plant(county, crossing, searches=False)).notes[0] == NO_SEARCH


def test_with_searches_they_do_not(hot):
    assert NO_SEARCH not in signs(hot).notes


def test_years_narrow_the_crossings(hot):
    every, one = signs(hot).table, signs(hot, years=(2022, 2023)).table
    assert one["days_crossings"].max() < every["days_crossings"].max()


def test_no_record_is_not_enough_data(county):
    with pytest.raises(NotEnoughDataError, match="not enough data"):
        signs(county)


def test_where_nothing_stands_out_no_sign_is_proposed_and_it_is_said(county):
    assert county.ingest("searches.csv", search_rows()).exit_code == 0
    far_apart = [death(2022 + k % 4, k, -0.045 + 0.0145 * k) for k in range(7)]  # 1,370 m, beyond every kernel
    assert county.ingest("crossings.csv", far_apart).exit_code == 0
    plan = signs(county)
    assert plan.table.empty
    assert plan.notes[0] == NO_PLACE
