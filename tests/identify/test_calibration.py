"""A season's certainties against what a second person said later, with five records and with five thousand."""

import numpy as np
import pandas as pd
import pytest
from simulated_records import simulate

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.calibration import NOT_RANDOM, calibrate

REGION = "SC_GA_coastal_plain"


def records(*rows):
    base = {"taxon": "Trachemys scripta", "id_confidence": 0.8, "verified_taxon": None, "observed_at": "2025-05-12"}
    return pd.DataFrame([base | row for row in rows]).astype(object)


def test_five_verified_records_give_wide_limits_and_say_so():
    result = calibrate(
        records(*[{"verified_taxon": "Trachemys scripta"}] * 4, {"verified_taxon": "Pseudemys"}), region=REGION
    )
    everything = result.groups.iloc[0]
    assert (everything["by"], everything["n"]) == ("all", 5)
    assert everything["share_right"] == pytest.approx(0.8)
    assert everything["share_high"] - everything["share_low"] > 0.5
    assert any("Only 5: a first look" in note for note in result.notes)
    assert NOT_RANDOM in result.notes


def test_the_score_of_one_name_by_hand():
    # by hand: said slider at .8; verified slider of any kind counts as one: (1-.8)^2 plus the squares of the rest
    result = calibrate(records({"verified_taxon": "Trachemys scripta"}), region=REGION)
    assert 0.04 <= result.groups.iloc[0]["brier"] <= 0.04 + 0.2**2
    assert result.groups.iloc[0]["log_score"] == pytest.approx(-np.log(0.8))
    assert np.isnan(result.groups.iloc[0]["brier_error"])


def test_records_nobody_verified_are_left_out():
    result = calibrate(records({}, {"verified_taxon": "Chelydra serpentina"}), region=REGION)
    assert result.groups.iloc[0]["n"] == 1


def test_without_any_it_says_what_is_missing():
    with pytest.raises(
        NotEnoughDataError, match="no record was verified by a second person to genus or finer; fill verified_taxon"
    ):
        calibrate(records({}), region=REGION)


def test_it_is_split_by_view_skill_taxon_and_basis():
    rows = [
        {"verified_taxon": "Chelydra serpentina", "view": "in_hand", "observer_skill": "expert"},
        {"verified_taxon": "Trachemys scripta", "view": None, "observer_skill": "novice"},
    ]
    groups = calibrate(records(*rows), region=REGION).groups
    assert set(groups["by"]) == {"all", "view", "skill", "taxon", "basis"}
    assert set(groups[groups["by"] == "view"]["value"]) == {"in_hand", "not said"}
    assert (groups[groups["by"] == "skill"]["n"] == 1).all()


def test_a_finer_and_a_foreign_verified_name_find_their_place():
    result = calibrate(
        records({"verified_taxon": "Graptemys barbouri"}, {"verified_taxon": "Apalone mutica"}), region=REGION
    )
    assert result.groups.iloc[0]["n"] == 2
    assert result.groups.iloc[0]["share_right"] == 0.0


def test_five_thousand_simulated_records_are_found_calibrated(tables):
    seen, truth = simulate(
        tables, region=REGION, n=5000, slip="group", share_of_slips=0.15, share_seen=0.5,
        rng=np.random.default_rng(31),
    )  # fmt: skip
    names = np.array(tables.taxa, dtype=object)[truth]
    known = names != "other turtle"
    table = seen.assign(taxon="Testudines", id_confidence=0.5, verified_taxon=names)[known].reset_index(drop=True)
    result = calibrate(table, region=REGION)
    n = int(known.sum())
    assert result.groups.iloc[0]["n"] == n
    # reference .014 for slips of whole groups (see the test of the posterior), and about .015 for chance in ten bins
    assert result.groups.iloc[0]["calibration_error"] < 0.014 + 0.015
    assert not any("first look" in note for note in result.notes)


def test_the_version_of_the_tables_is_kept(tables):
    assert calibrate(records({"verified_taxon": "Pseudemys"}), region=REGION).version == tables.version


def test_how_sure_an_answer_was_does_not_depend_on_what_turned_out_true():
    # by hand: 100 times 'cooter' at .95, 95 times verified as no more than that and 5 times another: one bin, 95 right
    said = {"taxon": "Pseudemys", "id_confidence": 0.95}
    rows = [said | {"verified_taxon": "Pseudemys"}] * 95 + [said | {"verified_taxon": "Chrysemys picta"}] * 5
    result = calibrate(records(*rows), region=REGION)
    assert result.reliability[["n", "n_right"]].to_numpy().tolist() == [[100, 95]]
    assert result.reliability["mean_sure"].iloc[0] == pytest.approx(0.95)
    assert result.groups.iloc[0]["calibration_error"] == pytest.approx(0.0, abs=1e-9)
    assert any(note.endswith("as some were verified no further: Pseudemys.") for note in result.notes)


def test_a_coarse_verified_name_joins_the_finer_ones_that_it_holds():
    rows = [{"taxon": "Pseudemys", "verified_taxon": name} for name in ("Pseudemys floridana", "Pseudemys")]
    result = calibrate(records(*rows), region=REGION)
    assert result.groups.iloc[0][["mean_sure", "share_right"]].tolist() == pytest.approx([0.8, 1.0])


def test_a_name_verified_no_further_than_a_family_is_not_scored():
    rows = [{"verified_taxon": name} for name in ("Testudines", "Emydidae", "Trachemys scripta")]
    result = calibrate(records(*rows), region=REGION)
    assert result.groups.iloc[0]["n"] == 1
    assert any("2 records were verified no further than a family" in note for note in result.notes)


def test_a_taxon_is_scored_by_where_it_was_the_answer_and_not_by_where_it_was_true():
    # by hand: of four called snapper at .8 three were; grouped by the truth, snappers would look right always
    said = {"taxon": "Chelydra serpentina", "id_confidence": 0.8}
    rows = [said | {"verified_taxon": name} for name in ["Chelydra serpentina"] * 3 + ["Apalone ferox"]]
    groups = calibrate(records(*rows), region=REGION).groups
    by_taxon = groups[groups["by"] == "taxon"]
    assert by_taxon["value"].tolist() == ["Chelydra serpentina"]
    assert by_taxon[["n", "share_right"]].to_numpy().tolist() == [[4, 0.75]]


def test_an_answer_that_several_taxa_share_goes_by_its_verified_name():
    groups = calibrate(records({"verified_taxon": "Trachemys scripta"}), region=REGION).groups
    assert groups[groups["by"] == "taxon"]["value"].tolist() == ["Trachemys scripta"]
