import csv
from collections import defaultdict
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.complaints import Misread
from roadwatch.records.fields import CONFIDENCE_WORDS, all_fields, fields_of
from roadwatch.records.words import find_word, is_blank, read_boolean, read_choice, word_key, word_of

CROSSING = fields_of("crossings")
CHOICES = [field for field in all_fields() if field.type == "choice"]


def rows_of_words():
    text = (files("roadwatch") / "data" / "words.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@pytest.mark.parametrize("field", CHOICES, ids=lambda field: f"{field.kind}.{field.name}")
def test_every_allowed_word_is_read_as_itself_in_any_spelling(field):
    for choice in field.choices:
        assert read_choice(choice, field) == choice
        assert read_choice(choice.upper().replace("_", " "), field) == choice


def test_every_word_of_the_table_stands_for_an_allowed_word():
    allowed = defaultdict(set)
    for field in CHOICES:
        allowed[field.name] |= set(field.choices)
    allowed["id_confidence"] = set(CONFIDENCE_WORDS)
    allowed["gravid"] = {"true", "false", ""}
    for row in rows_of_words():
        if row["field"] in ("sides", "heading_deg"):
            assert row["word"].isdecimal()
        else:
            assert row["word"] in allowed[row["field"]]


def test_no_written_word_stands_for_two_things_in_one_field():
    meant = defaultdict(set)
    for row in rows_of_words():
        for written in row["written"].split(";"):
            meant[row["field"], word_key(written)].add(row["word"])
    shared = {key for key, words in meant.items() if len(words) > 1}
    assert shared == set()


@pytest.mark.parametrize(
    ("name", "written", "word"),
    [
        ("condition", "DOR", "dead"),
        ("condition", "road kill", "dead"),
        ("condition", "Squashed", "dead"),
        ("condition", "live", "alive"),
        ("condition", "AOR", "alive"),  # alive on road, as DOR is dead on road: common practice, no source
        ("condition", "uncertain", "unknown"),  # Darwin Core vitality: alive, dead, mixedLot, uncertain, notAssessed
        ("condition", "notAssessed", "unknown"),
        ("condition", "mixedLot", "unknown"),
        ("sex", "F", "female"),
        ("sex", "♂", "male"),
        ("life_stage", "Juv.", "juvenile"),
        ("view", "in hand", "in_hand"),
    ],
)
def test_everyday_words_stand_for_their_choice(name, written, word):
    assert read_choice(written, CROSSING[name]) == word


def test_an_unknown_word_is_answered_with_the_allowed_ones_and_the_nearest():
    answer = read_choice("injurred", CROSSING["condition"])
    assert answer == Misread("is not known; write one of alive, injured, dead, unknown (perhaps injured is meant)")


@pytest.mark.parametrize("written", ["depredated", "hatched", "eaten", "relocated"])
def test_an_outcome_that_leaves_open_which_is_not_guessed(written):
    assert isinstance(read_choice(written, fields_of("checks")["outcome"]), Misread)


@pytest.mark.parametrize("written", ["yes", "Y", "x", "1", "TRUE", "gravid"])
def test_yes_in_its_forms(written):
    assert read_boolean(written, CROSSING["gravid"]) is True


@pytest.mark.parametrize("written", ["no", "N", "0", "false", "not gravid"])
def test_no_in_its_forms(written):
    assert read_boolean(written, CROSSING["gravid"]) is False


@pytest.mark.parametrize("written", ["not checked", "none_felt"])
def test_none_felt_is_not_the_same_as_not_gravid(written):
    assert read_boolean(written, CROSSING["gravid"]) is None


def test_neither_yes_nor_no_is_told():
    assert read_boolean("perhaps", CROSSING["gravid"]) == Misread("is neither yes nor no; write yes or no")


def test_a_word_of_another_kind_s_field_of_the_same_name_is_not_taken():
    assert read_choice("fencing", fields_of("measures")["kind"]) == "fence"
    assert isinstance(read_choice("fencing", fields_of("temperatures")["kind"]), Misread)


def test_a_word_of_one_field_is_not_a_word_of_another():
    assert word_of("dor", field_name="condition") == "dead"
    assert word_of("dor", field_name="sex") is None


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("DOR slider", "dead"),
        ("slider, alive, moved", "alive"),
        ("one alive, one dead", None),
        ("not dead", None),
        ("slider", None),
        ("deadline road", None),
        ("a slider", None),  # 'a' alone stands for alive in a cell, not in a sentence
    ],
)
def test_a_word_is_found_in_running_text(text, word):
    assert find_word(text, field=CROSSING["condition"]) == word


@pytest.mark.parametrize(("text", "blank"), [("", True), (" n/a ", True), ("NULL", True), ("--", True), ("0", False)])
def test_blank_cells_in_their_forms(text, blank):
    assert is_blank(text) is blank


@given(st.text(), st.sampled_from(CHOICES))
def test_any_text_is_an_allowed_word_or_a_misreading(text, field):
    answer = read_choice(text, field)
    assert isinstance(answer, Misread) or answer in field.choices
