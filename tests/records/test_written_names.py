import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.written_names import OpenName, Spelling, has_doubt, is_one_slip, key_of, take_apart

NAMES = Spelling(
    frozenset({"snapping turtle", "spotted turtle", "eastern mud turtle", "trachemys scripta", "terrapin", "slider"})
)


# The signs of open nomenclature and what they mean: Sigovini et al. 2016 (cf. and aff. before the part in doubt; sp.,
# spp., indet. behind a name that is no species); Darwin Core keeps them in identificationQualifier.
@pytest.mark.parametrize(
    ("written", "sure", "qualifier", "doubt"),
    [
        ("Pseudemys cf. nelsoni", "Pseudemys", "cf. nelsoni", True),
        ("Pseudemys aff. nelsoni", "Pseudemys", "aff. nelsoni", True),
        ("Trachemys scripta cf. elegans", "Trachemys scripta", "cf. elegans", True),
        ("cf. Pseudemys nelsoni", "", "cf. Pseudemys nelsoni", True),
        ("Pseudemys CF nelsoni", "Pseudemys", "cf. nelsoni", True),
        ("Pseudemys_cf._nelsoni", "Pseudemys", "cf. nelsoni", True),
        ("cooter sp.", "cooter sp.", "sp.", False),
        ("Graptemys spp", "Graptemys spp", "spp.", False),
        ("Testudines indet.", "Testudines indet.", "indet.", False),
        ("slider?", "slider", "?", True),
        ("slider (?)", "slider", "?", True),
        ("probably a slider", "a slider", "probably", True),
        ("Pseudemys cf. nelsoni?", "Pseudemys", "cf. nelsoni ?", True),
        ("slider sp.?", "slider sp.", "sp. ?", True),
        ("slider", "slider", "", False),
        ("Terrapene carolina major", "Terrapene carolina major", "", False),
    ],
)
def test_the_sure_part_and_what_expresses_doubt(written, sure, qualifier, doubt):
    name = take_apart(written)
    assert (name.sure, name.qualifier, name.doubt) == (sure, qualifier, doubt)


def test_cf_within_a_word_is_no_sign():
    assert take_apart("scfoo affine") == OpenName("scfoo affine", "scfoo affine")


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("The Barbour’s Map-turtles spp.", "barbours map turtles"),
        ("Trachemys scripta × elegans", "trachemys scripta x elegans"),
        ("TORTUGA ROJÍZA", "tortuga rojiza"),
        ("  a  Red-Ear  ", "red ear"),
        ("🐢", ""),
    ],
)
def test_a_key_holds_letters_and_single_spaces_only(written, key):
    assert key_of(written) == key


@pytest.mark.parametrize(
    ("written", "meant", "is_one"),
    [
        ("snaping", "snapping", True),
        ("snappping", "snapping", True),
        ("snabping", "snapping", True),
        ("turtel", "turtle", True),
        ("mud", "mud", False),
        ("mud", "musk", False),
        ("nsapping", "snapping", True),
        ("snappin", "snapping", True),
        ("napping", "snapping", True),
        ("snapgnip", "snapping", False),
        ("", "a", True),
    ],
)
def test_one_slip_is_a_letter_more_less_wrong_or_changed_over(written, meant, is_one):
    assert is_one_slip(written, meant) is is_one
    assert is_one_slip(meant, written) is is_one


LETTERS = st.text("abc", max_size=6)


@given(LETTERS, LETTERS)
def test_one_slip_is_a_distance_of_one_with_neighbours_that_change_over(one, two):
    """Against the textbook recurrence of optimal string alignment."""
    row = {(i, 0): i for i in range(len(one) + 1)} | {(0, j): j for j in range(len(two) + 1)}
    for i in range(1, len(one) + 1):
        for j in range(1, len(two) + 1):
            cost = one[i - 1] != two[j - 1]
            row[i, j] = min(row[i - 1, j] + 1, row[i, j - 1] + 1, row[i - 1, j - 1] + cost)
            if i > 1 and j > 1 and one[i - 1] == two[j - 2] and one[i - 2] == two[j - 1]:
                row[i, j] = min(row[i, j], row[i - 2, j - 2] + 1)
    assert is_one_slip(one, two) is (row[len(one), len(two)] == 1)


@pytest.mark.parametrize(
    ("key", "near"),
    [
        ("snaping turtle", {"snapping turtle"}),
        ("snaping turtel", {"snapping turtle"}),
        ("trachemis scripta", {"trachemys scripta"}),
        ("terapin", set()),  # a lone word has to have eight letters
        ("terrapim", {"terrapin"}),
        ("spider", set()),  # one letter from slider
        ("western mud turtle", set()),  # western is a word of its own only where a name has it
        ("eastern mus turtle", set()),  # short words are never slips
        ("snapping", set()),
        ("", set()),
        ("snapping turtle", {"snapping turtle"}),
    ],
)
def test_only_long_words_are_taken_for_slips(key, near):
    assert NAMES.near(key) == near


def test_a_word_of_any_name_is_right_as_it_is():
    both = Spelling(frozenset({"eastern mud turtle", "western snapper"}))
    assert both.near("western mud turtle") == set()
    assert both.has_word("western")
    assert not both.has_word("northern")


def test_a_word_two_letters_off_is_no_slip():
    assert Spelling(frozenset({"eastern mud turtle"})).near("western mud turtle") == set()
    assert Spelling(frozenset({"eastern mud turtle"})).near("eastren mud turtle") == {"eastern mud turtle"}


def test_doubt_stands_anywhere_in_a_text():
    assert has_doubt("musk turtle? by the bridge")
    assert has_doubt("Probably dead")
    assert not has_doubt("likelihood of a slider")


@given(st.text())
def test_any_text_can_be_taken_apart(text):
    name = take_apart(text)
    assert isinstance(name, OpenName)
    assert isinstance(NAMES.near(key_of(name.whole)), set)
