import pandas as pd
import pytest
from records.record_cases import context, typed
from records.rule_cases import breaks, holds_back, rule_named

from roadwatch.records.rules import complaints_of

NESTS = pd.DataFrame(
    {
        "nest_id": ["N1", "N2", "N3", None],
        "found_at": ["2025-05-12T07:00:00-04:00", "2025-06-01", "2025-06-01", "2025-06-01"],
        "laid_on": ["2025-05-10", None, None, None],
        "laid_from": [None, "2025-05-20", None, None],
        "clutch_size": [12.0, float("nan"), 5.0, 1.0],
    }
)
WINTER = "sliders, cooters, map turtles and terrapins do not nest from November to February"
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
        ({"taxon": "Graptemys barbouri", "found_at": "2025-12-01"}, True),
        ({"taxon": "Malaclemys terrapin", "found_at": "2025-11-01"}, True),
        ({"taxon": "Kinosternon baurii", "found_at": "2025-11-01"}, False),  # nests in autumn (same source)
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


USUAL = "a clutch is not much larger than is usual for its taxon"
ACCESS = "the way to a nest leaves the road near it"
INTACT = "an intact nest has no hatchlings outside"
EARLY = "hatchlings do not emerge within 45 days of laying"
ENDED = "a nest that ended is not alive at a later check"


@pytest.mark.parametrize(
    ("taxon", "eggs", "broken"),
    [  # twice the most that the account named in data/taxa.csv calls usual
        ("Kinosternon subrubrum", 16, False),  # 1 to 8 eggs, Chelonian Research Monographs 5
        ("Kinosternon subrubrum", 17, True),
        ("Pseudemys floridana", 40, False),  # about 20, Alabama
        ("Pseudemys floridana", 41, True),
        ("Chelydra serpentina", 80, False),
        ("Pseudemys", 100, False),  # no account of the genus was read
        (None, 100, False),
    ],
)
def test_a_clutch_beyond_what_is_usual_is_asked_about(taxon, eggs, broken):
    assert breaks(USUAL, "nests", {"taxon": taxon, "clutch_size": eggs}) is broken
    assert not holds_back(USUAL, "nests", {"taxon": taxon, "clutch_size": eggs})


@pytest.mark.parametrize(
    ("longitude", "latitude", "broken"),
    [  # the nest is at -82.3, 29.6; 0.02 degrees of latitude are 2.2 km, of longitude there 1.9 km
        (-82.3, 29.61, False),
        (-82.3, 29.62, True),
        (-82.32, 29.6, False),
        (-82.325, 29.6, True),
        (82.3, 29.6, True),
        (None, 29.7, False),
    ],
)
def test_a_way_that_begins_far_from_the_nest_is_asked_about(longitude, latitude, broken):
    assert breaks(ACCESS, "nests", {"access_longitude": longitude, "access_latitude": latitude}) is broken


@pytest.mark.parametrize(
    ("outcome", "live", "dead", "broken"),
    [
        ("intact", 3, None, True),
        ("intact", None, 1, True),
        ("intact", 0, 0, False),
        ("intact", None, None, False),
        ("emerging", 3, None, False),
    ],
)
def test_hatchlings_of_an_intact_nest_are_asked_about(outcome, live, dead, broken):
    change = {"outcome": outcome, "hatchlings_live": live, "hatchlings_dead": dead}
    assert breaks(INTACT, "checks", change) is broken


@pytest.mark.parametrize(
    ("nest", "day", "outcome", "broken"),
    [  # N1 was laid on 10 May: 45 days later is 24 June
        ("N1", "2025-06-23", "emerged", True),
        ("N1", "2025-06-24", "emerged", False),
        ("N1", "2025-06-23", "emerging", True),
        ("N1", "2025-06-23", "intact", False),
        ("N3", "2025-06-02", "emerged", False),  # nobody saw the laying
    ],
)
def test_hatchlings_soon_after_laying_are_asked_about(nest, day, outcome, broken):
    change = {"nest_id": nest, "checked_at": day, "outcome": outcome}
    assert breaks(EARLY, "checks", change, nests=NESTS) is broken


@pytest.mark.parametrize(
    ("first", "second", "broken"),
    [
        ("depredated_full", "intact", True),
        ("emerged", "emerging", True),
        ("depredated_partial", "intact", False),
        ("emerged", "emerged", False),
        ("lost_marker", "intact", False),
    ],
)
def test_a_nest_that_lives_after_its_end_is_asked_about(first, second, broken):
    rows = [
        {"nest_id": "N7", "checked_at": "2025-08-01", "outcome": second},
        {"nest_id": "N7", "checked_at": "2025-07-01", "outcome": first},
        {"nest_id": "N8", "checked_at": "2025-09-01", "outcome": second},
    ]
    complaints = complaints_of(rule_named(ENDED, "checks"), typed("checks", *rows), context())
    assert [complaint.row for complaint in complaints] == ([0] if broken else [])


def test_the_end_and_a_sign_of_life_on_one_day_are_no_contradiction():
    rows = [{"nest_id": "N7", "checked_at": "2025-07-01", "outcome": outcome} for outcome in ("emerged", "intact")]
    assert complaints_of(rule_named(ENDED, "checks"), typed("checks", *rows), context()) == []
