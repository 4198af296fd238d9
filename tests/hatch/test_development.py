from __future__ import annotations

import csv
from importlib.resources import files
from typing import get_args

import numpy as np
import pytest
from scipy.stats import linregress

from roadwatch.errors import NotEnoughDataError, UnfitFileError
from roadwatch.hatch.development import (
    ANY_TURTLE,
    ParameterBasis,
    ParameterSet,
    Sureness,
    draw_parameters,
    emergence_of,
    find_region,
    hatch_tables,
    parameters_for,
    region_keys,
)
from roadwatch.records.taxa import all_taxa, lineage
from roadwatch.sources import all_sources

PRIOR_REGIONS = {
    "FL_panhandle",
    "FL_peninsula",
    "FL_Suwannee",
    "AL_Mobile_delta",
    "SC_GA_coastal_plain",
    "NC_SC_GA_piedmont",
    "NC_VA_tidewater",
}


@pytest.fixture
def tables():
    return hatch_tables()


def known(taxon: str, region: str) -> ParameterSet:
    found = parameters_for(taxon, development_region=region, tables=hatch_tables())
    assert isinstance(found, ParameterSet), found
    return found


def days_at(one: ParameterSet, celsius: float, z_base=0.0, z_sum=0.0) -> float:
    base, total = draw_parameters(one, np.array([z_base]), np.array([z_sum]), tables=hatch_tables())
    return float(total[0] / (celsius - base[0]))


def test_every_prior_region_has_its_development_region(tables):
    assert set(region_keys()) == PRIOR_REGIONS
    priors = csv.DictReader((files("roadwatch") / "data" / "priors.csv").read_text("utf-8").splitlines())
    assert {row["region"] for row in priors} <= PRIOR_REGIONS | {"region"}


def test_every_row_uses_known_words_and_a_known_source(tables):
    for one in tables.sets:
        assert one.basis in get_args(ParameterBasis), one
        assert one.sureness in get_args(Sureness), one
        assert one.source in all_sources(), one
        assert one.taxon in all_taxa(), one
    for table in (tables.emergence.values(), ({"source": one.source} for one in tables.regions.values())):
        assert {row["source"] for row in table} <= set(all_sources())


def test_every_row_has_the_numbers_that_its_basis_needs(tables):
    needs = {
        "linear": "base_c base_se_c sum_dd sum_se_dd correlation lowest_c highest_c n",
        "base_prior": "base_c base_se_c lowest_c highest_c n",
        "one_duration": "days days_se at_c",
        "field_range": "days_low days_high",
        "diapause": "",
        "none": "",
    }
    for one in tables.sets:
        assert all(np.isfinite(getattr(one, name)) for name in needs[one.basis].split()), one
        assert not one.days_low > one.days_high, one
        assert not one.days_low > one.days, one
        assert (one.sureness == "none") == (one.basis in ("none", "diapause")), one


def test_no_line_is_kept_that_its_own_data_cannot_hold(tables):
    # The rule for a line: an error of the base of at most 3 degrees, at least 3 temperatures over at least 4 degrees.
    for one in tables.sets:
        if one.basis == "linear":
            assert one.base_se_c <= 3
            assert one.highest_c - one.lowest_c >= 4
            assert -1 < one.correlation < 0


def test_every_species_of_the_list_of_taxa_has_an_answer(tables):
    for name, taxon in all_taxa().items():
        if taxon.rank in ("species", "subspecies"):
            for region in ("deep_south", "piedmont", "tidewater"):
                found = parameters_for(name, development_region=region, tables=tables)
                assert isinstance(found, ParameterSet), (name, region, found)


def test_emergence_is_known_or_assumed_for_every_taxon(tables):
    for name in all_taxa():
        row = emergence_of(name, development_region="deep_south", tables=tables)
        assert {row["autumn"], row["spring"]} <= {"yes", "no"}
        assert "yes" in (row["autumn"], row["spring"])


def test_sliders_of_alabama_are_met_by_their_line():
    # Folkerts Caldwell 2026: means of 16 or 17 eggs at each temperature, days; the line's error was 3.1 days an egg.
    measured = {24: 98.94, 26: 78.47, 28: 64.75, 30: 55.94, 32: 50.23}
    for celsius, days in measured.items():
        assert days_at(known("Trachemys scripta", "deep_south"), celsius) == pytest.approx(days, abs=2.0)


def test_sliders_of_northern_florida_confirm_the_line_of_alabama():
    # Jackson 1988 (as quoted): 66 days at 28 degrees C; those eggs had no part in the line.
    assert days_at(known("Trachemys scripta", "deep_south"), 28) == pytest.approx(66, rel=0.02)


def test_the_error_of_the_line_at_28_degrees_is_that_of_its_clutches():
    # Drawing clutches gave 65.58 +- 0.66 days at 28 degrees C: base and sum must be drawn together, not apart.
    rng = np.random.default_rng(3)
    one = known("Trachemys scripta", "deep_south")
    base, total = draw_parameters(one, rng.normal(size=200_000), rng.normal(size=200_000), tables=hatch_tables())
    days = total / (28 - base)
    assert days.mean() == pytest.approx(65.58, abs=0.05)
    assert days.std() == pytest.approx(0.66, abs=0.04)
    assert np.corrcoef(base, total)[0, 1] == pytest.approx(-0.83, abs=0.01)


def test_tortoises_of_florida_are_met_by_a_line_fitted_elsewhere():
    # Demuth 2001 (as compiled), means up to 31 degrees C; scipy.stats.linregress is the independent fit.
    celsius, days = np.array([26.0, 28, 29, 30, 31]), np.array([112.6, 94.9, 88.6, 83.1, 79.9])
    fit = linregress(celsius, 1 / days)
    one = known("Gopherus polyphemus", "deep_south")
    assert one.sum_dd == pytest.approx(1 / fit.slope, abs=0.1)
    assert one.base_c == pytest.approx(-fit.intercept / fit.slope, abs=0.01)
    assert one.sum_se_dd == pytest.approx(fit.stderr / fit.slope**2, abs=0.1)
    assert one.highest_c == 31  # 34 degrees C took longer again, 85 days


@pytest.mark.parametrize(
    ("taxon", "celsius", "days"),
    [("Chelydra serpentina", 28, 79), ("Pseudemys floridana", 30, 65.9), ("Pseudemys nelsoni", 29.5, 48.8)],
)
@pytest.mark.parametrize("z_base", [-1.2, 0.0, 1.2])
def test_one_measured_duration_is_met_whatever_the_base(taxon, celsius, days, z_base):
    assert days_at(known(taxon, "deep_south"), celsius, z_base) == pytest.approx(days)


def test_the_base_of_a_single_duration_matters_more_the_further_the_nest_is_from_it():
    one = known("Chelydra serpentina", "deep_south")
    near, far = (abs(days_at(one, at, -1) - days_at(one, at, 1)) for at in (27, 22))
    assert near < far


def test_the_base_of_a_single_duration_never_leaves_those_seen_in_turtles():
    base, _ = draw_parameters(
        known("Chelydra serpentina", "deep_south"), np.array([-9.0, 9.0]), np.zeros(2), tables=hatch_tables()
    )
    np.testing.assert_array_equal(base, [7.8, 19.6])


def test_southern_snappers_are_never_given_the_days_of_northern_ones():
    # Ewert, Lang & Nelson 2005 (as quoted), all at 28 degrees C: 59 and 64 days in the north, 78 and 79 in the south.
    for region in ("deep_south", "piedmont"):
        assert days_at(known("Chelydra serpentina", region), 28) >= 78
    assert known("Chelydra serpentina", "tidewater").basis == "field_range"


@pytest.mark.parametrize(
    "subspecies", ["Trachemys scripta scripta", "Trachemys scripta elegans", "Trachemys scripta scripta x elegans"]
)
def test_a_subspecies_takes_the_row_of_its_species(subspecies):
    assert known(subspecies, "deep_south") == known("Trachemys scripta", "deep_south")


def test_a_genus_of_one_species_takes_its_row():
    assert known("Trachemys", "deep_south") == known("Trachemys scripta", "deep_south")


def test_a_species_takes_the_row_of_its_genus_where_only_that_is_known():
    assert known("Graptemys barbouri", "deep_south").taxon == "Graptemys"


@pytest.mark.parametrize("group", ["Pseudemys", "cooter group", "Kinosternon", "Emydidae"])
def test_a_name_that_holds_several_species_is_not_projected(tables, group):
    found = parameters_for(group, development_region="deep_south", tables=tables)
    assert isinstance(found, str)
    assert found.startswith(f"no projection: {group} is more than one species (")


@pytest.mark.parametrize("taxon", [None, ""])
def test_an_unnamed_taxon_is_not_projected(tables, taxon):
    assert parameters_for(taxon, development_region="deep_south", tables=tables) == (
        "no projection: nobody named the taxon"
    )


def test_a_taxon_outside_the_table_is_not_projected(tables):
    found = parameters_for("Caretta caretta", development_region="deep_south", tables=tables)
    assert found == "no projection: Caretta caretta is not in the table of development"


def test_the_order_of_all_turtles_is_too_wide_a_name_and_not_an_unlisted_one(tables):
    found = parameters_for(ANY_TURTLE, development_region="deep_south", tables=tables)
    assert isinstance(found, str)
    assert found.startswith("no projection: Testudines is too wide a name")


@pytest.mark.parametrize("taxon", ["Deirochelys reticularia", "Kinosternon baurii"])
def test_taxa_whose_eggs_pause_say_so(taxon):
    assert known(taxon, "deep_south").basis == "diapause"


@pytest.mark.parametrize("taxon", ["Sternotherus odoratus", "Kinosternon subrubrum", "Apalone ferox"])
def test_taxa_without_measured_days_have_no_numbers(taxon):
    one = known(taxon, "deep_south")
    assert one.basis == "none"
    assert np.isnan([one.base_c, one.sum_dd, one.days, one.days_low]).all()
    assert one.remark


def test_the_order_of_all_turtles_is_a_prior_and_never_a_nests_own_row(tables):
    assert isinstance(parameters_for(ANY_TURTLE, development_region="deep_south", tables=tables), str)
    assert ANY_TURTLE in lineage("Trachemys scripta")


@pytest.mark.parametrize(
    ("key", "words"), [(None, "no region is named"), ("ON_south", "no hatch parameters for region 'ON_south'")]
)
def test_a_region_without_parameters_is_refused_with_a_cure(tables, key, words):
    with pytest.raises(
        NotEnoughDataError, match=rf"^not enough data: .*{words}.*name one of FL_panhandle, .* or give tables"
    ):
        find_region(key, tables=tables)


def test_spring_begins_later_in_the_north(tables):
    south, north = (find_region(key, tables=tables) for key in ("FL_panhandle", "NC_VA_tidewater"))
    assert (south.spring_from, north.spring_from) == ("02-01", "03-01")


@pytest.mark.parametrize(
    ("taxon", "autumn", "spring"),
    [
        ("Trachemys scripta elegans", "yes", "yes"),
        ("Sternotherus odoratus", "yes", "no"),
        ("Apalone ferox", "yes", "no"),
        ("Glyptemys muhlenbergii", "yes", "yes"),
    ],
)
def test_emergence_comes_from_the_nearest_row_above(tables, taxon, autumn, spring):
    row = emergence_of(taxon, development_region="deep_south", tables=tables)
    assert (row["autumn"], row["spring"]) == (autumn, spring)


def test_a_countys_own_tables_replace_the_shipped_ones_file_by_file(tmp_path):
    (tmp_path / "regions.csv").write_text(
        "region,development_region,spring_from,spring_to,source,words\nmine,deep_south,04-01,05-31,common_practice,here\n"
    )
    own = hatch_tables(tmp_path)
    assert list(own.regions) == ["mine"]
    assert [str(one) for one in own.sets] == [str(one) for one in hatch_tables().sets]


@pytest.mark.parametrize("text", ["region,words\nmine,here\n", "taxon\n"])
def test_a_table_that_lacks_columns_is_refused(tmp_path, text):
    name = "regions.csv" if text.startswith("region") else "development.csv"
    (tmp_path / name).write_text(text + ("Trachemys\n" if name == "development.csv" else ""))
    with pytest.raises(UnfitFileError, match=r"the hatch tables in .* do not fit"):
        hatch_tables(tmp_path)


def test_a_word_where_a_number_belongs_is_refused(tmp_path):
    shipped = (files("roadwatch") / "data" / "development.csv").read_text("utf-8")
    (tmp_path / "development.csv").write_text(shipped.replace("15.74", "about 16"))
    with pytest.raises(UnfitFileError, match=r"could not convert string to float: 'about 16'"):
        hatch_tables(tmp_path)
