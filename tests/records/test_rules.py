import string

import numpy as np
import pandas as pd
import pytest
from records.record_cases import context, typed

from roadwatch.records.fields import KINDS, fields_of
from roadwatch.records.rules import CheckContext, Rule, complaints_of, is_day_after, number_of, registered, text_of

PAIRS = [(one, kind) for one in registered() for kind in one.kinds]


def test_no_two_rules_of_a_kind_share_their_sentence():
    pairs = [(kind, one.sentence) for one, kind in PAIRS]
    assert len(set(pairs)) == len(pairs)


def words_of_details(one, kind):
    """The words that a rule adds for a faulty row, asked of a sound one."""
    return set() if one.details is None else set(one.details(typed(kind), context())[0].words)


@pytest.mark.parametrize(("one", "kind"), PAIRS, ids=lambda value: value if isinstance(value, str) else value.sentence)
def test_every_rule_is_told_in_words_that_its_columns_can_fill(one, kind):
    named = {name for text in (one.fault, one.cure) for _, name, _, _ in string.Formatter().parse(text) if name}
    known = {
        *words_of_details(one, kind),
        *fields_of(kind),
        "today",
        "found",
        *(f"minus_{name}" for name in fields_of(kind)),
    }
    assert named <= known
    assert set(one.columns) <= set(fields_of(kind))
    assert kind in KINDS
    assert one.sentence
    assert not one.sentence.endswith(".")
    assert one.cure


@pytest.mark.parametrize(("one", "kind"), PAIRS, ids=lambda value: value if isinstance(value, str) else value.sentence)
def test_a_blank_row_and_an_empty_table_break_no_rule_but_that_of_a_day(one, kind):
    blank = typed(kind, dict.fromkeys(fields_of(kind)))
    breaks = one.is_faulty(blank, context())
    assert breaks.dtype == np.bool_
    assert breaks.tolist() == [one.sentence == "a reading has its day or its time"]
    assert one.is_faulty(blank.iloc[:0], context()).tolist() == []


def test_values_stand_in_the_message_without_rounding_noise():
    one = Rule(
        "s", ("crossings",), "ask", ("latitude",), "latitude {latitude}", "write {minus_latitude} by {today}", all_rows
    )
    (complaint,) = complaints_of(one, typed("crossings", {"latitude": 0.1 + 0.2}), context())
    assert complaint.reason == "latitude 0.3; write -0.3 by 2026-06-01"
    assert (complaint.column, complaint.found, complaint.severity) == ("latitude", "latitude 0.3", "ask")


def all_rows(table: pd.DataFrame, context: CheckContext):
    return np.ones(len(table), dtype=bool)


def test_braces_in_a_record_are_only_text():
    one = Rule("s", ("crossings",), "ask", ("notes",), "notes '{notes}'", "look", all_rows)
    (complaint,) = complaints_of(one, typed("crossings", {"notes": "{taxon} {0}"}), context())
    assert complaint.reason == "notes '{taxon} {0}'; look"


def test_columns_that_are_not_there_are_blank():
    table = pd.DataFrame({"a": ["x", None]})
    assert text_of(table, "a").tolist() == ["x", ""]
    assert text_of(table, "b").tolist() == ["", ""]
    assert np.isnan(number_of(table, "b")).all()


def test_days_are_compared_by_their_local_date():
    later = pd.Series(["2025-05-13", "2025-05-12T23:00:00-04:00", "", "2025-05-12"], dtype=object)
    earlier = pd.Series(["2025-05-12", "2025-05-12T01:00:00-04:00", "2025-05-12", ""], dtype=object)
    assert is_day_after(later, earlier).tolist() == [True, False, False, False]
