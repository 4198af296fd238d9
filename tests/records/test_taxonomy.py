import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.errors import UnfitFileError
from roadwatch.records.taxa_table import RANKS
from roadwatch.records.taxonomy import Reading, taxonomy_of

SHIPPED = taxonomy_of()
HEADER = "taxon,rank,parent,english,names,sensitive\n"


@pytest.fixture
def own(tmp_path):
    """A coordinator's folder with these rows in its table, a new one each time: a table is read once."""

    def make(rows, *, header=HEADER):
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        folder.mkdir()
        (folder / "taxa.csv").write_text(header + rows, encoding="utf-8")
        return folder

    return make


@pytest.mark.parametrize(
    ("written", "taxon", "qualifier"),
    [
        ("Trachemys scripta cf. elegans", "Trachemys scripta", "cf. elegans"),
        ("Pseudemys cf. nelsoni", "Pseudemys", "cf. nelsoni"),
        ("cf. yellow-bellied slider", "Trachemys", "cf. yellow-bellied slider"),
        ("cooter sp.", "Pseudemys", "sp."),
        ("Chelydra serpentina ssp.", "Chelydra serpentina", "ssp."),
        ("slider?", "Trachemys scripta", "?"),
        ("slider or cooter?", "Emydidae", "?"),
        ("cf. raccoon", None, "cf. raccoon"),
        ("snapper", "Chelydra serpentina", ""),
    ],
)
def test_the_sure_part_of_a_name_in_open_nomenclature_is_its_taxon(written, taxon, qualifier):
    reading = SHIPPED.read_name(written)
    assert (reading.taxon, reading.qualifier) == (taxon, qualifier)


@pytest.mark.parametrize(
    ("written", "taxon"),
    [
        ("redeared slider", "Trachemys scripta elegans"),
        ("boxturtle", "Terrapene carolina"),
        ("Yellowbellied Sliders", "Trachemys scripta scripta"),
        ("soft-shell", "Apalone"),
    ],
)
def test_words_run_together_or_parted_are_the_same_name(written, taxon):
    assert SHIPPED.read_name(written).taxon == taxon


@pytest.mark.parametrize(
    ("written", "taxon", "taken_as"),
    [
        ("snaping turtle", "Chelydra serpentina", "snapping turtle"),
        ("Snapping Turtel", "Chelydra serpentina", "snapping turtle"),
        ("snaping turtles", "Chelydra serpentina", "snapping turtle"),
        ("trachemys scripa", "Trachemys scripta", "trachemys scripta"),
        ("Terrapene carolena", "Terrapene carolina", "terrapene carolina"),
        ("softshel turtle", "Apalone", "softshell turtle"),
        ("diamonback", "Malaclemys terrapin", "diamondback"),
    ],
)
def test_a_slip_of_the_pen_is_mended_only_where_that_is_asked_for(written, taxon, taken_as):
    assert SHIPPED.read_name(written, mend=True) == Reading(taxon, taken_as=taken_as)
    assert SHIPPED.read_name(written).taxon is None


@pytest.mark.parametrize(
    "written",
    [
        *("spider", "scooter", "painter", "basket", "gofer tortoise", "yelow belied slider", "wood turtle", "raccoon"),
        *(
            "western mud turtle",
            "sea turtle",
            "bow turtle",
            "mus turtle",
            "Trachemys decorata",
            "box tortoise",
            "s",
            "",
        ),
        *("Pseudemys texana", "Graptemys pulchra", "armadillo", "corn snake", "opossum"),
    ],
)
def test_another_animal_or_a_short_word_is_never_taken_for_a_slip(written):
    assert SHIPPED.read_name(written, mend=True).taxon is None


@pytest.mark.parametrize(
    ("written", "proposal"),
    [
        ("gofer tortoise", "gopher tortoise"),
        ("yelow belied slider", "yellow-bellied slider"),
        ("spider", ""),
        ("wood turtle", ""),
        ("western mud turtle", ""),
        ("sand turtle", ""),
        ("raccoon", ""),
        ("armadillo", ""),
        ("", ""),
    ],
)
def test_a_likely_name_is_proposed_where_it_is_the_only_one(written, proposal):
    assert SHIPPED.propose(written) == proposal


def test_names_that_authors_use_for_different_taxa_are_said_with_a_note():
    assert "by author" in SHIPPED.disputed("Pseudemys concinna floridana")
    assert "by author" in SHIPPED.disputed("Pseudemys floridana")
    assert SHIPPED.disputed("slider") == SHIPPED.disputed("raccoon") == ""
    for taxon in SHIPPED.taxa.values():
        assert set(taxon.disputed) <= set(taxon.all_names)
        assert not taxon.disputed or taxon.note


def test_usual_clutches_are_those_of_the_accounts():
    # Chelonian Research Monographs 5: K. subrubrum lays 1 to 8 eggs, P. nelsoni 10 to 20
    assert SHIPPED.usual_clutch("Kinosternon subrubrum") == 8
    assert SHIPPED.usual_clutch("Pseudemys nelsoni") == 20
    assert SHIPPED.usual_clutch("Pseudemys") != SHIPPED.usual_clutch("Pseudemys")
    for taxon in SHIPPED.taxa.values():
        assert (taxon.usual_clutch_eggs > 0) == bool(taxon.clutch_source)


def test_without_a_folder_or_a_table_in_it_the_shipped_table_stands(tmp_path):
    assert taxonomy_of(tmp_path) is taxonomy_of() is SHIPPED


def test_a_coordinator_adds_a_taxon_with_its_local_names(own):
    folder = own("Glyptemys insculpta,species,Glyptemys,wood turtle,red leg;old red-leg,1\n")
    taxonomy = taxonomy_of(folder)
    assert taxonomy.read_name("Wood turtles?").taxon == "Glyptemys insculpta"
    assert taxonomy.read_name("red leg").taxon == "Glyptemys insculpta"
    assert taxonomy.lineage("Glyptemys insculpta") == ("Glyptemys insculpta", "Glyptemys", "Emydidae", "Testudines")
    assert taxonomy.is_within("Glyptemys insculpta", "bog turtle genus")
    assert len(taxonomy.taxa) == len(SHIPPED.taxa) + 1
    assert SHIPPED.read_name("wood turtle").taxon is None  # the shipped table is as it was


def test_a_coordinator_replaces_a_row(own):
    folder = own("Terrapene carolina,species,Terrapene,eastern box turtle,boxer,0\n")
    taxonomy = taxonomy_of(folder)
    assert taxonomy.read_name("boxer").taxon == "Terrapene carolina"
    assert taxonomy.read_name("boxie").taxon is None
    assert len(taxonomy.taxa) == len(SHIPPED.taxa)


def test_what_lies_within_a_sensitive_taxon_is_sensitive_whatever_the_row_says(own):
    taxonomy = taxonomy_of(own("Glyptemys insculpta,species,Glyptemys,wood turtle,,0\n"))
    assert taxonomy.taxa["Glyptemys insculpta"].sensitive
    marked = taxonomy_of(own("Emydidae,family,Testudines,pond turtle,,yes\n"))
    assert marked.taxa["Trachemys scripta"].sensitive


def test_only_the_three_columns_of_the_tree_are_needed_and_a_byte_order_mark_is_no_fault(own):
    folder = own("Glyptemys insculpta,species,Glyptemys\n", header="\ufefftaxon,rank,parent\n")
    assert taxonomy_of(folder).taxa["Glyptemys insculpta"].english == "Glyptemys insculpta"


@pytest.mark.parametrize(
    ("rows", "message"),
    [
        ("X y,kind,Glyptemys,,,\n", r"taxa\.csv, line 2: rank 'kind' is none of subspecies"),
        ("X y,species,Nowhere,,,\n", r"parent 'Nowhere' of X y is in no row; add a row for it"),
        ("X y,species,,,,\n", r"Testudines, X y have no parent"),
        ("X y,genus,Trachemys scripta,,,\n", r"X y \(genus\) lies within Trachemys scripta \(species\)"),
        ("X y,species,Glyptemys,,slider,\n", r"'slider' is a name of Trachemys scripta and of X y"),
        ("X y,species,Glyptemys,,,maybe\n", r"line 2: sensitive 'maybe'; write 1 or 0"),
        (",species,Glyptemys,,,\n", r"line 2: no taxon"),
        ("X y,species,Glyptemys,,,,,,\n", r"more cells than columns"),
        ("Emydidae,family,Emydidae,,,\n", r"Emydidae \(family\) lies within Emydidae \(family\)"),
    ],
)
def test_a_broken_table_is_refused_with_its_place_and_cure(own, rows, message):
    with pytest.raises(UnfitFileError, match=message):
        taxonomy_of(own(rows))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (b"taxon,rank\nX,species\n", r"line 1: columns taxon, rank; expected are taxon, rank, parent"),
        (b"taxon,rank,parent,colour\n", r"line 1: columns taxon, rank, parent, colour"),
        (b"", r"line 1: columns none"),
        (b"taxon,rank,parent\nX\xff,species,Glyptemys\n", r"is not UTF-8 text; save it as CSV in UTF-8"),
    ],
)
def test_a_table_of_other_columns_or_another_encoding_is_refused(tmp_path, text, message):
    (tmp_path / "taxa.csv").write_bytes(text)
    with pytest.raises(UnfitFileError, match=message):
        taxonomy_of(tmp_path)


@pytest.mark.parametrize(
    ("length", "is_fit"), [("300", True), ("", True), ("0", False), ("long", False), ("inf", False)]
)
def test_a_length_is_a_number_above_zero_or_blank(own, length, is_fit):
    folder = own(f"Glyptemys insculpta,species,Glyptemys,{length}\n", header="taxon,rank,parent,greatest_length_mm\n")
    if is_fit:
        assert str(taxonomy_of(folder).greatest_length_mm("Glyptemys insculpta")) == (
            f"{length}.0" if length else "nan"
        )
    else:
        with pytest.raises(UnfitFileError, match=f"greatest_length_mm '{length}'; write a number above 0"):
            taxonomy_of(folder)


def test_ranks_run_from_fine_to_coarse():
    assert RANKS.index("species") < RANKS.index("genus") < RANKS.index("order")


@given(st.text(max_size=40))
def test_any_text_can_be_asked_for_its_taxon_and_its_proposal(text):
    assert SHIPPED.read_name(text, mend=True).taxon in {None, *SHIPPED.taxa}
    assert isinstance(SHIPPED.propose(text), str)
