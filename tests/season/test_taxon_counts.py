"""Expected animals by taxon, with what doubtful names add to their variance."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.identify.identities import identities
from roadwatch.season.taxon_counts import COLUMNS, counts_by_taxon

REGION = "SC_GA_coastal_plain"


def sure_of(*rows):
    table = pd.DataFrame([{"taxon": taxon, "id_confidence": c, "verified_taxon": None} for taxon, c in rows])
    return identities(table, region=REGION)


def test_all_taxa_add_up_to_the_animals_recorded():
    sure = sure_of(("Trachemys scripta", 0.8), ("Chelydra serpentina", 1.0), ("Apalone mutica", 0.9), (None, None))
    table = counts_by_taxon(sure, np.array([1.0, 3.0, 1.0, 1.0]))
    assert table["expected"].sum() == pytest.approx(6.0)
    assert (table["expected"].diff().dropna() <= 0).all()


def test_expected_count_and_its_identity_variance_by_hand():
    # probabilities .9 .6 .2 .5: expected 2.2; variance from names .09 + .24 + .16 + .25 = .74
    sure = sure_of(*[("Chelydra serpentina", c) for c in (0.9, 0.6, 0.2, 0.5)])
    row = counts_by_taxon(sure, np.ones(4)).set_index("taxon").loc["Chelydra serpentina"]
    assert (row["expected"], row["identity_variance"]) == pytest.approx((2.2, 0.74))
    assert row["low"] < 2.2 < row["high"]


def test_three_animals_of_one_record_are_of_one_taxon():
    # three of one doubtful name: variance 9 x .8 x .2, not 3 x .8 x .2
    row = counts_by_taxon(sure_of(("Chelydra serpentina", 0.8)), np.array([3.0])).set_index("taxon")
    assert row.loc["Chelydra serpentina", "identity_variance"] == pytest.approx(1.44)


def test_a_name_that_the_tables_do_not_hold_is_counted_as_itself():
    table = counts_by_taxon(sure_of(("Apalone mutica", 0.9)), np.ones(1)).set_index("taxon")
    assert table.loc["Apalone mutica", "expected"] == pytest.approx(0.9)


def test_where_nothing_is_known_of_the_region_there_is_no_table():
    assert counts_by_taxon(None, np.ones(3)).columns.tolist() == COLUMNS
