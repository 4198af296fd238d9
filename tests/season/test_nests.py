"""From nests and temperatures to windows, by the season file."""

from datetime import date, timedelta

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.tables import identify_tables, version_note
from roadwatch.season.nests import season_windows


@pytest.fixture
def summers(county):
    """Ingest invented daily temperatures: 20 equal summers, 18 to 30 degrees C from April to October."""
    rows = []
    for year in range(2005, 2026):
        day = date(year, 1, 1)
        while day <= min(date(year, 12, 31), date(2025, 7, 1)):
            warm = 4 <= day.month <= 10
            rows.append(
                {"series_id": "invented", "date": day, "tmin_c": 18 if warm else 5, "tmax_c": 30 if warm else 15}
            )
            day += timedelta(days=1)
    assert county.ingest("weather.csv", rows).exit_code == 0
    return county


def windows(county, as_of=date(2025, 7, 1)):
    return season_windows(county.season, as_of=as_of, rng=np.random.default_rng(1))


def test_a_nest_gets_its_window(summers, nest):
    summers.ingest("nests.csv", [nest()])
    row = windows(summers).table.iloc[0]
    # by hand: mean 24 + 2 (partial shade) = 26 degrees C; (26 - 15.74) degree-days a day; 804 / 10.26 = 78 days
    likely = (date.fromisoformat(row["hatch_likely"]) - date(2025, 6, 1)).days
    assert likely == pytest.approx(78, abs=3)
    assert row["hatch_early"] < row["hatch_likely"] < row["hatch_late"]


def test_the_window_can_be_put_on_a_map(summers, nest):
    summers.ingest("nests.csv", [nest(), nest(nest_id="n2", taxon="chicken turtle")])
    found = windows(summers)
    assert found.places["nest_id"].tolist() == ["n1", "n2"]
    assert found.places.geometry.notna().all()


def test_a_taxon_that_pauses_has_no_projection_and_the_reason(summers, nest):
    summers.ingest("nests.csv", [nest(taxon="chicken turtle")])
    row = windows(summers).table.iloc[0]
    assert row["basis"] == "none"
    assert "no projection" in row["note"]


@pytest.mark.parametrize("missing", ["nest", "temperature"])
def test_what_is_missing_is_named(county, nest, missing):
    if missing == "temperature":
        county.ingest("nests.csv", [nest()])
    with pytest.raises(NotEnoughDataError, match=f"holds no {missing}"):
        windows(county)


def test_without_a_region_there_is_no_window(folder, nest, summers):
    other = folder.folder / "other.gpkg"
    folder.run("new", other, "--roads", folder.folder / "roads.geojson", "--timezone", "America/New_York")
    folder.run("ingest", other, folder.write_csv("n.csv", [nest()]), folder.folder / "weather.csv")
    result = folder.run("hatch", other, "--as-of", "2025-07-01")
    assert result.exit_code == 5
    assert "region" in result.output


def test_a_doubtful_name_is_a_window_over_what_it_may_be(summers, nest):
    summers.ingest("nests.csv", [nest(id_confidence="unsure"), nest(nest_id="n2", id_confidence="1")])
    table = windows(summers).table.set_index("nest_id")
    assert "lies on taxa" in table.loc["n1", "note"] or "window over the taxa" in table.loc["n1", "note"]
    assert "window over the taxa" not in table.loc["n2", "note"]


def test_a_forecast_that_was_ingested_fills_days_and_is_counted_first(summers, nest):
    days = [date(2025, 7, 2) + timedelta(days=k) for k in range(6)]
    rows = [
        {"series_id": "F", "kind": "forecast", "date": day, "tmin_c": 25, "tmax_c": 37, "issued_at": "2025-07-01T06:00"}
        for day in days
    ]
    summers.ingest("nests.csv", [nest()])
    without = windows(summers, as_of=date(2025, 7, 4))
    assert summers.ingest("forecast.csv", rows).exit_code == 0
    found = windows(summers, as_of=date(2025, 7, 4))
    assert "of the 3 days from then to 2025-07-04, 3 are filled from the forecast F issued 2025-07-01" in found.notes[0]
    assert found.table["hatch_likely"][0] < without.table["hatch_likely"][0]


def test_a_site_logger_calibrates_the_station_where_it_is_named(summers, nest):
    rows = [
        {
            "series_id": "L",
            "kind": "nest",
            "date": date(2025, 6, 1) + timedelta(days=k),
            "tmin_c": 24 + k % 3,
            "tmax_c": 28 + k % 3,
        }
        for k in range(25)
    ]
    summers.ingest("logger.csv", rows)
    summers.ingest("nests.csv", [nest(site_logger_id="L"), nest(nest_id="n2", site_logger_id="none")])
    table = windows(summers).table.set_index("nest_id")
    # equal summers never change, so that nothing can be calibrated by them: both are told, neither is guessed
    assert "hardly changed" in table.loc["n1", "note"]
    assert "logger none has no temperatures here" in table.loc["n2", "note"]
    assert set(table["basis"]) == {"station_offset"}


def test_the_command_explains_where_widths_come_from(summers, nest):
    summers.ingest("nests.csv", [nest()])
    found = summers.json("hatch", summers.season, "--as-of", "2025-07-01", "--explain")
    assert {row["cause"] for row in found["causes"]} >= {"weather", "nest heat", "laying day"}
    assert "causes" not in summers.json("hatch", summers.season, "--as-of", "2025-07-01")
    shown = summers.run("hatch", summers.season, "--as-of", "2025-07-01", "--explain")
    assert "days_narrower" in shown.output


def test_a_summer_without_any_reading_rests_on_past_years_and_says_so(county, nest):
    rows = [
        {"series_id": "s", "date": date(year, 1, 1) + timedelta(days=k), "tmin_c": 18, "tmax_c": 30}
        for year in range(2005, 2025)
        for k in range(365)
    ]
    county.ingest("weather.csv", rows)
    county.ingest("nests.csv", [nest(), nest(nest_id="n2", taxon="turtle")])
    found = windows(county)
    assert "windows rest on past years alone" in found.notes[0]
    assert found.table["basis"].tolist()[0] == "station_offset"
    assert found.table["note"][1]


@pytest.mark.parametrize("column", ["logger_id", "site_logger_id"])
def test_a_logger_named_by_a_nest_is_not_the_countys_station_though_it_has_more_days(summers, nest, column):
    days = [date(2000, 1, 1) + timedelta(days=k) for k in range((date(2025, 7, 2) - date(2000, 1, 1)).days)]
    rows = [{"series_id": "L", "date": day, "tmin_c": 27, "tmax_c": 29} for day in days]
    assert summers.ingest("logger.csv", rows).exit_code == 0
    summers.ingest("nests.csv", [nest(**{column: "L"}), nest(nest_id="n2")])
    found = windows(summers)
    assert found.notes[0].startswith("2025: temperatures of invented are observed up to 2025-07-01")
    assert "Not taken for the station, as nests name them as loggers: L." in found.notes
    assert found.table.set_index("nest_id").loc["n2", "basis"] == "station_offset"


def test_a_nest_found_after_the_day_asked_for_has_no_window(summers, nest):
    summers.ingest("nests.csv", [nest()])
    row = windows(summers, as_of=date(2025, 5, 1)).table.iloc[0]
    assert row["note"].startswith("no window: found after the day asked for, on 2025-0")
    assert row["basis"] == "none"


def test_a_window_over_doubtful_names_says_which_tables_of_identification_it_rests_on(summers, nest):
    summers.ingest("nests.csv", [nest(id_confidence="1")])
    assert not any("identification tables" in note for note in windows(summers).notes), "nothing rests on them yet"
    summers.ingest("more.csv", [nest(nest_id="n2", id_confidence="unsure")])
    assert version_note(identify_tables()) in windows(summers).notes


def test_a_window_names_the_countys_own_tables_of_identification(summers, nest):
    folder = summers.folder / "tables"
    folder.mkdir()
    (folder / "skills.csv").write_text("skill,slip,source\nnovice,0.3,judgement\n", encoding="utf-8")
    own = summers.folder / "own.gpkg"
    options = ("--timezone", "America/New_York", "--region", "SC_GA_coastal_plain", "--tables", folder)
    assert summers.run("new", own, "--roads", summers.folder / "roads.geojson", *options).exit_code == 0
    nests = summers.write_csv("n.csv", [nest(id_confidence="unsure")])
    assert summers.run("ingest", own, nests, summers.folder / "weather.csv").exit_code == 0
    notes = season_windows(own, as_of=date(2025, 7, 1), rng=np.random.default_rng(1)).notes
    assert version_note(identify_tables(folder)) in notes
    assert version_note(identify_tables()) not in notes
