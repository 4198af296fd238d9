"""Tables are data: complete, with a source for every row, and a coordinator's own take their place or join them."""

import csv
from importlib.resources import files

import numpy as np
import pytest

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.identify.table_files import TABLE_FILES
from roadwatch.identify.tables import PRIOR_OF_OTHER, identify_tables
from roadwatch.sources import all_sources


def shipped(name):
    return list(csv.DictReader((files("roadwatch") / "data" / name).read_text(encoding="utf-8").splitlines()))


@pytest.fixture
def own(tmp_path):
    """Read the tables with one file of a coordinator's beside the shipped ones."""

    def read(name, *lines):
        (tmp_path / name).write_text("\n".join([",".join(TABLE_FILES[name].columns), *lines]) + "\n", encoding="utf-8")
        return identify_tables(tmp_path)

    return read


@pytest.mark.parametrize("name", [name for name, table in TABLE_FILES.items() if "source" in table.columns])
def test_every_row_names_a_source_that_exists(name):
    rows = shipped(name)
    assert {row["source"] for row in rows} <= set(all_sources())
    assert rows or name == "confusion.csv"  # nothing was measured that could be shipped


def test_every_taxon_is_described_by_every_character():
    pairs = {(row["taxon"], row["character"]) for row in shipped("frequencies.csv")}
    assert len(pairs) == 29 * 27


def test_frequencies_add_to_one(tables):
    for shares in tables.matrix.frequencies.values():
        np.testing.assert_allclose(shares.sum(axis=1), 1.0, atol=1e-12)
        assert (shares > 0).all()


def test_class_weights_become_shares_by_hand(tables):
    # by hand: front usually .85, none sometimes .40, each scute rarely .10, three never .02: .85/1.41
    shares = tables.matrix.frequencies["plastron_pattern"][0]
    assert tables.taxa[0] == "Trachemys scripta scripta"
    assert shares[tables.characters["plastron_pattern"].index["front_smudges"]] == pytest.approx(0.85 / 1.41)


def test_other_turtle_is_flat_and_rare(tables):
    assert tables.taxa[-1] == "other turtle"
    assert all(np.ptp(shares[-1]) == 0 for shares in tables.matrix.frequencies.values())
    assert tables.prior("FL_peninsula")[-1] == PRIOR_OF_OTHER


@pytest.mark.parametrize("region", [None, *identify_tables().priors])
@pytest.mark.parametrize("month", [None, 1, 5])
def test_priors_add_to_one_and_none_is_zero(tables, region, month):
    prior = tables.prior(region, month=month)
    assert prior.sum() == pytest.approx(1.0)
    assert (prior > 0).all()


def test_weights_of_commonness_are_ten_four_one_a_tenth_and_less(tables):
    prior, classes = tables.prior("FL_panhandle"), tables.weight_classes["FL_panhandle"]
    by_class = {}
    for taxon, share in zip(tables.taxa[:-1], prior, strict=False):
        by_class.setdefault(classes[taxon], set()).add(round(float(share), 5))
    common, fair, uncommon, rare, outside = (
        by_class[word].pop() for word in ("common", "fair", "uncommon", "rare", "outside")
    )
    assert (common / uncommon, fair / uncommon, rare / uncommon) == pytest.approx((10, 4, 0.1), rel=0.01)
    assert outside / uncommon == pytest.approx(0.005, rel=0.2)  # five decimals of a small number


def test_a_habitat_raises_what_lives_there(tables):
    marsh = tables.prior("SC_GA_coastal_plain", habitat="salt_marsh")
    terrapin = tables.taxa.index("Malaclemys terrapin")
    assert marsh[terrapin] > 2 * tables.prior("SC_GA_coastal_plain")[terrapin]


def test_an_unknown_habitat_names_those_that_are_known(tables):
    with pytest.raises(UsageError, match="habitat 'moon' has no factors; expected one of salt_marsh, river"):
        tables.prior("SC_GA_coastal_plain", habitat="moon")


def test_blackened_animals_are_a_form_of_their_taxon(tables):
    first = tables.matrix.form_start[tables.taxa.index("Trachemys scripta scripta")]
    assert tables.matrix.form_share[first : first + 2].tolist() == pytest.approx([0.95, 0.05])
    dark = tables.characters["carapace_pattern"].index["plain_dark"]
    assert tables.matrix.frequencies["carapace_pattern"][first + 1, dark] == pytest.approx(0.95)


def test_a_coordinators_frequencies_replace_those_of_the_same_taxon_and_character(own, tables):
    mine = own(
        "frequencies.csv",
        "Pseudemys nelsoni,keel,none,,0.7,secondary",
        "Pseudemys nelsoni,keel,low_single,,0.3,secondary",
    )
    k = mine.matrix.form_start[mine.taxa.index("Pseudemys nelsoni")]
    assert mine.matrix.frequencies["keel"][k].tolist() == pytest.approx([0.7, 0.3, 0.0, 0.0])
    np.testing.assert_array_equal(mine.matrix.frequencies["tail"], tables.matrix.frequencies["tail"])
    assert mine.version != tables.version


def test_a_coordinator_adds_a_taxon_with_its_place_in_the_tree(tmp_path):
    (tmp_path / "taxa.csv").write_text(
        "taxon,rank,parent,english\nApalone invented,species,Apalone,invented softshell\n"
    )
    (tmp_path / "frequencies.csv").write_text(
        "taxon,character,state,frequency_class,share,source\n"
        "Apalone invented,shell_cover,leathery,always,,common_practice\n"
    )
    mine = identify_tables(tmp_path)
    assert mine.taxa[-2:] == ("Apalone invented", "other turtle")
    assert mine.tree.held_at("Apalone invented", "genus") == "Apalone"
    assert mine.prior("FL_peninsula")[-2] > 0  # not named in priors.csv: outside its range, never 0


def test_a_coordinator_adds_a_region(own):
    mine = own(
        "priors.csv", "Invented_county,Trachemys scripta,common,,judgement"
        .replace("Trachemys scripta", "Trachemys scripta scripta"),
        "Invented_county,Chelydra serpentina,uncommon,,judgement",
    )  # fmt: skip
    prior = mine.prior("Invented_county")
    assert prior[0] / prior[mine.taxa.index("Chelydra serpentina")] == pytest.approx(10)
    assert prior[0] / prior[mine.taxa.index("Apalone ferox")] == pytest.approx(2000)  # not named: outside, .005
    assert "FL_peninsula" in mine.priors


def test_a_coordinator_adds_a_character_that_others_are_silent_about(tmp_path):
    (tmp_path / "characters.csv").write_text(
        "character,group,question,in_hand,from_above,from_car,carcass,needs_head,mistaken_for,safety\n"
        "claws,limb,How long are the front claws?,1,0,0,1,0,Worn claws look short,\n"
    )
    (tmp_path / "states.csv").write_text(
        "character,state,plain_words,absent,both_of\nclaws,long,longer than the foot,0,\nclaws,short,short,0,\n"
    )
    mine = identify_tables(tmp_path)
    assert len(mine.characters) == 28
    assert (mine.matrix.frequencies["claws"] == 0.5).all()


def test_the_version_names_the_content_and_not_the_order(tmp_path, tables):
    rows = (files("roadwatch") / "data" / "skills.csv").read_text(encoding="utf-8").splitlines()
    (tmp_path / "skills.csv").write_text("\n".join([rows[0], *reversed(rows[1:])]) + "\n", encoding="utf-8")
    assert identify_tables(tmp_path).version == tables.version


@pytest.mark.parametrize(
    ("name", "line", "message"),
    [
        (
            "frequencies.csv",
            "Pseudemys nobody,keel,none,always,,eab",
            r"frequencies.csv, line 2: taxon 'Pseudemys nobody' is",
        ),
        (
            "frequencies.csv",
            "Pseudemys nelsoni,kel,none,always,,eab",
            r"line 2: character 'kel' is not in characters.csv",
        ),
        (
            "frequencies.csv",
            "Pseudemys nelsoni,keel,nun,always,,eab",
            r"state 'nun' is no state of keel, which has none, ",
        ),
        (
            "frequencies.csv",
            "Pseudemys nelsoni,keel,none,often,,eab",
            r"frequency_class 'often' is not one of always, ",
        ),
        ("frequencies.csv", "Pseudemys nelsoni,keel,none,always,,", r"source '' is blank; every frequency names"),
        ("frequencies.csv", "Pseudemys nelsoni,keel,none,,0.4,eab", r"share '0.4' is one of shares that add to 0.4"),
        ("frequencies.csv", "Pseudemys nelsoni,keel,none,,x,eab", r"share 'x' is no number from 0 to 1"),
        (
            "characters.csv",
            "keel,form,Keel?,2,1,1,1,0,,",
            r"characters.csv, line 2: in_hand '2' is no number from 0 to 1",
        ),
        ("characters.csv", "claws,limb,Claws?,1,1,1,1,0,,", r"character 'claws' is without at least two states"),
        ("states.csv", "kel,none,none,1,", r"states.csv, line 2: character 'kel' is not in characters.csv"),
        ("priors.csv", "FL_peninsula,Nobody,common,,eab", r"priors.csv, line 2: taxon 'Nobody' is not a taxon of"),
        ("priors.csv", "FL_peninsula,Apalone ferox,many,,eab", r"weight_class 'many' is not one of common, fair"),
        ("priors.csv", "FL_peninsula,Apalone ferox,common,2,eab", r"prior '2' is no number from 1e-09 to 1"),
        ("factors.csv", "season,05,Nobody,2,eab", r"factors.csv, line 2: taxon 'Nobody' is not in taxa.csv"),
        ("factors.csv", "season,05,Apalone ferox,5,eab", r"factor '5' is no number from 0.333333 to 3"),
        ("factors.csv", "moon,05,Apalone ferox,2,eab", r"kind 'moon' is neither season nor habitat"),
        ("forms.csv", "Nobody,dark,0.1,keel,none,0.9,eab", r"forms.csv, line 2: taxon 'Nobody' is not a taxon"),
        ("forms.csv", "Apalone ferox,dark,2,keel,none,0.9,eab", r"share '2' is no number from 0 to 0.9"),
        ("skills.csv", "novice,1.5,eab", r"skills.csv, line 2: slip '1.5' is no number from 0 to 0.9"),
        ("confusion.csv", "Nobody,Pseudemys,1,eab", r"true_taxon 'Nobody' is not a taxon of frequencies.csv"),
        ("confusion.csv", "Apalone ferox,Nobody,1,eab", r"reported_taxon 'Nobody' is not in taxa.csv"),
        ("confusion.csv", "Apalone ferox,Apalone,0.5,eab", r"probabilities of Apalone ferox add to 0.5, expected 1"),
    ],
)
def test_a_wrong_cell_says_where_and_what_is_expected(own, name, line, message):
    with pytest.raises(UnfitFileError, match=message):
        own(name, line)


def test_a_missing_column_is_named(tmp_path):
    (tmp_path / "priors.csv").write_text("region,taxon\nFL_peninsula,Apalone ferox\n")
    with pytest.raises(UnfitFileError, match=r"priors.csv, line 1: found columns region, taxon; .* add weight_class"):
        identify_tables(tmp_path)


def test_a_row_with_too_few_cells_is_named(own):
    with pytest.raises(UnfitFileError, match=r"skills.csv, line 2: found 2 cells, expected 3; put quotes"):
        own("skills.csv", "novice,0.2")


def test_an_empty_file_is_named(tmp_path):
    (tmp_path / "skills.csv").write_text("")
    with pytest.raises(UnfitFileError, match=r"skills.csv, line 1: found columns none; expected skill, slip, source"):
        identify_tables(tmp_path)


def test_a_file_that_is_no_text_is_named(tmp_path):
    (tmp_path / "skills.csv").write_bytes("skill,slip,source\nnovi\xe7e,0.2,eab\n".encode("latin-1"))
    with pytest.raises(UnfitFileError, match=r"skills.csv: not UTF-8 text at byte 22; save it as CSV UTF-8"):
        identify_tables(tmp_path)


def test_several_faults_are_counted(own):
    with pytest.raises(UnfitFileError, match=r"line 2: slip 'x' .* \(1 more faults in these tables\)"):
        own("skills.csv", "novice,x,eab", "expert,y,eab")
