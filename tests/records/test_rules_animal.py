import pytest
from records.record_cases import context, typed
from records.rule_cases import breaks, holds_back, rule_named

from roadwatch.records.checks import check_records

POSSIBLE = "the shell is between 20 and 760 mm long"
RECORD = "the shell is not much longer than the longest known of its taxon"


@pytest.mark.parametrize(
    ("length_mm", "broken"), [(19.9, True), (20, False), (760, False), (760.1, True), (float("nan"), False)]
)
def test_a_shell_of_impossible_length_is_held_back(length_mm, broken):
    assert breaks(POSSIBLE, "crossings", {"carapace_mm": length_mm}) is broken
    assert holds_back(POSSIBLE, "crossings", {"carapace_mm": length_mm}) is broken


@pytest.mark.parametrize(
    ("taxon", "length_mm", "broken"),
    [  # 1.1 times the length of the account named in data/sources.toml
        ("Pseudemys peninsularis", 440, False),  # 400 mm, CAAR 669
        ("Pseudemys peninsularis", 441, True),
        ("Clemmys guttata", 149, False),  # 136 mm, University of Michigan: 149.6
        ("Clemmys guttata", 150, True),
        ("Kinosternon", 155, True),
        ("Kinosternon steindachneri", 700, False),  # nobody's length was read
        ("Testudines", 700, False),
        ("Clemmys guttata", 800, False),  # impossible for every turtle: another rule says so
        (None, 300, False),
    ],
)
def test_a_shell_beyond_the_record_of_its_taxon_is_asked_about(taxon, length_mm, broken):
    assert breaks(RECORD, "crossings", {"taxon": taxon, "carapace_mm": length_mm}) is broken
    assert not holds_back(RECORD, "crossings", {"taxon": taxon, "carapace_mm": length_mm})


def test_the_name_is_questioned_before_the_length():
    table = typed("crossings", {"taxon": "Clemmys guttata", "carapace_mm": 300.0})
    (fault,) = check_records(table, "crossings", context())
    assert fault.severity == "ask"
    assert fault.reason.startswith(
        "carapace_mm 300 is more than 1.1 times the greatest length read for Clemmys guttata"
    )
    assert "look at the name first" in fault.reason


@pytest.mark.parametrize(
    ("sex", "taxon", "length_mm", "broken"),
    [
        ("male", "Graptemys barbouri", 161, True),
        ("male", "Graptemys", 161, True),
        ("male", "Graptemys", 160, False),
        ("female", "Graptemys", 300, False),
        ("male", "Trachemys scripta", 200, False),
    ],
)
def test_a_huge_male_map_turtle_is_asked_about(sex, taxon, length_mm, broken):
    change = {"sex": sex, "taxon": taxon, "carapace_mm": length_mm}
    assert breaks("a male map turtle is not longer than 160 mm", "crossings", change) is broken


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
