from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.hatch.laying import Laying, laying_of


def test_a_seen_laying_settles_the_day():
    found = laying_of(laid_on="2024-06-01", laid_from="2024-05-01", laid_to="2024-06-20", found_at="2024-06-20")
    assert found == Laying(date(2024, 6, 1), date(2024, 6, 1), assumed=False)
    assert isinstance(found, Laying)
    assert found.n_days == 1


def test_a_span_is_taken_as_written():
    found = laying_of(laid_from="2024-06-01", laid_to="2024-06-08", found_at="2024-06-20T08:00:00-04:00")
    assert found == Laying(date(2024, 6, 1), date(2024, 6, 8), assumed=False)


def test_without_a_last_day_it_is_the_day_found():
    assert laying_of(laid_from="2024-06-01", found_at="2024-06-20T23:30:00-04:00") == Laying(
        date(2024, 6, 1), date(2024, 6, 20), assumed=False
    )


def test_eggs_are_never_laid_after_they_were_found():
    found = laying_of(laid_from="2024-06-01", laid_to="2024-06-30", found_at="2024-06-20")
    assert found == Laying(date(2024, 6, 1), date(2024, 6, 20), assumed=False)


def test_without_a_first_day_a_fortnight_before_finding_is_assumed_and_marked():
    found = laying_of(found_at="2024-06-20T08:00:00-04:00")
    assert found == Laying(date(2024, 6, 6), date(2024, 6, 20), assumed=True)


@pytest.mark.parametrize("blank", [None, "", "  ", float("nan")])
def test_without_any_day_there_is_a_sentence(blank):
    found = laying_of(laid_on=blank, laid_from=blank, laid_to=blank, found_at=blank)
    assert found == "no projection: neither a laying day nor the day it was found is known"


def test_a_span_that_ends_before_it_begins_is_told_with_its_dates():
    found = laying_of(laid_from="2024-06-10", laid_to="2024-06-01")
    assert found == "no projection: it cannot have been laid from 2024-06-10 and by 2024-06-01; correct the dates"


def test_a_day_that_does_not_exist_counts_as_blank():
    assert laying_of(laid_on="2024-02-30", found_at="2024-06-20") == laying_of(found_at="2024-06-20")


@given(found=st.dates(date(1900, 1, 1), date(2100, 1, 1)))
def test_an_assumed_span_always_ends_on_the_day_found(found):
    laying = laying_of(found_at=found.isoformat())
    assert isinstance(laying, Laying)
    assert laying.last == found
    assert laying.n_days == 15
