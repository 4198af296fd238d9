"""The command as a coordinator runs it."""

import json

import pandas as pd
import pytest
from icalendar import Calendar
from round_seasons import nest_row, person_row, round_county

from roadwatch.records.store import Season

SPAN = ("--from", "2025-07-15", "--to", "2025-09-30", "--per-day", "3")
PROMISED = ["date", "nest_id", "observer", "order", "reason", "p_emergence_by_next_visit"]


@pytest.fixture
def ready(county):
    return round_county(county)


def test_the_table_shows_the_promised_columns_and_what_is_expected(ready):
    result = ready.run("rounds", ready.season, *SPAN)
    assert result.exit_code == 0, result.output
    assert result.output.splitlines()[0].split() == PROMISED
    assert "Expected to be met:" in result.output
    assert "Never rotate or turn an egg." in result.output


def test_json_holds_visits_numbers_and_what_is_left_out(ready):
    found = ready.json("rounds", ready.season, *SPAN)
    assert set(PROMISED) <= set(found["visits"][0])
    assert {"expected_met", "expected_met_low", "expected_met_high", "bound", "gap", "left_out", "notes"} <= set(found)
    assert found["expected_met_low"] <= found["expected_met"] <= found["expected_met_high"]
    assert found["expected_met"] <= found["bound"] + 1e-9
    assert found["gap"] <= 0.1


def test_the_same_seed_prints_the_same_bytes(ready):
    one, two = (ready.run("rounds", ready.season, *SPAN, "--json").stdout for _ in range(2))
    assert one == two


@pytest.mark.parametrize("ending", ["csv", "html", "ics", "gpx"])
def test_files_are_written_by_their_ending_and_marked_for_the_team(ready, ending):
    path = ready.folder / f"rounds.{ending}"
    result = ready.run("rounds", ready.season, *SPAN, "-o", path)
    assert result.exit_code == 0, result.output
    assert "team only" in path.read_text(encoding="utf-8").lower()
    assert f"Wrote {path}" in result.output


def test_a_calendar_holds_every_round(ready):
    path = ready.folder / "rounds.ics"
    found = json.loads(ready.run("rounds", ready.season, *SPAN, "-o", path, "--json").stdout)
    events = Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert len(events) == len(found["rounds"])


def test_an_unknown_ending_says_which_are_known(ready):
    result = ready.run("rounds", ready.season, *SPAN, "-o", ready.folder / "rounds.doc")
    assert result.exit_code == 2
    assert "rounds.doc" in result.output


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--from", "2025-09-01", "--to", "2025-08-01", "--per-day", "3"), "before its first"),
        (("--from", "someday", "--to", "2025-08-01", "--per-day", "3"), "write YYYY-MM-DD"),
        (("--from", "2025-08-01", "--to", "2025-08-10", "--per-day", "0"), "per-day"),
        (("--from", "2025-08-01", "--to", "2025-08-10"), "--per-day"),
    ],
)
def test_wrong_usage_is_one_clear_line(ready, args, words):
    result = ready.run("rounds", ready.season, *args)
    assert result.exit_code == 2
    assert words in result.output


def test_people_without_a_day_in_the_span_are_not_enough(county):
    round_county(county, people=[person_row("Ada", days="2024-05-01")])
    result = county.run("rounds", county.season, *SPAN)
    assert result.exit_code == 5
    assert "none of the 1 people on file has a day" in result.output


def test_a_season_of_nests_without_a_window_lists_them_all(county):
    round_county(county, nests=[nest_row("n1", taxon="chicken turtle")])
    result = county.run("rounds", county.season, *SPAN)
    assert result.exit_code == 0, result.output
    assert "No visit: n1" in result.output


@pytest.mark.parametrize("ending", ["html", "ics", "gpx", "csv"])
def test_an_empty_plan_can_be_written_too(county, ending):
    round_county(county, nests=[nest_row("n1", taxon="chicken turtle")])
    path = county.folder / f"rounds.{ending}"
    assert county.run("rounds", county.season, *SPAN, "-o", path).exit_code == 0
    assert path.exists()


def test_a_longer_delay_meets_at_least_as_many(ready):
    one, three = (ready.json("rounds", ready.season, *SPAN, "--delay-days", days)["expected_met"] for days in (1, 3))
    assert three >= one - 0.01


def test_the_table_tells_where_each_nest_is_so_that_the_form_can_draw_the_round(ready):
    path = ready.folder / "rounds.csv"
    ready.run("rounds", ready.season, *SPAN, "-o", path)
    rows = pd.read_csv(path).drop_duplicates("nest_id").set_index("nest_id")
    nests = Season.open(ready.season).read("nests").set_index("nest_id").loc[rows.index]
    assert len(rows) > 0
    assert rows["longitude"].tolist() == pytest.approx(nests["longitude"].tolist())
    assert rows["latitude"].tolist() == pytest.approx(nests["latitude"].tolist())
