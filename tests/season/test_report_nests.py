"""What a report tells of nests: numbers, and to the public none of fewer than three."""

from datetime import date

import pytest

from roadwatch.season.report_nests import _losses_words, _shown_counts, nests_section

DAY = date(2025, 7, 1)


def section(county, nest, n, audience):
    if n:
        county.ingest("n.csv", [nest(nest_id=f"secret-{k}") for k in range(n)])
    return nests_section(county.season, as_of=DAY, audience=audience)


def test_without_nests_the_section_says_what_is_missing(county, nest):
    told = section(county, nest, 0, "team")
    assert told.lacking.startswith("not enough data: the season holds no nest")
    assert not told.sentences


def test_one_nest_is_told_in_the_singular_to_the_team(county, nest):
    assert section(county, nest, 1, "team").sentences[0] == "1 nest is on record up to 2025-07-01."


def test_the_public_hears_nothing_of_two_nests(county, nest):
    told = section(county, nest, 2, "public")
    assert told.lacking == "Fewer than 3 nests are on record: nothing is told of so few."
    assert not told.tables


def test_four_nests_that_were_never_seen_again_have_no_success(county, nest):
    told = section(county, nest, 4, "public")
    assert told.sentences[0] == "4 nests are on record up to 2025-07-01."
    assert "no success over the whole time is told" in " ".join(told.sentences)
    assert told.tables[0].rows["Nests"].sum() == 4


@pytest.mark.parametrize("audience", ["public", "team"])
def test_no_sentence_names_a_nest(county, nest, audience):
    told = section(county, nest, 4, audience)
    assert "secret" not in " ".join(told.sentences) + told.tables[0].rows.to_csv()


def test_small_endings_are_put_together_for_the_public_so_that_no_number_is_under_three():
    rows, hidden = _shown_counts({"lost": 1, "emerged": 4, "in_ground": 9}, "public")
    assert hidden
    assert dict(zip(rows["Ending"], rows["Nests"], strict=True)) == {"still in the ground": 9, "other": 5}


def test_the_team_sees_every_ending():
    rows, hidden = _shown_counts({"lost": 1, "emerged": 4}, "team")
    assert not hidden
    assert rows["Nests"].to_list() == [1, 4]


def test_few_losses_are_not_numbered_for_the_public():
    assert _losses_words(2, "public") == "fewer than 3 losses"
    assert _losses_words(3, "public") == "3 losses"
    assert _losses_words(1, "team") == "1 loss"
