"""One carcass is counted once; two animals are never merged into one."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.records.doubles import animal_groups


def carcass(**changes):
    row = {
        "observed_at": "2025-05-12",
        "condition": "dead",
        "taxon": "Trachemys scripta",
        "position_error_m": 10.0,
        "action": None,
        "carapace_mm": np.nan,
        "x_m": 0.0,
        "y_m": 0.0,
    }
    return row | changes


def groups(*rows):
    table = pd.DataFrame(list(rows))
    return animal_groups(table, table["x_m"].to_numpy(), table["y_m"].to_numpy()).tolist()


def test_the_same_carcass_by_two_people_is_one_animal():
    assert groups(carcass(), carcass(x_m=12.0)) == [0, 0]


def test_a_carcass_seen_on_three_days_running_is_one_animal():
    days = [carcass(observed_at=f"2025-05-{day}") for day in (12, 14, 16)]
    assert groups(*days) == [0, 0, 0]


@pytest.mark.parametrize(
    "other",
    [
        carcass(observed_at="2025-05-15"),
        carcass(x_m=60.0),
        carcass(condition="alive"),
        carcass(taxon="Chelydra serpentina"),
    ],
    ids=["three days later", "60 m away with positions good to 10 m", "a live animal", "another species"],
)
def test_another_animal_stays_another(other):
    assert groups(carcass(), other) == [0, 1]


def test_a_genus_can_be_one_of_its_species():
    assert groups(carcass(taxon="Trachemys scripta"), carcass(taxon="Emydidae")) == [0, 0]


def test_a_carcass_that_was_removed_cannot_be_seen_again():
    assert groups(carcass(action="carcass_removed"), carcass(observed_at="2025-05-13")) == [0, 1]


def test_lengths_that_differ_by_more_than_a_tenth_are_two_animals():
    assert groups(carcass(carapace_mm=200.0), carcass(carapace_mm=250.0)) == [0, 1]
    assert groups(carcass(carapace_mm=200.0), carcass(carapace_mm=210.0)) == [0, 0]


def test_poor_positions_reach_farther_but_never_beyond_100_m():
    far = carcass(position_error_m=500.0)
    assert groups(far, far | {"x_m": 99.0}) == [0, 0]
    assert groups(far, far | {"x_m": 101.0}) == [0, 1]


def test_the_order_of_records_does_not_matter():
    rng = np.random.default_rng(7)
    rows = [
        carcass(x_m=float(x), observed_at=f"2025-05-{d:02d}")
        for x, d in zip(rng.integers(0, 300, 40), rng.integers(1, 28, 40), strict=True)
    ]
    table = pd.DataFrame(rows)
    order = rng.permutation(40)
    straight = animal_groups(table, table["x_m"].to_numpy(), table["y_m"].to_numpy())
    mixed = table.iloc[order].reset_index(drop=True)
    shuffled = animal_groups(mixed, mixed["x_m"].to_numpy(), mixed["y_m"].to_numpy())
    pairs = straight[order][:, None] == straight[order][None, :]
    assert np.array_equal(pairs, shuffled[:, None] == shuffled[None, :])


def test_no_record_and_one_record_are_fine():
    assert groups(carcass()) == [0]
    assert animal_groups(pd.DataFrame(columns=list(carcass())), np.zeros(0), np.zeros(0)).tolist() == []
