import pandas as pd
import pytest
from records.rule_cases import breaks, holds_back

NESTS = pd.DataFrame(
    {
        "nest_id": ["N1", "N2", "N3", None],
        "found_at": ["2025-05-12T07:00:00-04:00", "2025-06-01", "2025-06-01", "2025-06-01"],
        "laid_on": ["2025-05-10", None, None, None],
        "laid_from": [None, "2025-05-20", None, None],
        "clutch_size": [12.0, float("nan"), 5.0, 1.0],
    }
)
WINTER = "sliders and cooters do not nest from November to February"
KNOWN = "a check belongs to a known nest"
FOUND = "a nest is checked after it was found"
LAID = "a nest is checked after it was laid"
CLUTCH = "no more hatchlings and eggs are counted than were laid"


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        ({"taxon": "Trachemys scripta", "found_at": "2025-11-01"}, True),
        ({"taxon": "Pseudemys nelsoni", "found_at": "2025-02-28"}, True),
        ({"taxon": "Pseudemys nelsoni", "found_at": "2025-03-01"}, False),
        ({"taxon": "Trachemys scripta", "found_at": "2025-11-20", "laid_on": "2025-05-20"}, False),
        # chicken turtles lay from late summer into winter (Savannah River Ecology Laboratory account)
        ({"taxon": "Deirochelys reticularia", "found_at": "2025-11-01"}, False),
        ({"taxon": None, "found_at": "2025-11-01"}, False),
    ],
)
def test_a_slider_or_cooter_nest_of_winter_is_asked_about(change, broken):
    assert breaks(WINTER, "nests", change) is broken
    assert not holds_back(WINTER, "nests", change)


@pytest.mark.parametrize(("nest", "broken"), [("N9", True), ("N2", False), ("n1", True)])
def test_a_check_of_an_unknown_nest_is_kept_and_asked_about(nest, broken):
    assert breaks(KNOWN, "checks", {"nest_id": nest}, nests=NESTS) is broken
    assert not holds_back(KNOWN, "checks", {"nest_id": nest}, nests=NESTS)


def test_without_a_list_of_nests_nothing_is_asked():
    for sentence in (KNOWN, FOUND, LAID, CLUTCH):
        assert not breaks(sentence, "checks", {"nest_id": "N9", "checked_at": "1999-01-01", "hatchlings_live": 100})


def test_a_list_of_nests_without_their_days_asks_only_for_the_name():
    names = NESTS[["nest_id"]]
    assert breaks(KNOWN, "checks", {"nest_id": "N9"}, nests=names)
    assert not breaks(FOUND, "checks", {"checked_at": "1999-01-01"}, nests=names)


@pytest.mark.parametrize(
    ("nest", "day", "broken"),
    [
        ("N1", "2025-05-11", True),
        ("N1", "2025-05-12T06:00:00-04:00", False),  # the same day: hours of the find are seldom exact
        ("N1", "2025-05-13", False),
        ("N9", "1999-01-01", False),
    ],
)
def test_a_check_before_the_find_is_held_back(nest, day, broken):
    change = {"nest_id": nest, "checked_at": day}
    assert breaks(FOUND, "checks", change, nests=NESTS) is broken
    assert holds_back(FOUND, "checks", change, nests=NESTS) is broken


@pytest.mark.parametrize(
    ("nest", "day", "broken"),
    [("N1", "2025-05-09", True), ("N1", "2025-05-10", False), ("N2", "2025-05-19", True), ("N3", "2025-01-01", False)],
)
def test_a_check_before_the_laying_is_held_back(nest, day, broken):
    change = {"nest_id": nest, "checked_at": day}
    assert breaks(LAID, "checks", change, nests=NESTS) is broken


@pytest.mark.parametrize(
    ("nest", "live", "dead", "eggs", "broken"),
    [
        ("N1", 10, 1, 2, True),
        ("N1", 10, 1, 1, False),
        ("N1", 13, None, None, True),
        ("N2", 100, None, None, False),  # its clutch was not counted
        ("N9", 100, None, None, False),
    ],
)
def test_more_hatchlings_than_eggs_are_asked_about(nest, live, dead, eggs, broken):
    change = {"nest_id": nest, "hatchlings_live": live, "hatchlings_dead": dead, "eggs_unhatched": eggs}
    assert breaks(CLUTCH, "checks", change, nests=NESTS) is broken
