"""Windows by what is known of the taxon, and what doubt does to their sureness."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from nest_windows import shifted

from roadwatch.errors import NotEnoughDataError


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
