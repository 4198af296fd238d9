"""The sentences that follow from the table of columns hold: a row that breaks one is held back."""

import pytest
from records.record_cases import GOOD, TIMEZONE, context, raw

from roadwatch.records.checks import accept_rows, rules_of
from roadwatch.records.fields import KINDS, RECORD_KINDS, fields_of
from roadwatch.records.rules_stated import stated_rules

FIELDS = [field for kind in RECORD_KINDS for field in fields_of(kind).values()]


def held_back(kind, change):
    """The reason for which a sound row with this change is held back; blank text where it is taken in."""
    found = accept_rows(raw(kind, change), kind, timezone=TIMEZONE, context=context())
    return found.held_back[0].reason if found.held_back else ""


def outside(field):
    """A number just beyond each end of what a column takes."""
    low, _, high = field.values.partition("..")
    below = low.rstrip("<") if low.endswith("<") else str(float(low) - 1)
    return below, str(float(high) + 1)


def sentence_of(field):
    return [one for one, _ in stated_rules(field.kind) if one.startswith(f"{field.name} ") and "given" not in one]


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_the_sound_row_is_taken_in(kind):
    assert held_back(kind, {}) == ""


@pytest.mark.parametrize("field", [f for f in FIELDS if f.required], ids=lambda f: f"{f.kind} {f.name}")
def test_what_must_be_given_is_asked_for(field):
    assert (f"{field.name} is given", "hold back") in stated_rules(field.kind)
    assert f"{field.name} is missing" in held_back(field.kind, {field.name: ""})


@pytest.mark.parametrize("field", [f for f in FIELDS if ".." in f.values], ids=lambda f: f"{f.kind} {f.name}")
def test_a_number_beyond_its_ends_is_held_back(field):
    assert len(sentence_of(field)) == 1
    for number in outside(field):
        assert field.name in held_back(field.kind, {field.name: number}), number


@pytest.mark.parametrize(
    "field",
    [f for f in FIELDS if f.type in {"choice", "boolean", "date", "datetime"}],
    ids=lambda f: f"{f.kind} {f.name}",
)
def test_a_word_that_a_column_does_not_take_is_held_back(field):
    assert len(sentence_of(field)) == 1
    assert field.name in held_back(field.kind, {field.name: "no such word"})


def test_the_ends_are_written_as_they_hold():
    assert "carapace_mm is above 0 and at most 2500 mm" in dict(stated_rules("crossings"))
    assert "clutch_size is a whole number from 1 to 110 eggs" in dict(stated_rules("nests"))
    assert "condition is one of alive, injured, dead, unknown" in dict(stated_rules("crossings"))


@pytest.mark.parametrize("kind", KINDS)
def test_no_rule_is_told_twice(kind):
    sentences = [sentence for sentence, _ in stated_rules(kind)] + [rule.sentence for rule in rules_of(kind)]
    assert len(set(sentences)) == len(sentences)


def test_every_kind_of_record_has_a_sound_row_to_break():
    assert set(GOOD) == set(RECORD_KINDS)
