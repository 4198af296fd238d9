import pytest
from records.rule_cases import breaks, rule_named


@pytest.mark.parametrize(
    ("condition", "age", "broken"),
    [("alive", "fresh", True), ("injured", "old", True), ("dead", "fresh", False), ("alive", None, False)],
)
def test_only_the_dead_have_a_carcass_age(condition, age, broken):
    change = {"condition": condition, "carcass_age": age}
    assert breaks("only a dead animal has a carcass age", "crossings", change) is broken


@pytest.mark.parametrize(
    ("sex", "gravid", "broken"),
    [("male", True, True), ("male", False, False), ("female", True, False), (None, True, False)],
)
def test_a_gravid_male_is_asked_about(sex, gravid, broken):
    assert breaks("a male carries no eggs", "crossings", {"sex": sex, "gravid": gravid}) is broken
    assert rule_named("a male carries no eggs", "crossings").severity == "ask"


@pytest.mark.parametrize(
    ("stage", "gravid", "broken"),
    [("hatchling", True, True), ("juvenile", True, True), ("adult", True, False), ("juvenile", False, False)],
)
def test_a_gravid_child_is_asked_about(stage, gravid, broken):
    assert breaks("only an adult carries eggs", "crossings", {"life_stage": stage, "gravid": gravid}) is broken


@pytest.mark.parametrize(
    ("sentence", "change", "sound"),
    [
        (
            "a living animal is no carcass that is removed or marked",
            {"condition": "alive", "action": "carcass_marked"},
            {"condition": "dead"},
        ),
        (
            "a dead animal is not moved across",
            {"condition": "dead", "action": "moved_across"},
            {"condition": "alive"},
        ),
        ("a living animal is not seen as a carcass", {"condition": "alive", "view": "carcass"}, {"condition": "dead"}),
        ("a carcass has no heading", {"condition": "dead", "heading_deg": 90.0}, {"condition": "alive"}),
    ],
)
def test_what_cannot_be_true_at_once_is_asked_about(sentence, change, sound):
    assert breaks(sentence, "crossings", change)
    assert not breaks(sentence, "crossings", change | sound)
    for name in change:
        assert not breaks(sentence, "crossings", {**change, name: None})


def test_an_injured_animal_may_be_taken_away():
    change = {"condition": "injured", "action": "carcass_removed"}
    assert not breaks("a living animal is no carcass that is removed or marked", "crossings", change)
