import pytest
from records.record_cases import context, typed
from records.rule_cases import breaks, holds_back

from roadwatch.records.checks import check_records
from roadwatch.records.taxonomy import taxonomy_of

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
    ("taxon", "length_mm", "broken"),
    [
        ("Kinosternon", 141, True),
        ("Kinosternon", 140, False),
        ("Kinosternon", 160, False),  # beyond 1.1 times its record: that rule asks
        ("Kinosternon steindachneri", 141, True),  # no record was read, yet it is a mud turtle
        ("Sternotherus odoratus", 141, False),
    ],
)
def test_a_huge_mud_turtle_is_asked_about_once(taxon, length_mm, broken):
    change = {"taxon": taxon, "carapace_mm": length_mm}
    assert breaks("a mud turtle is not longer than 140 mm", "crossings", change) is broken


@pytest.mark.parametrize(
    ("stage", "length_mm", "hatchling", "adult"),
    [
        ("hatchling", 80, False, False),
        ("hatchling", 81, True, False),
        ("adult", 50, False, False),
        ("adult", 49, False, True),
        ("adult", 19, False, False),  # impossible for every turtle: another rule says so
        ("juvenile", 300, False, False),
        (None, 300, False, False),
    ],
)
def test_a_length_that_does_not_fit_the_stage_is_asked_about(stage, length_mm, hatchling, adult):
    change = {"life_stage": stage, "carapace_mm": length_mm}
    assert breaks("a hatchling is not longer than 80 mm", "crossings", change) is hatchling
    assert breaks("an adult is at least 50 mm long", "crossings", change) is adult


@pytest.mark.parametrize(("count", "broken"), [(19, False), (20, True), (None, False)])
def test_a_crowd_in_one_record_is_asked_about(count, broken):
    assert breaks("fewer than 20 animals stand in one record", "crossings", {"count": count}) is broken


@pytest.mark.parametrize(
    ("confidence", "qualifier", "broken"),
    [
        (0.95, "?", True),
        (1.0, "cf. nelsoni", True),
        (0.95, "probably", True),
        (0.8, "?", False),
        (0.95, "sp.", False),
        (0.95, None, False),
        (None, "?", False),
    ],
)
def test_a_certain_name_with_a_mark_of_doubt_is_asked_about(confidence, qualifier, broken):
    change = {"id_confidence": confidence, "identification_qualifier": qualifier}
    assert breaks("a name that is certain carries no mark of doubt", "crossings", change) is broken


def test_a_coordinator_s_own_lengths_are_followed(tmp_path):
    row = "taxon,rank,parent,greatest_length_mm\nClemmys guttata,species,Clemmys,300\n"
    (tmp_path / "taxa.csv").write_text(row, encoding="utf-8")
    change = {"taxon": "Clemmys guttata", "carapace_mm": 200.0}
    assert breaks(RECORD, "crossings", change)
    assert not breaks(RECORD, "crossings", change, taxonomy=taxonomy_of(tmp_path))
