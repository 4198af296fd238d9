from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.hatch.development import hatch_tables
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.window import COLUMNS, project_windows

AS_OF = date(2024, 7, 1)


@pytest.fixture(scope="module")
def weather(years_of_weather):
    return years_of_weather()


@pytest.fixture
def windows(weather):
    """Project nests, given as rows, on 1 July 2024; any argument can be changed."""

    def make(*rows, weather=weather, region="AL_Mobile_delta", as_of=AS_OF, seed=1, **options):
        nests = pd.DataFrame(list(rows))
        return project_windows(nests, weather, region=region, as_of=as_of, rng=np.random.default_rng(seed), **options)

    return make


@pytest.fixture
def row(windows, nest):
    """The window of one nest."""

    def make(changes=None, **options) -> pd.Series:
        return windows(nest(**(changes or {})), **options).table.iloc[0]

    return make


def visit(outcome: str, at: str = "2024-06-20T09:00:00-04:00", nest_id: str = "N1") -> pd.DataFrame:
    return pd.DataFrame({"nest_id": [nest_id], "checked_at": [at], "outcome": [outcome]})


def shifted(weather: Weather, by_c: float) -> Weather:
    return Weather(weather.first_day, weather.low_c + by_c, weather.high_c + by_c, weather.source)


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


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        ("depredated_full", "no window: found fully depredated on 2024-06-20"),
        ("failed_undeveloped", "no window: opened on 2024-06-20 and found undeveloped"),
        ("failed_other", "no window: found failed on 2024-06-20"),
        ("crushed_or_mown", "no window: found crushed or mown on 2024-06-20"),
        ("relocated_by_permit", "no window: its eggs were moved by permit on 2024-06-20; their new place decides"),
        ("emerged", "no window: hatchlings had emerged by 2024-06-20"),
    ],
)
def test_a_nest_that_is_past_its_window_says_why(row, outcome, words):
    found = row(checks=visit(outcome))
    assert (found["note"], found["basis"], found["sureness"]) == (words, "none", "none")
    assert found[["hatch_early", "hatch_late", "autumn_early", "spring_early", "p_hatched"]].isna().all()


def test_hatchlings_that_wait_keep_their_spring_window(row):
    found = row(checks=visit("hatched_overwintering"))
    assert found["note"] == (
        "hatched by 2024-06-20; hatchlings wait in the nest: leave it and its cage until spring 2025"
    )
    assert pd.isna(found["hatch_early"])
    assert (found["spring_early"], found["spring_late"]) == ("2025-02-01", "2025-05-31")


def test_a_visit_that_found_the_nest_intact_changes_nothing(row):
    pd.testing.assert_series_equal(row(), row(checks=visit("intact")))


def test_a_flood_leaves_the_window_with_a_doubt(row):
    found = row(checks=visit("flooded"))
    assert isinstance(found["hatch_likely"], str)
    assert found["sureness"] == "low"
    assert "flooded when seen on 2024-06-20" in found["note"]


def test_a_field_range_is_counted_from_the_span_of_laying(row):
    # By hand: 50 to 110 days (73) from 1 to 11 June; the middle from the middle of the span.
    found = row(
        {
            "taxon": "Terrapene carolina",
            "laid_on": None,
            "laid_from": "2024-06-01",
            "laid_to": "2024-06-11",
            "found_at": "2024-06-11",
        }
    )
    assert (found["hatch_early"], found["hatch_likely"], found["hatch_late"]) == (
        "2024-07-21",
        "2024-08-18",
        "2024-09-29",
    )
    assert (found["basis"], found["sureness"]) == ("field_range", "low")
    assert np.isnan(found["p_hatched"])
    assert "window from natural nests (50 to 110 days), not from weather; it has no stated coverage" in found["note"]


def test_a_field_range_without_a_middle_takes_the_middle_of_its_ends(row):
    assert row({"taxon": "Pseudemys concinna"})["hatch_likely"] == str(date(2024, 6, 1) + timedelta(days=80))


def test_a_field_range_beyond_december_is_left_blank_and_said(row):
    found = row({"taxon": "Terrapene carolina", "laid_on": "2024-09-20", "found_at": "2024-09-20"})
    assert pd.isna(found["hatch_late"])
    assert "days beyond 31 December are left blank" in found["note"]


@pytest.mark.parametrize(
    ("taxon", "words"),
    [
        ("Deirochelys reticularia", "no projection: eggs of this taxon pause"),
        ("Apalone ferox", "no projection: Apalone ferox, no measured duration was found for it"),
        ("cooter group", "no projection: cooter group is more than one species"),
        ("Caretta caretta", "no projection: Caretta caretta is not in the table of development"),
        (None, "no projection: nobody named the taxon"),
        (float("nan"), "no projection: nobody named the taxon"),
    ],
)
def test_a_taxon_that_cannot_be_projected_says_why(row, taxon, words):
    found = row({"taxon": taxon})
    assert found["note"].startswith(words)
    assert (found["basis"], found["sureness"]) == ("none", "none")
    assert found["laid_from"] == "2024-06-01"


def test_a_taxon_less_than_certain_is_told_and_lowers_the_sureness(row):
    found = row({"id_confidence": 0.6})
    assert found["sureness"] == "low"
    assert found["note"].startswith("taxon 60% certain; the window is for the taxon as written")


def test_a_nest_with_no_laying_day_is_assumed_a_fortnight_old_at_most_and_has_low_sureness(row):
    found = row({"laid_on": None, "found_at": "2024-06-15T10:00:00-04:00"})
    assert (found["laid_from"], found["laid_to"], found["sureness"]) == ("2024-06-01", "2024-06-15", "low")
    assert "no earliest laying day: taken as laid within 14 days before finding" in found["note"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"exposure": None}, "exposure not noted: taken as partly shaded, with a wider spread"),
        (
            {"laid_on": None, "laid_from": "2024-05-20", "laid_to": "2024-06-10", "found_at": "2024-06-10"},
            "laid some time within 22 days",
        ),
    ],
)
def test_each_doubt_lowers_the_sureness_and_is_told(row, changes, words):
    found = row(changes)
    assert found["sureness"] == "low"
    assert words in found["note"]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"depth_cm": None}, "depth not noted: taken as 6.5 cm"),
        ({"id_confidence": None}, "how sure the taxon is was not noted"),
        ({"id_confidence": 0.95}, "taxon 95% certain"),
    ],
)
def test_what_was_assumed_is_told_without_lowering_the_sureness(row, changes, words):
    found = row(changes)
    assert found["sureness"] == "medium"
    assert words in found["note"]


def test_a_single_measured_duration_says_so(row):
    found = row({"taxon": "Chelydra serpentina"})
    assert "from one measured duration (79 days at 28 °C) and a base common to turtles" in found["note"]
    assert found["sureness"] == "low"


def test_a_nest_outside_the_measured_temperatures_says_so(row, weather):
    found = row(weather=shifted(weather, -6))
    assert "outside the 24 to 32 °C that were measured" in found["note"]
    assert found["sureness"] == "low"


@pytest.mark.parametrize("region", [None, "ON_south"])
def test_a_region_without_tables_ends_the_question(windows, nest, region):
    with pytest.raises(NotEnoughDataError, match=r"not enough data: .*tables of your own"):
        windows(nest(), region=region)


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


def own(celsius: float, *, first="2024-05-25", days=40) -> dict[str, Weather]:
    low = np.full(days, celsius)
    return {"HB7": Weather(date.fromisoformat(first), low - 3, low + 3, "HB7", mean_c=low)}


def test_a_nest_with_its_own_logger_follows_it(row):
    warm, cool = (row({"logger_id": "HB7"}, loggers=own(celsius)) for celsius in (31.0, 26.0))
    assert (warm["basis"], warm["sureness"]) == ("own_logger", "high")
    assert warm["hatch_likely"] < cool["hatch_likely"]
    assert "nest temperatures from logger HB7 up to 2024-07-01, the station's after that" in warm["note"]


def test_a_loggers_progress_is_its_warmth_over_the_need(row):
    # By hand: 30.5 days (laid some time on 1 June, to the end of 1 July) at 29 degrees: 30.5 x 13.26 of 804.
    found = row({"logger_id": "HB7"}, loggers=own(29.0))
    assert found["progress"] == pytest.approx(30.5 * (29 - 15.74) / 804, abs=0.01)


def test_a_logger_placed_too_late_leaves_the_station_in_its_place(row):
    found = row({"logger_id": "HB7"}, loggers=own(31.0, first="2024-06-25", days=6))
    assert found["basis"] == "station_offset"
    assert "logger HB7 covers less than half of the days since laying; the station stands in" in found["note"]


def test_a_logger_without_temperatures_is_told(row):
    found = row({"logger_id": "HB7"})
    assert found["basis"] == "station_offset"
    assert "logger HB7 has no temperatures here; the station stands in" in found["note"]


def test_a_station_with_too_few_years_gives_no_window_and_the_cure(row, years_of_weather):
    found = row(weather=years_of_weather(first=2021, last=2024))
    assert found["basis"] == "none"
    assert found["note"] == (
        "no projection: invented has 3 complete earlier years for the days still to come, 5 are needed; "
        "ingest a longer series"
    )


def test_few_past_years_lower_the_sureness(row, years_of_weather):
    found = row(weather=years_of_weather(first=2015, last=2024))
    assert found["sureness"] == "low"
    assert "only 9 past years stand for the weather to come" in found["note"]


def test_a_summer_seen_to_its_end_needs_no_past_years(row, years_of_weather):
    found = row(weather=years_of_weather(first=2024, last=2024), as_of=date(2025, 1, 10))
    assert found["p_hatched"] > 0.9
    assert isinstance(found["hatch_likely"], str)


def test_a_station_silent_for_weeks_lowers_the_sureness(row, weather):
    until = (date(2024, 6, 10) - weather.first_day).days + 1
    silent = Weather(weather.first_day, weather.low_c[:until], weather.high_c[:until], "silent")
    found = row(weather=silent)
    assert found["sureness"] == "low"
    assert "no temperature in the 21 days before 2024-07-01; past years stand in" in found["note"]


def test_the_notes_say_how_many_days_were_filled_and_with_which_years(windows, nest, weather):
    until = (date(2024, 6, 25) - weather.first_day).days + 1
    short = Weather(weather.first_day, weather.low_c[:until], weather.high_c[:until], "KMOB")
    notes = windows(nest(), weather=short).notes
    observed = next(
        note for note in notes if note.startswith("2024: temperatures of KMOB are observed up to 2024-06-25")
    )
    assert observed.endswith("; the 6 days from then to 2024-07-01 are filled from past years.")
    assert "30 past years of the same station, 1994 to 2023, stand for the weather to come." in notes


def test_the_notes_name_years_left_out_for_a_gap(windows, nest, weather):
    holed = Weather(weather.first_day, weather.low_c.copy(), weather.high_c, weather.source)
    start = (date(2010, 8, 1) - weather.first_day).days
    holed.low_c[start : start + 5] = np.nan
    assert any("needed span: 2010." in note for note in windows(nest(), weather=holed).notes)


def test_the_notes_carry_limits_and_cautions(windows, nest):
    notes = " ".join(windows(nest(), nest(nest_id="N2", taxon=None)).notes)
    for words in (
        "80% of what is drawn",
        "past years cover less than they promise where climate or station drifts",
        "held in 75 % of 81 years",
        "1 of 2 nests have no window",
        "Never dig to check a nest",
        "ask your state wildlife agency",
        "No nest is called failed",
        "Sureness starts from",
    ):
        assert words in notes


def test_no_note_of_a_projected_nest_ever_calls_it_failed(windows, nest, weather):
    cold = windows(
        *(nest(nest_id=str(day), laid_on=f"2024-07-{day:02d}") for day in range(1, 20, 6)), weather=shifted(weather, -8)
    )
    assert not cold.table["note"].str.contains(r"(?<!not a )failed", regex=True).any()


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


@pytest.mark.parametrize(("taxon", "spring"), [("Trachemys scripta", "2025-02-01"), ("Gopherus polyphemus", None)])
def test_a_nest_seen_emerging_has_hatched_and_has_no_later_window(row, taxon, spring):
    found = row({"taxon": taxon}, checks=visit("emerging"))
    assert found["note"].startswith("hatched by 2024-06-20: hatchlings were emerging on that day")
    assert (found["p_hatched"], found["p_never"], found["progress"], found["basis"]) == (1.0, 0.0, 1.0, "none")
    assert found[["hatch_early", "hatch_likely", "hatch_late", "autumn_early", "autumn_late"]].isna().all()
    assert found["spring_early"] == spring or (spring is None and pd.isna(found["spring_early"]))


def test_a_nest_seen_emerging_later_is_still_projected_before(row):
    pd.testing.assert_series_equal(row(), row(checks=visit("emerging", at="2024-07-02T09:00:00-04:00")))


def test_hatchlings_seen_of_a_doubtful_taxon_may_wait_if_any_candidate_does(row):
    either = {"N1": {"Gopherus polyphemus": 0.6, "Trachemys scripta": 0.4}}
    found = row({"taxon": "Gopherus polyphemus"}, checks=visit("emerging"), candidates=either)
    assert found["spring_early"] == "2025-02-01"


@pytest.mark.parametrize(("days", "basis"), [(13, "station_offset"), (18, "own_logger"), (24, "own_logger")])
def test_a_logger_is_taken_from_half_of_the_days_since_laying_on(row, days, basis):
    # 31 days from 1 June to 1 July: 13, 18 and 24 of them are 42 %, 58 % and 77 %
    first = str(AS_OF - timedelta(days=days - 1))
    assert row({"logger_id": "HB7"}, loggers=own(29.0, first=first, days=days))["basis"] == basis


@pytest.mark.parametrize(("days", "basis"), [(26, "station_offset"), (36, "own_logger"), (62, "own_logger")])
def test_a_logger_counts_against_the_days_to_hatching_however_late_it_is_asked(row, days, basis):
    # By hand: at 29 degrees 804 / 13.26 = 60.6 days to hatching, of which 26, 36 and 62 are 43 %, 59 % and all; to
    # 31 December it would be 12 %, 17 % and 29 %
    found = row({"logger_id": "HB7"}, loggers=own(29.0, first="2024-06-01", days=days), as_of=date(2024, 12, 31))
    assert found["basis"] == basis


def test_a_logger_with_nothing_but_days_before_laying_leaves_the_station_in_its_place(row):
    found = row({"logger_id": "HB7"}, loggers=own(29.0, first="2024-05-01", days=20))
    assert found["basis"] != "own_logger"
    assert "covers less than half" in found["note"]


def test_a_nest_found_after_the_day_asked_for_has_no_window_where_that_is_asked(windows, nest):
    nests = [nest(nest_id="A", found_at="2024-07-02T08:00:00-04:00"), nest(nest_id="B", found_at="2024-07-01T23:00:00")]
    table = windows(*nests, found_by_then=True).table.set_index("nest_id")
    assert table.loc["A", "note"] == "no window: found after the day asked for, on 2024-07-02"
    assert table.loc["A", "basis"] == "none"
    assert pd.isna(table.loc["A", "hatch_likely"])
    assert isinstance(table.loc["B", "hatch_likely"], str)
    assert windows(nests[0]).table["basis"][0] == "station_offset"


@pytest.mark.parametrize(
    ("first", "laid", "words"),
    [
        (2005, "1999-06-01", "invented has no temperatures of 1999, it begins on 2005-01-01; ingest a longer series"),
        (2024, "2024-06-01", "invented has 0 complete earlier years for the days still to come, 5 are needed; ingest"),
    ],
)
def test_a_series_that_cannot_serve_a_nest_says_what_it_lacks(row, years_of_weather, first, laid, words):
    found = row({"laid_on": laid, "found_at": laid}, weather=years_of_weather(first=first))
    assert found["basis"] == "none"
    assert found["note"].startswith(f"no projection: {words}")


def test_a_series_that_begins_after_laying_in_the_same_year_says_so(row, weather):
    start = (date(2024, 6, 20) - weather.first_day).days
    late = Weather(date(2024, 6, 20), weather.low_c[start:], weather.high_c[start:], "late")
    words = "no projection: late has no temperatures of 2024-06-01, it begins on 2024-06-20; ingest a longer series"
    assert row(weather=late)["note"] == words


def test_a_series_that_ended_before_the_season_says_that_and_counts_its_years(row, years_of_weather):
    assert row(weather=years_of_weather(first=2020, last=2022))["note"] == (
        "no projection: invented has no temperatures of 2024 by 2024-07-01, and 3 complete earlier years for the days "
        "still to come, 5 are needed; ingest a longer series"
    )


@pytest.mark.parametrize(
    ("as_of", "spring"), [(date(2025, 5, 31), "leave it and look in spring 2025"), (date(2025, 6, 1), None)]
)
def test_nobody_is_sent_to_look_in_a_spring_that_is_past(row, weather, as_of, spring):
    changes = {"laid_on": "2024-09-20", "found_at": "2024-09-20"}
    found = row(changes, as_of=as_of)["note"]
    ranged = row(changes | {"taxon": "Terrapene carolina"}, as_of=as_of)["note"]
    waiting = row(changes, as_of=as_of, checks=visit("hatched_overwintering"))["note"]
    assert "not a failed nest" in found
    assert "31 December are left blank" in ranged
    for note in (found, ranged, waiting):
        assert ("spring 2025" in note) == (spring is not None)
        assert "spring" not in note or spring is not None
    assert spring is None or spring in found


def test_hatchlings_that_wait_in_a_nest_of_unknown_laying_wait_for_spring(row):
    found = row({"laid_on": None, "found_at": None}, checks=visit("hatched_overwintering"))
    assert found["note"].endswith("leave it and its cage until spring")
    assert pd.isna(found["spring_early"])
