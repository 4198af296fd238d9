"""What visits settle, and what a reader is told to do next."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest
from nest_windows import shifted, visit


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


def test_a_nest_found_after_the_day_asked_for_has_no_window_where_that_is_asked(windows, nest):
    nests = [nest(nest_id="A", found_at="2024-07-02T08:00:00-04:00"), nest(nest_id="B", found_at="2024-07-01T23:00:00")]
    table = windows(*nests, found_by_then=True).table.set_index("nest_id")
    assert table.loc["A", "note"] == "no window: found after the day asked for, on 2024-07-02"
    assert table.loc["A", "basis"] == "none"
    assert pd.isna(table.loc["A", "hatch_likely"])
    assert isinstance(table.loc["B", "hatch_likely"], str)
    assert windows(nests[0]).table["basis"][0] == "station_offset"


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


def test_no_note_of_a_projected_nest_ever_calls_it_failed(windows, nest, weather):
    cold = windows(
        *(nest(nest_id=str(day), laid_on=f"2024-07-{day:02d}") for day in range(1, 20, 6)), weather=shifted(weather, -8)
    )
    assert not cold.table["note"].str.contains(r"(?<!not a )failed", regex=True).any()
