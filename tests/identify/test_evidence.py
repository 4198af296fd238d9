"""What was seen becomes evidence, or is set aside with its reason."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import UsageError
from roadwatch.identify.evidence import YOUNG_SLIP, answers_of, evidence_of, slip_of


def one(tables, seen, *, view="in_hand", skill="trained", life_stage=None):
    return answers_of(seen, tables, view=view, skill=skill, life_stage=life_stage)


@pytest.mark.parametrize(("skill", "slip"), [("novice", 0.15), ("trained", 0.07), ("expert", 0.02)])
def test_slips_are_those_of_the_skill(tables, skill, slip):
    assert one(tables, {"keel": "none"}, skill=skill).answers[0].slip == pytest.approx(slip)


def test_a_look_from_a_car_is_less_sure(tables):
    # by hand: 1 - .93 * .7
    assert one(tables, {"keel": "none"}, view="from_car").answers[0].slip == pytest.approx(1 - 0.93 * 0.7)
    assert one(tables, {"keel": "none"}, view="from_above").answers[0].slip == pytest.approx(0.07)


def test_young_animals_widen_the_slip(tables):
    assert one(tables, {"keel": "none"}, skill="expert", life_stage="juvenile").answers[0].slip == YOUNG_SLIP
    assert one(tables, {"keel": "none"}, skill="expert", life_stage="adult").answers[0].slip == pytest.approx(0.02)
    assert slip_of(1.0, skill_slip=0.4, life_stage="hatchling") == pytest.approx(0.4)


def test_the_size_of_a_young_animal_says_nothing(tables):
    assert one(tables, {"scl_mm": "lt100"}, life_stage="hatchling").answers == ()
    assert len(one(tables, {"scl_mm": "lt100"}, life_stage="adult").answers) == 1


@pytest.mark.parametrize("view", ["from_above", "from_car"])
def test_a_belly_cannot_be_seen_from_there(tables, view):
    with pytest.raises(UsageError, match=r"plastron_pattern cannot be seen from .*; expected view in_hand, carcass"):
        one(tables, {"plastron_pattern": "none"}, view=view)


def test_a_message_names_the_carcass_too_where_its_head_would_show_it(tables):
    with pytest.raises(UsageError, match=r"upper_jaw cannot be seen from car; expected view in_hand, carcass; correct"):
        one(tables, {"upper_jaw": "no_notch"}, view="from_car")


def test_a_carcass_that_still_has_a_head_may_show_it(tables):
    assert one(tables, {"upper_jaw": "notch_with_cusps"}, view="carcass").answers[0].slip == pytest.approx(0.07)


def test_an_unknown_character_is_answered_with_those_that_are(tables):
    with pytest.raises(UsageError, match="character 'colour' is not in the tables; expected one of plastron_pattern"):
        one(tables, {"colour": "green"})


@pytest.mark.parametrize(
    ("length_mm", "state"), [(20, 0), (99.9, 0), (100, 1), (149.9, 1), (150, 2), (230, 3), (319, 3), (320, 4), (900, 4)]
)
def test_a_measured_carapace_falls_into_its_class(tables, length_mm, state):
    evidence = evidence_of(pd.DataFrame({"carapace_mm": [length_mm]}), tables)
    assert evidence.answers[0].states == (state,)


def test_an_answer_on_size_goes_before_the_measure(tables):
    row = pd.DataFrame({"carapace_mm": [350.0, 350.0, np.nan], "seen_scl_mm": ["lt100", None, None]})
    evidence = evidence_of(row, tables)
    states = [evidence.answers[a].states for a in evidence.answer[np.argsort(evidence.record)]]
    assert states == [(0,), (4,)]


def test_many_records_share_their_distinct_answers(tables):
    rows = pd.DataFrame({"seen_keel": ["none", "none", "low_single", None] * 50})
    evidence = evidence_of(rows, tables)
    assert len(evidence.answers) == 2
    assert evidence.n_answers.tolist() == [1, 1, 1, 0] * 50


def test_a_column_of_blanks_is_no_evidence(tables):
    for blank in (np.nan, None, ""):
        assert evidence_of(pd.DataFrame({"seen_keel": [blank, blank]}, dtype=object), tables).answers == ()


def test_each_record_reads_its_own_skill_and_view(tables):
    rows = pd.DataFrame(
        {
            "seen_plastron_pattern": ["none"] * 3,
            "view": ["in_hand", "from_car", None],
            "observer_skill": ["expert", "expert", None],
        }
    )
    evidence = evidence_of(rows, tables)
    slips = {int(r): evidence.answers[a].slip for r, a in zip(evidence.record, evidence.answer, strict=True)}
    assert slips == {0: pytest.approx(0.02), 2: pytest.approx(0.15)}
    assert [(fault.record, fault.column) for fault in evidence.faults] == [(1, "seen_plastron_pattern")]


def test_what_is_set_aside_says_which_record_and_why(tables):
    faults = evidence_of(
        pd.DataFrame({"seen_keel": ["none", "wavy", "wavy"], "seen_wings": [None, "two", None]}), tables
    ).faults
    assert [(fault.record, fault.column, fault.found) for fault in faults] == [
        (1, "seen_keel", "wavy"),
        (2, "seen_keel", "wavy"),
        (1, "seen_wings", "two"),
    ]
    assert "is not one of its states" in faults[0].reason
    assert "is no character of the tables" in faults[2].reason
