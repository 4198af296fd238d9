"""Each term of evidence is a logarithm of a likelihood ratio; a blank says nothing."""

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from roadwatch.records.double_evidence import NEVER, normal_density, place_density, resighting_terms, time_density
from roadwatch.records.sightings import Sightings


def seen(*rows, **columns):
    first = {"observed_at": "2025-05-12", "condition": "dead", "taxon": "Trachemys scripta"}
    table = pd.DataFrame([first | row for row in rows]).assign(**columns)
    return Sightings.of(table, np.zeros(len(table)), np.zeros(len(table)))


def term(name, *rows):
    """One term of the first two of the rows."""
    return float(resighting_terms(seen(*rows), np.array([0]), np.array([1]))[name][0])


def test_the_normal_density_is_that_of_the_library():
    distance = np.linspace(-3, 60, 50)
    assert normal_density(distance, 9.4) == pytest.approx(norm.pdf(distance, scale=9.4))


@pytest.mark.parametrize("sd_m", [6.0, 9.4, 40.0])
def test_the_place_density_adds_to_one_along_the_road(sd_m):
    total, _ = quad(
        lambda d: float(place_density(np.array([d]), np.array([sd_m]))[0]), -2000, 2000, points=[0], limit=500
    )
    assert total == pytest.approx(1, abs=1e-6)


def test_the_time_density_of_the_dead_adds_to_one_over_days():
    days = [{"observed_at": str(np.datetime64("2025-06-15") + k)} for k in range(-40, 41)]
    table = seen({"observed_at": "2025-06-15"}, *days)
    right = np.arange(1, 82)
    assert time_density(table, np.zeros(81, dtype=int), right).sum() == pytest.approx(1)


def test_the_time_density_of_the_living_adds_to_one_over_minutes():
    at = [np.datetime64("2025-05-12T12:00") + k for k in range(-90, 91)]
    table = seen(*[{"observed_at": f"{moment}:00-04:00", "condition": "alive"} for moment in [at[90], *at]])
    per_day = time_density(table, np.zeros(181, dtype=int), np.arange(1, 182))
    # by hand: an exponential of 20 minutes both ways holds 1 - exp(-3) = 0.950 within the hour
    assert per_day.sum() / 1440 == pytest.approx(0.950, abs=0.03)
    assert per_day[0] == 0


def test_the_dead_and_the_living_are_never_one_sighting():
    table = seen(
        {"observed_at": "2025-05-12T12:00:00-04:00"}, {"observed_at": "2025-05-12T12:01:00-04:00", "condition": "alive"}
    )
    assert time_density(table, np.array([0]), np.array([1])) == 0


@pytest.mark.parametrize("name", ["name", "size", "sex", "age", "action", "people", "count"])
def test_blanks_say_nothing(name):
    assert term(name, {"taxon": None}, {"taxon": None}) == pytest.approx(0, abs=1e-9)


def test_lengths_near_each_other_speak_for_and_far_ones_against():
    close, far = (term("size", {"carapace_mm": 200.0}, {"carapace_mm": other}) for other in (204.0, 300.0))
    # by hand: 0.02 in log against sd 0.04 * sqrt 2 for one animal, 0.35 * sqrt 2 for two
    by_hand = np.log(0.98 * norm.pdf(np.log(1.02), scale=0.04 * 2**0.5) / norm.pdf(np.log(1.02), scale=0.35 * 2**0.5))
    assert close == pytest.approx(by_hand, abs=0.02)
    assert far < np.log(0.05)


def test_a_living_animal_does_not_change_its_length_as_a_broken_shell_may():
    dead, alive = (
        term("size", *[{"carapace_mm": mm, "condition": state} for mm in (200.0, 300.0)]) for state in ("dead", "alive")
    )
    assert alive < dead - 3


def test_a_measured_length_silences_the_life_stage():
    measured = term(
        "size", {"carapace_mm": 200.0, "life_stage": "adult"}, {"carapace_mm": 203.0, "life_stage": "juvenile"}
    )
    assert measured > 0
    assert term("size", {"life_stage": "adult"}, {"life_stage": "juvenile"}) < np.log(0.3)


def test_sex_unknown_is_a_blank():
    assert term("sex", {"sex": "female"}, {"sex": "unknown"}) == 0
    assert term("sex", {"sex": "female"}, {"sex": "male"}) < np.log(0.5)
    assert term("sex", {"sex": "female"}, {"sex": "female"}, *[{"sex": "male"}] * 20) > np.log(2)


def test_a_removed_carcass_is_not_seen_later_and_a_marked_one_rarely():
    later = {"observed_at": "2025-05-13"}
    assert term("action", {"action": "carcass_removed"}, later) == pytest.approx(np.log(0.01))
    assert term("action", {"action": "carcass_marked"}, later) == pytest.approx(np.log(0.2))
    assert term("action", {}, later | {"action": "carcass_removed"}) == 0


def test_on_one_day_without_hours_nobody_knows_who_came_first():
    assert term("action", {"action": "carcass_removed"}, {}) == 0
    at_noon = {"observed_at": "2025-05-12T12:00:00-04:00"}
    morning = {"observed_at": "2025-05-12T08:00:00-04:00", "action": "carcass_removed"}
    assert term("action", morning, at_noon) == pytest.approx(np.log(0.01))


def test_one_carcass_is_removed_once():
    assert term("action", {"action": "carcass_removed"}, {"action": "carcass_removed"}) == pytest.approx(np.log(0.01))


@pytest.mark.parametrize(
    ("rows", "ratio"),
    [
        ([{"observer": "Ann", "search_id": "s1"}, {"observer": "Bea", "search_id": "s1"}], 0.05),
        ([{"observer": "Ann"}, {"observer": " ann "}], 0.1),
        ([{"observer": "Ann"}, {"observer": "Ann", "observed_at": "2025-05-14"}], 0.6),
        ([{"observer": "Ann"}, {"observer": "Bea"}], 2.0),
        ([{"observer": "Ann"}, {"observer": None}], 1.0),
    ],
    ids=["one search", "one person, one day", "one person, later", "two persons", "nobody knows"],
)
def test_who_saw_it(rows, ratio):
    # the ratios are the stated conventions of the table
    assert term("people", *rows) == pytest.approx(np.log(ratio), abs=1e-9)


def test_no_term_is_infinite_however_strange_the_rows():
    rows = [
        {"carapace_mm": 20.0, "carcass_age": "fresh", "sex": "male", "count": 1000.0, "taxon": "no such name"},
        {"carapace_mm": 760.0, "carcass_age": "remains", "sex": "female", "count": 1.0, "action": "to_rehabilitator"},
    ]
    terms = resighting_terms(seen(*rows), np.array([0]), np.array([1]))
    assert all(NEVER < values[0] < -NEVER for values in terms.values())
