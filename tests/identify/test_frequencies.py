"""Frequencies and the forms of a taxon."""

import numpy as np
import pytest

from roadwatch.identify.characters import Character, State
from roadwatch.identify.frequencies import build_matrix
from roadwatch.identify.table_files import Row
from roadwatch.identify.tree import tree_of

VIEWS = dict.fromkeys(("in_hand", "from_above", "from_car", "carcass"), 1.0)


def character(key, *states):
    kept = tuple(State(state, state, absent=False, both_of=frozenset()) for state in states)
    return Character(key, key, f"{key}?", VIEWS, needs_head=False, mistaken_for="", safety="", states=kept)


CHARACTERS = {"head": character("head", "blotch", "plain"), "shell": character("shell", "bars", "net", "plain")}


def rows(file, columns, *lines):
    return [
        Row(file, number, dict(zip(columns.split(), line.split(","), strict=True)))
        for number, line in enumerate(lines, start=2)
    ]


def frequencies(*lines):
    return rows("frequencies.csv", "taxon character state frequency_class share source", *lines)


def forms(*lines):
    return rows("forms.csv", "taxon form share character state frequency source", *lines)


SLIDER = (
    "Trachemys scripta,head,blotch,usually,,eab",
    "Trachemys scripta,head,plain,rarely,,eab",
    "Trachemys scripta,shell,bars,,0.5,eab",
    "Trachemys scripta,shell,net,,0.3,eab",
    "Trachemys scripta,shell,plain,,0.2,eab",
)


def matrix(frequency_rows, form_rows=()):
    faults = []
    made = build_matrix(frequency_rows, list(form_rows), CHARACTERS, tree=tree_of(None), faults=faults)
    assert not faults
    return made


def test_classes_weigh_and_measured_shares_stand():
    made = matrix(frequencies(*SLIDER))
    assert made.frequencies["head"][0] == pytest.approx([0.85 / 0.95, 0.10 / 0.95])  # by hand
    assert made.frequencies["shell"][0] == pytest.approx([0.5, 0.3, 0.2])


def test_a_character_without_rows_says_nothing():
    made = matrix(frequencies(*SLIDER[:2]))
    assert made.frequencies["shell"][0] == pytest.approx([1 / 3] * 3)


def test_a_form_changes_its_states_and_leaves_the_rest_in_proportion():
    dark = (
        "Trachemys scripta,dark,0.1,head,plain,0.9,eab",
        "Trachemys scripta,dark,0.1,shell,plain,0.8,eab",
    )
    made = matrix(frequencies(*SLIDER), forms(*dark))
    assert made.form_taxon.tolist() == [0, 0, 1]
    assert made.form_share.tolist() == pytest.approx([0.9, 0.1, 1.0])
    assert made.frequencies["head"][1] == pytest.approx([0.1, 0.9])
    # by hand: the .2 that is left is shared 5 to 3
    assert made.frequencies["shell"][1] == pytest.approx([0.125, 0.075, 0.8])


def test_a_taxon_shows_the_mean_of_its_forms():
    dark = "Trachemys scripta,dark,0.1,shell,plain,0.8,eab"
    made = matrix(frequencies(*SLIDER), forms(dark))
    assert made.by_taxon("shell")[0] == pytest.approx([0.9 * 0.5 + 0.1 * 0.125, 0.9 * 0.3 + 0.1 * 0.075, 0.26])
    np.testing.assert_allclose(made.by_taxon("shell").sum(axis=1), 1.0)


def test_two_forms_share_a_taxon():
    two = (
        "Trachemys scripta,dark,0.1,head,plain,0.9,eab",
        "Trachemys scripta,pale,0.2,shell,net,0.6,eab",
    )
    made = matrix(frequencies(*SLIDER), forms(*two))
    assert made.form_share[:3].tolist() == pytest.approx([0.7, 0.1, 0.2])
    assert made.form_start.tolist() == [0, 3]
