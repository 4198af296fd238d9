import pytest

from roadwatch.records.name_index import NameIndex
from roadwatch.records.taxa_table import Taxon

TAXA = [
    Taxon("Chelydra", "genus", "", "snapper genus"),
    Taxon("Chelydra serpentina", "species", "Chelydra", "snapping turtle", ("snapper", "map"), code="CSE"),
    Taxon("Clemmys guttata", "species", "Chelydra", "spotted turtle", ("spotted",)),
    Taxon("Clemmys serpentina", "species", "Chelydra", "invented turtle"),
]
INDEX = NameIndex(TAXA)


@pytest.mark.parametrize(
    ("key", "taxon"),
    [
        ("snapper", "Chelydra serpentina"),
        ("snappers", "Chelydra serpentina"),
        ("snappingturtle", "Chelydra serpentina"),
        ("cse", "Chelydra serpentina"),
        ("c guttata", "Clemmys guttata"),
        ("c serpentina", None),  # two species share it
        ("raccoon", None),
        ("", None),
    ],
)
def test_a_name_is_looked_up_in_full_abbreviated_or_run_together(key, taxon):
    assert INDEX.taxon_of(key) == taxon


def test_a_slip_that_leads_to_two_taxa_leads_to_none():
    twins = NameIndex([Taxon("A b", "species", "", "painted turtle"), Taxon("C d", "species", "A b", "pointed turtle")])
    assert twins.mended("pxinted turtle") == (None, "")
    assert INDEX.mended("snaping turtle") == ("Chelydra serpentina", "snapping turtle")


def test_short_and_loose_names_are_not_found_in_running_text():
    assert INDEX.within("spotted by the map, a snapping turtle") == {"snapping turtle": "Chelydra serpentina"}
    assert INDEX.within("") == {}


def test_near_names_stand_nearest_first_with_the_one_in_the_text_between():
    near = INDEX.near("snappin turtel", most=3, between="Clemmys guttata")
    assert near[0] == "Chelydra serpentina"
    assert "Clemmys guttata" in near
    assert len(near) <= 3


def test_a_likely_name_differs_in_unknown_words_only():
    assert INDEX.likely("snaping turtle") == {"Chelydra serpentina"}
    assert INDEX.likely("spotted genus") == set()
    assert INDEX.likely("spider") == set()
