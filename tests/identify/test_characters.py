"""Answers are read as people write them, and what cannot be read says what is expected."""

import pytest

from roadwatch.errors import UsageError
from roadwatch.identify.characters import VIEWS, read_answer


def keys(tables, character, written):
    found = tables.characters[character]
    return {found.states[k].key for k in read_answer(found, written)}


@pytest.mark.parametrize(
    ("character", "written", "expected"),
    [
        ("keel", "low_single", {"low_single"}),
        ("keel", " Low-Single ", {"low_single"}),
        ("keel", "one low midline keel", {"low_single"}),
        ("rear_edge", "smooth|slightly_notched", {"smooth", "slightly_notched"}),
        ("plastron_pattern", "looked_absent", {"none"}),
        ("head_side", "big_yellow_blotch+red_patch", {"yellow_red_mixed"}),
        ("head_side", "red_patch+big_yellow_blotch", {"yellow_red_mixed"}),
        ("keel", "not_seen", set()),
        ("keel", "", set()),
        ("keel", None, set()),
        ("hinge", "none|one|two", set()),  # a doubt between all states says nothing
    ],
)
def test_answers_as_people_write_them(tables, character, written, expected):
    assert keys(tables, character, written) == expected


def test_a_state_that_is_none_is_answered_with_those_that_are(tables):
    with pytest.raises(UsageError, match=r"rear_edge: 'jagged' is not one of its states; expected one of smooth, sl"):
        read_answer(tables.characters["rear_edge"], "jagged")


def test_looked_absent_needs_a_state_that_means_none(tables):
    with pytest.raises(UsageError, match="'looked_absent' has no meaning here"):
        read_answer(tables.characters["shell_cover"], "looked_absent")


def test_both_at_once_needs_a_state_of_its_own(tables):
    with pytest.raises(UsageError, match=r"no state means both of 'none\+one'; write one\|other"):
        read_answer(tables.characters["hinge"], "none+one")


def test_from_a_car_the_same_is_seen_as_from_above_but_less_surely(tables):
    for character in tables.characters.values():
        assert (character.certainty["from_car"] > 0) == (character.certainty["from_above"] > 0)
        assert character.certainty["from_car"] < 1


def test_every_character_is_explained(tables):
    assert len(tables.characters) == 27
    for character in tables.characters.values():
        assert character.question.endswith("?")
        assert character.mistaken_for
        assert set(character.certainty) == set(VIEWS)
        assert all(state.words for state in character.states)
