import pytest
from records.rule_cases import breaks, holds_back, rule_named

MAIN = [("crossings", "observed_at"), ("nests", "found_at"), ("checks", "checked_at"), ("searches", "started_at")]
BLANK = {"laid_on": None, "laid_from": None, "laid_to": None}


@pytest.mark.parametrize(("kind", "column"), MAIN)
@pytest.mark.parametrize(
    ("day", "broken"),
    [("2026-06-01", False), ("2026-06-01T23:59:00-04:00", False), ("2026-06-02", True), ("2042-05-12", True)],
)
def test_no_record_is_of_a_day_to_come(kind, column, day, broken):
    # the tests' today is 2026-06-01
    assert breaks(f"{column} is not in the future", kind, {column: day}) is broken
    assert holds_back(f"{column} is not in the future", kind, {column: day}) is broken


@pytest.mark.parametrize(("kind", "column"), MAIN)
@pytest.mark.parametrize(("day", "broken"), [("1950-01-01", False), ("1949-12-31", True), ("0225-05-12", True)])
def test_no_record_is_of_the_distant_past(kind, column, day, broken):
    assert breaks(f"{column} is not before 1950", kind, {column: day}) is broken


@pytest.mark.parametrize(
    ("sentence", "change", "broken"),
    [  # the sound nest of these tests was found on 2025-05-12
        ("the nest was found after it was laid", {"laid_on": "2025-05-13"}, True),
        ("the nest was found after it was laid", {"laid_on": "2025-05-12"}, False),
        (
            "the nest was found after it was laid",
            {"laid_on": "2025-05-12", "found_at": "2025-05-12T07:00-04:00"},
            False,
        ),
        ("the first possible day of laying is not after the nest was found", {"laid_from": "2025-05-13"}, True),
        ("the first possible day of laying is not after the nest was found", {"laid_from": "2025-05-12"}, False),
        (
            "the first possible day of laying is not after the last",
            {"laid_from": "2025-05-10", "laid_to": "2025-05-09"},
            True,
        ),
        (
            "the first possible day of laying is not after the last",
            {"laid_from": "2025-05-10", "laid_to": "2025-05-10"},
            False,
        ),
        ("the first possible day of laying is not after the last", {"laid_from": "2025-05-10"}, False),
        (
            "a cage is taken off after it was put on",
            {"protected_on": "2025-06-02", "protected_off": "2025-06-01"},
            True,
        ),
        ("a cage is taken off after it was put on", {"protected_on": "2025-06-02", "protected_off": None}, False),
    ],
)
def test_a_nest_s_days_follow_each_other(sentence, change, broken):
    assert breaks(sentence, "nests", change) is broken
    assert holds_back(sentence, "nests", change) is broken


@pytest.mark.parametrize(("last", "broken"), [("2025-05-13", True), ("2025-05-12", False), (None, False)])
def test_a_last_day_of_laying_after_the_find_is_asked_about(last, broken):
    sentence = "the last possible day of laying is not after the nest was found"
    assert breaks(sentence, "nests", {"laid_to": last}) is broken
    assert rule_named(sentence, "nests").severity == "ask"


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        ({"laid_on": "2025-05-01", "laid_from": "2025-05-02"}, True),
        ({"laid_on": "2025-05-05", "laid_to": "2025-05-04"}, True),
        ({"laid_on": "2025-05-03", "laid_from": "2025-05-02", "laid_to": "2025-05-04"}, False),
        ({"laid_on": "2025-05-03"}, False),
    ],
)
def test_a_day_of_laying_outside_its_span_is_asked_about(change, broken):
    assert breaks("the day of laying lies between its first and last possible day", "nests", change) is broken


@pytest.mark.parametrize(
    ("start", "end", "broken"),
    [
        ("2025-05-12T07:00:00-04:00", "2025-05-12T06:59:00-04:00", True),
        ("2025-05-12T07:00:00-04:00", "2025-05-12T07:00:00-04:00", False),
        ("2025-05-12", "2025-05-11", True),
        ("2025-05-12", "2025-05-12T06:00:00-04:00", False),
        ("2025-05-12T07:00:00-04:00", "2025-05-12", False),
        ("2025-05-12T07:00:00-04:00", None, False),
        # the hour that comes twice on 2 November 2025: 1:50 summer time lies before 1:10 standard time
        ("2025-11-02T01:50:00-04:00", "2025-11-02T01:10:00-05:00", False),
        ("2025-11-02T01:10:00-05:00", "2025-11-02T01:50:00-04:00", True),
    ],
)
def test_a_search_ends_after_it_started(start, end, broken):
    assert breaks("a search ends after it started", "searches", {"started_at": start, "ended_at": end}) is broken
    assert holds_back("a search ends after it started", "searches", {"started_at": start, "ended_at": end}) is broken


@pytest.mark.parametrize(("end", "broken"), [("2025-05-14T07:00:00-04:00", True), ("2025-05-13T02:00:00-04:00", False)])
def test_a_search_of_several_days_is_asked_about(end, broken):
    change = {"started_at": "2025-05-12T20:00:00-04:00", "ended_at": end}
    assert breaks("a search lasts no longer than a day", "searches", change) is broken


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        ({"date": "2026-06-02"}, True),
        ({"date": None, "at": "2026-06-02T07:00:00-04:00"}, True),
        ({"date": "2026-06-02", "kind": "forecast"}, False),
        ({"date": "2026-06-01"}, False),
    ],
)
def test_only_a_forecast_may_be_of_a_day_to_come(change, broken):
    assert breaks("a reading is not in the future, unless it is a forecast", "temperatures", change) is broken


@pytest.mark.parametrize(
    ("built", "removed", "broken"),
    [("2024-03-01", "2024-02-28", True), ("2024-03-01", "2024-03-01", False), ("2024-03-01", None, False)],
)
def test_a_measure_is_taken_away_after_it_was_built(built, removed, broken):
    sentence = "a measure is taken away after it was built"
    assert holds_back(sentence, "measures", {"built_on": built, "removed_on": removed}) is broken


@pytest.mark.parametrize(("day", "broken"), [("2026-06-02", True), ("2026-06-01", False)])
def test_a_measure_that_is_only_planned_is_asked_about(day, broken):
    assert breaks("a measure has been built by today", "measures", {"built_on": day}) is broken
