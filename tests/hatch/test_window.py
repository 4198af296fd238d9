"""One nest after another to its window: what the table holds, and what can never be."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from nest_windows import AS_OF, shifted

from roadwatch.errors import UsageError
from roadwatch.hatch.development import hatch_tables
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.window import COLUMNS, project_windows


def test_every_nest_has_one_row_with_the_promised_columns_in_the_order_given(windows, nest):
    table = windows(nest(nest_id="B"), nest(nest_id="A", taxon="Kinosternon baurii")).table
    assert list(table.columns) == COLUMNS
    assert list(table["nest_id"]) == ["B", "A"]


def test_a_window_is_dated_text_in_order_with_its_shares(row):
    found = row()
    days = [date.fromisoformat(found[name]) for name in ("hatch_early", "hatch_likely", "hatch_late")]
    assert days == sorted(days)
    assert date(2024, 7, 1) < days[0] < days[2] < date(2024, 12, 31)
    assert (found["laid_from"], found["laid_to"]) == ("2024-06-01", "2024-06-01")
    assert 0 < found["progress"] < 1
    assert (found["basis"], found["sureness"]) == ("station_offset", "medium")


def test_autumn_follows_hatching_by_1_to_30_days_and_spring_is_the_next_years(row):
    found = row()
    assert found["autumn_early"] == str(date.fromisoformat(found["hatch_early"]) + timedelta(days=1))
    assert found["autumn_late"] == str(date.fromisoformat(found["hatch_late"]) + timedelta(days=30))
    assert (found["spring_early"], found["spring_late"]) == ("2025-02-01", "2025-05-31")


def test_spring_begins_in_march_in_the_north(row):
    assert row(region="NC_VA_tidewater")["spring_early"] == "2025-03-01"


def test_taxa_that_never_wait_have_no_spring_window(row):
    found = row({"taxon": "Gopherus polyphemus"})
    assert isinstance(found["autumn_early"], str)
    assert pd.isna(found["spring_early"])


def test_the_same_seed_gives_the_same_table_and_another_seed_another(windows, nest):
    first, again, other = (windows(nest(), seed=seed).table for seed in (1, 1, 2))
    pd.testing.assert_frame_equal(first, again)
    assert (
        first["p_never"].iloc[0] != other["p_never"].iloc[0] or first["progress"].iloc[0] != other["progress"].iloc[0]
    )


def test_neither_order_nor_company_changes_a_nest(windows, nest):
    rows = [
        nest(nest_id=f"N{index}", laid_on=f"2024-05-{day:02d}", exposure=exposure, taxon=taxon)
        for index, (day, exposure, taxon) in enumerate(
            [(3, "open", "Trachemys scripta"), (9, None, "Chelydra serpentina"), (20, "open", "Trachemys scripta")]
        )
    ]
    forwards = windows(*rows).table.set_index("nest_id")
    backwards = windows(*rows[::-1]).table.set_index("nest_id")
    alone = windows(rows[2]).table.set_index("nest_id")
    pd.testing.assert_frame_equal(forwards, backwards.loc[forwards.index])
    pd.testing.assert_series_equal(forwards.loc["N2"], alone.loc["N2"])


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(warmer=st.floats(0.1, 4), laid=st.dates(date(2024, 4, 1), date(2024, 7, 15)))
def test_a_warmer_station_never_hatches_later(row, weather, warmer, laid):
    changes = {"laid_on": laid.isoformat(), "found_at": laid.isoformat()}
    cool, warm = row(changes), row(changes, weather=shifted(weather, warmer))
    for name in ("hatch_early", "hatch_likely", "hatch_late"):
        assert not isinstance(cool[name], str) or warm[name] <= cool[name]
    assert warm["p_hatched"] >= cool["p_hatched"]
    assert warm["p_never"] <= cool["p_never"]


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(laid=st.dates(date(2024, 4, 1), date(2024, 6, 20)), later=st.integers(1, 25))
def test_a_nest_laid_later_never_hatches_earlier(row, laid, later):
    after = laid + timedelta(days=later)
    first, second = (row({"laid_on": day.isoformat(), "found_at": day.isoformat()}) for day in (laid, after))
    assert first["hatch_early"] <= second["hatch_early"]
    assert first["hatch_likely"] <= second["hatch_likely"]


def test_more_of_the_summer_seen_narrows_the_weathers_part(windows, nest, clemson):
    rows = [nest(nest_id=f"N{index}", laid_on="2020-06-01", found_at="2020-06-01") for index in range(1)]
    spans = []
    for as_of in (date(2020, 6, 1), date(2020, 8, 20)):
        found = windows(*rows, weather=clemson, as_of=as_of).table.iloc[0]
        spans.append(date.fromisoformat(found["hatch_late"]) - date.fromisoformat(found["hatch_early"]))
    assert spans[1] < spans[0]


def test_the_station_at_clemson_gives_the_error_budget_that_was_worked_out_apart(windows, nest, clemson):
    # Reference, computed independently: laid 1 June near + 2 degrees, all errors together about 11.6 days (one
    # standard deviation), an 80 % window of about 30 days around a middle near 69 days after laying.
    found = windows(
        nest(laid_on="2020-06-01", found_at="2020-06-01"), weather=clemson, as_of=date(2020, 6, 1)
    ).table.iloc[0]
    width = (date.fromisoformat(found["hatch_late"]) - date.fromisoformat(found["hatch_early"])).days
    assert 24 <= width <= 34
    assert 63 <= (date.fromisoformat(found["hatch_likely"]) - date(2020, 6, 1)).days <= 75


def test_later_temperatures_are_not_used(row, weather):
    hot = Weather(weather.first_day, weather.low_c.copy(), weather.high_c.copy(), weather.source)
    later = (AS_OF - weather.first_day).days + 1
    hot.low_c[later:] += 5
    hot.high_c[later:] += 5
    pd.testing.assert_series_equal(row(), row(weather=hot))


def test_a_nest_long_past_its_day_is_told_hatched_by_the_day_asked_for(row):
    found = row(as_of=date(2024, 11, 1))
    assert found["p_hatched"] > 0.95
    assert found["progress"] == 1.0


def test_before_laying_nothing_has_been_gathered(row):
    found = row(as_of=date(2024, 5, 1))
    assert (found["progress"], found["p_hatched"]) == (0.0, 0.0)
    assert isinstance(found["hatch_likely"], str)


def test_a_last_summers_nest_is_projected_in_its_own_year(row):
    found = row({"laid_on": "2023-06-01", "found_at": "2023-06-01"})
    assert found["hatch_likely"].startswith("2023-")
    assert found["spring_early"] == "2024-02-01"


def test_a_summer_too_cold_leaves_days_blank_and_calls_nothing_failed(row, weather):
    found = row(weather=shifted(weather, -9))
    assert pd.isna(found["hatch_late"])
    assert pd.isna(found["autumn_late"])
    assert found["p_never"] > 0.2
    assert "not hatched by 31 December; not a failed nest: leave it and look in spring" in found["note"]
    assert found["spring_early"] == "2025-02-01"


def test_eggs_laid_in_autumn_wait_beyond_the_year(row):
    found = row({"laid_on": "2024-10-20", "found_at": "2024-10-20"}, as_of=date(2024, 11, 1))
    assert found["p_never"] > 0.99
    assert pd.isna(found["hatch_early"])


@pytest.mark.parametrize("coverage", [0.0, 1.0, 80.0])
def test_a_coverage_that_is_no_share_is_refused(windows, nest, coverage):
    with pytest.raises(UsageError, match=r"is not between 0 and 1; write 0\.8 for 80 %"):
        windows(nest(), coverage=coverage)


def test_no_nests_give_an_empty_table(weather, nest):
    nests = pd.DataFrame([nest()]).iloc[:0]
    found = project_windows(nests, weather, region="FL_panhandle", as_of=AS_OF, rng=np.random.default_rng(1))
    assert list(found.table.columns) == COLUMNS
    assert found.table.empty


def test_a_table_with_only_the_required_columns_is_enough(windows):
    found = windows({"nest_id": "N1", "found_at": "2024-06-10", "taxon": "Trachemys scripta"}).table.iloc[0]
    assert isinstance(found["hatch_likely"], str)
    assert found["sureness"] == "low"


def test_progress_is_told_up_to_the_last_nest(windows, nest):
    told: list[tuple[int, int]] = []
    rows = [nest(nest_id="A"), nest(nest_id="B", exposure="open"), nest(nest_id="C", taxon=None)]
    windows(*rows, progress=lambda done, of: told.append((done, of)))
    assert told == [(2, 3), (3, 3)]


def test_a_span_that_began_last_year_is_counted_from_the_new_year(row):
    found = row({"laid_on": None, "laid_from": "2023-12-20", "laid_to": "2024-01-10", "found_at": "2024-01-10"})
    assert (found["laid_from"], found["laid_to"]) == ("2023-12-20", "2024-01-10")
    assert found["hatch_likely"].startswith("2024-")


def test_a_leap_day_is_a_day_like_any_other(row):
    found = row({"laid_on": "2024-02-29", "found_at": "2024-02-29"}, as_of=date(2024, 2, 29))
    assert isinstance(found["hatch_likely"], str)


def test_blank_cells_written_as_nan_count_as_blank(windows, nest):
    rows = [nest(nest_id="A", laid_on=float("nan"), exposure=float("nan")), nest(nest_id="B")]
    table = windows(*rows).table
    assert list(table["laid_from"]) == ["2024-05-18", "2024-06-01"]
    assert list(table["sureness"]) == ["low", "medium"]


def test_a_nest_given_twice_has_two_equal_rows(windows, nest):
    table = windows(nest(), nest()).table
    pd.testing.assert_series_equal(table.iloc[0], table.iloc[1], check_names=False)


def test_counties_with_their_own_tables_are_projected_by_them(windows, nest, tmp_path):
    (tmp_path / "regions.csv").write_text(
        "region,development_region,spring_from,spring_to,source,words\nmine,deep_south,04-15,06-15,common_practice,here\n"
    )
    found = windows(nest(), region="mine", tables=hatch_tables(tmp_path)).table.iloc[0]
    assert found["spring_early"] == "2025-04-15"
    assert isinstance(found["hatch_likely"], str)
