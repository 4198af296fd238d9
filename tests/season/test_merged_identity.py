"""An animal recorded twice keeps what was said best of it."""

import pandas as pd

from roadwatch.season.animals import animals_of_season
from roadwatch.season.merged_identity import with_best_identity


def records(*rows):
    """Records of invented animals, in the order in which they come first."""
    blank = {"taxon": "Trachemys scripta", "id_confidence": 0.8, "verified_taxon": None, "verified_by": None}
    return pd.DataFrame([blank | {"seen_hinge": None, "view": None} | row for row in rows])


def best_of(*rows):
    table = records(*rows)
    return with_best_identity(table.drop_duplicates("animal"), table).set_index("animal")


def test_a_verified_name_on_the_second_record_is_kept():
    found = best_of({"animal": 7}, {"animal": 7, "verified_taxon": "Chelydra serpentina", "verified_by": "Cy"})
    assert found.loc[7, ["verified_taxon", "verified_by"]].tolist() == ["Chelydra serpentina", "Cy"]


def test_the_first_of_two_verified_names_stands():
    found = best_of({"animal": 7, "verified_taxon": "Apalone ferox"}, {"animal": 7, "verified_taxon": "Apalone"})
    assert found.loc[7, "verified_taxon"] == "Apalone ferox"


def test_marks_on_the_second_record_are_kept_with_their_view():
    found = best_of({"animal": 7}, {"animal": 7, "seen_hinge": "two", "view": "carcass", "taxon": "Kinosternon"})
    assert found.loc[7, ["seen_hinge", "view", "taxon"]].tolist() == ["two", "carcass", "Kinosternon"]


def test_marks_that_were_not_seen_tell_nothing():
    found = best_of({"animal": 7}, {"animal": 7, "seen_hinge": "not_seen", "taxon": "Kinosternon"})
    assert found.loc[7, "taxon"] == "Trachemys scripta"


def test_marks_are_never_joined_from_two_records():
    rows = {"animal": 7, "seen_hinge": "two"}, {"animal": 7, "verified_taxon": "Kinosternon baurii"}
    assert pd.isna(best_of(*rows).loc[7, "seen_hinge"])


def test_of_two_names_the_one_of_the_record_that_stands_for_the_animal_is_kept():
    found = best_of({"animal": 7}, {"animal": 7, "taxon": "Chelydra serpentina", "id_confidence": 0.95})
    assert (found.loc[7, "taxon"], found.loc[7, "id_confidence"]) == ("Trachemys scripta", 0.8)


def test_other_animals_and_other_columns_stay_as_they_are():
    first = {"animal": 7, "count": 2.0}, {"animal": 8, "count": 1.0}
    found = best_of(*first, {"animal": 7, "count": 1.0, "verified_taxon": "Chelydra serpentina"})
    assert found["count"].tolist() == [2.0, 1.0]
    assert found["id_confidence"].dtype == float
    assert pd.isna(found.loc[8, "verified_taxon"])


def test_the_season_counts_an_animal_by_the_name_verified_on_its_second_record(county, crossing):
    far = [
        crossing(-0.045 + 0.002 * k, record_id=f"l{k}", observed_at=f"2025-0{4 + k % 5}-{3 + k:02d}") for k in range(12)
    ]
    one = {"observed_at": "2025-05-12", "carcass_age": "fresh", "carapace_mm": 203, "observer": "Ann"}
    other = {"observed_at": "2025-05-13", "carcass_age": "recent", "carapace_mm": 205, "observer": "Bea"}
    rows = [
        crossing(0.03, record_id="a", verified_taxon="", **one),
        crossing(0.03005, record_id="b", verified_taxon="slider", **other),
    ]
    county.ingest("far.csv", far)
    county.ingest("c.csv", rows)
    view = animals_of_season(county.season).merged_view().set_index("record_key")
    assert view.loc["a", "merged_records"] == "b"
    assert view.loc["a", "verified_taxon"] == "Trachemys scripta"
